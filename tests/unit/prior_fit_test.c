/* The fit of few photographed dabs against what is known of pigments: shops whose true toners are relatives
 * of the prior's (strength x/: 2, shape as unsure as the prior says), two dabs a toner over black and white,
 * read by a camera (sd 1 dE each way). Truth and fit share the paint model here; tests/room has another
 * physics. */
#include "base/work.h"
#include "check.h"
#include "colour/difference.h"
#include "paint/leather.h"
#include "paint/match.h"
#include "paint/pigment.h"
#include "paint/prior_eye.h"
#include "paint/prior_fit.h"
#include <stdlib.h>
#include <string.h>

enum { SHOP = 8, DABS = 2 * SHOP, SHOPS = 6 };
static const char *const ids[SHOP] = {"white",       "yellow-oxide", "red-oxide", "black",
                                      "ultramarine", "red",          "yellow",    "brown"};
static const char *const labels[SHOP] = {"PW6",  "PY42",  "PR101", "PBk7",
                                         "PB29", "PR254", "PY83",  "yellow-oxide+warm-black"};

static double normal(unsigned long long *seed) {
    return sqrt(-2 * log(1 - check_random(seed))) * cos(6.283185307179586 * check_random(seed));
}

static struct shelf started(struct arena *arena) {
    struct shelf shelf = {.count = SHOP,
                          .toner = arena_need(arena, SHOP, sizeof *shelf.toner),
                          .geometry = GEOMETRY_PHOTO,
                          .surface = {.k1 = .03, .k2 = .65, .sheen_return = .5}};
    for (int i = 0; i < SHOP; i++) {
        struct toner *t = &shelf.toner[i];
        char bad[48];
        snprintf(t->id, sizeof t->id, "%s", ids[i]);
        CHECK(pigment_blend(labels[i], t->k, t->s, &t->prior, &t->role, bad));
        t->price_minor_per_kg = -1;
    }
    return shelf;
}

/* A shop's true toners: relatives of the prior's pigments. */
static struct shelf truth_of(const struct shelf *prior, unsigned long long *seed, struct arena *arena) {
    struct shelf truth = *prior;
    truth.toner = arena_need(arena, SHOP, sizeof *truth.toner);
    memcpy(truth.toner, prior->toner, SHOP * sizeof *truth.toner);
    truth.surface.k2 += .03 * normal(seed);
    for (int i = 0; i < SHOP; i++) {
        const double a = .5 * log(2) * normal(seed), s = .2 * normal(seed);
        double wave[5];
        for (int j = 1; j < 5; j++) wave[j] = .1 / j * normal(seed);
        for (int b = 0; b < BANDS; b++) {
            double shape = 0;
            for (int j = 1; j < 5; j++) shape += wave[j] * cos(3.14159265 * j * (b + .5) / BANDS);
            truth.toner[i].k[b] *= exp(a + shape);
            truth.toner[i].s[b] *= exp(a + s + .5 * shape);
        }
    }
    return truth;
}

