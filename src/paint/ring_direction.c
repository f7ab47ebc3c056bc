#include "paint/ring_direction.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double BLACK_BELOW_L = 28;
/* Sizes that are tried, in standard deviations of the cloud. What a dab's place is unsure of (sd, dE00): its
 * weighing, and a part of its way (lots). */
static const double sizes[] = {0.8, 1, 1.2, 1.4, 1.6, 1.9};
static const double PLACE_DOUBT = 0.15, WAY_DOUBT = 0.1;

static const struct ring_direction of_blacks[RING_DIRECTIONS] = {
    {"bluer", {0, 0, -1}}, {"browner", {0, 0.7, 1}}, {"greener", {0, -1, 0}},
    {"redder", {0, 1, 0}}, {"lighter", {1, 0, 0}},   {"darker", {-1, 0, 0}}};

/* Eigenvectors of a symmetric 3x3 by Jacobi rotations: columns of v. */
static void eigenvectors(double a[3][3], double v[3][3]) {
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) v[i][j] = i == j;
    for (int sweep = 0; sweep < 24; sweep++) {
        for (int p = 0; p < 2; p++) {
            for (int q = p + 1; q < 3; q++) {
                const double angle = 0.5 * atan2(2 * a[p][q], a[q][q] - a[p][p]), c = cos(angle),
                             s = sin(angle);
                for (int k = 0; k < 3; k++) {
                    const double x = a[k][p], y = a[k][q], u = v[k][p], w = v[k][q];
                    a[k][p] = c * x - s * y, a[k][q] = s * x + c * y;
                    v[k][p] = c * u - s * w, v[k][q] = s * u + c * w;
                }
                for (int k = 0; k < 3; k++) {
                    const double x = a[p][k], y = a[q][k];
                    a[p][k] = c * x - s * y, a[q][k] = s * x + c * y;
                }
            }
        }
    }
}

/* "lighter", or "lighter, redder": every axis that has at least half of the largest one's share, as the eye
 * measures. */
static void name_direction(struct ring_direction *d, const double seen[3]) {
    static const char *const up[] = {"lighter", "redder", "yellower"}, *const down[] = {"darker", "greener",
                                                                                        "bluer"};
    const double most = fmax(fabs(seen[0]), fmax(fabs(seen[1]), fabs(seen[2])));
    size_t n = 0;
    d->says[0] = 0;
    for (int i = 0; i < 3; i++)
        if (fabs(seen[i]) > 0.5 * most)
            n += (size_t)snprintf(d->says + n, sizeof d->says - n, "%s%s", n ? ", " : "",
                                  d->lab[i] > 0 ? up[i] : down[i]);
}

/* F d: a Lab step as the eye measures it. */
static void to_eye(const struct de00_metric *m, const double lab[3], double eye[3]) {
    for (int i = 0; i < 3; i++) eye[i] = m->f[i][0] * lab[0] + m->f[i][1] * lab[1] + m->f[i][2] * lab[2];
}

/* F^-1 e by Cramer's rule; F is well conditioned (its entries are weights near 1). */
static void from_eye(const struct de00_metric *m, const double eye[3], double lab[3]) {
    const double(*f)[3] = m->f;
    const double det = f[0][0] * (f[1][1] * f[2][2] - f[1][2] * f[2][1]) -
                       f[0][1] * (f[1][0] * f[2][2] - f[1][2] * f[2][0]) +
                       f[0][2] * (f[1][0] * f[2][1] - f[1][1] * f[2][0]);
    for (int column = 0; column < 3; column++) {
        double g[3][3];
        memcpy(g, m->f, sizeof g);
        for (int row = 0; row < 3; row++) g[row][column] = eye[row];
        lab[column] = (g[0][0] * (g[1][1] * g[2][2] - g[1][2] * g[2][1]) -
                       g[0][1] * (g[1][0] * g[2][2] - g[1][2] * g[2][0]) +
                       g[0][2] * (g[1][0] * g[2][1] - g[1][1] * g[2][0])) /
                      det;
    }
}

static void set_direction(const struct de00_metric *m, const double eye[3], struct ring_direction *way) {
    from_eye(m, eye, way->lab);
    /* Each Lab axis counts by what the eye makes of it alone. */
    double seen[3];
    for (int k = 0; k < 3; k++) {
        double only[3] = {0}, apart[3];
        only[k] = way->lab[k];
        to_eye(m, only, apart);
        seen[k] = sqrt(apart[0] * apart[0] + apart[1] * apart[1] + apart[2] * apart[2]);
    }
    name_direction(way, seen);
}

static double length_of(const struct de00_metric *m, const double lab[3]) {
    double eye[3];
    to_eye(m, lab, eye);
    return sqrt(eye[0] * eye[0] + eye[1] * eye[1] + eye[2] * eye[2]);
}

/* The cloud as the eye measures it: its middle (Lab), its axes and their sd, the longest first. */
struct figure {
    struct de00_metric metric;
    double middle[3], cov[3][3], axis[3][3], sd[3];
};

