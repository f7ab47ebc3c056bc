/* What a shop asks: the setting "pricing", made by `russet shop pricing`. */
#ifndef RUSSET_FLOW_PRICING_H
#define RUSSET_FLOW_PRICING_H

#include "shop/setting_store.h"
#include "trade/quote.h"
#include <jansson.h>

enum { PRICING_ADDRESS_MOST = 6 };

struct pricing {
    char currency[4];
    int64_t hour_minor, overhead_hour_minor, call_out_minor, travel_minor_per_km, least_minor;
    int64_t consumables_minor_per_m2; /* tape, cloths, paper, cleaner */
    int32_t margin_ppm, tax_ppm;
    enum tax_rule tax_rule;
    enum tax_writing writing;
    int valid_days, pay_days;
    bool letter; /* paper: Letter, else A4 */
    const char *name;
    size_t address_count;
    const char *address[PRICING_ADDRESS_MOST];
};

/* INPUT when the shop has none: not yet, or they were taken back (PRICING_TAKEN_BACK). Texts live in the
 * arena. */
#define PRICING_TAKEN_BACK "{}"
enum status pricing_read(struct book *book, struct arena *arena, struct pricing *out,
                         struct fault *fault) MUST_USE;
/* As the setting keeps it, without head; the caller owns it. */
json_t *pricing_json(const struct pricing *pricing);
/* {"name", "lines": [...]}: who writes a paper. */
json_t *pricing_shop(const struct pricing *pricing);

#endif
