/* russet shelf drawdowns|copy: the files behind the shelf, kept and given back as they came. */
#include "flow/job_json.h"
#include "flow/shop_place.h"
#include "formats/drawdowns.h"
#include "formats/json_out.h"
#include "shop/document.h"
#include "shop/toner_store.h"
#include <string.h>

extern operation_flow shelf_drawdowns_flow, shelf_copy_flow;

static const char *base_name(const char *path) {
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

/* Readable as drawdowns, and a text that JSON can hold. */
static enum status read_drawdowns(const struct surroundings *around, const struct request *request,
                                  json_t **out, struct fault *fault) {
    struct bytes bytes;
    struct drawdown_file file;
    const char *path = request_text(request, "FILE");
    enum status status = disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, fault);
    if (status == STATUS_OK) status = drawdowns_read(&bytes, GEOMETRY_UNKNOWN, around->arena, &file, fault);
    if (status != STATUS_OK) return status;
    json_t *text = json_stringn((const char *)bytes.data, bytes.size);
    if (!text) return FAULT(fault, SHELF_NOT_UTF8, path);
    *out = json_start("drawdowns");
    json_put_text(*out, "file", base_name(path));
    json_put_count(*out, "films", (long long)file.set.count);
    json_put(*out, "text", text);
    return STATUS_OK;
}

static enum status keep(struct book *book, const struct request *request, const char *document,
                        struct fault *fault) {
    struct shelf_entry entry = {
        .kind = "drawdowns", .document = document, .words = request_text(request, "--words")};
    enum status status = book_begin(book, fault);
    if (status != STATUS_OK) return status;
    return book_end(book, toner_store_log(book, &entry, fault), fault);
}

enum status shelf_drawdowns_flow(const struct surroundings *around, const struct request *request,
                                 json_t **reply, struct fault *fault) {
    struct book *book = NULL;
    json_t *document = NULL;
    enum status status = read_drawdowns(around, request, &document, fault);
    if (status == STATUS_OK) status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK) status = keep(book, request, document_text(document, around->arena), fault);
    if (status == STATUS_OK) {
        *reply = json_start("shelf-drawdowns");
        json_put_text(*reply, "drawdowns", json_string_value(json_object_get(document, "file")));
        json_put(*reply, "films", json_incref(json_object_get(document, "films")));
        json_put_local(book, *reply, "shelf_at_local", book_now_ms(book));
        json_put_local(book, *reply, "drawdowns_at_local", book_now_ms(book));
    }
    book_close(book);
    json_decref(document);
    return status;
}

/* ---- copy ---- */

static enum status copy_drawdowns(const struct surroundings *around, struct book *book, json_t *reply,
                                  struct fault *fault) {
    struct shelf_entry kept;
    bool found;
    json_t *document = NULL;
    enum status status = toner_store_last(book, "drawdowns", around->arena, &kept, &found, fault);
    if (status == STATUS_OK && !found) status = FAULT(fault, SHELF_NO_FILE, "drawdowns");
    if (status == STATUS_OK) status = document_read(kept.document, &document, fault);
    if (status != STATUS_OK) return status;
    const json_t *text = json_object_get(document, "text");
    json_put_text(reply, "name", json_string_value(json_object_get(document, "file")));
    status = disk_write(around->disk, around->out, json_string_value(text), json_string_length(text), fault);
    json_decref(document);
    return status;
}

static enum status copy_sheet(const struct surroundings *around, struct book *book, const char *toner,
                              json_t *reply, struct fault *fault) {
    struct toner_row row;
    struct safety_sheet *sheet;
    struct bytes bytes;
    size_t count = 0;
    enum status status = toner_store_get(book, toner, around->arena, &row, fault);
    if (status == STATUS_OK) status = toner_store_sheets(book, toner, around->arena, &sheet, &count, fault);
    if (status == STATUS_OK && !count)
        status = FAULT(fault, SHELF_NO_FILE, "safety data sheet of that toner");
    if (status == STATUS_OK) status = photographs_read(book, sheet[0].sha256, around->arena, &bytes, fault);
    if (status != STATUS_OK) return status;
    json_put_text(reply, "name", sheet[0].name);
    json_put_text(reply, "issued", sheet[0].issued_day);
    return disk_write(around->disk, around->out, bytes.data, bytes.size, fault);
}

/* Kind stock, as `match --stock` reads it: what the lots that are not used up hold. A toner that no lot was
 * ever received of is not in it, and so not limited. */
static enum status copy_stock(const struct surroundings *around, struct book *book, json_t *reply,
                              struct fault *fault) {
    struct toner_row *toner;
    struct lot_row *lot;
    size_t count = 0, lots;
    struct text text = {0};
    enum status status = toner_store_list(book, around->arena, &toner, &count, fault);
    json_t *file = json_start("stock"), *stock = json_object();
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        long long mg = 0;
        status = toner_store_lots(book, toner[i].id, around->arena, &lot, &lots, fault);
        for (size_t k = 0; k < lots && status == STATUS_OK; k++)
            if (!lot[k].used_up && lot[k].stock_mg > 0) mg += lot[k].stock_mg;
        if (status == STATUS_OK && lots) json_put_number(stock, toner[i].id, (double)mg / 1000, 3);
    }
    json_put(file, "stock", stock);
    json_put_text(reply, "name", "stock.json");
    if (status == STATUS_OK) status = json_finish(file, &text, fault);
    if (status == STATUS_OK) status = disk_write(around->disk, around->out, text.data, text.length, fault);
    json_decref(file);
    text_free(&text);
    return status;
}

enum status shelf_copy_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                            struct fault *fault) {
    struct book *book;
    const char *what = request_text(request, "WHAT");
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    *reply = json_start("shelf-copy");
    json_put_text(*reply, "file", around->out);
    status = strcmp(what, "drawdowns") == 0 ? copy_drawdowns(around, book, *reply, fault)
             : strcmp(what, "stock") == 0   ? copy_stock(around, book, *reply, fault)
                                            : copy_sheet(around, book, what, *reply, fault);
    book_close(book);
    return status;
}
