/* russet shop import: the export of another shop joins this one, all of it or nothing. */
#include "flow/shop_place.h"
#include "formats/json_out.h"
#include "shop/import.h"
#include <string.h>

extern operation_flow shop_import_flow;

enum status shop_import_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    struct book *book;
    struct imported made;
    const char *file = request_text(request, "FILE");
    if (strcmp(file, "-") == 0) return FAULT(fault, SHOP_NO_STREAM, "shop import");
    enum status status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK) status = import_read(book, file, around->work, &made, fault);
    book_close(book);
    if (status != STATUS_OK) return status;
    *reply = json_start("shop-import");
    json_put_text(*reply, "file", file);
    json_put_count(*reply, "rows_added", (long long)made.added);
    json_put_count(*reply, "rows_renewed", (long long)made.renewed);
    json_put_count(*reply, "rows_kept", (long long)made.kept);
    json_put_count(*reply, "photographs", (long long)made.photographs);
    if (made.erased.rows) {
        struct fault note;
        (void)FAULT0(&note, IMPORT_FORGOTTEN);
        json_add_note(*reply, &note);
    }
    json_put_count(*reply, "lost", (long long)made.lost);
    return made.lost ? FAULT(fault, RESTORED_WITHOUT, COUNT_TEXT((long long)made.lost)) : STATUS_OK;
}
