#include "camera/photo_shop.h"
#include "camera/quick.h"
#include "flow/dab_camera.h"
#include "flow/photo_library.h"
#include "formats/photo_spots.h"
#include "paint/pigment.h"
#include "paint/prior_eye.h"
#include "paint/prior_fit.h"
#include "room/room_fit.h"
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double STEP_G = .01, DAB_G = 2, LIMIT_G = 120;

bool photo_shop_open(unsigned long long seed, double drift, struct photo_shop *out) {
    struct fit_report report;
    struct room_plan plan = room_plan_usual();
    plan.geometry = GEOMETRY_45_0;
    *out = (struct photo_shop){.room = room_new(seed), .arena = arena_new(), .film_um = 30, .phone = -1};
    out->photographs = (int)(31 * seed);
    const bool fitted = room_fit(out->room, &plan, out->arena, &out->shelf, &report);
    const struct room_film bare = {0, ROOM_FILLER, GEOMETRY_45_0, (double)NAN};
    room_bare(out->room, &bare, &out->ground);
    room_read(out->room, &out->ground);
    card_own(out->room, &out->card, out->truth);
    if (fitted) out->library_count = photo_library_of(&out->shelf, out->arena, &out->library);
    if (drift > 0) room_drift_lots(out->room, drift, .03);
    return fitted;
}

void photo_shop_close(struct photo_shop *shop) {
    room_free(shop->room);
    arena_free(shop->arena);
}

/* The next photograph; a sheet stands upright, so does the phone. */
static void scene_of(struct photo_shop *shop, struct scene *out) {
    const struct photo_card *card = &shop->card;
    const int n = shop->photographs++ * 7 % (CAMERAS * LAMPS * TILTS);
    if (shop->phone < 0)
        scene_preset(out, card, n / TILTS / LAMPS, (enum lamp)(n / TILTS % LAMPS), n % TILTS);
    else
        scene_preset(out, card, shop->phone, LAMP_SHADE, n % TILTS);
    out->sensor.seed += (unsigned long long)n;
    if (shop->raw) out->sensor.quality = 0;
    if (card->size_mm[1] > card->size_mm[0]) {
        const int side = out->width;
        out->width = out->height, out->height = side;
        out->filled = .82;
    }
    for (int i = 0; i < card->patches; i++) out->patch[i] = shop->truth[i];
    for (int i = 0; i < card->places; i++) out->place[i] = shop->place[i];
}

static enum status read_spot(const struct photo_shop *shop, const struct camera_shot *shot, int spot,
                             bool like, struct reading *out, struct fault *fault) {
    struct arena *arena = arena_new();
    struct camera_shot *one = arena_need(arena, 1, sizeof *one);
    struct camera_result *result = arena_need(arena, 1, sizeof *result);
    *one = *shot;
    one->spots = 1, one->spot[0] = shot->spot[spot];
    const struct camera_shot *const shots[1] = {one};
    const struct camera_task task = {.card = &shop->card,
                                     .shots = 1,
                                     .shot = shots,
                                     .shine = SHINE_BARE,
                                     .like_card = like,
                                     .library_count = shop->library_count,
                                     .library = shop->library,
                                     .library_is_own = true};
    const enum status status = camera_read(&task, arena, result, fault);
    *out = (struct reading){.geometry = GEOMETRY_PHOTO, .lab = result->mean.lab};
    out->has_spectrum = result->has_reflectance, out->reflectance = result->reflectance;
    out->has_cov = true;
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++) out->lab_cov[a][b] = result->mean.cov[a][b];
    arena_free(arena);
    return status;
}

