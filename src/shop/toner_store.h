/* The shelf: toners, their lots, the stock that moves, their safety data sheets, and the shelf's own log
 * (drawdowns, fits, learnt strengths). Masses are whole milligrams. Texts live in the arena that was given.
 */
#ifndef RUSSET_SHOP_TONER_STORE_H
#define RUSSET_SHOP_TONER_STORE_H

#include "shop/photographs.h"

struct toner_row {
    const char *id; /* [a-z0-9-]+, as in toners.json */
    const char *name, *role;
    double density_g_ml; /* NAN when nobody said */
    long long warn_mg;   /* warn when less is left; 0 for never */
    const char *words, *about;
    long long created_ms, changed_ms;
    long long stock_mg; /* of all lots; not read when putting */
};
/* Adds or changes. With the pen. */
enum status toner_store_put(struct book *book, struct toner_row *toner, struct fault *fault) MUST_USE;
enum status toner_store_get(struct book *book, const char *id, struct arena *arena, struct toner_row *out,
                            struct fault *fault) MUST_USE;
enum status toner_store_list(struct book *book, struct arena *arena, struct toner_row **out, size_t *count,
                             struct fault *fault) MUST_USE;

struct lot_row {
    char id[ID_LENGTH + 1];
    const char *toner, *name;
    const char *received_day, *expires_day; /* NULL when nobody said */
    long long price_minor_per_kg;           /* -1 when nobody said */
    const char *currency;                   /* NULL without a price */
    const char *frost;                      /* no, yes, unknown; NULL is unknown */
    bool used_up;
    const char *words, *about;
    long long created_ms, changed_ms;
    long long stock_mg; /* the sum of its moves; not read when adding */
};
enum status toner_store_add_lot(struct book *book, struct lot_row *lot, struct fault *fault) MUST_USE;
enum status toner_store_change_lot(struct book *book, struct lot_row *lot, struct fault *fault) MUST_USE;
/* By id, the beginning of an id, or name. */
enum status toner_store_find_lot(struct book *book, const char *text, struct arena *arena,
                                 struct lot_row *out, struct fault *fault) MUST_USE;
/* Of a toner (NULL: all), those that expire first in front, used up ones last. */
enum status toner_store_lots(struct book *book, const char *toner, struct arena *arena, struct lot_row **out,
                             size_t *count, struct fault *fault) MUST_USE;

/* reason: received, poured, counted, spilt, thrown, other. */
struct stock_move {
    char id[ID_LENGTH + 1];
    const char *lot;
    long long mg; /* what comes is positive, what goes negative */
    const char *reason, *pour, *words;
    long long at_ms;
    const char *zone; /* NULL on adding is the book's */
};
enum status toner_store_move(struct book *book, struct stock_move *move, struct fault *fault) MUST_USE;
enum status toner_store_moves(struct book *book, const char *lot, struct arena *arena,
                              struct stock_move **out, size_t *count, struct fault *fault) MUST_USE;

struct safety_sheet {
    char id[ID_LENGTH + 1];
    const char *toner, *sha256, *name, *issued_day;
    long long at_ms;
};
enum status toner_store_add_sheet(struct book *book, struct safety_sheet *sheet,
                                  struct fault *fault) MUST_USE;
/* Newest first. */
enum status toner_store_sheets(struct book *book, const char *toner, struct arena *arena,
                               struct safety_sheet **out, size_t *count, struct fault *fault) MUST_USE;

struct shelf_entry {
    char id[ID_LENGTH + 1];
    const char *kind, *words, *document, *replaces;
    long long at_ms;
    const char *zone;
};
enum status toner_store_log(struct book *book, struct shelf_entry *entry, struct fault *fault) MUST_USE;
/* The newest of that kind ("toners": the shelf that recipes are made from). */
enum status toner_store_last(struct book *book, const char *kind, struct arena *arena,
                             struct shelf_entry *out, bool *found, struct fault *fault) MUST_USE;
enum status toner_store_logged(struct book *book, const char *kind, struct arena *arena,
                               struct shelf_entry **out, size_t *count, struct fault *fault) MUST_USE;

#endif