static struct lab seen(const struct shelf *shelf, const double *mass, double film,
                       const struct spectrum *bare, struct spectrum *out) {
    double part[SHOP], sum = 0;
    struct film_case at = {.film_um = film, .geometry = GEOMETRY_PHOTO, .sheen_gu = (double)NAN};
    if (bare) at.backing = *bare;
    for (int i = 0; i < SHOP; i++) sum += mass[i];
    for (int i = 0; i < SHOP; i++) part[i] = mass[i] / sum;
    predict_reflectance(shelf, part, &at, out);
    return lab_of_spectrum(out, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
}

struct sheet {
    struct prior_film film[2 * DABS];
    double mass[DABS][SHOP];
    struct prior_bare bare[2];
    size_t films;
};

static void dab_sheet(const struct shelf *truth, double read_sd, unsigned long long *seed,
                      struct sheet *out) {
    const struct view view = {LIGHT_D65, OBSERVER_10};
    prior_bare_of_lab((struct lab){16, 0, 0, view}, &out->bare[0].reflectance);
    prior_bare_of_lab((struct lab){94, 0, -3, view}, &out->bare[1].reflectance);
    out->films = 0;
    for (int d = 0; d < DABS; d++) {
        memset(out->mass[d], 0, sizeof out->mass[d]);
        const int toner = d / 2;
        if (d % 2 && toner == 0) continue;
        out->mass[d][toner] = d % 2 ? 1 : 10;
        if (d % 2) out->mass[d][0] += 9;
        const double film = 30 * exp(.35 * normal(seed));
        for (int over = 0; over < 2; over++) {
            struct prior_film *f = &out->film[out->films++];
            struct spectrum r;
            *f = (struct prior_film){
                .id = ids[toner], .mass_g = out->mass[d], .over = over, .dab = d, .film_um = (double)NAN};
            f->lab = seen(truth, out->mass[d], film, &out->bare[over].reflectance, &r);
            f->lab.l += read_sd * normal(seed), f->lab.a += read_sd * normal(seed),
                f->lab.b += read_sd * normal(seed);
            for (int k = 0; k < 3; k++) f->cov[k][k] = read_sd * read_sd;
        }
    }
}

static struct prior_task task_of(const struct shelf *prior, const struct sheet *sheet) {
    return (struct prior_task){.shelf = prior,
                               .geometry = GEOMETRY_PHOTO,
                               .bares = 2,
                               .films = sheet->films,
                               .bare = sheet->bare,
                               .film = sheet->film};
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* A leather that the shop can make: 3 of its toners; what its shelf would weigh for it, and how that looks.
 */
static double first_shot(const struct shelf *shelf, const struct shelf *truth, unsigned long long *seed,
                         struct arena *arena) {
    double mass[SHOP] = {0};
    struct spectrum target, shot;
    mass[0] = 1 + 8 * check_random(seed);
    for (int i = 0; i < 3; i++)
        mass[1 + (int)(check_random(seed) * (SHOP - 1))] += exp(3 * check_random(seed) - 2);
    const struct lab want = seen(truth, mass, (double)INFINITY, NULL, &target);
    struct match_task task;
    struct match_result result;
    struct fault fault;
    match_task_preset(&task, shelf);
    task.target = (struct reading){.geometry = GEOMETRY_PHOTO, .lab = want};
    task.film.geometry = GEOMETRY_PHOTO;
    task.max_toners = 4, task.batch_g = 15, task.light_count = 1, task.top = 1;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_OK);
    double part[SHOP];
    recipe_spread(&result.recipe[0].recipe, shelf, part);
    return difference_de00(want, seen(truth, part, (double)INFINITY, NULL, &shot));
}

static void few_dabs_make_a_shelf_to_start_from(void) {
    enum { SHOTS = 12 };
    double before[SHOPS * SHOTS], after[SHOPS * SHOTS], off[SHOPS * SHOP];
    int n = 0, m = 0, inside = 0;
    for (int shop = 0; shop < SHOPS; shop++) {
        struct arena *arena = arena_new();
        unsigned long long seed = 100 + (unsigned long long)shop;
        const struct shelf prior = started(arena), truth = truth_of(&prior, &seed, arena);
        struct sheet *sheet = arena_need(arena, 1, sizeof *sheet);
        dab_sheet(&truth, 1, &seed, sheet);
        const struct prior_task task = task_of(&prior, sheet);
        struct prior_result result;
        struct fault fault;
        struct shelf shelf = prior;
        CHECK(prior_fit(&task, arena, &shelf, &result, &fault) == STATUS_OK);
        for (int i = 0; i < SHOP; i++) {
            CHECK(result.toner[i].strength_sd < .69 && result.toner[i].films > 0);
            const double ln = log(truth.toner[i].k[10] / shelf.toner[i].k[10]);
            inside += fabs(ln) < 2 * hypot(result.toner[i].strength_sd, result.toner[i].shape_sd);
            off[m++] = fabs(ln);
        }
        for (int s = 0; s < SHOTS; s++) {
            unsigned long long again = seed;
            before[n] = first_shot(&prior, &truth, &again, arena);
            after[n++] = first_shot(&shelf, &truth, &seed, arena);
        }
        CHECK(result.nexts > 0 && result.next[0].gain > 0 && result.next[0].gain < 1);
        arena_free(arena);
    }
    qsort(before, (size_t)n, sizeof *before, by_size), qsort(after, (size_t)n, sizeof *after, by_size);
    qsort(off, (size_t)m, sizeof *off, by_size);
    printf("  figure: first shot, %d shots of %d shops: %.2f dE00 median before the dabs, %.2f after (p95 "
           "%.2f)\n",
           n, SHOPS, before[n / 2], after[n / 2], after[n * 95 / 100]);
    printf("  figure: ln K off by %.2f median; inside two sd %d of %d\n", off[m / 2], inside, m);
    CHECK(after[n / 2] <= 2.5 && after[n / 2] < .6 * before[n / 2]);
    CHECK(inside >= m * 85 / 100);
}

/* Without error and with the prior's own pigments the prior must stand. */
static void what_was_known_stays_when_the_dabs_agree(void) {
    struct arena *arena = arena_new();
    unsigned long long seed = 1;
    const struct shelf prior = started(arena);
    struct sheet *sheet = arena_need(arena, 1, sizeof *sheet);
    dab_sheet(&prior, 1e-3, &seed, sheet);
    struct prior_task task = task_of(&prior, sheet);
    struct prior_result result;
    struct fault fault;
    struct shelf shelf = prior;
    CHECK(prior_fit(&task, arena, &shelf, &result, &fault) == STATUS_OK);
    printf("  figure: dabs of the prior's own pigments miss by %.3f dE00 at most\n", result.de00_max);
    CHECK(result.de00_max < .2);
    task.films = 0;
    CHECK(prior_fit(&task, arena, &shelf, &result, &fault) == STATUS_INPUT);
    arena_free(arena);
}

/* A spectrum narrows more than a Lab; a film more never makes a toner less sure. */
static void more_knowledge_never_hurts(void) {
    struct arena *arena = arena_new();
    unsigned long long seed = 7;
    const struct shelf prior = started(arena), truth = truth_of(&prior, &seed, arena);
    struct sheet *sheet = arena_need(arena, 1, sizeof *sheet);
    dab_sheet(&truth, 1, &seed, sheet);
    double last[SHOP], sure[2] = {0};
    for (int i = 0; i < SHOP; i++) last[i] = 1e9;
    for (size_t films = 4; films <= sheet->films; films += 6) {
        struct prior_task task = task_of(&prior, sheet);
        task.films = films;
        struct prior_result result;
        struct fault fault;
        struct shelf shelf = prior;
        CHECK(prior_fit(&task, arena, &shelf, &result, &fault) == STATUS_OK);
        for (int i = 0; i < SHOP; i++) {
            CHECK(result.toner[i].shape_sd <= last[i] * 1.05 + 1e-6);
            last[i] = result.toner[i].shape_sd;
        }
    }
    for (int spectral = 0; spectral < 2; spectral++) {
        for (size_t f = 0; f < sheet->films; f++) {
            struct prior_film *film = &sheet->film[f];
            film->has_spectrum = spectral;
            seen(&truth, film->mass_g, 30, &sheet->bare[film->over].reflectance, &film->reflectance);
        }
        const struct prior_task task = task_of(&prior, sheet);
        struct prior_result result;
        struct fault fault;
        struct shelf shelf = prior;
        CHECK(prior_fit(&task, arena, &shelf, &result, &fault) == STATUS_OK);
        for (int i = 0; i < SHOP; i++) sure[spectral] += result.toner[i].shape_sd / SHOP;
    }
    printf("  figure: mean shape sd %.3f by camera, %.3f by instrument\n", sure[0], sure[1]);
    CHECK(sure[1] < sure[0]);
    arena_free(arena);
}

/* Greys are seen as they are: cameras are balanced on them. */
static void a_camera_sees_greys_as_the_eye_does(void) {
    struct prior_eye eye;
    struct spectrum grey;
    struct xyz xyz = {0};
    double z[EYE_UNKNOWNS];
    prior_eye_make(&eye);
    for (int i = 0; i < EYE_UNKNOWNS; i++) z[i] = i % 2 ? 2 : -1.5;
    for (int b = 0; b < BANDS; b++) grey.band[b] = .8;
    prior_eye_add(&eye, z, &grey, &xyz);
    CHECK_NEAR(xyz.x, 0, .01);
    CHECK_NEAR(xyz.y, 0, .01);
    CHECK_NEAR(xyz.z, 0, .01);
}

/* The dabs of three shops through cameras whose sensitivities are bells elsewhere than the usual ones, taken
 * to the eye's by the best matrix: what they miss of strong colours must not go into the toners. */
static void bells_of(int shop, double bell[3][BANDS]) {
    static const double at_nm[3][3] = {{448, 524, 608}, {464, 540, 590}, {455, 528, 612}};
    static const double wide_nm[3][3] = {{27, 34, 30}, {38, 44, 36}, {30, 46, 27}};
    for (int c = 0; c < 3; c++) {
        double sum = 0;
        for (int b = 0; b < BANDS; b++) {
            const double t = (BAND_FIRST_NM + BAND_STEP_NM * b - at_nm[shop][c]) / wide_nm[shop][c];
            sum += bell[c][b] = exp(-.5 * t * t);
        }
        for (int b = 0; b < BANDS; b++) bell[c][b] /= sum;
    }
}

/* X, Y, Z of a band as the best mix of the three channels, white kept: by small steps. */
static void camera_of(const double bell[3][BANDS], double out[3][BANDS]) {
    const struct weights *w = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    const double *curve[3] = {w->x, w->y, w->z}, white[3] = {w->white.x, w->white.y, w->white.z};
    for (int k = 0; k < 3; k++) {
        double mix[3] = {white[k] / 3, white[k] / 3, white[k] / 3};
        for (int turn = 0; turn < 1000; turn++) {
            double slope[3] = {0};
            for (int b = 0; b < BANDS; b++) {
                out[k][b] = mix[0] * bell[0][b] + mix[1] * bell[1][b] + mix[2] * bell[2][b];
                for (int c = 0; c < 3; c++) slope[c] += (out[k][b] - curve[k][b]) * bell[c][b];
            }
            const double mean = (slope[0] + slope[1] + slope[2]) / 3;
            for (int c = 0; c < 3; c++) mix[c] -= 2 * (slope[c] - mean);
        }
    }
}

static struct lab camera_seen(const double camera[3][BANDS], const struct spectrum *r) {
    double xyz[3] = {0};
    for (int k = 0; k < 3; k++)
        for (int b = 0; b < BANDS; b++) xyz[k] += camera[k][b] * r->band[b];
    return lab_of((struct xyz){xyz[0], xyz[1], xyz[2]}, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
}

/* Mixes that were not on the sheet, half and half of two toners in turn: what this camera makes of them
 * otherwise than the eye, and what is left of that when the fitted camera is asked (dE*ab). */
static int miss_of_mixes(const struct shelf *truth, const struct shelf *fitted, const struct weights *camera,
                         const double real[3][BANDS], double before[], double after[]) {
    int n = 0;
    for (size_t i = 0; i + 1 < fitted->count; i++) {
        double mass[SHELF_MOST] = {0}, said[3];
        struct spectrum is, thought, none = {{0}};
        if (fitted->toner[i].role == ROLE_BINDER || fitted->toner[i + 1].role == ROLE_BINDER) continue;
        mass[i] = mass[i + 1] = 1;
        const struct lab eye = seen(truth, mass, 200, &none, &is), read = camera_seen(real, &is);
        seen(fitted, mass, 200, &none, &thought);
        eye_less_camera(camera, &thought, said);
        const double miss[3] = {eye.l - read.l, eye.a - read.a, eye.b - read.b};
        before[n] = sqrt(miss[0] * miss[0] + miss[1] * miss[1] + miss[2] * miss[2]);
        after[n++] = sqrt(pow(miss[0] - said[0], 2) + pow(miss[1] - said[1], 2) + pow(miss[2] - said[2], 2));
    }
    return n;
}

static void what_a_camera_misses_is_not_taken_for_the_toners(void) {
    enum { WITH = 2, CAMERAS = 3 };
    double off[WITH][CAMERAS * 2 * DABS], before[CAMERAS * SHELF_MOST], after[CAMERAS * SHELF_MOST];
    int n[WITH] = {0}, mixes = 0;
    for (int shop = 0; shop < CAMERAS; shop++) {
        struct arena *arena = arena_new();
        unsigned long long seed = 300 + (unsigned long long)shop;
        const struct shelf prior = started(arena), truth = truth_of(&prior, &seed, arena);
        struct sheet *sheet = arena_need(arena, 1, sizeof *sheet);
        struct lab is[2 * DABS];
        double bell[3][BANDS], camera[3][BANDS];
        bells_of(shop, bell);
        camera_of((const double(*)[BANDS])bell, camera);
        dab_sheet(&truth, .3, &seed, sheet);
        for (size_t f = 0; f < sheet->films; f++) {
            struct prior_film *film = &sheet->film[f];
            struct spectrum r;
            is[f] = seen(&truth, film->mass_g, 30, &sheet->bare[film->over].reflectance, &r);
            film->lab = camera_seen((const double(*)[BANDS])camera, &r);
        }
        for (int with = 0; with < WITH; with++) {
            for (size_t f = 0; f < sheet->films; f++) /* without: strong colours are believed less instead */
                for (int k = 0; k < 3; k++)
                    sheet->film[f].cov[k][k] =
                        with ? 1 : pow(1.5 * (1 + pow(hypot(is[f].a, is[f].b) / 30, 2)), 2);
            struct prior_task task = task_of(&prior, sheet);
            task.eye = with;
            struct prior_result result;
            struct fault fault;
            struct shelf shelf = prior;
            CHECK(prior_fit(&task, arena, &shelf, &result, &fault) == STATUS_OK);
            for (size_t f = 0; f < sheet->films; f++)
                off[with][n[with]++] = difference_de00(is[f], result.row[f].lab);
            if (with)
                mixes += miss_of_mixes(&truth, &shelf, &result.camera, (const double(*)[BANDS])camera,
                                       before + mixes, after + mixes);
        }
        arena_free(arena);
    }
    for (int with = 0; with < WITH; with++) qsort(off[with], (size_t)n[with], sizeof *off[with], by_size);
    printf("  figure: films through three cameras: %.2f dE00 off (median, p95 %.2f) with the camera fitted, "
           "%.2f (%.2f) without\n",
           off[1][n[1] / 2], off[1][n[1] * 95 / 100], off[0][n[0] / 2], off[0][n[0] * 95 / 100]);
    qsort(before, (size_t)mixes, sizeof *before, by_size),
        qsort(after, (size_t)mixes, sizeof *after, by_size);
    printf(
        "  figure: %d mixes that no sheet held: the camera sees them %.2f dE*ab otherwise (median), %.2f is "
        "left when the fitted camera says how much\n",
        mixes, before[mixes / 2], after[mixes / 2]);
    CHECK(after[mixes / 2] < .6 * before[mixes / 2]);
    CHECK(off[1][n[1] / 2] < .7 * off[0][n[0] / 2]);
    CHECK(off[1][n[1] * 95 / 100] < .8 * off[0][n[0] * 95 / 100]);
}

/* Names of the Colour Index, with weights, and what is not known. */
static void dull_names_are_known(void) {
    static const char *const dull[] = {"PW6",       "py42+PBk7:.2",  "PBr7",
                                       "red-oxide", "unknown-brown", "PR101:2+white"};
    static const char *const bright[] = {"PB15:3",      "PB15:3+PW6:.1", "PW6+PR122",
                                         "unknown-red", "PY420",         "PR3"};
    for (size_t i = 0; i < sizeof dull / sizeof dull[0]; i++) CHECK(pigment_is_dull(dull[i]));
    for (size_t i = 0; i < sizeof bright / sizeof bright[0]; i++) CHECK(!pigment_is_dull(bright[i]));
}

static void names_are_read(void) {
    double k[BANDS], s[BANDS], k3[BANDS], s3[BANDS], kw[BANDS], sw[BANDS];
    struct toner_prior prior;
    enum toner_role role;
    char bad[48];
    CHECK(pigment_blend("PW6", kw, sw, &prior, &role, bad) && role == ROLE_WHITE && !prior.invented);
    CHECK_NEAR(sw[15], PIGMENT_WHITE_S_PER_UM, 1e-12);
    CHECK(pigment_blend("pb15:3", k3, s3, &prior, &role, bad) && role == ROLE_COLOUR);
    CHECK(pigment_blend("PB15:3+PW6:.1", k, s, &prior, &role, bad));
    for (int b = 0; b < BANDS; b++) CHECK_NEAR(s[b], (s3[b] + .1 * sw[b]) / 1.1, 1e-12);
    CHECK(pigment_blend("PB15:3:.5+PW6:.5", k, s, &prior, &role, bad));
    for (int b = 0; b < BANDS; b++) CHECK_NEAR(k[b], (k3[b] + kw[b]) / 2, 1e-12);
    CHECK(pigment_blend("warm-black", k, s, &prior, &role, bad) && role == ROLE_BLACK);
    CHECK(pigment_blend("yellow-oxide+warm-black", k, s, &prior, &role, bad) && prior.invented);
    CHECK(pigment_blend("binder", k, s, &prior, &role, bad) && role == ROLE_BINDER);
    static const char *const wrong[] = {"",       "PW66",  "PW6+",    "+PW6", "PW6:0",
                                        "PW6:-1", "PW6:x", "PW6:1e9", ":.5"};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        CHECK(!pigment_blend(wrong[i], k, s, &prior, &role, bad));
}

int main(void) {
    RUN(names_are_read);
    RUN(dull_names_are_known);
    RUN(what_was_known_stays_when_the_dabs_agree);
    RUN(more_knowledge_never_hurts);
    RUN(a_camera_sees_greys_as_the_eye_does);
    RUN(what_a_camera_misses_is_not_taken_for_the_toners);
    RUN(few_dabs_make_a_shelf_to_start_from);
    return check_done();
}
