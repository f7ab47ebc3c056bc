/* russet shop init: a new book. */
#include "flow/shop_place.h"
#include "formats/json_out.h"

extern operation_flow shop_init_flow;

enum status shop_init_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                           struct fault *fault) {
    struct book_how how;
    struct book *book;
    const char *dir;
    enum status status = shop_how(around, request, &how, fault);
    how.make = true;
    if (status == STATUS_OK) status = shop_place(around, request, &dir, fault);
    if (status == STATUS_OK) status = book_open(dir, how, &book, fault);
    if (status != STATUS_OK) return status;
    *reply = json_start("shop");
    json_put_text(*reply, "shop", dir);
    json_put_text(*reply, "book", book_own_id(book));
    json_put_count(*reply, "schema", BOOK_SCHEMA);
    book_close(book);
    return STATUS_OK;
}
