/* From test shots to the gun's next setting. ln Sal and ln Sa over the setting are Gaussian processes whose
 * prior mean is a spray-and-levelling model:
 *
 *     D32 of Nukiyama and Tanasawa (air's speed from the pressure, fluid over air from the turns), splats
 * widen as Sal = .687 beta D; Sa from the film and the drop, levelled by Orchard 1962: tau = 3 eta (l/2pi)^4
 * / (gamma h^3)
 *
 * and whose covariance is a constant (each gun's own scale), a slope in each setting, and a smooth rest; each
 * shot is read with 8 % (1 sigma). The next shot has the greatest expected improvement of (dln Sal / .10)^2 +
 * (dln Sa / .15)^2 on a grid inside the limits. No law from a gun's pressure to grain is published: without
 * shots the model is a guess, and its uncertainty says so. */
#ifndef RUSSET_SURFACE_GUN_H
#define RUSSET_SURFACE_GUN_H

#include <stdbool.h>
#include <stddef.h>

enum gun_knob { GUN_PRESSURE, GUN_TURNS, GUN_DISTANCE, GUN_VISCOSITY, GUN_COATS, GUN_KNOBS };
enum { GUN_SHOTS_MOST = 60, GUN_ML_MIN_A_TURN = 100 };

/* bar at the gun's inlet, turns of the fluid needle, mm to the part, seconds of a 4 mm cup, coats
 * (whole); all over 0. */
struct gun_setting {
    double knob[GUN_KNOBS];
};
struct gun_limits {
    double low[GUN_KNOBS], high[GUN_KNOBS]; /* low = high: that knob stays */
};
struct gun_shot {
    struct gun_setting setting;
    double sal_mm, sa_um;
};
/* With 1-sigma uncertainties of the logarithms. */
struct gun_guess {
    double sal_mm, sa_um, sal_sd, sa_sd;
};
struct gun_advice {
    struct gun_setting next;
    struct gun_guess expected;
    double improvement; /* expected, in squared tolerances */
    bool reached;       /* the best shot lies within 10 % of Sal and 15 % of Sa */
    size_t best;        /* that shot; meaningless with none */
};

extern const struct gun_limits gun_usual_limits;
/* What the model says before any shot. */
void gun_model(const struct gun_setting *setting, double *sal_mm, double *sa_um);
void gun_advise(const struct gun_shot *shot, size_t count, const struct gun_limits *limits,
                double want_sal_mm, double want_sa_um, struct gun_advice *out);

#endif
