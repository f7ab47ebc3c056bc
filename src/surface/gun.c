#include "surface/gun.h"
#include "base/dense.h"
#include <assert.h>
#include <math.h>
#include <string.h>

const struct gun_limits gun_usual_limits = {{.8, .5, 80, 14, 1}, {3.5, 3, 250, 40, 3}};

static const double noise = .08, sal_tolerance = .10, sa_tolerance = .15;
enum { STEPS = 8, NODES = 5 };

/* ---- the model ---- */

struct spray {
    double drop_m, film_m, mu;
};

static struct spray spray_of(const struct gun_setting *setting) {
    static const double sigma = .03, density = 1050;
    const double bar = setting->knob[GUN_PRESSURE], turns = setting->knob[GUN_TURNS];
    const double metres = setting->knob[GUN_DISTANCE] / 1000, seconds = setting->knob[GUN_VISCOSITY];
    const double kinematic = fmax(3, 4.57 * seconds - 452 / seconds) * 1e-6; /* of a 4 mm cup */
    const double mu = kinematic * density, speed = fmin(330, 180 * sqrt(bar));
    const double ratio = 3e-4 * turns / (1 + bar);
    const double drop =
        .585 / speed * sqrt(sigma / density) + 53 * pow(mu * mu / (sigma * density), .225) * pow(ratio, 1.5);
    return (struct spray){drop, 15e-6 * turns * (.15 / metres), mu};
}

/* Sums of power and of power times k^2 over a ladder of wave numbers, as a reading through S .25 mm and L 5
 * mm sees it. */
static void sum_spectrum(double widest_m, double levelling_m, double *power, double *square) {
    enum { RUNGS = 14 };
    const double first = 4e2, ladder = log(6e4 / first) / RUNGS;
    *power = *square = 0;
    for (int i = 0; i < RUNGS; i++) {
        const double k = first * exp(ladder * (i + .5)), x = k * widest_m, y = k * levelling_m;
        const double fine = k * .25e-3 / 6.283185307179586, form = k * 5e-3 / 6.283185307179586;
        const double through = exp2(-fine * fine) * (1 - exp2(-form * form));
        /* Never nothing: a film that levels all away leaves a grain of no size, but one with a logarithm. */
        const double lost = fmin(200, x * x / 4 + y * y * y * y);
        const double here = exp(-lost) * through * through * k * k * ladder;
        *power += here, *square += here * k * k;
    }
}

void gun_model(const struct gun_setting *setting, double *sal_mm, double *sa_um) {
    static const double beta = 3, gamma = .03, open_s = 4, thickened = 12, solids = .35;
    static const double print = .5; /* of a coat's grain shows through the next */
    const struct spray s = spray_of(setting);
    const double correlation = .5415 * beta * s.drop_m; /* Sal = 1.2686 T = .687 Ds */
    const double levelling = pow(2 * open_s * gamma * pow(s.film_m, 3) / (3 * thickened * s.mu), .25);
    double power, square;
    sum_spectrum(correlation, levelling, &power, &square);
    const double volume = .5236 * pow(2 * s.drop_m, 3); /* the largest drops make the grain */
    const double coats = (1 - pow(print, 2 * setting->knob[GUN_COATS])) / (1 - print * print);
    *sal_mm = 1000 * 2.5373 / sqrt(square / power); /* as of a Gaussian autocorrelation */
    *sa_um = 1e6 * solids * .8 * sqrt(s.film_m * volume * coats * power / 6.283185307179586);
}

/* ---- the process ---- */

struct process {
    const struct gun_limits *limits;
    size_t count;
    double place[GUN_SHOTS_MOST][GUN_KNOBS];
    double factor[GUN_SHOTS_MOST * GUN_SHOTS_MOST];
    double solved[2][GUN_SHOTS_MOST];
};

static void place_of(const struct gun_limits *limits, const struct gun_setting *setting,
                     double out[GUN_KNOBS]) {
    for (int k = 0; k < GUN_KNOBS; k++) {
        const double span = log(limits->high[k] / limits->low[k]);
        out[k] = span > 0 ? log(setting->knob[k] / limits->low[k]) / span - .5 : 0;
    }
}

static double covariance(const double a[GUN_KNOBS], const double b[GUN_KNOBS]) {
    static const double constant = 1, slope = .6, rest = .15, reach = .5;
    double product = 0, squares = 0;
    for (int k = 0; k < GUN_KNOBS; k++) product += a[k] * b[k], squares += (a[k] - b[k]) * (a[k] - b[k]);
    return constant * constant + slope * slope * product + rest * rest * exp(-squares / (2 * reach * reach));
}

static void learn(struct process *process, const struct gun_shot *shot, size_t count,
                  const struct gun_limits *limits) {
    process->limits = limits, process->count = count;
    for (size_t i = 0; i < count; i++) {
        double sal, sa;
        place_of(limits, &shot[i].setting, process->place[i]);
        gun_model(&shot[i].setting, &sal, &sa);
        process->solved[0][i] = log(shot[i].sal_mm / sal), process->solved[1][i] = log(shot[i].sa_um / sa);
    }
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count; j++)
            process->factor[i * count + j] =
                covariance(process->place[i], process->place[j]) + (i == j ? noise * noise : 0);
    if (count == 0) return;
    const bool positive = dense_cholesky(process->factor, count);
    assert(positive), (void)positive;
    for (int k = 0; k < 2; k++) dense_cholesky_solve(process->factor, count, process->solved[k]);
}

