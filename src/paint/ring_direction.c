#include "paint/ring_direction.h"
#include "colour/difference.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double BLACK_BELOW_L = 28;

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

/* cov of Lab -> cov of F Lab. */
static void see_cov(const struct de00_metric *m, double cov[3][3]) {
    double half[3][3], whole[3][3];
    for (int i = 0; i < 3; i++) to_eye(m, cov[i], half[i]); /* cov F' , cov is symmetric */
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            whole[i][j] = m->f[i][0] * half[0][j] + m->f[i][1] * half[1][j] + m->f[i][2] * half[2][j];
    memcpy(cov, whole, sizeof whole);
}

void ring_directions_first(const struct adjust_task *task, const double part[], struct lab pot,
                           struct ring_direction way[RING_DIRECTIONS]) {
    if (pot.l < BLACK_BELOW_L) {
        memcpy(way, of_blacks, sizeof of_blacks);
        return;
    }
    double cov[3][3], axis[3][3];
    const struct de00_metric metric = difference_metric(pot);
    struct calibration *prior = calibration_new(task->match.shelf, NULL, 0, 1, &task->doubt);
    calibration_lab_cov(prior, part, &task->match.film, 0, cov);
    calibration_free(prior);
    see_cov(&metric, cov);
    for (int i = 0; i < 3; i++)
        cov[i][i] += 0.01 * (i + 1); /* so that the axes are defined even where the shelf is sure */
    eigenvectors(cov, axis);
    for (int i = 0; i < RING_DIRECTIONS; i++) {
        const double sign = i % 2 ? -1 : 1,
                     eye[3] = {sign * axis[0][i / 2], sign * axis[1][i / 2], sign * axis[2][i / 2]};
        set_direction(&metric, eye, &way[i]);
    }
}

static void scale_to_one(double v[3]) {
    const double length = sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
    for (int i = 0; i < 3; i++) v[i] /= length;
}

/* A unit vector square to u: the coordinate axis that lies least along it, less its share of u. */
static void square_to(const double u[3], double v[3]) {
    int least = 0;
    for (int i = 1; i < 3; i++)
        if (fabs(u[i]) < fabs(u[least])) least = i;
    for (int i = 0; i < 3; i++) v[i] = (i == least) - u[least] * u[i];
    scale_to_one(v);
}

void ring_directions_across(struct lab pot, const double along[3],
                            struct ring_direction way[RING_DIRECTIONS]) {
    const struct de00_metric metric = difference_metric(pot);
    double u[3], v[3];
    to_eye(&metric, along, u);
    scale_to_one(u);
    square_to(u, v);
    const double w[3] = {u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]};
    for (int i = 0; i < RING_DIRECTIONS; i++) {
        const double c = cos(M_PI * i / 3), s = sin(M_PI * i / 3),
                     eye[3] = {c * v[0] + s * w[0], c * v[1] + s * w[1], c * v[2] + s * w[2]};
        set_direction(&metric, eye, &way[i]);
    }
}
