/* russet shelf ladder: the shop's own sheen ladder, as `sheen --ladder` reads it. With a file it is kept in
 * the place of the one before. */
#include "flow/shelf_ladder.h"
#include "flow/shop_place.h"
#include "formats/json_out.h"
#include "formats/ladder_file.h"
#include "shop/document.h"
#include "shop/setting_store.h"
#include <string.h>

extern operation_flow shelf_ladder_flow;

/* Only what can be read as a ladder is kept. */
static enum status read_file(const struct surroundings *around, const char *path, const char **text,
                             struct fault *fault) {
    struct bytes bytes;
    struct sheen_ladder ladder;
    enum status status = disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, fault);
    if (status == STATUS_OK) status = ladder_read(&bytes, around->arena, &ladder, fault);
    if (status != STATUS_OK) return status;
    *text = arena_text(around->arena, (const char *)bytes.data, bytes.size);
    return text_is_utf8(*text, bytes.size) ? STATUS_OK : FAULT(fault, LADDER_NOT_UTF8, path);
}

static enum status keep(struct book *book, const char *text, struct arena *arena, struct fault *fault) {
    json_t *document = json_object();
    json_put_text(document, "kind", "ladder");
    json_put_text(document, "csv", text);
    enum status status = book_begin(book, fault);
    if (status == STATUS_OK)
        status =
            book_end(book, setting_store_put(book, "ladder", document_text(document, arena), fault), fault);
    json_decref(document);
    return status;
}

enum status shelf_ladder_kept(struct book *book, struct arena *arena, const char **text,
                              struct fault *fault) {
    const char *document;
    json_t *read = NULL;
    *text = NULL;
    enum status status = setting_store_get(book, "ladder", arena, &document, fault);
    if (status == STATUS_OK && document) status = document_read(document, &read, fault);
    const char *csv = json_string_value(json_object_get(read, "csv"));
    if (csv) *text = arena_text(arena, csv, strlen(csv));
    json_decref(read);
    return status;
}

enum status shelf_ladder_flow(const struct surroundings *around, const struct request *request,
                              json_t **reply, struct fault *fault) {
    struct book *book = NULL;
    const char *path = request_text(request, "FILE"), *text = NULL;
    enum status status = path ? read_file(around, path, &text, fault) : STATUS_OK;
    if (status == STATUS_OK) status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK)
        status = path ? keep(book, text, around->arena, fault)
                      : shelf_ladder_kept(book, around->arena, &text, fault);
    book_close(book);
    if (status != STATUS_OK) return status;
    *reply = json_start("ladder");
    json_put_text(*reply, "csv", text);
    return STATUS_OK;
}