static void guess(const struct process *process, const struct gun_setting *setting, struct gun_guess *out) {
    double here[GUN_KNOBS], with[GUN_SHOTS_MOST], mean[2] = {0, 0};
    place_of(process->limits, setting, here);
    for (size_t i = 0; i < process->count; i++) {
        with[i] = covariance(here, process->place[i]);
        for (int k = 0; k < 2; k++) mean[k] += with[i] * process->solved[k][i];
    }
    double variance = covariance(here, here);
    if (process->count) dense_forward_solve(process->factor, process->count, with);
    for (size_t i = 0; i < process->count; i++) variance -= with[i] * with[i];
    gun_model(setting, &out->sal_mm, &out->sa_um);
    out->sal_mm *= exp(mean[0]), out->sa_um *= exp(mean[1]);
    out->sal_sd = out->sa_sd = sqrt(fmax(variance, 1e-6));
}

/* ---- the choice ---- */

struct wish {
    double sal, sa, best; /* logarithms, and what the best shot's setting is worth as far as is known */
};

static double loss_of(double sal, double sa, const struct wish *wish) {
    const double a = (sal - wish->sal) / sal_tolerance, b = (sa - wish->sa) / sa_tolerance;
    return a * a + b * b;
}

/* What a grain is worth, 0..1: exp(-loss / 2), 1 when it is the wanted one, .6 a tolerance off it. Its mean
 * over the guess, as far as it is over floor: Gauss and Hermite, five nodes each way. */
static double worth_over(const struct gun_guess *g, const struct wish *wish, double floor) {
    static const double node[NODES] = {-2.856970013872806, -1.355626179974266, 0, 1.355626179974266,
                                       2.856970013872806};
    static const double weight[NODES] = {.011257411327721, .222075922005613, .533333333333333,
                                         .222075922005613, .011257411327721};
    double sal[NODES], sa[NODES], sum = 0;
    for (int i = 0; i < NODES; i++) {
        sal[i] = exp(-loss_of(log(g->sal_mm) + g->sal_sd * node[i], wish->sa, wish) / 2);
        sa[i] = exp(-loss_of(wish->sal, log(g->sa_um) + g->sa_sd * node[i], wish) / 2);
    }
    for (int i = 0; i < NODES; i++)
        for (int j = 0; j < NODES; j++) sum += weight[i] * weight[j] * fmax(0, sal[i] * sa[j] - floor);
    return sum;
}

static struct gun_setting setting_of(const struct gun_limits *limits, int index) {
    struct gun_setting out;
    for (int k = 0; k < GUN_COATS; k++, index /= STEPS + 1)
        out.knob[k] = fmin(limits->high[k], limits->low[k] + (limits->high[k] - limits->low[k]) *
                                                                 (index % (STEPS + 1)) / (double)STEPS);
    out.knob[GUN_COATS] = ceil(limits->low[GUN_COATS]) + index;
    return out;
}

static void choose(const struct process *process, const struct wish *wish, struct gun_advice *out) {
    const double *low = process->limits->low, *high = process->limits->high;
    const int coats = (int)fmax(1, floor(high[GUN_COATS]) - ceil(low[GUN_COATS]) + 1);
    const int all = (STEPS + 1) * (STEPS + 1) * (STEPS + 1) * (STEPS + 1) * coats;
    double most = -1, least = (double)INFINITY;
    for (int i = 0; i < all; i++) {
        const struct gun_setting setting = setting_of(process->limits, i);
        struct gun_guess g;
        guess(process, &setting, &g);
        const double gain = worth_over(&g, wish, wish->best);
        const double loss = loss_of(log(g.sal_mm), log(g.sa_um), wish);
        const bool better = gain > most + 1e-9 || (gain > most - 1e-9 && loss < least);
        if (!better) continue;
        most = gain, least = loss;
        out->next = setting, out->expected = g, out->improvement = gain;
    }
}

static bool is_near(const struct gun_shot *shot, double want_sal_mm, double want_sa_um) {
    return fabs(shot->sal_mm / want_sal_mm - 1) <= sal_tolerance &&
           fabs(shot->sa_um / want_sa_um - 1) <= sa_tolerance;
}

void gun_advise(const struct gun_shot *shot, size_t count, const struct gun_limits *limits,
                double want_sal_mm, double want_sa_um, struct gun_advice *out) {
    struct process process;
    struct wish wish = {log(want_sal_mm), log(want_sa_um), 0};
    double least = (double)INFINITY;
    assert(count <= GUN_SHOTS_MOST);
    memset(out, 0, sizeof *out);
    learn(&process, shot, count, limits);
    for (size_t i = 0; i < count; i++) {
        struct gun_guess g;
        guess(&process, &shot[i].setting, &g);
        const double loss = loss_of(log(shot[i].sal_mm), log(shot[i].sa_um), &wish);
        wish.best = fmax(wish.best, worth_over(&g, &wish, 0));
        if (loss < least) least = loss, out->best = i;
        out->reached |= is_near(&shot[i], want_sal_mm, want_sa_um);
    }
    choose(&process, &wish, out);
}
