#include "flow/money_say.h"
#include "flow/say.h"
#include <string.h>

const char *money_bare(const json_t *reply, const json_t *object, const char *key, char out[MONEY_TEXT]) {
    struct money money = {(int64_t)json_integer_value(json_object_get(object, key)), ""};
    const char *currency = say_string(reply, "currency");
    if (strlen(currency) == 3) memcpy(money.currency, currency, 4);
    money_text(out, money);
    char *space = strrchr(out, ' ');
    if (space) *space = 0;
    return out;
}