enum status photo_shop_read(struct photo_shop *shop, const struct spectrum *leather,
                            const struct spectrum *dab, bool like, struct reading *spot,
                            struct reading *of_dab, struct fault *fault) {
    struct scene scene;
    const double *mm = shop->card.window_center_mm;
    struct camera_shot *shot = memory_need(1, sizeof *shot);
    enum status status = STATUS_INPUT;
    scene_of(shop, &scene);
    for (int again = 0; again < 3 && status != STATUS_OK; again++) { /* burnt out: one stop less */
        const struct quick_spot spots[2] = {{*leather, scene.window.shine, {mm[0] - 5, mm[1]}},
                                            {dab ? *dab : *leather, scene.window.shine, {mm[0] + 6, mm[1]}}};
        quick_shot(&scene, spots, dab ? 2 : 1, shot);
        status = read_spot(shop, shot, 0, like, spot, fault);
        if (dab && status == STATUS_OK) status = read_spot(shop, shot, 1, like, of_dab, fault);
        scene.sensor.exposure /= 2;
    }
    memory_free(shot);
    return status;
}

enum status photo_shop_against(struct photo_shop *shop, const struct spectrum *leather,
                               const struct spectrum *dab, bool like, double dlab[3], struct fault *fault) {
    struct scene scene;
    const double *mm = shop->card.window_center_mm;
    struct arena *arena = arena_new();
    struct camera_result *result = arena_need(arena, 1, sizeof *result);
    enum status status = STATUS_INPUT;
    scene_of(shop, &scene);
    const struct quick_spot spots[2] = {{*leather, scene.window.shine, {mm[0] - 5, mm[1]}},
                                        {*dab, scene.window.shine, {mm[0] + 6, mm[1]}}};
    for (int again = 0; again < 3 && status != STATUS_OK; again++, scene.sensor.exposure /= 2)
        status = quick_read(&scene, spots, 2, like, arena, result, fault);
    for (int k = 0; k < 3; k++) dlab[k] = result->against[1].dlab[k];
    arena_free(arena);
    return status;
}

static void pour(struct photo_shop *shop, struct shop_pot *pot, int toner, double g) {
    pot->written_g[toner] += g;
    pot->real_g[toner] += room_poured(shop->room, g, STEP_G);
}

double photo_shop_match(struct photo_shop *shop, const struct reading *target, const double only[],
                        struct match_task *task, struct shop_pot *pot) {
    struct match_result found;
    struct fault fault = {0};
    struct arena *arena = arena_new();
    double de00 = -1;
    match_task_preset(task, &shop->shelf);
    task->target = *target;
    task->film = (struct film_case){shop->film_um, shop->ground, GEOMETRY_45_0, (double)NAN};
    task->backing[0] = shop->ground, task->backing_count = 1;
    task->max_toners = 4, task->batch_g = 60, task->scale_step_g = STEP_G;
    for (int i = 0; only && i < ROOM_BINDER; i++) task->exclude[i] = only[i] == 0;
    *pot = (struct shop_pot){.taken_g = 0};
    if (match_run(task, NULL, arena, &found, &fault) == STATUS_OK) {
        const struct recipe *best = &found.recipe[0].recipe;
        for (size_t i = 0; i < best->count; i++) pour(shop, pot, best->toner[i], best->mass_g[i]);
        de00 = found.recipe[0].de00[0];
    } else
        printf("  %s\n", fault.text);
    arena_free(arena);
    return de00;
}

static double sum_of(const double mass_g[]) {
    double sum = 0;
    for (int i = 0; i < ROOM_MOST; i++) sum += mass_g[i];
    return sum;
}

static void spray(const struct photo_shop *shop, const struct shop_pot *pot, double film_um,
                  struct spectrum *out) {
    const struct room_film film = {film_um, ROOM_FILLER, GEOMETRY_45_0, (double)NAN};
    room_spray(shop->room, pot->real_g, &film, out);
}

void photo_shop_dab(struct photo_shop *shop, struct shop_pot *pot, struct spectrum *out) {
    const double sum = sum_of(pot->real_g);
    spray(shop, pot, room_film_sprayed(shop->room, shop->film_um, .05), out);
    for (int i = 0; i < ROOM_MOST; i++) pot->real_g[i] *= 1 - DAB_G / sum;
    pot->taken_g += DAB_G;
}

