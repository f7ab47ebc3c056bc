/* The fit in the room: 14 toners and a binder from the usual set of drawdowns (3 % film noise, .02 %
 * instrument noise), then unseen three-toner mixes with 30 to 60 % binder over black, white, filler and crust
 * in turn, predicted and sprayed. */
#include "check.h"
#include "paint/predict.h"
#include "room/room_fit.h"

/* One unseen mix: dE00 between what is predicted and what a perfect instrument reads. */
static double miss(struct room *room, const struct shelf *shelf, int i) {
    double mass_g[ROOM_MOST] = {0}, part[SHELF_MOST], sum = 0;
    for (int n = 0; n < 3; n++) {
        int t;
        do t = (int)(ROOM_SHELF * room_uniform(room));
        while (mass_g[t] > 0);
        mass_g[t] = -log(room_uniform(room));
        sum += mass_g[t];
    }
    const double binder = .3 + .3 * room_uniform(room);
    mass_g[ROOM_BINDER] = sum * binder / (1 - binder);
    for (size_t t = 0; t < shelf->count; t++) part[t] = mass_g[t] * (1 - binder) / sum;
    const struct room_film film =
        room_film_plain(25 + 15 * room_uniform(room), (enum room_backing)(i % ROOM_BACKINGS));
    struct film_case at = {.film_um = film.film_um, .geometry = GEOMETRY_SCI, .sheen_gu = (double)NAN};
    struct spectrum truth, seen;
    room_spray(room, mass_g, &film, &truth);
    room_bare(room, &film, &at.backing);
    predict_reflectance(shelf, part, &at, &seen);
    return room_de00(&truth, &seen, LIGHT_D65);
}

static void predict_unseen(unsigned long long first, unsigned long long rooms, double median_limit,
                           double p95_limit) {
    static double off[60 * 40], over[ROOM_BACKINGS][15 * 40];
    size_t n = 0, m[ROOM_BACKINGS] = {0};
    for (unsigned long long seed = first; seed < first + rooms; seed++) {
        struct arena *arena = arena_new();
        struct room *room = room_new(seed);
        const struct room_plan plan = room_plan_usual();
        struct shelf shelf;
        struct fit_report report;
        CHECK(room_fit(room, &plan, arena, &shelf, &report));
        CHECK(report.doubted == 0);
        printf("  room %llu: films %zu, dE00 median %.3f p95 %.3f; k1 %.4f k2 %.3f beam %d forward %.2f bend "
               "%.2f crowd %.2f, film sd %.3f\n",
               seed, report.films, report.de00_median, report.de00_p95, shelf.surface.k1, shelf.surface.k2,
               shelf.beam.on, shelf.beam.forward, shelf.toner[0].bend, shelf.toner[0].crowd, report.film_sd);
        for (int i = 0; i < 60; i++) {
            off[n] = miss(room, &shelf, i);
            over[i % ROOM_BACKINGS][m[i % ROOM_BACKINGS]++] = off[n++];
        }
        room_free(room);
        arena_free(arena);
    }
    const double median = room_quantile(off, n, .5), p95 = room_quantile(off, n, .95);
    printf("  figure: %zu unseen mixes of %llu shelves: dE00 median %.3f, p95 %.3f, worst %.3f\n", n, rooms,
           median, p95, room_quantile(off, n, 1));
    const char *name[] = {"black", "white", "filler", "crust"};
    for (int b = 0; b < ROOM_BACKINGS; b++)
        printf("  figure:   over %-6s median %.3f, p95 %.3f\n", name[b], room_quantile(over[b], m[b], .5),
               room_quantile(over[b], m[b], .95));
    CHECK_AT_MOST(median, median_limit);
    CHECK_AT_MOST(p95, p95_limit);
}

static void unseen_mixes_are_predicted(void) {
    predict_unseen(1, 3, .14, .35);
}

static void LONG_unseen_mixes_of_twenty_shelves(void) {
    predict_unseen(11, 20, .14, .35);
}

int main(void) {
    RUN(unseen_mixes_are_predicted);
    RUN(LONG_unseen_mixes_of_twenty_shelves);
    return check_done();
}
