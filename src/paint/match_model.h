/* The match's own numbers: a task made ready for the kernels. Internal to src/paint/match*.c. */
#ifndef RUSSET_PAINT_MATCH_MODEL_H
#define RUSSET_PAINT_MATCH_MODEL_H

#include "paint/match.h"

enum {
    MATCH_SLOTS = MATCH_TONERS_MOST + 1, /* the binder is the first slot when there is one */
    MATCH_POINTS = 7,                    /* of an uncertain target */
    MATCH_TERMS_MOST = MATCH_LIGHTS_MOST * MATCH_POINTS
};

/* One colour that is asked for: weight x dE00 between it and the mix under a light. Weights sum to 1. */
struct match_term {
    size_t light;
    double l, a, b, weight;
};

/* A toner as the kernels see it: K = sum c k, S = sum c (s - q c). */
struct match_column {
    double k[BANDS], s[BANDS], q[BANDS];
    double price, low, high; /* price over the mean price; bounds of its mass fraction when it is in the mix */
    int toner;               /* index on the shelf */
    bool needed;
};

struct match_model {
    const struct match_task *task;
    size_t count;                             /* toners that may be used; column[count] is the binder */
    struct match_column column[SHELF_MOST + 1];
    bool has_binder;
    size_t needed;                            /* the first so many columns are in every recipe */
    double film_um;                           /* INFINITY: opaque */
    double backing[BANDS];                    /* inner reflectance */
    double k1, k2, span;                      /* measured = k1 + span R / (1 - k2 R) */
    size_t lights;
    double row[MATCH_LIGHTS_MOST][3][BANDS];  /* X/Xn, Y/Yn, Z/Zn of a reflectance */
    size_t terms;
    struct match_term term[MATCH_TERMS_MOST];
    bool spectral;
    double target[BANDS];                     /* as asked for; of a Lab-only target a smooth spectrum of that colour, to start from */
    double rms_weight;                        /* F's .1 x 100, 0 for a Lab-only target */
    double cost_weight;
};

enum status match_model_make(const struct match_task *task, struct match_model *out, struct fault *fault) MUST_USE;

/* The objective near a mix: dE00 of term t is about |e[t] + slope[t] d|, the squared spectral residual q0 + 2 q1'd + d'q2 d. */
struct match_local {
    double e[MATCH_TERMS_MOST][3], slope[MATCH_TERMS_MOST][3][MATCH_SLOTS];
    double q0, q1[MATCH_SLOTS], q2[MATCH_SLOTS][MATCH_SLOTS];
};

/* A subset of columns and a mix of it: c[i] of column[i], the binder (if any) in front, then rising columns, then unused slots (-1). */
struct match_lane {
    signed char column[MATCH_SLOTS + 2];
    double c[MATCH_SLOTS], low[MATCH_SLOTS], high[MATCH_SLOTS];
    double f;                  /* smoothed objective at c */
    struct match_local *local; /* filled by a kernel when not NULL */
};

/* How a refinement goes: so many linearisations, each solved by so many steps while the smoothing shrinks to end. */
struct match_schedule {
    int outer, inner;
    double end;      /* dE00 */
    bool true_slope; /* dE00 differentiated as it is, else with its weighting functions held */
};

/* Refines count lanes of `slots` slots each; each lane is a world of its own. All builds give the same bits. */
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

/* The objective of a lane's mix from the scalar double path. */
double match_lane_objective(const struct match_model *model, const struct match_lane *lane);
/* Moves c inside its bounds with sum 1; false when they cannot meet. */
bool match_lane_fit(struct match_lane *lane);

#endif
