/* The match's own numbers: a task made ready for the kernels. Internal to src/paint/match*.c. */
#ifndef RUSSET_PAINT_MATCH_MODEL_H
#define RUSSET_PAINT_MATCH_MODEL_H

#include "paint/match.h"
#include "paint/objective.h"

enum { MATCH_SLOTS = MATCH_TONERS_MOST + 1, MATCH_TERMS_MOST = OBJECTIVE_TERMS_MOST };

/* A toner as the kernels see it: K = sum c k, S = sum counted(c) s (toner_counted). */
struct match_column {
    double k[BANDS], s[BANDS], bend, crowd, lean;
    double price, low,
        high;  /* price over the mean price; bounds of its mass fraction when it is in the mix */
    int toner; /* index on the shelf */
    bool needed;
};

struct match_model {
    const struct match_task *task;
    size_t count; /* toners that may be used; column[count] is the binder */
    struct match_column column[SHELF_MOST + 1];
    bool has_binder;
    size_t needed;         /* the first so many columns are in every recipe */
    double film_um;        /* INFINITY: opaque */
    double backing[BANDS]; /* inner reflectance */
    double k1, k2, span;   /* measured = k1 + span R / (1 - k2 R) */
    double rms_weight;     /* of the root of the summed squares, 0 for a Lab-only target */
    double smooth[BANDS];  /* the target; of a Lab-only one a smooth spectrum of that colour, to start from */
    struct objective objective;
};

enum status match_model_make(const struct match_task *task, struct match_model *out,
                             struct fault *fault) MUST_USE;

/* The objective near a mix: dE00 of term t is about |e[t] + slope[t] d|, the squared spectral residual q0 + 2
 * q1'd + d'q2 d. */
struct match_local {
    double e[MATCH_TERMS_MOST][3], slope[MATCH_TERMS_MOST][3][MATCH_SLOTS];
    double q0, q1[MATCH_SLOTS], q2[MATCH_SLOTS][MATCH_SLOTS];
};

/* A subset of columns and a mix of it: c[i] of column[i], the binder (if any) in front, then rising columns,
 * then unused slots (-1). */
struct match_lane {
    signed char column[MATCH_SLOTS + 2];
    double c[MATCH_SLOTS], low[MATCH_SLOTS], high[MATCH_SLOTS];
    double f;                  /* smoothed objective at c */
    double damp, hope;         /* how careful the next step must be; the F that the last one aimed at, <= f */
    size_t home;               /* for whoever moves lanes about */
    struct match_local *local; /* filled by a kernel when not NULL */
};

/* How a refinement goes: so many linearisations, each solved by so many steps while the smoothing shrinks to
 * end. */
struct match_schedule {
    int outer, inner;
    double end;      /* dE00 */
    bool true_slope; /* dE00 differentiated as it is, else with its weighting functions held */
};

/* Refines count lanes of `slots` slots each; each lane is a world of its own. All builds give the same bits.
 */
typedef void match_kernel(const struct match_model *model, struct match_lane *lane, size_t count, int slots,
                          const struct match_schedule *schedule);
match_kernel match_kernel_f32_base, match_kernel_f64_base;
#if defined(__x86_64__)
match_kernel match_kernel_f32_avx2, match_kernel_f64_avx2;
#endif

struct match_kernels {
    match_kernel *nominate, *polish;
};
struct match_kernels match_kernels_choose(enum match_path path);

/* Room for a lane of these columns (rising, without the binder): bounds set, c in their middle. False when
 * the bounds cannot meet. */
bool match_lane_make(const struct match_model *model, const signed char column[], size_t count,
                     struct match_lane *lane);
/* Moves c inside its bounds with sum 1; false when they cannot meet. */
bool match_lane_fit(struct match_lane *lane);
/* Mass fractions over the shelf. */
void match_lane_spread(const struct match_model *model, const struct match_lane *lane,
                       double part[SHELF_MOST]);
/* How many slots a recipe of so many toners takes. */
int match_slots(const struct match_model *model, size_t toners);

/* ---- the linear stage: match_linear.c ---- */

/* |rest + A y|^2 over y >= 0, sum_low <= sum y <= sum_high; y is what a toner has over its least. The
 * residual's square bounds F's linearised dE00 and RMS. */
struct match_linear {
    size_t n, needed;
    double gram[SHELF_MOST][SHELF_MOST], pull[SHELF_MOST], rest; /* A'A, -A'rest, |rest|^2 */
    double sum_low, sum_high, least[SHELF_MOST];
};

/* A subset whose own linear optimum has every toner in it; all others have the optimum of one of their parts.
 */
struct match_proper {
    float value;
    signed char count, column[MATCH_TONERS_MOST];
};

/* The reflectance linearised in K and S at a film (k0, s0) per band. */
void match_linearise(const struct match_model *model, const double k0[BANDS], const double s0[BANDS],
                     struct match_linear *out);
/* At the target's own level set: k0 is what makes the target's reflectance with this s0. */
void match_level_set(const struct match_model *model, const double s0[BANDS], double k0[BANDS]);
/* Every subset of 1..most columns that holds the needed ones; *out (malloc'd by memory_grow) sorted by value,
 * then columns. Returns how many subsets there were. */
size_t match_enumerate(const struct match_linear *linear, size_t most, struct work *work,
                       struct match_proper **out, size_t *count);
/* The optimum of one subset with all signs free but the sum kept: y[count]; false when its columns are
 * collinear. */
bool match_linear_solve(const struct match_linear *linear, const signed char column[], size_t count,
                        double y[], double *value);

#endif
