#include "flow/operation.h"
#include "flow/say.h"
#include "trade/money.h"
#include <string.h>

extern operation_say shop_pricing_say;

static void say_money(const json_t *reply, struct text *out, const char *label, const char *key) {
    struct money money = {(int64_t)json_integer_value(json_object_get(reply, key)), ""};
    char text[MONEY_TEXT];
    const char *currency = say_string(reply, "currency");
    memcpy(money.currency, strlen(currency) == 3 ? currency : "", strlen(currency) == 3 ? 4 : 1);
    say_row(out, label, "%s", money_text(text, money));
}

static void say_rate(const json_t *reply, struct text *out, const char *label, const char *key) {
    char text[32];
    say_row(out, label, "%s", rate_text(text, (int32_t)json_integer_value(json_object_get(reply, key))));
}

void shop_pricing_say(const json_t *reply, struct text *out) {
    if (!*say_string(reply, "currency")) {
        text_add(out, "The shop asks nothing yet: its prices were taken back.\n");
        return;
    }
    text_format(out, "%s asks:\n", *say_string(reply, "name") ? say_string(reply, "name") : "The shop");
    say_money(reply, out, "an hour costs", "hour_minor");
    say_money(reply, out, "overhead per hour", "overhead_hour_minor");
    say_rate(reply, out, "margin of the price", "margin_ppm");
    say_money(reply, out, "call-out", "call_out_minor");
    say_money(reply, out, "per km", "travel_minor_per_km");
    say_money(reply, out, "smallest charge", "least_minor");
    say_money(reply, out, "consumables per m2", "consumables_minor_per_m2");
    say_rate(reply, out, "tax", "tax_ppm");
    say_row(out, "tax is rounded by", "%s, prices are %s", say_string(reply, "tax_rule"),
            say_string(reply, "prices"));
    say_row(out, "papers", "%s; quotes hold %.0f days, invoices %.0f", say_string(reply, "paper"),
            say_number(reply, "valid_days"), say_number(reply, "pay_days"));
}
