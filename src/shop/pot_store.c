#include "shop/pot_store.h"
#include "shop/rows.h"
#include "shop/toner_store.h"
#include <math.h>

/* On the shelf: put back, and since then neither emptied nor crosslinked. One rule for the list and for a
 * pot. */
#define STANDS                                                                                       \
    "coalesce((SELECT kind FROM pot_event e WHERE e.pot = p.id AND kind IN ('put-back', 'emptied', " \
    "'crosslinked') "                                                                                \
    "ORDER BY at_ms DESC, id DESC LIMIT 1) = 'put-back', 0)"
/* Replaced entries never were: what took their place has its own pot. */
#define TAKEN_BACK "(SELECT r.id FROM entry r WHERE r.replaces = p.entry LIMIT 1)"
/* What came with an entry that was put right was never poured; the pot's own pour is told by TAKEN_BACK. */
#define STANDING "NOT EXISTS (SELECT 1 FROM entry r WHERE r.replaces = o.entry AND r.replaces IS NOT p.entry)"
#define POT                                                                                             \
    "SELECT p.id, p.job, p.colour, p.entry, p.name, p.document, p.at_ms, p.zone,"                       \
    " (SELECT min(at_ms) FROM pot_event e WHERE e.pot = p.id AND kind = 'crosslinked'),"                \
    " (SELECT min(life_min) FROM pot_event e WHERE e.pot = p.id AND kind = 'crosslinked'),"             \
    " " STANDS ","                                                                                      \
    " (SELECT count(*) FROM pot_event e WHERE e.pot = p.id AND kind = 'emptied'),"                      \
    " (SELECT coalesce(sum(mg), 0) FROM pour o WHERE o.pot = p.id AND " STANDING "),"                   \
    " (SELECT coalesce(sum(mg), 0) FROM pot_event e WHERE e.pot = p.id AND kind = 'taken'),"            \
    " " TAKEN_BACK ", (SELECT name FROM colour c WHERE c.id = p.colour),"                               \
    " (SELECT count(*) FROM pot x WHERE x.job = p.job AND x.name = p.name AND x.colour IS p.colour AND" \
    " x.id < p.id AND NOT EXISTS (SELECT 1 FROM entry r WHERE r.replaces = x.entry)) FROM pot p "

static void read_pot(const struct query *q, struct arena *arena, struct pot_row *out) {
    query_get_id(q, 0, out->id);
    out->job = query_get_text_or_null(q, 1, arena);
    out->colour = query_get_text_or_null(q, 2, arena);
    out->entry = query_get_text_or_null(q, 3, arena);
    out->name = query_get_text(q, 4, arena);
    out->document = query_get_text(q, 5, arena);
    out->at_ms = query_get_count(q, 6);
    out->zone = query_get_text(q, 7, arena);
    out->crosslinked = !query_is_null(q, 8);
    out->crosslinked_ms = query_get_count(q, 8);
    out->life_min = query_get_number(q, 9);
    out->put_back = query_get_count(q, 10) > 0;
    out->emptied = query_get_count(q, 11) > 0;
    out->poured_mg = query_get_count(q, 12);
    out->taken_mg = query_get_count(q, 13);
    out->taken_back = query_get_text_or_null(q, 14, arena);
    out->colour_name = query_get_text_or_null(q, 15, arena);
    out->twins = (int)query_get_count(q, 16);
}

