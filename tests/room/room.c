/* The room: pigments (pigments.c) in a film of index 1.5 (radiative.c). Fixed before any fit was tuned on it:
 *   mixing    absorption and scattering add by mass fraction; phase functions by their scattering
 *   crowding  white's scattering counts 1 - (phi / .74)^(1/3), phi its volume fraction in the dry film
 * (Stieg's cube-root law of crowding, from memory), relative to white alone; nothing else crowds backings
 * Lambertian under the same index (a sealed card): black 2 %, a white card, a filler, tan crust; curves
 * invented topcoat   a clear with matting: a thin scattering layer, reduced optical depth .02 (1 - GU/89),
 * and a surface that returns the part (1 - GU/89)^2 of its reflection to a reading without the specular part;
 * a bare film counts as 60 GU. Invented. 45/0      radiance at 45 degrees from the angular solution; what the
 * surface itself returns is taken as diffuse (approximation) */
#include "room/room.h"
#include "base/memory.h"
#include "room/pigments.h"
#include "room/radiative.h"
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double CROWDED_FULL = .74, INSTRUMENT_SD = .0002, FILM_GU = 60, GLASS_GU = 89, OPAQUE_UM = 2000;

struct room {
    unsigned long long random;
    struct directions directions;
    size_t count;
    struct pigment pigment[PIGMENTS], settled[PIGMENTS];
    double paper, ink; /* 0: the cards */
};

double room_uniform(struct room *room) {
    unsigned long long *s = &room->random; /* xorshift64*, from memory */
    *s ^= *s >> 12;
    *s ^= *s << 25;
    *s ^= *s >> 27;
    return ((double)((*s * 2685821657736338717ULL) >> 11) + .5) / 9007199254740992.0;
}

double room_normal(struct room *room) {
    const double u = room_uniform(room), v = room_uniform(room);
    return sqrt(-2 * log(u)) * cos(2 * acos(-1.0) * v);
}

/* Multiplies a curve by a smooth random factor: four cosines over the grid, rms size. */
static void bend_curve(struct room *room, double curve[BANDS], double size) {
    double height[4], at[4];
    for (int i = 0; i < 4; i++)
        height[i] = room_normal(room) / sqrt(2), at[i] = 6.283185307 * room_uniform(room);
    for (int b = 0; b < BANDS; b++) {
        double sum = 0;
        for (int i = 0; i < 4; i++) sum += height[i] * cos(at[i] + 3.14159265 * (i + 1) * b / (BANDS - 1));
        curve[b] *= exp(size * sum);
    }
}

struct room *room_new(unsigned long long seed) {
    struct room *room = memory_need(1, sizeof *room);
    room->random = 0x9e3779b97f4a7c15ULL ^ (seed * 0xbf58476d1ce4e5b9ULL);
    for (int i = 0; i < 8; i++) room_uniform(room);
    directions_make(&room->directions, 1.5);
    pigments_make(room->pigment);
    room->count = PIGMENTS;
    assert(room->count <= ROOM_MOST);
    for (size_t i = ROOM_OTHERS; i < room->count; i++) {
        bend_curve(room, room->pigment[i].absorb, .1);
        bend_curve(room, room->pigment[i].scatter, .1);
    }
    memcpy(room->settled, room->pigment, sizeof room->settled);
    return room;
}

void room_free(struct room *room) {
    memory_free(room);
}

void room_print(struct room *room, double paper, double ink) {
    room->paper = paper, room->ink = ink;
}

size_t room_count(const struct room *room) {
    return room->count;
}

const char *room_id(const struct room *room, size_t i) {
    return room->pigment[i].id;
}

int room_find(const struct room *room, const char *id) {
    for (size_t i = 0; i < room->count; i++)
        if (strcmp(room->pigment[i].id, id) == 0) return (int)i;
    assert(false); /* not a toner of the room */
    return -1;
}

bool room_is_invented(const struct room *room, size_t i) {
    return room->pigment[i].invented;
}

enum toner_role room_role(const struct room *room, size_t i) {
    const char *id = room->pigment[i].id;
    if (strcmp(id, "white") == 0) return ROLE_WHITE;
    if (strcmp(id, "black") == 0) return ROLE_BLACK;
    return strcmp(id, "binder") == 0 ? ROLE_BINDER : ROLE_COLOUR;
}

struct room_film room_film_plain(double film_um, enum room_backing backing) {
    return (struct room_film){film_um, backing, GEOMETRY_SCI, (double)NAN};
}

