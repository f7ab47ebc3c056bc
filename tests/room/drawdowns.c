/* The drawdowns of the room. The usual set (docs/room.md), films 25..40 um:
 *   two bare cards; binder alone over black and over white;
 *   white, which crowds: undiluted, 1 : 1, 1 : 3 and 1 : 9 in binder over black, 1 : 1 over white;
 *   every other toner: undiluted over white and over black, 1 : 1 in binder over black, 1 : 4 over white, and
 * half binder: two tints with white (1 : 15 and 1 : 3) over black and white in turn, one shade with black (20
 * : 1; black itself: a grey 1 : 60). */
#include "base/memory.h"
#include "room/room.h"
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

struct room_plan room_plan_usual(void) {
    return (struct room_plan){
        .geometry = GEOMETRY_SCI, .film_um = 30, .film_spread = .03, .scale_step_g = .01, .batch_g = 20};
}

static struct room_drawdown *add(struct room_set *set, const char *id, const char *backing_id) {
    set->row = memory_grow(set->row, set->count + 1, sizeof set->row[0]);
    struct room_drawdown *row = &set->row[set->count++];
    memset(row, 0, sizeof *row);
    snprintf(row->id, sizeof row->id, "%s", id);
    snprintf(row->backing_id, sizeof row->backing_id, "%s", backing_id);
    row->film_um = row->true_film_um = (double)INFINITY;
    row->topcoat_gu = (double)NAN;
    return row;
}

static const char *const card_id[ROOM_BACKINGS] = {"bare-black", "bare-white", "bare-filler", "bare-crust"};

static void add_bare(struct room *room, const struct room_plan *plan, struct room_set *set,
                     enum room_backing backing) {
    struct room_drawdown *row = add(set, card_id[backing], "");
    row->backing = backing;
    const struct room_film film = {0, backing, plan->geometry, (double)NAN};
    room_bare(room, &film, &row->seen);
    room_read(room, &row->seen);
}

struct mix {
    int toner[3];
    double part[3];
};

/* Weighs, sprays and reads one film. film_um is what was wanted; written to .1 um as a gauge shows it. */
static struct room_drawdown *add_film(struct room *room, const struct room_plan *plan, struct room_set *set,
                                      const char *id, const struct mix *mix, enum room_backing backing) {
    struct room_drawdown *row = add(set, id, plan->opaque_only ? "-" : card_id[backing]);
    double poured[ROOM_MOST] = {0}, sum = 0;
    for (int i = 0; i < 3; i++) sum += mix->part[i];
    for (int i = 0; i < 3; i++) {
        if (mix->part[i] == 0) continue;
        const double wanted = plan->batch_g * mix->part[i] / sum;
        row->mass_g[mix->toner[i]] = round(wanted / plan->scale_step_g) * plan->scale_step_g;
        poured[mix->toner[i]] = room_poured(room, wanted, plan->scale_step_g);
    }
    row->backing = backing;
    if (!plan->opaque_only) {
        row->true_film_um = plan->film_um * (.84 + .48 * room_uniform(room)); /* 25..40 at 30 */
        row->film_um = round(10 * room_film_sprayed(room, row->true_film_um, plan->film_spread)) / 10;
    }
    const struct room_film film = {row->true_film_um, backing, plan->geometry, (double)NAN};
    room_spray(room, poured, &film, &row->seen);
    room_read(room, &row->seen);
    return row;
}

static void add_white(struct room *room, const struct room_plan *plan, struct room_set *set, int white) {
    const double binder[] = {0, 1, 3, 9};
    for (int i = 0; i < 4; i++) {
        char id[64];
        snprintf(id, sizeof id, "white-1-%.0f-black", binder[i]);
        add_film(room, plan, set, id, &(struct mix){{white, ROOM_BINDER}, {1, binder[i]}}, ROOM_BLACK);
    }
    add_film(room, plan, set, "white-1-1-white", &(struct mix){{white, ROOM_BINDER}, {1, 1}}, ROOM_WHITE);
}

