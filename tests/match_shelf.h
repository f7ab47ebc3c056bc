/* Shelves and targets for trying the match: the nineteen pigments of data/pigments/two-constant-acrylics.csv
 * (K and S by Berns 2016, source in the file), as toners of 30 % pigment paste so that 30 um of a mix half
 * binder hides about as a finish does, a white, a black and a binder among them; beyond nineteen, invented
 * neighbours: two pigments' curves blended and scaled. Targets: mixes of a hidden, perturbed shelf (curves
 * stretched and shifted along the spectrum), so that nothing on the shelf makes them exactly. */
#ifndef RUSSET_TESTS_MATCH_SHELF_H
#define RUSSET_TESTS_MATCH_SHELF_H

#include "check.h"
#include "paint/match.h"

enum { ACRYLICS_FIRST_NM = 380, ACRYLICS_COLUMNS = 38 };

/* Fills toner->k or s from one line of the file; false when the line is not one. */
static inline bool acrylic_line(char *line, char pigment[TONER_ID_MAX], double out[BANDS], bool *is_k) {
    char *cell = strtok(line, ",");
    if (!cell || cell[0] == '#' || strcmp(cell, "pigment") == 0) return false;
    size_t n = 0;
    for (const char *c = cell; *c && n + 1 < TONER_ID_MAX; c++) {
        if (*c >= 'A' && *c <= 'Z' && n > 0 && pigment[n - 1] != '-') pigment[n++] = '-';
        pigment[n++] = (char)(*c >= 'A' && *c <= 'Z'                                   ? *c - 'A' + 'a'
                              : ((*c >= 'a' && *c <= 'z') || (*c >= '0' && *c <= '9')) ? *c
                                                                                       : '-');
    }
    pigment[n] = 0;
    if (!strtok(NULL, ",")) return false;
    cell = strtok(NULL, ",");
    if (!cell) return false;
    *is_k = cell[0] == 'K';
    for (int i = 0; i < ACRYLICS_COLUMNS; i++) {
        cell = strtok(NULL, ",\n");
        if (!cell) return false;
        if (i >= 2 && i - 2 < BANDS) out[i - 2] = strtod(cell, NULL);
    }
    return true;
}

/* The pigments of the file, in its order, without a binder. scale: unit concentration to per um of a film of
 * wet toner. */
static inline size_t acrylics_read(struct toner toner[], size_t most, double scale) {
    FILE *file = fopen(SHIPPED_DATA "/pigments/two-constant-acrylics.csv", "r");
    char line[4096], id[TONER_ID_MAX];
    double value[BANDS];
    size_t n = 0;
    bool is_k;
    if (!file) return 0;
    while (fgets(line, sizeof line, file) && n <= most) {
        if (!acrylic_line(line, id, value, &is_k)) continue;
        if (is_k) {
            if (n == most) break;
            memset(&toner[n], 0, sizeof toner[n]);
            memcpy(toner[n].id, id, sizeof id);
            memcpy(toner[n].name, id, sizeof id);
            toner[n].density_g_ml = 1.1;
            toner[n].price_minor_per_kg = 2000 + (long long)(n * 7919 % 5000);
            n++;
        }
        double *to = is_k ? toner[n - 1].k : toner[n - 1].s;
        for (int b = 0; b < BANDS; b++) to[b] = value[b] * scale;
    }
    fclose(file);
    return n;
}

static inline double blended(const double a[], const double b[], double share, double shift, int band) {
    double x = band + shift;
    if (x < 0) x = 0;
    if (x > BANDS - 1) x = BANDS - 1;
    const int i = x >= BANDS - 1 ? BANDS - 2 : (int)x;
    const double t = x - i;
    return share * (a[i] * (1 - t) + a[i + 1] * t) + (1 - share) * (b[i] * (1 - t) + b[i + 1] * t);
}

/* One invented toner near two others. */
static inline void invent_toner(const struct toner *a, const struct toner *b, unsigned long long *seed,
                                struct toner *out) {
    const double share = check_random(seed), shift = 3 * check_random(seed) - 1.5,
                 strength = .6 + .8 * check_random(seed);
    for (int i = 0; i < BANDS; i++) {
        out->k[i] = strength * blended(a->k, b->k, share, shift, i);
        out->s[i] = strength * blended(a->s, b->s, share, shift, i);
    }
}