static double floor_of(const struct room *room, enum room_backing backing, int band) {
    const double nm = BAND_FIRST_NM + band * BAND_STEP_NM;
    const double rise = 1 / (1 + exp((560 - nm) / 60));
    switch (backing) {
    case ROOM_BLACK:
        return room->ink > 0 ? room->ink : .02;
    case ROOM_WHITE:
        return (room->paper > 0 ? room->paper : .88) - .22 * exp((400 - nm) / 14);
    case ROOM_FILLER:
        return .42 + .10 * rise;
    case ROOM_CRUST:
        return .22 + .45 * rise;
    case ROOM_BACKINGS:
        break;
    }
    return .5;
}

static double crowding(const struct pigment *pigment, double part) {
    if (pigment->crowd == 0) return 1;
    const double full = cbrt(pigment->crowd / CROWDED_FULL);
    return (1 - full * cbrt(part)) / (1 - full);
}

static void mix_medium(const struct room *room, const double mass_g[], double whole_g, int band,
                       struct medium *out) {
    memset(out, 0, sizeof *out);
    for (size_t i = 0; i < room->count; i++) {
        const struct pigment *p = &room->pigment[i];
        const double part = mass_g[i] / whole_g;
        if (part == 0) continue;
        const double scatter = part * p->scatter[band] * crowding(p, part) / (1 - p->forward);
        out->absorb += part * p->absorb[band];
        out->scatter += scatter;
        double moment = scatter;
        for (int k = 0; k < MOMENTS; k++, moment *= p->forward) out->moment[k] += moment;
    }
    for (int k = 0; k < MOMENTS; k++)
        out->moment[k] = out->scatter > 0 ? out->moment[k] / out->scatter : k == 0;
}

/* What the instrument reads of everything below the surface. */
static double read_band(const struct room *room, const struct room_film *film,
                        double below[DIRECTIONS][DIRECTIONS]) {
    const bool coated = !isnan(film->topcoat_gu);
    const double matt = 1 - fmin(1, (coated ? film->topcoat_gu : FILM_GU) / GLASS_GU);
    if (coated) {
        struct medium haze;
        struct slab slab;
        double coat[DIRECTIONS][DIRECTIONS];
        medium_henyey_greenstein(&haze, 0, .02 * matt / (1 - .8), .8);
        slab_make(&slab, &room->directions, &haze, 1);
        slab_stack_reflection(coat, &slab, below);
        memcpy(below, coat, sizeof coat);
    }
    const struct leaving leaving = surface_leaving(&room->directions, below);
    const double returned = film->geometry == GEOMETRY_SCI ? 1 : matt * matt;
    return (film->geometry == GEOMETRY_45_0 ? leaving.oblique : leaving.diffuse) +
           returned * room->directions.outside;
}

void room_spray(const struct room *room, const double mass_g[], const struct room_film *film,
                struct spectrum *out) {
    double whole_g = 0;
    for (size_t i = 0; i < room->count; i++) whole_g += mass_g[i];
    assert(whole_g > 0);
    for (int b = 0; b < BANDS; b++) {
        struct medium medium;
        struct slab slab;
        double below[DIRECTIONS][DIRECTIONS];
        mix_medium(room, mass_g, whole_g, b, &medium);
        slab_make(&slab, &room->directions, &medium, isinf(film->film_um) ? OPAQUE_UM : film->film_um);
        slab_over(below, &room->directions, &slab, floor_of(room, film->backing, b));
        out->band[b] = read_band(room, film, below);
    }
}

void room_bare(const struct room *room, const struct room_film *film, struct spectrum *out) {
    struct medium nothing;
    struct slab slab;
    medium_henyey_greenstein(&nothing, 0, 0, 0);
    slab_make(&slab, &room->directions, &nothing, 0);
    for (int b = 0; b < BANDS; b++) {
        double below[DIRECTIONS][DIRECTIONS];
        slab_over(below, &room->directions, &slab, floor_of(room, film->backing, b));
        out->band[b] = read_band(room, film, below);
    }
}

void room_read(struct room *room, struct spectrum *spectrum) {
    for (int b = 0; b < BANDS; b++)
        spectrum->band[b] = fmax(0, spectrum->band[b] + INSTRUMENT_SD * room_normal(room));
}

double room_film_sprayed(struct room *room, double wanted_um, double spread) {
    return wanted_um * exp(spread * room_normal(room));
}

double room_poured(struct room *room, double wanted_g, double step_g) {
    if (wanted_g <= 0) return 0;
    const double shown = round(wanted_g / step_g) * step_g;
    return fmax(0, shown + step_g * (room_uniform(room) - .5));
}