bool photo_shop_adjust(struct photo_shop *shop, const struct match_task *task, const struct spectrum *target,
                       const struct spectrum *measured, double trust_sd, struct shop_pot *pot) {
    struct adjust_result found;
    struct fault fault = {0};
    struct arena *arena = arena_new();
    double part[ROOM_MOST];
    const double sum = sum_of(pot->written_g);
    for (int i = 0; i < ROOM_MOST; i++) part[i] = pot->written_g[i] / sum;
    const struct card card = {.part = part, .film = task->film, .measured = *measured, .trust_sd = trust_sd};
    struct adjust_task ask = {.match = *task,
                              .pot_g = pot->written_g,
                              .taken_g = pot->taken_g,
                              .pot_limit_g = LIMIT_G,
                              .card = &card,
                              .cards = 1,
                              .tolerance = .5,
                              .refined_part = ADJUST_REFINED,
                              .doubt = doubt_usual};
    ask.match.target.reflectance = *target, ask.match.target.has_spectrum = true,
    ask.match.target.has_cov = false;
    ask.match.target.lab = lab_of_spectrum(target, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    const bool done = adjust_run(&ask, NULL, arena, &found, &fault) == STATUS_OK;
    if (!done) printf("  %s\n", fault.text);
    for (size_t i = 0; done && i < found.count; i++)
        pour(shop, pot, found.addition[i].toner, found.addition[i].mass_g);
    arena_free(arena);
    return done;
}

bool photo_shop_adjust_by(struct photo_shop *shop, const struct match_task *task, const double dlab[3],
                          const struct spectrum *spot, struct shop_pot *pot) {
    struct adjust_result found;
    struct fault fault = {0};
    struct arena *arena = arena_new();
    struct spectrum now;
    double part[ROOM_MOST];
    const double sum = sum_of(pot->written_g);
    for (int i = 0; i < ROOM_MOST; i++) part[i] = pot->written_g[i] / sum;
    predict_reflectance(&shop->shelf, part, &task->film, &now);
    const struct card card = {.part = part, .film = task->film, .measured = now}; /* as `adjust --against` */
    struct adjust_task ask = {.match = *task,
                              .pot_g = pot->written_g,
                              .taken_g = pot->taken_g,
                              .pot_limit_g = LIMIT_G,
                              .card = &card,
                              .cards = 1,
                              .tolerance = .3,
                              .doubt = doubt_usual};
    struct lab lab = lab_of_spectrum(&now, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    lab.l -= dlab[0], lab.a -= dlab[1], lab.b -= dlab[2];
    double off[3] = {0};
    if (shop->shelf.camera) eye_less_camera_apart(shop->shelf.camera, &now, spot, off);
    lab.l -= off[0], lab.a -= off[1], lab.b -= off[2];
    ask.match.target = (struct reading){.geometry = GEOMETRY_PHOTO, .lab = lab};
    const bool done = adjust_run(&ask, NULL, arena, &found, &fault) == STATUS_OK;
    if (!done) printf("  %s\n", fault.text);
    for (size_t i = 0; done && i < found.count; i++)
        pour(shop, pot, found.addition[i].toner, found.addition[i].mass_g);
    arena_free(arena);
    return done;
}

double photo_shop_truth(const struct photo_shop *shop, const struct shop_pot *pot,
                        const struct spectrum *leather) {
    struct spectrum seen;
    spray(shop, pot, shop->film_um, &seen);
    return room_de00(leather, &seen, LIGHT_D65);
}

/* ---- the first day ---- */

static const struct {
    const char *id, *pigment;
} names[ROOM_BINDER + 1] = {{"white", "PW6"},
                            {"black", "PBk7"},
                            {"yellow-oxide", "PY42"},
                            {"red-oxide", "PR101"},
                            {"brown-oxide", "brown-oxide"},
                            {"yellow", "PY184"},
                            {"yellow-deep", "PY83"},
                            {"orange", "PO73"},
                            {"red", "PR254"},
                            {"magenta", "PR122"},
                            {"violet", "PV23"},
                            {"blue", "PB15"},
                            {"green", "PG7"},
                            {"ultramarine", "PB29"},
                            {"binder", "binder"}};

static void name_toners(struct photo_shop *shop) {
    char bad[48];
    shop->shelf = (struct shelf){.count = ROOM_BINDER + 1,
                                 .toner = arena_need(shop->arena, SHELF_MOST, sizeof *shop->shelf.toner)};
    for (int i = 0; i <= ROOM_BINDER; i++) {
        struct toner *toner = &shop->shelf.toner[i];
        assert(room_find(shop->room, names[i].id) == i);
        snprintf(toner->id, sizeof toner->id, "%s", names[i].id);
        const bool known =
            pigment_blend(names[i].pigment, toner->k, toner->s, &toner->prior, &toner->role, bad);
        assert(known), (void)known;
        toner->role = room_role(shop->room, (size_t)i);
        toner->price_minor_per_kg = -1;
    }
    pigment_shelf(&shop->shelf);
}

/* What is really on the sheet. */
static void spray_sheet(struct photo_shop *shop) {
    struct photo_card *card = &shop->card;
    double film_um = 30;
    for (int i = 0; i < card->places; i++) {
        const struct photo_place *place = &card->place[i];
        const char *over = place->over[0] ? place->over : place->id;
        const bool black = strcmp(over, "bare-black") == 0;
        struct room_film film = {0, black ? ROOM_BLACK : ROOM_WHITE, GEOMETRY_45_0, (double)NAN};
        double mass_g[ROOM_MOST] = {0};
        if (place->parts == 0) {
            room_bare(shop->room, &film, &shop->place[i]);
            continue;
        }
        if (i == 0 || strcmp(place->dab, card->place[i - 1].dab) != 0)
            film_um = room_film_sprayed(shop->room, 30, .25);
        film.film_um = film_um;
        for (int k = 0; k < place->parts; k++)
            mass_g[room_find(shop->room, place->part[k].toner)] += place->part[k].g;
        room_spray(shop->room, mass_g, &film, &shop->place[i]);
    }
    for (int i = 0; i < card->patches; i++)
        shop->truth[i] = shop->place[photo_card_place(card, "bare-white")];
}

/* The places that count: three films a toner. */
static bool serves(const struct photo_place *place) {
    const bool tint = strstr(place->id, ".10.") != NULL, white = strcmp(place->over, "bare-white") == 0;
    return place->parts > 0 && !(tint && white);
}

/* The covariance in two parts: its own, and what all dabs share. */
void photo_shop_own_error(const struct camera_colour *seen, struct prior_film *film) {
    memcpy(film->common, seen->common, sizeof film->common);
    memcpy(film->cov, seen->own, sizeof film->cov);
}

/* The sheet as a card: its dabs are patches with the colour that the shelf now gives them. */
static void make_dabs(struct photo_shop *shop, const struct prior_film film[], size_t films,
                      const struct prior_result *result) {
    struct photo_card *card = &shop->card;
    struct spectrum truth[CARD_PATCHES_MOST];
    card->patches = 0;
    for (size_t f = 0; f < films; f++) {
        const int place = photo_card_place(card, film[f].id);
        struct photo_patch *patch = &card->patch[card->patches];
        *patch = (struct photo_patch){.size_mm = 7, .known = KNOWN_LAB, .lab = result->row[f].lab};
        memcpy(patch->center_mm, card->place[place].center_mm, sizeof patch->center_mm);
        memcpy(patch->id, film[f].id, sizeof patch->id);
        patch->role = hypot(patch->lab.a, patch->lab.b) < 5 ? PATCH_NEUTRAL : PATCH_COLOUR;
        patch->lab_sd = photo_dab_sd(patch->lab, result->row[f].de00);
        truth[card->patches++] = shop->place[place];
    }
    memcpy(shop->truth, truth, sizeof truth);
    card->places = 0;
}

static bool narrow(struct photo_shop *shop, const struct camera_result *seen) {
    struct arena *arena = shop->arena;
    const struct photo_card *card = &shop->card;
    struct prior_film *film = arena_need(arena, CARD_PLACES_MOST, sizeof *film);
    struct prior_bare *bare = arena_need(arena, 2, sizeof *bare);
    struct prior_result *result = arena_need(arena, 1, sizeof *result);
    struct fault fault = {0};
    size_t films = 0;
    int first_of_dab = 0;
    for (int i = 0; i < card->places; i++) {
        const struct photo_place *place = &card->place[i];
        const struct lab read = seen->place[i].lab;
        if (!seen->place_seen[i]) continue;
        if (place->parts == 0) {
            struct prior_bare *one = &bare[strcmp(place->id, "bare-white") == 0];
            prior_bare_of_lab(read, &one->reflectance);
            memcpy(one->common, seen->place[i].common, sizeof one->common);
        }
        if (!serves(place)) continue;
        double *mass_g = arena_need(arena, ROOM_BINDER + 1, sizeof *mass_g);
        for (int k = 0; k < place->parts; k++)
            mass_g[room_find(shop->room, place->part[k].toner)] += place->part[k].g;
        if (i == 0 || strcmp(place->dab, card->place[i - 1].dab) != 0) first_of_dab = (int)films;
        film[films] = (struct prior_film){.id = place->id,
                                          .mass_g = mass_g,
                                          .over = strcmp(place->over, "bare-white") == 0,
                                          .dab = first_of_dab,
                                          .film_um = (double)NAN,
                                          .lab = read};
        photo_shop_own_error(&seen->place[i], &film[films++]);
    }
    const struct prior_task task = {.shelf = &shop->shelf,
                                    .modes = CAMERA_COMMON,
                                    .eye = true,
                                    .geometry = GEOMETRY_PHOTO,
                                    .bares = 2,
                                    .films = films,
                                    .bare = bare,
                                    .film = film};
    struct shelf shelf;
    if (prior_fit(&task, arena, &shelf, result, &fault) != STATUS_OK) {
        printf("  %s\n", fault.text);
        return false;
    }
    shop->shelf = shelf;
    struct weights *camera = arena_need(arena, 1, sizeof *camera);
    if (dab_camera_make(result, films, camera)) shop->shelf.camera = camera;
    make_dabs(shop, film, films, result);
    return true;
}

bool photo_shop_start(unsigned long long seed, bool raw, struct photo_shop *out) {
    static char id[ROOM_BINDER][48];
    struct fault fault = {0};
    struct scene scene;
    *out =
        (struct photo_shop){.room = room_new(seed),
                            .arena = arena_new(),
                            .film_um = 30,
                            .phone = (int)(seed * 7 % CAMERAS) + (seed >= PHOTO_SHOP_SETTING ? CAMERAS : 0),
                            .raw = raw};
    out->photographs = (int)(37 * seed);
    room_drift_lots(out->room, log(2) / 1.6, .10);
    room_print(out->room, .93 + .06 * room_uniform(out->room), .07 + .15 * room_uniform(out->room));
    name_toners(out);
    for (int i = 0; i < ROOM_BINDER; i++) snprintf(id[i], sizeof id[i], "%s", names[i].id);
    if (!photo_card_start((const char(*)[48])id, ROOM_BINDER, 0, &out->card)) return false;
    spray_sheet(out);
    scene_of(out, &scene);
    const struct room_film bare = {0, ROOM_FILLER, GEOMETRY_45_0, (double)NAN};
    room_bare(out->room, &bare, &out->ground);
    struct camera_result *seen = arena_need(out->arena, 1, sizeof *seen);
    const struct quick_spot spot = {out->ground, .001, {90, 125}};
    enum status status = STATUS_INPUT;
    for (int again = 0; again < 3 && status != STATUS_OK; again++, scene.sensor.exposure /= 2)
        status = quick_read(&scene, &spot, 1, false, out->arena, seen, &fault);
    if (status != STATUS_OK) printf("  %s\n", fault.text);
    if (status != STATUS_OK || !narrow(out, seen)) return false;
    out->library_count = photo_library_of(&out->shelf, out->arena, &out->library);
    return true;
}