/* A shelf of `count` toners and, behind them, a binder. The caller frees shelf->toner with memory_free. */
static inline struct shelf match_shelf(size_t count, bool with_binder) {
    struct shelf shelf = {.count = count + with_binder,
                          .geometry = GEOMETRY_SCI,
                          .surface = {.k1 = .03, .k2 = .65},
                          .currency = "EUR"};
    shelf.toner = memory_need(shelf.count, sizeof *shelf.toner);
    unsigned long long seed = 20260101;
    const size_t real = acrylics_read(shelf.toner, count < 19 ? count : 19, .6);
    for (size_t i = real; i < count; i++) {
        struct toner *toner = &shelf.toner[i];
        const size_t a = (size_t)(check_random(&seed) * (double)real),
                     b = (size_t)(check_random(&seed) * (double)real);
        invent_toner(&shelf.toner[a], &shelf.toner[b], &seed, toner);
        snprintf(toner->id, sizeof toner->id, "invented-%zu", i);
        toner->density_g_ml = 1.1;
        toner->price_minor_per_kg = 3000;
    }
    for (size_t i = 0; i < count; i++)
        if (strstr(shelf.toner[i].id, "white")) shelf.toner[i].role = ROLE_WHITE, shelf.toner[i].bend = .2;
    if (with_binder) {
        struct toner *binder = &shelf.toner[count];
        snprintf(binder->id, sizeof binder->id, "binder");
        binder->role = ROLE_BINDER;
        binder->density_g_ml = 1.02;
        binder->price_minor_per_kg = 1500;
        for (int b = 0; b < BANDS; b++) binder->k[b] = 2e-5, binder->s[b] = 1e-6;
    }
    return shelf;
}

/* Target number i: three to five hidden toners, white more often than not, seen under `film`. */
static inline struct reading match_target(const struct shelf *shelf, size_t i, const struct film_case *film) {
    unsigned long long seed = 7770001 + 7919 * i;
    struct toner hidden[6];
    struct shelf other = *shelf;
    double part[6] = {0}, sum = 0;
    const size_t toners = shelf->count - (shelf->toner[shelf->count - 1].role == ROLE_BINDER), n = 3 + i % 3;
    for (int warm = 0; warm < 5; warm++) check_random(&seed);
    for (size_t k = 0; k < n; k++) {
        const size_t a = (size_t)(check_random(&seed) * (double)toners),
                     b = (size_t)(check_random(&seed) * (double)toners);
        hidden[k] = shelf->toner[a];
        invent_toner(&shelf->toner[a], &shelf->toner[b], &seed, &hidden[k]);
        hidden[k].bend = 0;
        part[k] = pow(check_random(&seed), 2) + .01;
    }
    for (size_t w = 0; w < toners && i % 4; w++)
        if (shelf->toner[w].role == ROLE_WHITE)
            hidden[0] = shelf->toner[w], part[0] = 1.5 * check_random(&seed);
    for (size_t k = 0; k < n; k++) sum += part[k];
    for (size_t k = 0; k < n; k++) part[k] *= .4 / sum;
    other.count = n + 1;
    other.toner = hidden;
    memset(&hidden[n], 0, sizeof hidden[n]);
    part[n] = .6;
    struct reading target = {.geometry = film->geometry, .has_spectrum = true};
    snprintf(target.id, sizeof target.id, "target-%zu", i);
    predict_reflectance(&other, part, film, &target.reflectance);
    target.lab = lab_of_spectrum(&target.reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    return target;
}

/* Over a filler grey, 30 um. */
static inline struct film_case match_film(bool opaque) {
    struct film_case film = {
        .film_um = opaque ? (double)INFINITY : 30, .geometry = GEOMETRY_SCI, .sheen_gu = (double)NAN};
    for (int b = 0; b < BANDS; b++) film.backing.band[b] = .35;
    return film;
}

#endif
