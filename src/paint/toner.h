/* Toners and the shelf they stand on. */
#ifndef RUSSET_PAINT_TONER_H
#define RUSSET_PAINT_TONER_H

#include "paint/beam.h"
#include "paint/surface.h"

enum toner_role { ROLE_COLOUR, ROLE_BINDER, ROLE_WHITE, ROLE_BLACK, ROLE_COUNT };
const char *toner_role_name(enum toner_role role); /* "colour", "binder", "white", "black" */
bool toner_role_from_name(const char *name, enum toner_role *out);
bool toner_id_is_good(const char *id); /* 1 to 47 of a-z, 0-9 and - */

enum { TONER_ID_MAX = 48, TONER_NAME_MAX = 96, SHELF_MOST = 64 };

/* How unsure a toner's curves are, where they were not found by an instrument alone: sd of the logarithms.
 * All zero: not said. */
struct toner_prior {
    bool on;
    double strength_sd;          /* of K and S alike: more or less pigment in the bottle */
    double scatter_sd;           /* of S beside it */
    double shape_sd;             /* of the curves' shape */
    bool invented;               /* no measured curve lies behind it */
    char source[TONER_NAME_MAX]; /* what it was started from: "PB15:3+PW6:.1" */
};

struct toner {
    char id[TONER_ID_MAX];     /* [a-z0-9-]+ */
    char name[TONER_NAME_MAX]; /* as on the label */
    char lot[TONER_ID_MAX];
    enum toner_role role;
    double density_g_ml;          /* 0 when unknown */
    long long price_minor_per_kg; /* -1 when unknown */
    double solids;                /* by mass 0..1; 0 when unknown */
    double k[BANDS], s[BANDS];    /* per um of dry film at unit mass fraction of wet toner in the mix */
    double bend,
        crowd;   /* crowding: at mass fraction c, s counts c (1 - bend c) / (1 + crowd c); 0 for most, >= 0 */
    double lean; /* asymmetry of its scattering beside the shelf's beam; 0 when not told apart */
    double strength_sd; /* sd of ln(strength); 0 when not estimated */
    struct toner_prior prior;
};

/* How a card was when it was read. */
enum card_state { STATE_COATED, STATE_DRY, STATE_WET, STATE_COUNT };
const char *card_state_name(enum card_state state); /* "coated", "dry", "wet" */

/* What a reading in another state than dry and topcoated is multiplied by, learnt by the shop: exp(sum_j
 * ln_r[j] term_j), the terms being three cosines over the bands, ln(R / .2) (water deepens) and .05 / R (a
 * veil lies on what has no topcoat). pairs 0: not learnt. */
enum { SHIFT_COSINES = 3, SHIFT_TERMS = 5 };
struct shift {
    double ln_r[SHIFT_TERMS];
    double sd; /* of ln R, what it cannot tell */
    int pairs;
};

struct card; /* calibrate.h */
enum { SHELF_CARDS_MOST = 60 };

struct shelf {
    size_t count;
    struct toner *toner;
    enum geometry geometry; /* that the drawdowns were read in */
    struct surface surface; /* found by the fit; haze 0 */
    struct beam beam;       /* how light goes through the films; all zero: plain Kubelka-Munk */
    struct topcoat topcoat; /* what the shop's clears do to a colour; all zero: not measured */
    bool relative_s;        /* only opaque drawdowns: S is relative to white, film answers are null */
    struct shift shift[STATE_COUNT]; /* of a dry or wet card; [STATE_COATED] stays zero */
    char currency[4];                /* ISO 4217, or "" */
    const struct weights *camera; /* how the phone that saw the first day's sheet reads a reflectance beside
                                     the shelf's dabs: an observer, white as the CIE's; NULL: not told */
    const struct card *card; /* the cards that it has learnt from, the latest last: what they have shown of
                                the toners together, a match prefers (match_doubt.h) */
    size_t cards;
};

/* The terms of a shift for a band that reads r. */
void shift_terms(double r, int band, double term[SHIFT_TERMS]);

/* The reading as it would be dry and topcoated, as far as the shop has learnt it. */
void shelf_shift(const struct shelf *shelf, enum card_state state, struct spectrum *reading);

/* Index of a toner by id, or -1. */
int shelf_find(const struct shelf *shelf, const char *id);

/* How much of a toner's scattering counts at mass fraction c, 0..c; by_c (may be NULL) its slope. Crowded
 * particles share the light between them: a line (bend), or the rational that comes near the cube-root law of
 * crowding (crowd). */
double toner_counted(const struct toner *toner, double c, double *by_c);
double crowded_part(double bend, double crowd, double c, double *by_c);

/* K and S of a mix per um of dry film: part[i] is the mass fraction of toner i in the whole, binder included.
 */
void shelf_mix(const struct shelf *shelf, const double part[], double k[BANDS], double s[BANDS]);

/* Whether any toner has an asymmetry of its own. */
bool shelf_leans(const struct shelf *shelf);
/* The beam of each band in a mix: the shelf's, with the mean of the toners' leans by part times S. */
void shelf_beams(const struct shelf *shelf, const double part[], struct beam beam[BANDS]);
/* One lean for a mix that is taken as a toner: the mean over the bands, by part times S. */
double shelf_mean_lean(const struct shelf *shelf, const double part[]);

#endif