static void add_colour(struct room *room, const struct room_plan *plan, struct room_set *set, int toner) {
    const int white = room_find(room, "white"), black = room_find(room, "black");
    const struct mix full = {{toner}, {1}}, thin = {{toner, ROOM_BINDER}, {1, 4}};
    const struct mix half = {{toner, ROOM_BINDER}, {1, 1}};
    const struct mix pale = {{toner, white, ROOM_BINDER}, {1, 15, 16}},
                     mid = {{toner, white, ROOM_BINDER}, {1, 3, 4}};
    const struct mix shade = {{toner, black, ROOM_BINDER}, {20, 1, 21}},
                     grey = {{black, white, ROOM_BINDER}, {1, 60, 61}};
    char id[64];
    const char *name = room_id(room, (size_t)toner);
    snprintf(id, sizeof id, "%s-full-white", name);
    add_film(room, plan, set, id, &full, ROOM_WHITE);
    snprintf(id, sizeof id, "%s-thin-white", name);
    add_film(room, plan, set, id, &thin, ROOM_WHITE);
    snprintf(id, sizeof id, "%s-full-black", name);
    add_film(room, plan, set, id, &full, ROOM_BLACK);
    snprintf(id, sizeof id, "%s-half-black", name);
    add_film(room, plan, set, id, &half, ROOM_BLACK);
    snprintf(id, sizeof id, "%s-pale", name);
    add_film(room, plan, set, id, &pale, toner % 2 ? ROOM_BLACK : ROOM_WHITE);
    snprintf(id, sizeof id, "%s-mid", name);
    add_film(room, plan, set, id, &mid, toner % 2 ? ROOM_WHITE : ROOM_BLACK);
    snprintf(id, sizeof id, "%s-%s", name, toner == black ? "grey" : "shade");
    add_film(room, plan, set, id, toner == black ? &grey : &shade, ROOM_WHITE);
}

/* A film read again under clears of three sheens. */
static void add_topcoats(struct room *room, const struct room_plan *plan, struct room_set *set,
                         const char *of) {
    const double gu[] = {4, 20, 50};
    for (int i = 0; i < 3; i++) {
        size_t base = 0;
        while (strcmp(set->row[base].id, of) != 0) base++;
        char id[64];
        snprintf(id, sizeof id, "%.40s-%.0f-gu", of, gu[i]);
        struct room_drawdown *row = add(set, id, set->row[base].backing_id);
        const struct room_drawdown *from = &set->row[base];
        memcpy(row->mass_g, from->mass_g, sizeof row->mass_g);
        row->film_um = from->film_um, row->true_film_um = from->true_film_um, row->backing = from->backing;
        row->topcoat_gu = gu[i];
        const struct room_film film = {row->true_film_um, row->backing, plan->geometry, gu[i]};
        room_spray(room, row->mass_g, &film, &row->seen);
        room_read(room, &row->seen);
    }
}

void room_drawdowns(struct room *room, const struct room_plan *plan, struct room_set *out) {
    *out = (struct room_set){.geometry = plan->geometry};
    if (!plan->opaque_only) {
        add_bare(room, plan, out, ROOM_BLACK);
        add_bare(room, plan, out, ROOM_WHITE);
        add_film(room, plan, out, "binder-black", &(struct mix){{ROOM_BINDER}, {1}}, ROOM_BLACK);
        add_film(room, plan, out, "binder-white", &(struct mix){{ROOM_BINDER}, {1}}, ROOM_WHITE);
    }
    add_white(room, plan, out, room_find(room, "white"));
    for (int i = 0; i < ROOM_SHELF; i++)
        if (room_role(room, (size_t)i) != ROLE_WHITE) add_colour(room, plan, out, i);
    if (plan->topcoats) {
        add_topcoats(room, plan, out, "black-full-white");
        add_topcoats(room, plan, out, "white-1-1-white");
    }
}

void room_set_free(struct room_set *set) {
    memory_free(set->row);
    set->row = NULL, set->count = 0;
}

