/* A gun of its own for tests, none of whose equations is the bench's (surface/gun.h):
 *
 *     drops      prefilming air-blast law of El-Shanawany and Lefebvre 1980 (constants from memory)
 *     deposit    splats by chance: paraboloid caps, spectrum H V (8 J2(kR) / (kR)^2)^2
 *     levelling  the full law of Orchard 1962 for any kh, under a viscosity that grows as the film dries
 *                (exp(t / dry)), and that grew on the way from the gun
 *     coats      each shows part of what lies below it
 *     grain      Sal and Sa from the spectrum through S .25 mm and L 5 mm (ISO 16610-61), by quadrature
 *
 * Hidden constants by chance. Invented, for the test only. */
#ifndef RUSSET_TESTS_GUN_ROOM_H
#define RUSSET_TESTS_GUN_ROOM_H

#include "check.h"
#include "surface/gun.h"

struct room_gun {
    double nozzle_m, flow, flow_power, air, spread, dry_s, way, cup, tension, solids, print, transfer, lumps;
};

static inline double room_gauss(unsigned long long *seed) {
    const double u = check_random(seed), v = check_random(seed);
    return sqrt(-2 * log(u + 1e-300)) * cos(6.283185307179586 * v);
}

static inline double room_between(unsigned long long *seed, double low, double high) {
    return low + (high - low) * check_random(seed);
}

static inline struct room_gun room_gun_new(unsigned long long *seed) {
    return (struct room_gun){.nozzle_m = room_between(seed, 1e-3, 1.8e-3),
                             .flow = room_between(seed, 1.5e-6, 3e-6),
                             .flow_power = room_between(seed, .7, 1.1),
                             .air = room_between(seed, 1.2e-3, 3e-3),
                             .spread = room_between(seed, 2, 4),
                             .dry_s = room_between(seed, 1, 8),
                             .way = room_between(seed, .5, 2),
                             .cup = room_between(seed, 2.6, 3.8),
                             .tension = room_between(seed, .024, .034),
                             .solids = room_between(seed, .25, .45),
                             .print = room_between(seed, .2, .7),
                             .transfer = room_between(seed, .5, .8),
                             .lumps = room_between(seed, 1.5, 4)};
}

/* Metres; the flow in m3/s. */
static inline double room_drop(const struct room_gun *g, double bar, double flow, double mu) {
    const double rho = 1050, rho_air = 1.2, speed = 320 * sqrt(bar / (1 + bar)), d = g->nozzle_m;
    const double ratio = g->air * (1 + bar) * rho_air / (flow * rho);
    return d * (1 + 1 / ratio) *
           (.33 * pow(g->tension / (rho_air * speed * speed * d), .6) * pow(rho / rho_air, .1) +
            .068 * sqrt(mu * mu / (rho * g->tension * d)));
}

struct room_spectrum {
    double volume_m3, film_m, radius_m, levelled; /* levelled: gamma times the integral of dt / (2 eta) */
    double print2;
};

static inline double room_power(const struct room_spectrum *s, double k) {
    const double x = k * s->radius_m, kh = k * s->film_m;
    const double cap = x < 1e-3 ? 1 : 8 * jn(2, x) / (x * x);
    const double law = (sinh(2 * kh) - 2 * kh) / (cosh(2 * kh) + 1 + 2 * kh * kh);
    const double lambda = 6.283185307179586 / k;
    const double low = exp2(-pow(.25e-3 / lambda, 2)), high = 1 - exp2(-pow(5e-3 / lambda, 2));
    return s->film_m * s->volume_m3 * cap * cap * exp(-2 * k * s->levelled * fmin(law, 1)) * low * low *
           high * high / (1 - s->print2);
}

/* The sum of power(k) J0(k r) k dk / 2 pi; k on a logarithmic ladder. */
static inline double room_covariance(const double power[200], const double k[200], double r) {
    double sum = 0;
    for (int i = 0; i < 200; i++) sum += power[i] * j0(k[i] * r) * k[i] * k[i];
    return sum;
}

static inline void room_read(const struct room_spectrum *s, double solids, double out[2]) {
    double power[200], k[200];
    const double step = log(6e4 / 4e2) / 200;
    for (int i = 0; i < 200; i++) k[i] = 4e2 * exp(step * (i + .5)), power[i] = room_power(s, k[i]);
    const double all = room_covariance(power, k, 0);
    double low = 1e-5, high = 1e-5;
    while (room_covariance(power, k, high) > .2 * all) high *= 1.1;
    low = high / 1.1;
    for (int i = 0; i < 30; i++) {
        const double middle = (low + high) / 2;
        if (room_covariance(power, k, middle) > .2 * all)
            low = middle;
        else
            high = middle;
    }
    out[0] = 1e3 * low;
    out[1] = 1e6 * solids * .8 * sqrt(all * step / 6.283185307179586);
}

/* Sal in mm and Sa in um of a dry test card. */
static inline void room_spray(const struct room_gun *g, const struct gun_setting *set, double out[2]) {
    const double bar = set->knob[GUN_PRESSURE], metres = set->knob[GUN_DISTANCE] / 1000;
    const double mu = 1050e-6 * g->cup * (set->knob[GUN_VISCOSITY] - 8);
    const double flow = g->flow * pow(set->knob[GUN_TURNS], g->flow_power) * pow(mu / .05, -.3);
    const double drop = room_drop(g, bar, flow, mu), thick = mu * exp(g->way * metres / .15 + 1);
    struct room_spectrum s = {.radius_m = g->spread * drop / 2, .print2 = g->print * g->print};
    s.volume_m3 = pow(g->lumps * drop, 3) * .5236; /* the largest drops make the grain */
    s.film_m = 18e-6 * g->transfer * (flow / 2e-6) * pow(.15 / metres, 1.5);
    s.levelled = g->tension * g->dry_s / (2 * thick);
    if (set->knob[GUN_COATS] < 2) s.print2 = 0;
    room_read(&s, g->solids, out);
}

#endif
