/* A virtual spray room: what films of toners would measure, by radiative transfer (radiative.h) and with no
 * equation of russet's own paint model. docs/room.md says what is in it and why; its constants were fixed
 * before any fit was tuned on it.
 *
 *     struct room *room = room_new(1);
 *     double mass_g[ROOM_MOST] = {0};
 *     mass_g[room_find(room, "white")] = 10, mass_g[room_find(room, "red-oxide")] = 2, mass_g[room_find(room,
 * "binder")] = 12; struct room_film film = room_film_plain(30, ROOM_WHITE); struct spectrum seen;
 *     room_spray(room, mass_g, &film, &seen);   // the truth
 *     room_read(room, &seen);                   // the instrument's noise
 *     room_free(room);
 *
 * A room never shows its toners' true curves to what is tested; everything goes through films and readings.
 */
#ifndef RUSSET_TESTS_ROOM_H
#define RUSSET_TESTS_ROOM_H

#include "base/memory.h"
#include "base/text.h"
#include "colour/reading.h"
#include "paint/drawdown.h"
#include "paint/toner.h"

enum {
    ROOM_SHELF = 14, /* toners 0..13 stand on the shop's shelf; 14 is the binder */
    ROOM_BINDER = 14,
    ROOM_OTHERS = 15,  /* first of the pigments that the shop does not have */
    ROOM_TARGETS = 40, /* leather-like targets made of others */
    ROOM_BLACKS = 10,
    ROOM_MOST = 32
};

enum room_backing { ROOM_BLACK, ROOM_WHITE, ROOM_FILLER, ROOM_CRUST, ROOM_BACKINGS };

struct room;
struct room *
room_new(unsigned long long seed); /* seed: noise, drift and the perturbed shapes of the other pigments */
void room_free(struct room *room);

size_t room_count(const struct room *room); /* shelf, binder, others */
const char *room_id(const struct room *room, size_t i);
int room_find(const struct room *room, const char *id); /* asserts that it is there */
bool room_is_invented(const struct room *room, size_t i);
enum toner_role room_role(const struct room *room, size_t i);

struct room_film {
    double film_um; /* true dry film; INFINITY: opaque (2 mm) */
    enum room_backing backing;
    enum geometry geometry; /* SCI, SCE or 45_0 */
    double topcoat_gu;      /* GU at 60 degrees of a clear on it; NAN: none (glossy film, 89 GU) */
};
struct room_film room_film_plain(double film_um, enum room_backing backing); /* sci, no topcoat */

/* What a perfect instrument reads of a mix: mass_g[room_count]. Deterministic. */
void room_spray(const struct room *room, const double mass_g[], const struct room_film *film,
                struct spectrum *out);
/* The bare backing; its topcoat and geometry as in film. */
void room_bare(const struct room *room, const struct room_film *film, struct spectrum *out);

/* From now on the white card is paper that returns so much and the black one is print on it (both under the
 * film, 0..1: 1.0 and .15 read about .93 and .07 bare). */
void room_print(struct room *room, double paper, double ink);

/* Chance; each call draws on. */
double room_uniform(struct room *room); /* 0..1 */
double room_normal(struct room *room);  /* sd 1 */
void room_read(struct room *room,
               struct spectrum *spectrum); /* adds .02 % (absolute) of noise to each band, in place */
double room_film_sprayed(struct room *room, double wanted_um, double spread); /* lognormal */
/* What is really in the cup when the scale (step_g) shows the wanted mass: even chance inside one step. 0
 * stays 0. */
double room_poured(struct room *room, double wanted_g, double step_g);

/* Lot drift: the strength (K) and the scattering (S) of each toner of the shelf by a factor exp(N(0,
 * spread)), K and S apart; shape: a smooth change of each curve of that rms size (.05 = 5 %). Kept until
 * room_settle. */
void room_drift(struct room *room, double spread, double shape);
/* The same with one factor for K and S of a toner: more or less pigment in the bottle, as lots mostly differ.
 */
void room_drift_lots(struct room *room, double spread, double shape);
void room_settle(struct room *room);

/* Targets made of other pigments: 40 leathers (tans, cognacs, browns, oxbloods, navies, creams, greys,
 * greens), ten blacks. Filled: mass_g[room_count]. name: for a table. Deterministic by seed. */
const char *room_target(const struct room *room, size_t i, double mass_g[]);
const char *room_black(const struct room *room, size_t i, double mass_g[]);

/* One film of a drawdown set as it was written down, and the truth beside it. */
struct room_drawdown {
    char id[64], backing_id[64]; /* backing_id "-" opaque, "" for a bare backing */
    double mass_g[ROOM_MOST];    /* as written */
    double film_um;              /* as written; INFINITY opaque */
    double topcoat_gu;           /* NAN none */
    double true_film_um;
    enum room_backing backing;
    struct spectrum seen;
};
struct room_set {
    size_t count;
    struct room_drawdown *row; /* bare backings first */
    enum geometry geometry;
};

struct room_plan {
    enum geometry geometry;
    double film_um, film_spread; /* wanted film 30; truth differs from what is written by exp(N(0, .03)) */
    double scale_step_g;         /* .01 */
    double batch_g;              /* of each mix, 10 */
    bool opaque_only;
    bool topcoats; /* adds topcoat rows */
};
struct room_plan room_plan_usual(void);
/* The set that a shop makes: docs/room.md lists the films. The caller frees with room_set_free. */
void room_drawdowns(struct room *room, const struct room_plan *plan, struct room_set *out);
void room_set_free(struct room_set *set);
/* As the fit takes it; memory of the arena. */
void room_set_fill(const struct room *room, const struct room_set *set, struct arena *arena,
                   struct drawdown_set *out);
/* As CGATS text, ready for `russet toners fit`. percent: spectra in percent. */
void room_set_write(const struct room *room, const struct room_set *set, bool percent, struct text *out);
/* One reading as CGATS text (SAMPLE_ID name). */
void room_reading_write(const char *name, const struct spectrum *seen, struct text *out);

#endif