static void measure(const struct guess *guess, struct lab pot, struct figure *out) {
    out->metric = difference_metric(pot);
    guess_middle(guess, &out->metric, out->middle);
    guess_spread(guess, &out->metric, out->cov);
    double cov[3][3], v[3][3];
    memcpy(cov, out->cov, sizeof cov);
    eigenvectors(cov, v);
    int order[3] = {0, 1, 2};
    for (int i = 0; i < 3; i++)
        for (int j = i + 1; j < 3; j++)
            if (cov[order[j]][order[j]] > cov[order[i]][order[i]]) {
                const int was = order[i];
                order[i] = order[j], order[j] = was;
            }
    for (int i = 0; i < 3; i++) {
        out->sd[i] = sqrt(fmax(cov[order[i]][order[i]], 0));
        for (int k = 0; k < 3; k++) out->axis[i][k] = v[k][order[i]];
    }
}

/* Both ways along each axis. */
static void lay_cross(const struct figure *f, double size, double eye[RING_DIRECTIONS][3]) {
    for (int i = 0; i < RING_DIRECTIONS; i++)
        for (int k = 0; k < 3; k++) eye[i][k] = (i % 2 ? -size : size) * f->sd[i / 2] * f->axis[i / 2][k];
}

/* Six ways in the plane of the two longest axes. */
static void lay_hexagon(const struct figure *f, double size, double eye[RING_DIRECTIONS][3]) {
    for (int i = 0; i < RING_DIRECTIONS; i++) {
        const double c = size * f->sd[0] * cos(M_PI * i / 3), s = size * f->sd[1] * sin(M_PI * i / 3);
        for (int k = 0; k < 3; k++) eye[i][k] = c * f->axis[0][k] + s * f->axis[1][k];
    }
}

/* The words of blacks, each as far as the cloud reaches that way. */
static void lay_words(const struct figure *f, double size, double eye[RING_DIRECTIONS][3]) {
    for (int i = 0; i < RING_DIRECTIONS; i++) {
        double u[3], reach = 0;
        const double length = length_of(&f->metric, of_blacks[i].lab);
        to_eye(&f->metric, of_blacks[i].lab, u);
        for (int j = 0; j < 3; j++) u[j] /= length;
        for (int j = 0; j < 3; j++)
            for (int k = 0; k < 3; k++) reach += u[j] * f->cov[j][k] * u[k];
        for (int k = 0; k < 3; k++) eye[i][k] = size * sqrt(reach) * u[k];
    }
}

static double farthest(const double eye[RING_DIRECTIONS][3]) {
    double most = 0;
    for (int i = 0; i < RING_DIRECTIONS; i++)
        most = fmax(most, sqrt(eye[i][0] * eye[i][0] + eye[i][1] * eye[i][1] + eye[i][2] * eye[i][2]));
    return most;
}

/* What is left to guess after these six and the pot itself. */
static double rest_of(const struct guess *guess, const struct figure *f,
                      const double eye[RING_DIRECTIONS][3]) {
    double dab[RING_DIRECTIONS + 1][3] = {{0}}, doubt[RING_DIRECTIONS + 1] = {0};
    for (int i = 0; i < RING_DIRECTIONS; i++) {
        from_eye(&f->metric, eye[i], dab[i + 1]);
        for (int k = 0; k < 3; k++) dab[i + 1][k] += f->middle[k];
        doubt[i + 1] = hypot(PLACE_DOUBT, WAY_DOUBT * length_of(&f->metric, dab[i + 1]));
    }
    return guess_rest(guess, &f->metric, (const double(*)[3])dab, doubt, RING_DIRECTIONS + 1);
}

static void say_way(const struct figure *f, const double eye[3], struct ring_direction *way) {
    set_direction(&f->metric, eye, way);
    for (int k = 0; k < 3; k++) way->lab[k] += f->middle[k];
}

void ring_directions(const struct guess *guess, struct lab pot, bool words, double step,
                     struct ring_direction way[RING_DIRECTIONS]) {
    struct figure f;
    double best[RING_DIRECTIONS][3] = {{0}}, least = (double)INFINITY;
    measure(guess, pot, &f);
    words = words && pot.l < BLACK_BELOW_L;
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++)
        for (int kind = 0; kind < (words ? 1 : 2); kind++) {
            double eye[RING_DIRECTIONS][3];
            (words ? lay_words : kind ? lay_hexagon : lay_cross)(&f, sizes[i], eye);
            const double scale = step > 0 ? step / farthest((const double(*)[3])eye) : 1;
            for (int k = 0; k < 3 * RING_DIRECTIONS; k++) eye[k / 3][k % 3] *= scale;
            const double rest = rest_of(guess, &f, (const double(*)[3])eye);
            if (rest < least) least = rest, memcpy(best, eye, sizeof best);
        }
    for (int i = 0; i < RING_DIRECTIONS; i++) {
        say_way(&f, best[i], &way[i]);
        if (words) memcpy(way[i].says, of_blacks[i].says, sizeof way[i].says);
    }
}
