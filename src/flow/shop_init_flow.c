/* russet shop init: a new book. */
#include "flow/demo_shop.h"
#include "flow/shop_place.h"
#include "formats/json_out.h"

extern operation_flow shop_init_flow;

static enum status fill_demo(const struct surroundings *around, const char *dir, json_t *reply,
                             struct fault *fault) {
    struct surroundings inside = *around;
    struct fault note;
    inside.shop_dir = dir;
    FAULT0(&note, DEMO_IS_INVENTED);
    json_add_note(reply, &note);
    return demo_shop_fill(&inside, fault);
}

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
    if (request_flag(request, "--demo")) status = fill_demo(around, dir, *reply, fault);
    return status;
}
