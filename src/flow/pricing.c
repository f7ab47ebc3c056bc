#include "flow/pricing.h"
#include "formats/json_out.h"
#include "shop/document.h"
#include <string.h>

static int64_t whole(const json_t *object, const char *key) {
    return (int64_t)json_integer_value(json_object_get(object, key));
}

static const char *text_of(const json_t *object, const char *key, struct arena *arena) {
    const char *text = json_string_value(json_object_get(object, key));
    return text ? arena_text(arena, text, strlen(text)) : "";
}

static bool says(const json_t *object, const char *key, const char *value) {
    const char *text = json_string_value(json_object_get(object, key));
    return text && strcmp(text, value) == 0;
}

static void from_json(const json_t *o, struct arena *arena, struct pricing *p) {
    const json_t *lines = json_object_get(o, "address");
    *p = (struct pricing){.hour_minor = whole(o, "hour_minor"),
                          .overhead_hour_minor = whole(o, "overhead_hour_minor"),
                          .call_out_minor = whole(o, "call_out_minor"),
                          .travel_minor_per_km = whole(o, "travel_minor_per_km"),
                          .least_minor = whole(o, "least_minor"),
                          .consumables_minor_per_m2 = whole(o, "consumables_minor_per_m2"),
                          .margin_ppm = (int32_t)whole(o, "margin_ppm"),
                          .tax_ppm = (int32_t)whole(o, "tax_ppm"),
                          .tax_rule = says(o, "tax_rule", "invoice") ? TAX_BY_INVOICE : TAX_BY_LINE,
                          .writing = says(o, "prices", "gross") ? TAX_INCLUDED : TAX_ADDED,
                          .valid_days = (int)whole(o, "valid_days"),
                          .pay_days = (int)whole(o, "pay_days"),
                          .letter = says(o, "paper", "Letter"),
                          .name = text_of(o, "name", arena)};
    const char *currency = text_of(o, "currency", arena);
    memcpy(p->currency, strlen(currency) == 3 ? currency : "", strlen(currency) == 3 ? 4 : 1);
    for (size_t i = 0; i < json_array_size(lines) && i < PRICING_ADDRESS_MOST; i++) {
        const char *line = json_string_value(json_array_get(lines, i));
        p->address[p->address_count++] = line ? arena_text(arena, line, strlen(line)) : "";
    }
}

enum status pricing_read(struct book *book, struct arena *arena, struct pricing *out, struct fault *fault) {
    const char *text;
    json_t *object;
    enum status status = setting_store_get(book, "pricing", arena, &text, fault);
    if (status != STATUS_OK) return status;
    if (!text || strcmp(text, PRICING_TAKEN_BACK) == 0) return FAULT0(fault, PRICING_NONE);
    status = document_read(text, &object, fault);
    if (status != STATUS_OK) return status;
    from_json(object, arena, out);
    json_decref(object);
    return STATUS_OK;
}

static json_t *address_of(const struct pricing *p) {
    json_t *lines = json_array();
    for (size_t i = 0; i < p->address_count; i++) json_array_append_new(lines, json_string(p->address[i]));
    return lines;
}

json_t *pricing_json(const struct pricing *p) {
    json_t *o = json_object();
    json_put_text(o, "currency", p->currency);
    json_put_count(o, "hour_minor", p->hour_minor);
    json_put_count(o, "overhead_hour_minor", p->overhead_hour_minor);
    json_put_count(o, "margin_ppm", p->margin_ppm);
    json_put_count(o, "tax_ppm", p->tax_ppm);
    json_put_text(o, "tax_rule", p->tax_rule == TAX_BY_INVOICE ? "invoice" : "line");
    json_put_text(o, "prices", p->writing == TAX_INCLUDED ? "gross" : "net");
    json_put_count(o, "call_out_minor", p->call_out_minor);
    json_put_count(o, "travel_minor_per_km", p->travel_minor_per_km);
    json_put_count(o, "least_minor", p->least_minor);
    json_put_count(o, "consumables_minor_per_m2", p->consumables_minor_per_m2);
    json_put_count(o, "valid_days", p->valid_days);
    json_put_count(o, "pay_days", p->pay_days);
    json_put_text(o, "paper", p->letter ? "Letter" : "A4");
    json_put_text(o, "name", p->name);
    json_put(o, "address", address_of(p));
    return o;
}

json_t *pricing_shop(const struct pricing *p) {
    json_t *shop = json_object();
    json_put_text(shop, "name", p->name);
    json_put(shop, "lines", address_of(p));
    return shop;
}
