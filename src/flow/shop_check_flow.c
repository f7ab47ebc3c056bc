/* russet shop check: exit 1 when something is wrong. */
#include "flow/shop_place.h"
#include "formats/json_out.h"
#include "shop/check.h"

extern operation_flow shop_check_flow;

static enum status tidy(struct book *book, const struct request *request, size_t *removed,
                        struct fault *fault) {
    *removed = 0;
    return request_flag(request, "--tidy") ? photographs_tidy(book, removed, fault) : STATUS_OK;
}

static void put_problems(json_t *reply, const struct checked *checked) {
    json_t *list = json_array();
    for (size_t i = 0; i < checked->problem_count; i++) {
        char key[80];
        json_t *problem = json_object();
        word_key(checked->problem[i].word, key, sizeof key);
        json_put_text(problem, "id", key);
        json_put_text(problem, "text", checked->problem[i].text);
        json_array_append_new(list, problem);
    }
    json_put(reply, "problems", list);
}

static json_t *reply_of(const struct book *book, const struct checked *checked, size_t removed) {
    json_t *reply = json_start("shop-check");
    json_put_text(reply, "shop", book_dir(book));
    json_put_flag(reply, "clean", checked->problem_count == 0);
    put_problems(reply, checked);
    json_put_count(reply, "photographs", (long long)checked->photographs.count);
    json_put_count(reply, "photograph_bytes", (long long)checked->photographs.bytes);
    json_put_count(reply, "files_without_row", (long long)checked->photographs.orphans);
    json_put_count(reply, "files_removed", (long long)removed);
    json_put(reply, "rows", checked->rows);
    if (checked->photographs.orphans) {
        struct fault note;
        (void)FAULT(&note, SHOP_ORPHANS, COUNT_TEXT((long long)checked->photographs.orphans));
        json_add_note(reply, &note);
    }
    return reply;
}

enum status shop_check_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                            struct fault *fault) {
    struct book *book;
    struct checked checked;
    size_t removed = 0;
    enum status status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK) status = tidy(book, request, &removed, fault);
    if (status == STATUS_OK) status = check_book(book, around->arena, around->work, &checked, fault);
    if (status == STATUS_OK) *reply = reply_of(book, &checked, removed);
    book_close(book);
    return status == STATUS_OK && checked.problem_count ? STATUS_NO : status;
}
