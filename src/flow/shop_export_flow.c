/* russet shop export: the whole shop as one ZIP file. */
#include "flow/lost_json.h"
#include "flow/shop_place.h"
#include "formats/json_out.h"
#include "shop/export.h"

extern operation_flow shop_export_flow;

enum status shop_export_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    struct book *book;
    struct exported made;
    if (!text_ends_ignoring_case(around->out, ".zip"))
        return FAULT(fault, OUT_KIND_UNKNOWN, around->out, "shop export", ".zip");
    enum status status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK) status = export_write(book, around->out, around->work, &made, fault);
    book_close(book);
    if (status != STATUS_OK) return status;
    *reply = json_start("shop-exported");
    json_put_text(*reply, "file", around->out);
    json_put_count(*reply, "rows", (long long)made.rows);
    json_put_count(*reply, "files", (long long)made.files);
    json_put_count(*reply, "photograph_bytes", (long long)made.bytes);
    return lost_put(*reply, &made.lost, fault);
}
