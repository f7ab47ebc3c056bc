#include "shop/lot_choice.h"
#include <string.h>

static bool has_expired(const struct lot_row *lot, const char *today) {
    return lot->expires_day && strcmp(lot->expires_day, today) < 0;
}

static bool was_frozen(const struct lot_row *lot) {
    return lot->frost && strcmp(lot->frost, "yes") == 0;
}

static void take(struct lot_choice *out, const struct lot_row *lot, long long mg, const char *today) {
    out->share[out->count++] =
        (struct lot_share){*lot, mg, .expired = has_expired(lot, today), .frozen = was_frozen(lot)};
    out->short_mg -= mg;
}

enum status lot_choose(struct book *book, const char *toner, long long mg, struct arena *arena,
                       struct lot_choice *out, struct fault *fault) {
    struct lot_row *lot;
    size_t count;
    char day[WALL_DAY_TEXT];
    *out = (struct lot_choice){.short_mg = mg};
    const enum status status = toner_store_lots(book, toner, arena, &lot, &count, fault);
    if (status != STATUS_OK) return status;
    const char *today = book_day(book, 0, day);
    out->any = count > 0;
    out->share = arena_need(arena, count + 1, sizeof *out->share);
    for (int doubtful = 0; doubtful <= 1; doubtful++) {
        for (size_t i = 0; i < count && out->count == 0; i++) /* one that holds all */
            if (!lot[i].used_up && lot[i].stock_mg >= mg &&
                (has_expired(&lot[i], today) || was_frozen(&lot[i])) == doubtful)
                return take(out, &lot[i], mg, today), STATUS_OK;
        for (size_t i = 0; i < count && out->short_mg > 0; i++) {
            const long long some = lot[i].stock_mg < out->short_mg ? lot[i].stock_mg : out->short_mg;
            if (lot[i].used_up || some <= 0) continue;
            if ((has_expired(&lot[i], today) || was_frozen(&lot[i])) == doubtful)
                take(out, &lot[i], some, today);
        }
    }
    return STATUS_OK;
}
