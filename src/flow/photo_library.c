/* A library of mixes: each pair of toners in nine steps, each three in ten mixtures of very different shares
 * (a strong black colours at a hundredth of what a white needs).
 *
 * Of a shelf that a phone told (shelf.camera) only mixes with one bright toner at most: leathers are coloured
 * with white, black and oxides and a bright pigment beside them (common practice), and three numbers do not
 * tell such a brown from one of an orange and a green, which a camera sees otherwise. Where that leaves too
 * few for an estimate, all count. */
#include "flow/photo_library.h"
#include "paint/pigment.h"
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LIBRARY_MOST = 12000, LIBRARY_LEAST = 200 };

static const double binder = .5; /* of the whole, common practice */

struct library {
    const struct shelf *shelf;
    struct spectrum *mix;
    size_t count;
    int binder, usable[SHELF_MOST], usables;
    bool bright[SHELF_MOST]; /* at most one in a mix */
};

static void add(struct library *library, const int toner[], const double share[], int n) {
    double part[SHELF_MOST] = {0}, sum = 0;
    int bright = 0;
    for (int i = 0; i < n; i++) bright += library->bright[toner[i]];
    if (library->count == LIBRARY_MOST || bright > 1) return;
    for (int i = 0; i < n; i++) sum += share[i];
    const double pigment = library->binder >= 0 ? 1 - binder : 1;
    for (int i = 0; i < n; i++) part[toner[i]] += pigment * share[i] / sum;
    if (library->binder >= 0) part[library->binder] = binder;
    const struct film_case film = {
        .film_um = (double)INFINITY, .geometry = GEOMETRY_45_0, .sheen_gu = (double)NAN};
    predict_reflectance(library->shelf, part, &film, &library->mix[library->count++]);
}

static void add_pairs(struct library *library) {
    static const double share[9] = {.003, .01, .03, .1, .25, .5, .75, .9, .97};
    for (int a = 0; a < library->usables; a++)
        for (int b = a + 1; b < library->usables; b++)
            for (int s = 0; s < 9; s++)
                add(library, (int[]){library->usable[a], library->usable[b]},
                    (double[]){1 - share[s], share[s]}, 2);
}

static void add_triples(struct library *library) {
    static const double share[10][3] = {{.9, .08, .02}, {.9, .02, .08}, {.08, .9, .02}, {.02, .9, .08},
                                        {.08, .02, .9}, {.02, .08, .9}, {.6, .35, .05}, {.6, .05, .35},
                                        {.05, .6, .35}, {.33, .33, .33}};
    for (int a = 0; a < library->usables; a++)
        for (int b = a + 1; b < library->usables; b++)
            for (int c = b + 1; c < library->usables; c++)
                for (int s = 0; s < 10; s++)
                    add(library, (int[]){library->usable[a], library->usable[b], library->usable[c]},
                        share[s], 3);
}

static void make_mixes(struct library *library) {
    for (int i = 0; i < library->usables; i++) add(library, &library->usable[i], (double[]){1}, 1);
    add_pairs(library);
    add_triples(library);
}

size_t photo_library_of(const struct shelf *shelf, struct arena *arena, struct spectrum **out) {
    struct library library = {.shelf = shelf, .binder = -1};
    for (size_t i = 0; i < shelf->count; i++) {
        if (shelf->toner[i].role == ROLE_BINDER)
            library.binder = (int)i;
        else
            library.usable[library.usables++] = (int)i;
    }
    library.mix = arena_need(arena, LIBRARY_MOST, sizeof *library.mix);
    for (size_t i = 0; i < shelf->count && shelf->camera; i++)
        library.bright[i] = shelf->toner[i].prior.on && !pigment_is_dull(shelf->toner[i].prior.source);
    make_mixes(&library);
    if (library.count < LIBRARY_LEAST && shelf->camera) {
        memset(library.bright, 0, sizeof library.bright);
        library.count = 0;
        make_mixes(&library);
    }
    *out = library.mix;
    return library.count;
}

size_t photo_library_prior(struct arena *arena, struct spectrum **out) {
    static const char *const name[] = {"binder", "white",      "yellow-oxide", "red-oxide", "brown-oxide",
                                       "umber",  "cool-black", "PY74",         "PR254",     "PV19",
                                       "PV23",   "PB15",       "PB29",         "PG7"};
    enum { NAMES = sizeof name / sizeof name[0] };
    struct shelf shelf = {.toner = arena_need(arena, NAMES, sizeof *shelf.toner),
                          .geometry = GEOMETRY_45_0,
                          .surface = {.k1 = .03, .k2 = .65}}; /* of the pigments' table */
    for (size_t i = 0; i < NAMES; i++) {
        struct toner *toner = &shelf.toner[i];
        char bad[48];
        const bool known = pigment_blend(name[i], toner->k, toner->s, &toner->prior, &toner->role, bad);
        assert(known);
        (void)known;
        snprintf(toner->id, sizeof toner->id, "p%zu", i);
        toner->price_minor_per_kg = -1;
        shelf.count++;
    }
    return photo_library_of(&shelf, arena, out);
}
