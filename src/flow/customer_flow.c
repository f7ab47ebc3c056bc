/* russet customer list|add|change. */
#include "flow/job_json.h"
#include "flow/shop_place.h"
#include "flow/unchanged.h"
#include "shop/price_store.h"
#include <string.h>

extern operation_flow customer_list_flow, customer_add_flow, customer_change_flow;

/* The list itself under its name, beside its key. */
static enum status put_customer(struct book *book, const struct customer_row *customer, struct arena *arena,
                                json_t *list, struct fault *fault) {
    struct price_list_row prices;
    json_t *object = customer_json(customer);
    json_array_append_new(list, object);
    json_put_null(object, "price_list_name");
    if (!customer->price_list) return STATUS_OK;
    const enum status status = price_store_find_list(book, customer->price_list, arena, &prices, fault);
    if (status == STATUS_OK) json_put_text(object, "price_list_name", prices.name);
    return status;
}

enum status customer_list_flow(const struct surroundings *around, const struct request *request,
                               json_t **reply, struct fault *fault) {
    struct book *book;
    struct customer_row *customer;
    size_t count = 0;
    const size_t most = (size_t)request_number(request, "--top", 0);
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    *reply = json_start("customers");
    status = customer_store_list(book, request_text(request, "--words"), most ? most + 1 : 0, around->arena,
                                 &customer, &count, fault);
    json_t *list = json_array();
    const bool more = most && count > most;
    for (size_t i = 0; i < count - more && status == STATUS_OK; i++)
        status = put_customer(book, &customer[i], around->arena, list, fault);
    json_put(*reply, "customers", list);
    json_put_flag(*reply, "more", more);
    json_put_flag(*reply, "asked_for_some", request_has(request, "--words"));
    book_close(book);
    return status;
}

static enum status read_list(struct book *book, const struct request *request, struct arena *arena,
                             struct customer_row *customer, struct fault *fault) {
    const char *wanted = request_text(request, "--price-list"), *trade = request_text(request, "--trade");
    struct price_list_row list;
    if (wanted && strcmp(wanted, "none") == 0) {
        customer->price_list = NULL;
    } else if (wanted) {
        const enum status status = price_store_find_list(book, wanted, arena, &list, fault);
        if (status != STATUS_OK) return status;
        customer->price_list = arena_text(arena, list.id, strlen(list.id));
        customer->trade = true;
    }
    if (trade) customer->trade = strcmp(trade, "yes") == 0;
    return STATUS_OK;
}

static enum status read_changes(struct book *book, const struct request *request, struct arena *arena,
                                struct customer_row *customer, struct fault *fault) {
    const struct {
        const char *option, **to;
    } texts[] = {{"--telephone", &customer->telephone},
                 {"--email", &customer->email},
                 {"--address", &customer->address},
                 {"--words", &customer->words}};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        if (request_has(request, texts[i].option)) *texts[i].to = request_text(request, texts[i].option);
    for (size_t n = 0; n < request_count(request, "--clear"); n++)
        for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
            if (strcmp(request_text_at(request, "--clear", n), texts[i].option + 2) == 0) *texts[i].to = "";
    return read_list(book, request, arena, customer, fault);
}

static enum status add(struct book *book, const struct request *request, struct arena *arena,
                       struct customer_row *customer, struct fault *fault) {
    *customer = (struct customer_row){.name = request_text(request, "NAME")};
    const enum status status = read_changes(book, request, arena, customer, fault);
    return status == STATUS_OK ? customer_store_add(book, customer, fault) : status;
}

static enum status change(struct book *book, const struct request *request, struct arena *arena,
                          struct customer_row *customer, struct fault *fault) {
    enum status status = customer_store_find(book, request_text(request, "CUSTOMER"), arena, customer, fault);
    if (status == STATUS_OK)
        status = unchanged_check_named(request, book, customer->name, customer->changed_ms, fault);
    if (status != STATUS_OK) return status;
    if (request_has(request, "--name")) customer->name = request_text(request, "--name");
    status = read_changes(book, request, arena, customer, fault);
    return status == STATUS_OK ? customer_store_change(book, customer, fault) : status;
}

static enum status with_the_pen(const struct surroundings *around, const struct request *request,
                                enum status (*work)(struct book *, const struct request *, struct arena *,
                                                    struct customer_row *, struct fault *),
                                json_t **reply, struct fault *fault) {
    struct book *book;
    struct customer_row customer;
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    status = book_begin(book, fault);
    if (status == STATUS_OK)
        status = book_end(book, work(book, request, around->arena, &customer, fault), fault);
    if (status == STATUS_OK) {
        json_t *list = json_array();
        *reply = json_start("customers");
        json_put(*reply, "customers", list);
        status = customer_store_find(book, customer.id, around->arena, &customer, fault);
        if (status == STATUS_OK) status = put_customer(book, &customer, around->arena, list, fault);
    }
    book_close(book);
    return status;
}

enum status customer_add_flow(const struct surroundings *around, const struct request *request,
                              json_t **reply, struct fault *fault) {
    return with_the_pen(around, request, add, reply, fault);
}

enum status customer_change_flow(const struct surroundings *around, const struct request *request,
                                 json_t **reply, struct fault *fault) {
    return with_the_pen(around, request, change, reply, fault);
}
