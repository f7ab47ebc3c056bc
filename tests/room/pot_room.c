#include "room/pot_room.h"
#include "colour/difference.h"
#include <math.h>

static const double FILM_SPREAD = 0.05, STEP_G = 0.01, CARD_G = 2;
enum { POURS_MOST = 10 };

bool pot_shop_open(unsigned long long seed, double drift, double shape, enum drift_kind kind,
                   struct pot_shop *out) {
    struct fit_report report;
    const struct room_plan plan = room_plan_usual();
    *out = (struct pot_shop){
        .room = room_new(seed), .arena = arena_new(), .film_um = 30, .geometry = GEOMETRY_SCI};
    const bool fitted = room_fit(out->room, &plan, out->arena, &out->shelf, &report);
    const struct room_film bare = {0, ROOM_FILLER, GEOMETRY_SCI, (double)NAN};
    room_bare(out->room, &bare, &out->ground);
    room_read(out->room, &out->ground);
    (kind == DRIFT_APART ? room_drift : room_drift_lots)(out->room, drift, shape);
    return fitted;
}

void pot_shop_close(struct pot_shop *shop) {
    room_free(shop->room);
    arena_free(shop->arena);
}

double pot_match(const struct pot_shop *shop, const struct spectrum *target, struct match_task *task,
                 struct pot *pot) {
    struct match_result found;
    struct fault fault = {0};
    match_task_preset(task, &shop->shelf);
    task->target = (struct reading){.geometry = GEOMETRY_SCI, .has_spectrum = true, .reflectance = *target};
    task->target.lab = lab_of_spectrum(target, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    task->film = (struct film_case){shop->film_um, shop->ground, GEOMETRY_SCI, (double)NAN};
    task->backing[0] = shop->ground;
    task->backing_count = 1;
    task->max_toners = 4;
    task->batch_g = 60;
    task->scale_step_g = STEP_G;
    task->bench_order = true; /* as `russet match` orders them */
    task->tolerance = 0.5;
    struct arena *arena = arena_new();
    double de00 = -1;
    *pot = (struct pot){0};
    if (match_run(task, NULL, arena, &found, &fault) == STATUS_OK) {
        const struct recipe *best = &found.recipe[0].recipe;
        struct addition all[RECIPE_TONERS_MOST];
        for (size_t i = 0; i < best->count; i++)
            all[i] = (struct addition){best->toner[i], best->mass_g[i], 0};
        pot_pour(shop, pot, all, best->count);
        de00 = found.recipe[0].de00[0];
    }
    arena_free(arena);
    return de00;
}

void pot_pour(const struct pot_shop *shop, struct pot *pot, const struct addition *add, size_t count) {
    for (size_t i = 0; i < count; i++) {
        pot->written_g[add[i].toner] += add[i].mass_g;
        pot->real_g[add[i].toner] += room_poured(shop->room, add[i].mass_g, STEP_G);
    }
    /* as many draws whatever is poured: what comes later does not depend on it */
    for (size_t i = count; i < POURS_MOST; i++) room_uniform(shop->room);
}

static double sum_of(const double mass_g[]) {
    double sum = 0;
    for (int i = 0; i < ROOM_MOST; i++) sum += mass_g[i];
    return sum;
}

/* What leaves the cup is of what is in it. */
static void take(struct pot *pot, double g) {
    const double sum = sum_of(pot->real_g);
    for (int i = 0; i < ROOM_MOST; i++) pot->real_g[i] *= 1 - g / sum;
    pot->taken_g += g;
}

static void read_card(const struct pot_shop *shop, const struct pot *pot, double film_um,
                      enum room_backing over, struct card *card, double part[ROOM_MOST]) {
    const struct room_film film = room_film_plain(film_um, over);
    const struct spectrum *ground = over == ROOM_FILLER ? &shop->ground : &shop->white;
    const double sum = sum_of(pot->written_g);
    for (int i = 0; i < ROOM_MOST; i++) part[i] = pot->written_g[i] / sum;
    *card = (struct card){.part = part, .film = {shop->film_um, *ground, GEOMETRY_SCI, (double)NAN}};
    room_spray(shop->room, pot->real_g, &film, &card->measured);
    room_read(shop->room, &card->measured);
}

void pot_card(const struct pot_shop *shop, struct pot *pot, struct card *card, double part[ROOM_MOST]) {
    const double film_um = room_film_sprayed(shop->room, shop->film_um, FILM_SPREAD);
    read_card(shop, pot, film_um, ROOM_FILLER, card, part);
    take(pot, CARD_G);
}

void pot_shop_halves(struct pot_shop *shop) {
    const struct room_film bare = {0, ROOM_WHITE, GEOMETRY_SCI, (double)NAN};
    room_bare(shop->room, &bare, &shop->white);
    room_read(shop->room, &shop->white);
}

void pot_card_halves(const struct pot_shop *shop, struct pot *pot, struct card card[2],
                     double part[ROOM_MOST]) {
    const double film_um = room_film_sprayed(shop->room, shop->film_um, FILM_SPREAD);
    read_card(shop, pot, film_um, ROOM_WHITE, &card[0], part);
    read_card(shop, pot, film_um, ROOM_FILLER, &card[1], part);
    take(pot, CARD_G);
}

void pot_spectrum(const struct pot_shop *shop, const struct pot *pot, struct spectrum *out) {
    struct room_film film = room_film_plain(shop->film_um, ROOM_FILLER);
    film.geometry = shop->geometry;
    room_spray(shop->room, pot->real_g, &film, out);
}

double pot_truth(const struct pot_shop *shop, const struct pot *pot, const struct spectrum *target) {
    struct spectrum seen;
    pot_spectrum(shop, pot, &seen);
    return room_de00(target, &seen, LIGHT_D65);
}