void room_set_fill(const struct room *room, const struct room_set *set, struct arena *arena,
                   struct drawdown_set *out) {
    *out =
        (struct drawdown_set){.toner_count = ROOM_BINDER + 1, .count = set->count, .geometry = set->geometry};
    char(*id)[TONER_ID_MAX] = arena_need(arena, out->toner_count, sizeof *id);
    for (size_t i = 0; i < out->toner_count; i++) snprintf(id[i], sizeof id[i], "%.47s", room_id(room, i));
    out->toner_id = (const char(*)[TONER_ID_MAX])id;
    out->row = arena_need(arena, set->count, sizeof out->row[0]);
    for (size_t i = 0; i < set->count; i++) {
        const struct room_drawdown *from = &set->row[i];
        struct drawdown *row = &out->row[i];
        double *mass_g = arena_need(arena, out->toner_count, sizeof *mass_g);
        memcpy(mass_g, from->mass_g, out->toner_count * sizeof *mass_g);
        snprintf(row->id, sizeof row->id, "%s", from->id);
        row->line = (int)i + 1, row->mass_g = mass_g, row->reflectance = from->seen,
        row->topcoat_gu = from->topcoat_gu;
        row->is_bare = from->backing_id[0] == 0;
        row->backing = DRAWDOWN_OPAQUE;
        for (size_t j = 0; j < set->count && !row->is_bare; j++)
            if (strcmp(set->row[j].id, from->backing_id) == 0) row->backing = (int)j;
        row->film_um = isinf(from->film_um) ? (double)NAN : from->film_um;
    }
}

static void write_spectrum(const struct spectrum *seen, double scale, struct text *out) {
    for (int b = 0; b < BANDS; b++) text_format(out, "\t%.6f", scale * seen->band[b]);
    text_add(out, "\n");
}

static void write_headings(struct text *out, const char *more, int fields) {
    text_format(out,
                "CGATS.17\n\nORIGINATOR \"a virtual spray room; invented\"\nNUMBER_OF_FIELDS "
                "%d\nBEGIN_DATA_FORMAT\nSAMPLE_ID%s",
                fields + BANDS, more);
    for (int b = 0; b < BANDS; b++) text_format(out, "\tSPECTRAL_NM%d", BAND_FIRST_NM + b * BAND_STEP_NM);
    text_add(out, "\nEND_DATA_FORMAT\n");
}

static void write_row(const struct room_drawdown *row, double scale, struct text *out) {
    text_format(out, "%s\t%s", row->id, row->backing_id[0] ? row->backing_id : "-");
    if (isinf(row->film_um) || !row->backing_id[0])
        text_add(out, "\t\"\"");
    else
        text_format(out, "\t%.1f", row->film_um);
    if (isnan(row->topcoat_gu))
        text_add(out, "\t\"\"");
    else
        text_format(out, "\t%g", row->topcoat_gu);
    for (int i = 0; i <= ROOM_BINDER; i++) text_format(out, "\t%.2f", row->mass_g[i]);
    write_spectrum(&row->seen, scale, out);
}

void room_set_write(const struct room *room, const struct room_set *set, bool percent, struct text *out) {
    struct text more = {0};
    text_add(&more, "\tBACKING\tFILM_UM\tTOPCOAT");
    for (int i = 0; i <= ROOM_BINDER; i++) text_format(&more, "\tMIX_%s", room_id(room, (size_t)i));
    write_headings(out, more.data, 4 + ROOM_BINDER + 1);
    text_free(&more);
    text_format(out, "NUMBER_OF_SETS %zu\nBEGIN_DATA\n", set->count);
    for (size_t i = 0; i < set->count; i++) write_row(&set->row[i], percent ? 100 : 1, out);
    text_add(out, "END_DATA\n");
}

void room_reading_write(const char *name, const struct spectrum *seen, struct text *out) {
    write_headings(out, "", 1);
    text_format(out, "NUMBER_OF_SETS 1\nBEGIN_DATA\n%s", name);
    write_spectrum(seen, 1, out);
    text_add(out, "END_DATA\n");
}