enum status pot_store_add(struct book *book, struct pot_row *pot, struct fault *fault) {
    rows_begin(book, pot->id, &pot->at_ms, &pot->zone);
    struct query q = query_make(book,
                                "INSERT INTO pot (id, job, colour, entry, name, document, at_ms, zone) "
                                "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                                fault);
    query_text(&q, pot->id);
    query_text(&q, pot->job);
    query_text(&q, pot->colour);
    query_text(&q, pot->entry);
    query_text(&q, rows_text(pot->name));
    query_text(&q, rows_about(pot->document));
    query_count(&q, pot->at_ms);
    query_text(&q, pot->zone);
    return query_run(&q);
}

enum status pot_store_get(struct book *book, const char *id, struct arena *arena, struct pot_row *out,
                          struct fault *fault) {
    struct query q = query_make(book, POT "WHERE " ROWS_BY_KEY("p.id") " ORDER BY p.id LIMIT 2", fault);
    enum status status;
    query_text(&q, id);
    ROWS_READ_ONE(&status, &q, arena, out, read_pot, "pot", id);
    return status;
}

enum status pot_store_of_entry(struct book *book, const char *entry, struct arena *arena, struct pot_row *out,
                               bool *found, struct fault *fault) {
    struct query q = query_make(book, POT "WHERE p.entry = ? ORDER BY p.id LIMIT 1", fault);
    query_text(&q, entry);
    for (*found = false; query_row(&q); *found = true) read_pot(&q, arena, out);
    return query_end(&q);
}

enum status pot_store_list(struct book *book, const char *job, struct arena *arena, struct pot_row **out,
                           size_t *count, struct fault *fault) {
    struct query q =
        query_make(book,
                   job ? POT "WHERE p.job = ? ORDER BY p.at_ms, p.id"
                       : POT "WHERE " STANDS " AND " TAKEN_BACK " IS NULL ORDER BY p.at_ms, p.id",
                   fault);
    if (job) query_text(&q, job);
    ROWS_READ(&q, arena, out, count, read_pot);
    return query_end(&q);
}

enum status pot_store_log(struct book *book, struct pot_event *event, struct fault *fault) {
    rows_begin(book, event->id, &event->at_ms, &event->zone);
    struct query q = query_make(book,
                                "INSERT INTO pot_event (id, pot, kind, mg, life_min, words, at_ms, zone) "
                                "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                                fault);
    query_text(&q, event->id);
    query_text(&q, event->pot);
    query_text(&q, event->kind);
    if (strcmp(event->kind, "taken") == 0)
        query_count(&q, event->mg);
    else
        query_null(&q);
    query_number(&q, strcmp(event->kind, "crosslinked") == 0 ? event->life_min : (double)NAN);
    query_text(&q, rows_text(event->words));
    query_count(&q, event->at_ms);
    query_text(&q, event->zone);
    return query_run(&q);
}

static void read_event(const struct query *q, struct arena *arena, struct pot_event *out) {
    query_get_id(q, 0, out->id);
    out->pot = query_get_text(q, 1, arena);
    out->kind = query_get_text(q, 2, arena);
    out->mg = query_get_count(q, 3);
    out->life_min = query_get_number(q, 4);
    out->words = query_get_text(q, 5, arena);
    out->at_ms = query_get_count(q, 6);
    out->zone = query_get_text(q, 7, arena);
}

enum status pot_store_events(struct book *book, const char *pot, struct arena *arena, struct pot_event **out,
                             size_t *count, struct fault *fault) {
    struct query q = query_make(book,
                                "SELECT id, pot, kind, mg, life_min, words, at_ms, zone FROM pot_event WHERE "
                                "pot = ? ORDER BY at_ms, id",
                                fault);
    query_text(&q, pot);
    ROWS_READ(&q, arena, out, count, read_event);
    return query_end(&q);
}

enum status pot_store_pour(struct book *book, struct pour_row *pour, struct fault *fault) {
    rows_begin(book, pour->id, &pour->at_ms, &pour->zone);
    struct query q = query_make(
        book,
        "INSERT INTO pour (id, pot, toner, lot, mg, at_ms, zone, entry) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        fault);
    query_text(&q, pour->id);
    query_text(&q, pour->pot);
    query_text(&q, pour->toner);
    query_text(&q, pour->lot);
    query_count(&q, pour->mg);
    query_count(&q, pour->at_ms);
    query_text(&q, pour->zone);
    query_text(&q, pour->entry);
    const enum status status = query_run(&q);
    if (status != STATUS_OK || !pour->lot) return status;
    struct stock_move move = {.lot = pour->lot,
                              .mg = -pour->mg,
                              .reason = "poured",
                              .pour = pour->id,
                              .at_ms = pour->at_ms,
                              .zone = pour->zone};
    return toner_store_move(book, &move, fault);
}

static void read_move_of_pour(const struct query *q, struct arena *arena, struct stock_move *out) {
    *out = (struct stock_move){.lot = query_get_text(q, 0, arena),
                               .mg = query_get_count(q, 1),
                               .reason = "poured",
                               .pour = query_get_text(q, 2, arena),
                               .words = "taken back: the pour was put right"};
}

/* The moves that were found, the other way. */
static enum status give_back(struct book *book, struct query *q, long long *mg, struct fault *fault) {
    struct stock_move *move;
    struct arena *arena = arena_new();
    size_t count;
    *mg = 0;
    ROWS_READ(q, arena, &move, &count, read_move_of_pour);
    enum status status = query_end(q);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        move[i].mg = -move[i].mg;
        *mg += move[i].mg;
        status = toner_store_move(book, &move[i], fault);
    }
    arena_free(arena);
    return status;
}

enum status pot_store_take_back(struct book *book, const char *pot, long long *mg, struct fault *fault) {
    struct query q =
        query_make(book,
                   "SELECT m.lot, m.mg, m.pour FROM stock_move m JOIN pour o ON m.pour = o.id WHERE "
                   "o.pot = ? AND m.mg < 0 ORDER BY m.id",
                   fault);
    query_text(&q, pot);
    return give_back(book, &q, mg, fault);
}

enum status pot_store_added(struct book *book, const char *entry, struct arena *arena, const char **pot,
                            long long *mg, struct fault *fault) {
    struct query q = query_make(book,
                                "SELECT o.pot, sum(o.mg) FROM pour o JOIN pot p ON p.id = o.pot WHERE "
                                "o.entry = ? AND o.entry IS NOT p.entry AND " TAKEN_BACK
                                " IS NULL GROUP BY o.pot ORDER BY o.pot LIMIT 1",
                                fault);
    query_text(&q, entry);
    for (*pot = NULL, *mg = 0; query_row(&q);) {
        *pot = query_get_text(&q, 0, arena);
        *mg = query_get_count(&q, 1);
    }
    return query_end(&q);
}

enum status pot_store_take_back_added(struct book *book, const char *entry, const char *pot,
                                      struct fault *fault) {
    struct query q =
        query_make(book,
                   "SELECT m.lot, sum(m.mg), m.pour FROM stock_move m JOIN pour o ON m.pour = o.id WHERE "
                   "o.entry = ? AND o.pot = ? GROUP BY m.pour, m.lot HAVING sum(m.mg) < 0 ORDER BY m.pour",
                   fault);
    query_text(&q, entry);
    query_text(&q, pot);
    return give_back(book, &q, &(long long){0}, fault);
}

static void read_pour(const struct query *q, struct arena *arena, struct pour_row *out) {
    query_get_id(q, 0, out->id);
    out->pot = query_get_text(q, 1, arena);
    out->toner = query_get_text(q, 2, arena);
    out->lot = query_get_text_or_null(q, 3, arena);
    out->mg = query_get_count(q, 4);
    out->at_ms = query_get_count(q, 5);
    out->zone = query_get_text(q, 6, arena);
    out->entry = query_get_text_or_null(q, 7, arena);
}

enum status pot_store_pours(struct book *book, const char *pot, struct arena *arena, struct pour_row **out,
                            size_t *count, struct fault *fault) {
    struct query q = query_make(book,
                                "SELECT o.id, o.pot, o.toner, o.lot, o.mg, o.at_ms, o.zone, o.entry FROM "
                                "pour o JOIN pot p ON p.id = o.pot "
                                "WHERE o.pot = ? AND " STANDING " ORDER BY o.at_ms, o.id",
                                fault);
    query_text(&q, pot);
    ROWS_READ(&q, arena, out, count, read_pour);
    return query_end(&q);
}

enum status pot_store_coat(struct book *book, struct coat_row *coat, struct fault *fault) {
    rows_begin(book, coat->id, &coat->at_ms, &coat->zone);
    struct query q = query_make(book,
                                "INSERT INTO coat (id, job, piece, colour, pot, entry, wet_um, film_um, "
                                "document, at_ms, zone) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                                fault);
    query_text(&q, coat->id);
    query_text(&q, coat->job);
    query_text(&q, coat->piece);
    query_text(&q, coat->colour);
    query_text(&q, coat->pot);
    query_text(&q, coat->entry);
    query_number(&q, coat->wet_um);
    query_number(&q, coat->film_um);
    query_text(&q, rows_about(coat->document));
    query_count(&q, coat->at_ms);
    query_text(&q, coat->zone);
    return query_run(&q);
}

static void read_coat(const struct query *q, struct arena *arena, struct coat_row *out) {
    query_get_id(q, 0, out->id);
    out->job = query_get_text(q, 1, arena);
    out->piece = query_get_text_or_null(q, 2, arena);
    out->colour = query_get_text_or_null(q, 3, arena);
    out->pot = query_get_text_or_null(q, 4, arena);
    out->entry = query_get_text_or_null(q, 5, arena);
    out->wet_um = query_get_number(q, 6);
    out->film_um = query_get_number(q, 7);
    out->document = query_get_text(q, 8, arena);
    out->at_ms = query_get_count(q, 9);
    out->zone = query_get_text(q, 10, arena);
}

enum status pot_store_coats(struct book *book, const char *job, struct arena *arena, struct coat_row **out,
                            size_t *count, struct fault *fault) {
    struct query q =
        query_make(book,
                   "SELECT id, job, piece, colour, pot, entry, wet_um, film_um, document, at_ms, "
                   "zone FROM coat WHERE job = ? ORDER BY at_ms, id",
                   fault);
    query_text(&q, job);
    ROWS_READ(&q, arena, out, count, read_coat);
    return query_end(&q);
}
