/* russet shop pricing: shows what the shop asks, and changes what is given. */
#include "flow/job_json.h"
#include "flow/pricing.h"
#include "flow/shop_place.h"
#include "flow/unchanged.h"
#include "formats/json_out.h"
#include "shop/document.h"
#include <stdio.h>
#include <string.h>

extern operation_flow shop_pricing_flow;

static enum status read_amounts(const struct request *request, struct pricing *p, struct fault *fault) {
    const struct {
        const char *option;
        int64_t *out;
    } amounts[] = {{"--hour", &p->hour_minor},         {"--overhead", &p->overhead_hour_minor},
                   {"--call-out", &p->call_out_minor}, {"--per-km", &p->travel_minor_per_km},
                   {"--least", &p->least_minor},       {"--consumables", &p->consumables_minor_per_m2}};
    for (size_t i = 0; i < sizeof amounts / sizeof amounts[0]; i++) {
        struct money money;
        if (!request_has(request, amounts[i].option)) continue;
        const enum status status = money_read(amounts[i].option, request_text(request, amounts[i].option),
                                              p->currency, &money, fault);
        if (status != STATUS_OK) return status;
        if (money.minor < 0) return FAULT(fault, QUOTE_RATE, amounts[i].option, "0 or more");
        *amounts[i].out = money.minor;
    }
    return STATUS_OK;
}

static enum status read_rates(const struct request *request, struct pricing *p, struct fault *fault) {
    enum status status = STATUS_OK;
    if (request_has(request, "--margin"))
        status = rate_read("--margin", request_text(request, "--margin"), &p->margin_ppm, fault);
    if (status == STATUS_OK && p->margin_ppm >= 950000)
        status = FAULT(fault, QUOTE_RATE, "margin", "0 to under 95 %");
    if (status == STATUS_OK && request_has(request, "--tax"))
        status = rate_read("--tax", request_text(request, "--tax"), &p->tax_ppm, fault);
    return status;
}

static void read_words(const struct request *request, struct pricing *p) {
    const char *rule = request_text(request, "--tax-rule"), *prices = request_text(request, "--prices"),
               *paper = request_text(request, "--paper");
    if (rule) p->tax_rule = strcmp(rule, "invoice") == 0 ? TAX_BY_INVOICE : TAX_BY_LINE;
    if (prices) p->writing = strcmp(prices, "gross") == 0 ? TAX_INCLUDED : TAX_ADDED;
    if (paper) p->letter = strcmp(paper, "Letter") == 0;
    p->valid_days = (int)request_number(request, "--valid-days", p->valid_days);
    p->pay_days = (int)request_number(request, "--pay-days", p->pay_days);
    if (request_has(request, "--name")) p->name = request_text(request, "--name");
    const size_t lines = request_count(request, "--line");
    if (lines) p->address_count = 0;
    for (size_t i = 0; i < lines && i < PRICING_ADDRESS_MOST; i++)
        p->address[p->address_count++] = request_text_at(request, "--line", i);
}

/* Another currency makes every amount meaningless: they start at nothing again. */
static enum status read_changes(const struct request *request, bool fresh, struct pricing *p,
                                struct fault *fault) {
    const char *currency = request_text(request, "--currency");
    if (fresh && !currency) return FAULT0(fault, PRICING_CURRENCY_FIRST);
    if (currency && money_exponent(currency) < 0)
        return FAULT(fault, CURRENCY_UNKNOWN, "--currency", currency);
    if (fresh)
        *p = (struct pricing){.valid_days = 30, .pay_days = 14, .tax_rule = TAX_BY_INVOICE, .name = ""};
    if (currency && strcmp(currency, p->currency) != 0) {
        p->hour_minor = p->overhead_hour_minor = p->call_out_minor = p->travel_minor_per_km = p->least_minor =
            p->consumables_minor_per_m2 = 0;
        memcpy(p->currency, currency, sizeof p->currency);
    }
    enum status status = read_amounts(request, p, fault);
    if (status == STATUS_OK) status = read_rates(request, p, fault);
    read_words(request, p);
    return status;
}

/* Two phones: who saw older prices is told, and nothing is overwritten unseen. */
static enum status check_unchanged(const struct request *request, struct book *book, bool fresh,
                                   struct fault *fault) {
    const char *seen = request_text(request, "--unchanged-since");
    char now[WALL_TIME_TEXT];
    long long ms;
    if (!seen) return STATUS_OK;
    const enum status status = setting_store_changed(book, "pricing", &ms, fault);
    if (status != STATUS_OK) return status;
    if (unchanged_is(seen, fresh ? 0 : ms)) return STATUS_OK;
    return FAULT(fault, PRICING_CHANGED_SINCE, unchanged_time(book, ms, now));
}

/* Prices that are only shown are not changed: --unchanged-since of somebody else goes on holding. */
static enum status keep(struct book *book, const char *before, const struct pricing *p, struct arena *arena,
                        struct fault *fault) {
    json_t *object = pricing_json(p);
    const char *after = document_text(object, arena);
    json_decref(object);
    return text_same(before, after) ? STATUS_OK : setting_store_put(book, "pricing", after, fault);
}

static enum status change(const struct surroundings *around, const struct request *request, struct book *book,
                          struct pricing *p, struct fault *fault) {
    const char *text;
    enum status status = setting_store_get(book, "pricing", around->arena, &text, fault);
    const bool fresh = !text || strcmp(text, PRICING_TAKEN_BACK) == 0;
    if (status == STATUS_OK && !fresh) status = pricing_read(book, around->arena, p, fault);
    if (status == STATUS_OK) status = check_unchanged(request, book, fresh, fault);
    if (status != STATUS_OK) return status;
    if (request_flag(request, "--take-back"))
        return setting_store_put(book, "pricing", PRICING_TAKEN_BACK, fault);
    status = read_changes(request, fresh, p, fault);
    return status == STATUS_OK ? keep(book, text, p, around->arena, fault) : status;
}

enum status shop_pricing_flow(const struct surroundings *around, const struct request *request,
                              json_t **reply, struct fault *fault) {
    struct book *book;
    struct pricing pricing = {.name = ""};
    long long changed = 0;
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    status = book_begin(book, fault);
    if (status == STATUS_OK) {
        status = change(around, request, book, &pricing, fault);
        if (status == STATUS_OK) status = setting_store_changed(book, "pricing", &changed, fault);
        status = book_end(book, status, fault);
    }
    book_close(book);
    if (status != STATUS_OK) return status;
    *reply = json_start("pricing");
    json_t *object = pricing_json(&pricing);
    json_object_update(*reply, object);
    json_put_time(*reply, "changed", changed);
    json_decref(object);
    return STATUS_OK;
}
