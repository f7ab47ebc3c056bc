/* russet shop zone: the time zone in which days are counted and clocks are told. What is kept is UTC. */
#include "device/zone.h"
#include "flow/job_json.h"
#include "flow/shop_place.h"
#include "flow/unchanged.h"
#include "shop/setting_store.h"
#include <string.h>

extern operation_flow shop_zone_flow;

static bool has_table(const char *name) {
    struct zone *zone = zone_open(name);
    zone_close(zone);
    return zone != NULL;
}

static enum status check_unchanged(const struct request *request, struct book *book, struct fault *fault) {
    long long ms;
    const enum status status = setting_store_changed(book, "zone", &ms, fault);
    return status == STATUS_OK ? unchanged_check(request, book, "The time zone", ms, fault) : status;
}

/* "machine" takes the shop's own zone away again. */
static enum status set(const struct request *request, struct book *book, const char *name,
                       struct fault *fault) {
    char document[80] = "\"\"";
    if (strcmp(name, "machine") != 0) {
        if (!has_table(name)) return FAULT(fault, SHOP_ZONE_UNKNOWN, name);
        snprintf(document, sizeof document, "\"%.64s\"", name);
    }
    enum status status = book_begin(book, fault);
    if (status != STATUS_OK) return status;
    status = check_unchanged(request, book, fault);
    if (status == STATUS_OK) status = setting_store_put(book, "zone", document, fault);
    return book_end(book, status, fault);
}

static enum status tell(struct book *book, struct arena *arena, json_t *reply, struct fault *fault) {
    const char *kept;
    long long changed = 0;
    enum status status = setting_store_get(book, "zone", arena, &kept, fault);
    if (status == STATUS_OK) status = setting_store_changed(book, "zone", &changed, fault);
    json_put_text(reply, "zone", book_zone(book));
    json_put_text(reply, "from", status == STATUS_OK && kept && strlen(kept) > 2 ? "shop" : "machine");
    json_put_time(reply, "changed", changed);
    json_put_flag(reply, "has_table", has_table(book_zone(book)));
    json_put_time(reply, "now", book_now_ms(book));
    json_put_local(book, reply, "now_local", book_now_ms(book));
    return status;
}

enum status shop_zone_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                           struct fault *fault) {
    struct book *book;
    const char *name = request_text(request, "ZONE");
    enum status status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK && name) {
        status = set(request, book, name, fault);
        book_close(book); /* opened anew, as everybody will see it from now on */
        book = NULL;
        if (status == STATUS_OK) status = shop_open(around, request, &book, fault);
    }
    if (status == STATUS_OK) status = tell(book, around->arena, *reply = json_start("zone"), fault);
    book_close(book);
    return status;
}
