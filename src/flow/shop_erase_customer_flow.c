/* russet shop erase-customer: what was done stays, who it was for goes. */
#include "flow/shop_place.h"
#include "formats/json_out.h"
#include "shop/customer_store.h"
#include "shop/erase.h"

extern operation_flow shop_erase_customer_flow;

static void put_reply(json_t *reply, const char *id, const struct erasure *done) {
    struct fault note;
    json_put_text(reply, "customer", id);
    json_put_count(reply, "rows", (long long)done->rows);
    json_put_count(reply, "photographs", (long long)done->photographs);
    json_put_flag(reply, "finished", !done->owed);
    if (done->owed) {
        (void)FAULT0(&note, ERASE_OWED);
        json_add_note(reply, &note);
    }
    (void)FAULT(&note, ERASE_ELSEWHERE, id);
    json_add_note(reply, &note);
}

enum status shop_erase_customer_flow(const struct surroundings *around, const struct request *request,
                                     json_t **reply, struct fault *fault) {
    struct book *book;
    struct customer_row customer;
    struct erasure done;
    enum status status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK)
        status = customer_store_find(book, request_text(request, "ID"), around->arena, &customer, fault);
    if (status == STATUS_OK) status = erase_customer(book, customer.id, &done, fault);
    book_close(book);
    if (status != STATUS_OK) return status;
    *reply = json_start("shop-erased");
    json_put_text(*reply, "name", customer.name); /* the last time that it is told */
    put_reply(*reply, customer.id, &done);
    return STATUS_OK;
}
