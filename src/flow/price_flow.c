/* russet price list|set: the price lists of trade customers. A price is never changed: a later one takes its
 * place from its day on. */
#include "flow/job_json.h"
#include "flow/price_items.h"
#include "flow/pricing.h"
#include "flow/shop_place.h"
#include "flow/unchanged.h"
#include "formats/json_out.h"
#include "shop/customer_store.h"
#include "shop/price_store.h"
#include "trade/labour.h"
#include <string.h>

extern operation_flow price_list_flow, price_set_flow;

static const char *name_of(const char *item) {
    enum task task;
    if (strcmp(item, PRICE_ITEM_KM) == 0) return "Travel, a kilometre";
    if (strcmp(item, PRICE_ITEM_CALL_OUT) == 0) return "Call-out";
    return task_read(item, &task, NULL) == STATUS_OK ? task_name(task) : item;
}

static json_t *prices_json(const struct price_row *row, size_t count) {
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        if (strcmp(row[i].unit, PRICE_UNIT_LIFTED) == 0) continue;
        json_t *object = json_object();
        json_put_text(object, "item", row[i].item);
        json_put_text(object, "name", name_of(row[i].item));
        json_put_text(object, "per", *row[i].unit ? row[i].unit : "job");
        json_put_count(object, "minor", row[i].minor);
        json_put_text(object, "from", row[i].from_day);
        json_put_text(object, "words", row[i].words);
        json_array_append_new(list, object);
    }
    return list;
}

static enum status customers_of(struct book *book, const char *list, struct arena *arena, json_t *out,
                                struct fault *fault) {
    struct customer_row *customer;
    size_t count;
    const enum status status = customer_store_list(book, NULL, 0, arena, &customer, &count, fault);
    for (size_t i = 0; status == STATUS_OK && i < count; i++)
        if (customer[i].price_list && strcmp(customer[i].price_list, list) == 0)
            json_array_append_new(out, json_string(customer[i].name));
    return status;
}

/* Of each item that was ever spoken of: when last. */
static json_t *changed_json(const struct price_said *said, size_t count) {
    json_t *object = json_object();
    for (size_t i = 0; i < count; i++) json_put_time(object, said[i].item, said[i].at_ms);
    return object;
}

static enum status put_list(struct book *book, const struct price_list_row *row, const char *day,
                            struct arena *arena, json_t *lists, struct fault *fault) {
    struct price_row *price = NULL;
    struct price_said *said = NULL;
    size_t count = 0, items = 0;
    json_t *object = json_object(), *customers = json_array();
    json_array_append_new(lists, object);
    json_put_text(object, "id", row->id);
    json_put_text(object, "name", row->name);
    json_put_text(object, "currency", row->currency);
    enum status status = price_store_on(book, row->id, day, arena, &price, &count, fault);
    if (status == STATUS_OK) status = price_store_said(book, row->id, arena, &said, &items, fault);
    if (status == STATUS_OK) status = customers_of(book, row->id, arena, customers, fault);
    json_put(object, "customers", customers);
    json_put(object, "prices", prices_json(price, count));
    json_put(object, "changed", changed_json(said, items));
    return status;
}

static enum status put_lists(struct book *book, const char *only, const char *day, struct arena *arena,
                             json_t *reply, struct fault *fault) {
    struct price_list_row one, *row = &one;
    size_t count = 1;
    json_t *lists = json_array();
    enum status status = only ? price_store_find_list(book, only, arena, &one, fault)
                              : price_store_lists(book, arena, &row, &count, fault);
    for (size_t i = 0; status == STATUS_OK && i < count; i++)
        status = put_list(book, &row[i], day, arena, lists, fault);
    json_put_text(reply, "day", day);
    json_put(reply, "lists", lists);
    return status;
}

static enum status show(struct book *book, const struct request *request, struct arena *arena, json_t *reply,
                        struct fault *fault) {
    char today[WALL_DAY_TEXT];
    const char *day = request_text(request, "--day");
    const enum status status = shop_day_check("--day", day, fault);
    if (status != STATUS_OK) return status;
    return put_lists(book, request_text(request, "LIST"), day ? day : book_day(book, 0, today), arena, reply,
                     fault);
}

enum status price_list_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                            struct fault *fault) {
    struct book *book;
    enum status status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK)
        status = show(book, request, around->arena, *reply = json_start("prices"), fault);
    book_close(book);
    return status;
}