void room_drift(struct room *room, double spread, double shape) {
    for (int i = 0; i <= ROOM_BINDER; i++) {
        struct pigment *p = &room->pigment[i];
        const double k = exp(spread * room_normal(room)), s = exp(spread * room_normal(room));
        for (int b = 0; b < BANDS; b++) p->absorb[b] *= k, p->scatter[b] *= s;
        if (shape > 0) bend_curve(room, p->absorb, shape), bend_curve(room, p->scatter, shape);
    }
}

void room_drift_lots(struct room *room, double spread, double shape) {
    for (int i = 0; i <= ROOM_BINDER; i++) {
        struct pigment *p = &room->pigment[i];
        const double strength = exp(spread * room_normal(room));
        for (int b = 0; b < BANDS; b++) p->absorb[b] *= strength, p->scatter[b] *= strength;
        if (shape > 0) bend_curve(room, p->absorb, shape), bend_curve(room, p->scatter, shape);
    }
}

void room_settle(struct room *room) {
    memcpy(room->pigment, room->settled, sizeof room->settled);
}

struct ingredient {
    const char *id;
    double g;
};
struct family {
    const char *name;
    struct ingredient in[5];
};

static const struct family leathers[] = {
    {"tan", {{"other-white", 40}, {"other-sienna", 35}, {"other-umber", 15}, {"other-orange", 3}}},
    {"cognac", {{"other-sienna", 55}, {"other-orange", 14}, {"other-umber", 12}, {"other-white", 8}}},
    {"brown", {{"other-umber", 60}, {"other-sienna", 20}, {"other-bone-black", 6}, {"other-white", 5}}},
    {"oxblood",
     {{"other-red", 30}, {"other-quinacridone", 14}, {"other-bone-black", 8}, {"other-umber", 12}}},
    {"navy",
     {{"other-cobalt-blue", 20},
      {"other-blue", 6},
      {"other-bone-black", 10},
      {"other-quinacridone", 4},
      {"other-white", 6}}},
    {"cream", {{"other-white", 90}, {"other-yellow", 3}, {"other-sienna", 4}, {"other-bone-black", .3}}},
    {"grey", {{"other-white", 70}, {"other-bone-black", 5}, {"other-cobalt-blue", 2}, {"other-umber", 4}}},
    {"green",
     {{"other-green", 6},
      {"other-yellow", 14},
      {"other-umber", 15},
      {"other-bone-black", 5},
      {"other-white", 14}}},
};
static const struct family blacks[] = {
    {"lamp black", {{"other-lamp-black", 30}}},
    {"bone black", {{"other-bone-black", 40}}},
    {"black oxide", {{"other-black-oxide", 50}}},
    {"blue black", {{"other-lamp-black", 25}, {"other-blue", 8}}},
    {"brown black", {{"other-bone-black", 30}, {"other-umber", 30}}},
    {"green black", {{"other-lamp-black", 25}, {"other-green", 8}}},
    {"red black", {{"other-bone-black", 30}, {"other-quinacridone", 12}}},
    {"soft black", {{"other-lamp-black", 25}, {"other-white", 2}}},
    {"warm soft black", {{"other-black-oxide", 40}, {"other-sienna", 8}, {"other-white", 1}}},
    {"navy black", {{"other-bone-black", 30}, {"other-cobalt-blue", 15}, {"other-blue", 3}}},
};

/* Proportions drawn by the target's own number, so that they do not depend on what was drawn before. */
static void pick(const struct room *room, const struct family *family, unsigned long long number,
                 double spread, double mass_g[]) {
    struct room draw = {.random = 0xd1342543de82ef95ULL ^ (number * 0x9e3779b97f4a7c15ULL)};
    for (int i = 0; i < 8; i++) room_uniform(&draw);
    double sum = 0;
    for (size_t i = 0; i < room->count; i++) mass_g[i] = 0;
    for (int i = 0; i < 5 && family->in[i].id; i++) {
        const double g = family->in[i].g * exp(spread * room_normal(&draw));
        mass_g[room_find(room, family->in[i].id)] = g;
        sum += g;
    }
    mass_g[ROOM_BINDER] = sum;
}

const char *room_target(const struct room *room, size_t i, double mass_g[]) {
    const struct family *family = &leathers[i % 8];
    pick(room, family, i + 1, .35, mass_g);
    return family->name;
}

const char *room_black(const struct room *room, size_t i, double mass_g[]) {
    pick(room, &blacks[i % ROOM_BLACKS], i + 1001, i < ROOM_BLACKS ? 0 : .35, mass_g);
    return blacks[i % ROOM_BLACKS].name;
}