/* ---- set ---- */

static enum status check_item(const char *item, struct fault *fault) {
    enum task task;
    if (strcmp(item, PRICE_ITEM_KM) == 0 || strcmp(item, PRICE_ITEM_CALL_OUT) == 0) return STATUS_OK;
    return task_read(item, &task, fault);
}

/* A list that is there, or one that is made now, in the shop's currency when none is said. */
static enum status list_of(struct book *book, const struct request *request, struct arena *arena,
                           struct price_list_row *list, struct fault *fault) {
    const char *name = request_text(request, "LIST"), *currency = request_text(request, "--currency");
    enum status status = price_store_find_list(book, name, arena, list, fault);
    if (status == STATUS_OK && currency && strcmp(currency, list->currency) != 0)
        return FAULT(fault, PRICE_LIST_CURRENCY, list->name, list->currency);
    if (status != STATUS_INPUT || fault->word != WORD_SHOP_NO_SUCH) return status;
    struct pricing pricing;
    if (!currency) {
        status = pricing_read(book, arena, &pricing, fault);
        if (status != STATUS_OK) return status;
        currency = arena_text(arena, pricing.currency, strlen(pricing.currency));
    }
    if (money_exponent(currency) < 0) return FAULT(fault, CURRENCY_UNKNOWN, "--currency", currency);
    *list = (struct price_list_row){.name = name, .currency = currency};
    return price_store_add_list(book, list, fault);
}

/* Two phones that speak of one item: of another item of the list nothing is refused. */
static enum status check_unchanged(const struct request *request, struct book *book,
                                   const struct price_list_row *list, struct arena *arena,
                                   struct fault *fault) {
    struct price_said *said = NULL;
    size_t count = 0;
    long long at_ms = 0;
    const char *item = request_text(request, "ITEM");
    const enum status status = price_store_said(book, list->id, arena, &said, &count, fault);
    for (size_t i = 0; i < count; i++)
        if (strcmp(said[i].item, item) == 0) at_ms = said[i].at_ms;
    return status == STATUS_OK ? unchanged_check_named(request, book, name_of(item), at_ms, fault) : status;
}

static enum status add_price(struct book *book, const struct request *request,
                             const struct price_list_row *list, struct fault *fault) {
    char today[WALL_DAY_TEXT];
    const char *item = request_text(request, "ITEM"), *amount = request_text(request, "AMOUNT"),
               *per = request_text(request, "--per"), *from = request_text(request, "--from"),
               *words = request_text(request, "--words");
    struct money money = {0};
    enum status status = amount ? money_read("AMOUNT", amount, list->currency, &money, fault) : STATUS_OK;
    if (status == STATUS_OK && money.minor < 0) status = FAULT(fault, QUOTE_RATE, "price", "0 or more");
    if (status != STATUS_OK) return status;
    struct price_row price = {.list = list->id,
                              .item = item,
                              .unit = !amount                            ? PRICE_UNIT_LIFTED
                                      : strcmp(item, PRICE_ITEM_KM) == 0 ? "km"
                                      : strcmp(per, "job") == 0          ? ""
                                                                         : per,
                              .minor = money.minor,
                              .from_day = from ? from : book_day(book, 0, today),
                              .words = words ? words : ""};
    return price_store_add(book, &price, fault);
}

static enum status set(struct book *book, const struct request *request, struct arena *arena,
                       struct price_list_row *list, struct fault *fault) {
    enum status status = check_item(request_text(request, "ITEM"), fault);
    if (status == STATUS_OK) status = shop_day_check("--from", request_text(request, "--from"), fault);
    if (status == STATUS_OK) status = book_begin(book, fault);
    if (status != STATUS_OK) return status;
    status = list_of(book, request, arena, list, fault);
    if (status == STATUS_OK) status = check_unchanged(request, book, list, arena, fault);
    if (status == STATUS_OK) status = add_price(book, request, list, fault);
    return book_end(book, status, fault);
}

enum status price_set_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                           struct fault *fault) {
    struct book *book;
    struct price_list_row list;
    char today[WALL_DAY_TEXT];
    enum status status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK) status = set(book, request, around->arena, &list, fault);
    if (status == STATUS_OK)
        status = put_lists(book, list.id, book_day(book, 0, today), around->arena,
                           *reply = json_start("prices"), fault);
    book_close(book);
    return status;
}
