#include "surface/camera_fit.h"
#include "base/dense.h"
#include "colour/difference.h"
#include <assert.h>
#include <math.h>
#include <string.h>

enum { UNKNOWNS = 3 * FIT_TERMS_MOST, STEPS = 8, FEW = 6 /* samples that fix no linear start */ };

/* How far a coefficient may lie from where the ridge holds it, in XYZ of a white, and what a patch misses by.
 */
static const double offset_sd = 1, root_sd = 20, second_sd = 25, ridge_de = .6;

static const struct weights *d65(void) {
    return weights_of((struct view){LIGHT_D65, OBSERVER_10});
}

int map_terms(enum camera_model model, int channels, const double light[], double terms[FIT_TERMS_MOST]) {
    int n = channels;
    memcpy(terms, light, (size_t)channels * sizeof *terms);
    if (model == MODEL_OFFSET) terms[n++] = 1;
    if (model == MODEL_ROOT) {
        const double r = fmax(light[0], 0), g = fmax(light[1], 0), b = fmax(light[2], 0);
        terms[n++] = sqrt(r * g), terms[n++] = sqrt(g * b), terms[n++] = sqrt(r * b);
    }
    return n;
}

/* d XYZ / white to d f, f = (L + 16) / 116 and so on: t = f^3, or 3 (6/29)^2 (f - 4/29). */
static double f_slope(double f) {
    const double d = 6. / 29, root = fmax(f, d);
    return 1 / (3 * root * root);
}

static void slope_at(struct lab lab, double slope[3][3]) {
    const struct xyz white = d65()->white;
    const double fy = (lab.l + 16) / 116, fx = fy + lab.a / 500, fz = fy - lab.b / 200;
    const double x = f_slope(fx) / white.x, y = f_slope(fy) / white.y, z = f_slope(fz) / white.z;
    const double all[3][3] = {{0, 116 * y, 0}, {500 * x, -500 * y, 0}, {0, 200 * y, -200 * z}};
    memcpy(slope, all, sizeof all);
}

void lab_slope(struct xyz xyz, double slope[3][3]) {
    slope_at(lab_of(xyz, d65()), slope);
}

static struct xyz map_xyz(const struct camera_map *map, const double terms[]) {
    double v[3] = {0};
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < map->terms; k++) v[i] += map->to_xyz[i][k] * terms[k];
    return (struct xyz){v[0], v[1], v[2]};
}

struct lab map_lab(const struct camera_map *map, const double light[]) {
    double terms[FIT_TERMS_MOST];
    map_terms(map->model, map->channels, light, terms);
    return lab_of(map_xyz(map, terms), d65());
}

void map_slope(const struct camera_map *map, const double light[], double slope[3][FIT_CHANNELS_MOST]) {
    for (int c = 0; c < map->channels; c++) {
        double up[FIT_CHANNELS_MOST], down[FIT_CHANNELS_MOST];
        memcpy(up, light, sizeof up), memcpy(down, light, sizeof down);
        const double h = 1e-3 * fmax(fabs(light[c]), 1e-2);
        up[c] += h, down[c] -= h;
        const struct lab a = map_lab(map, up), b = map_lab(map, down);
        slope[0][c] = (a.l - b.l) / (2 * h), slope[1][c] = (a.a - b.a) / (2 * h),
        slope[2][c] = (a.b - b.b) / (2 * h);
    }
}

static double sd_of(const struct camera_map *map, int term) {
    if (term < 3) return map->hold_sd;
    if (term < map->channels) return second_sd;
    return map->model == MODEL_OFFSET ? offset_sd : root_sd;
}

/* ---- what is asked of a map: its terms and the metric of CIEDE2000 stay while it moves ---- */

struct aim {
    double terms[FIT_TERMS_MOST], weight;
    struct lab lab;
    struct de00_metric metric; /* at lab */
    struct lab is;             /* what the map that was looked at last makes of it */
    double miss[3];            /* in that metric */
};

/* Those that count; returns how many. */
static size_t aim_at(enum camera_model model, int channels, const struct fit_sample sample[], size_t count,
                     struct aim aim[]) {
    size_t n = 0;
    assert(count <= FIT_SAMPLES_MOST);
    for (size_t i = 0; i < count; i++) {
        if (!(sample[i].weight > 0)) continue;
        aim[n] = (struct aim){
            .weight = sample[i].weight, .lab = sample[i].lab, .metric = difference_metric(sample[i].lab)};
        map_terms(model, channels, sample[i].light, aim[n++].terms);
    }
    return n;
}

/* ---- the linear start: XYZ by relative least squares on the first three channels ---- */

static bool start_linear(const struct aim aim[], size_t count, struct camera_map *map) {
    double normal[9] = {0}, right[3][3] = {{0}};
    for (size_t i = 0; i < count; i++) {
        const struct xyz xyz = xyz_of_lab(aim[i].lab, d65());
        const double want[3] = {xyz.x, xyz.y, xyz.z}, *r = aim[i].terms;
        const double w = aim[i].weight / ((xyz.y + 2) * (xyz.y + 2));
        for (int a = 0; a < 3; a++) {
            for (int b = 0; b <= a; b++) normal[3 * a + b] += w * r[a] * r[b];
            for (int j = 0; j < 3; j++) right[j][a] += w * r[a] * want[j];
        }
    }
    for (int a = 0; a < 3; a++) normal[4 * a] *= 1 + 1e-9;
    if (!dense_cholesky(normal, 3)) return false;
    memset(map->to_xyz, 0, sizeof map->to_xyz);
    for (int j = 0; j < 3; j++) {
        dense_cholesky_solve(normal, 3, right[j]);
        memcpy(map->to_xyz[j], right[j], sizeof right[j]);
    }
    return true;
}

/* ---- Gauss-Newton ---- */

/* Residual F (Lab - wanted) with F from CIEDE2000's metric at the wanted colour; returns its square. */
static double look_at(const struct camera_map *map, struct aim *aim) {
    aim->is = lab_of(map_xyz(map, aim->terms), d65());
    const double off[3] = {aim->lab.l - aim->is.l, aim->lab.a - aim->is.a, aim->lab.b - aim->is.b};
    double square = 0;
    for (int a = 0; a < 3; a++) {
        aim->miss[a] = 0;
        for (int m = 0; m < 3; m++) aim->miss[a] += aim->metric.f[a][m] * off[m];
        square += aim->miss[a] * aim->miss[a];
    }
    return square;
}

/* Adds one patch that was looked at. Its slopes are s[a][k] terms[t], so the curvature is the 3 x 3 of s
 * times that of the terms. */
static void add_patch(const struct aim *aim, int n, double *normal, double *right) {
    double by_xyz[3][3], s[3][3] = {{0}}, curve[3][3] = {{0}}, pull[3] = {0};
    const int unknowns = 3 * n;
    slope_at(aim->is, by_xyz);
    for (int a = 0; a < 3; a++)
        for (int m = 0; m < 3; m++)
            for (int k = 0; k < 3; k++) s[a][k] += aim->metric.f[a][m] * by_xyz[m][k];
    for (int k = 0; k < 3; k++)
        for (int a = 0; a < 3; a++) {
            pull[k] += aim->weight * s[a][k] * aim->miss[a];
            for (int l = 0; l <= k; l++) curve[k][l] += aim->weight * s[a][k] * s[a][l];
        }
    for (int k = 0; k < 3; k++)
        for (int t = 0; t < n; t++) {
            right[k * n + t] += pull[k] * aim->terms[t];
            for (int l = 0; l <= k; l++)
                for (int u = 0; u < n; u++)
                    normal[(k * n + t) * unknowns + l * n + u] += curve[k][l] * aim->terms[t] * aim->terms[u];
        }
}

static double ridge(const struct camera_map *map, const double hold[3][3], double *normal, double *right) {
    const int n = map->terms;
    double square = 0;
    for (int k = 0; k < 3; k++)
        for (int t = 0; t < n; t++) {
            const double w = pow(ridge_de / sd_of(map, t), 2),
                         off = (t < 3 ? hold[k][t] : 0) - map->to_xyz[k][t];
            square += w * off * off;
            if (!normal) continue;
            normal[(k * n + t) * 3 * n + k * n + t] += w;
            right[k * n + t] += w * off;
        }
    return square;
}

static double cost_of(const struct camera_map *map, const double hold[3][3], struct aim aim[], size_t count) {
    double cost = ridge(map, hold, NULL, NULL);
    for (size_t i = 0; i < count; i++) cost += aim[i].weight * look_at(map, &aim[i]);
    return cost;
}

/* The patches were looked at through *map. */
static bool improve(struct camera_map *map, const double hold[3][3], struct aim aim[], size_t count,
                    double *cost) {
    double normal[UNKNOWNS * UNKNOWNS] = {0}, right[UNKNOWNS] = {0};
    const int n = map->terms;
    for (size_t i = 0; i < count; i++) add_patch(&aim[i], n, normal, right);
    ridge(map, hold, normal, right);
    if (!dense_cholesky(normal, (size_t)(3 * n))) return false;
    dense_cholesky_solve(normal, (size_t)(3 * n), right);
    for (double length = 1; length > .05; length /= 2) {
        struct camera_map next = *map;
        for (int k = 0; k < 3; k++)
            for (int t = 0; t < n; t++) next.to_xyz[k][t] += length * right[k * n + t];
        const double after = cost_of(&next, hold, aim, count);
        if (!(after < *cost)) continue;
        const bool goes_on = after < *cost * (1 - 1e-7);
        *map = next, *cost = after;
        return goes_on;
    }
    return false;
}

bool map_fit(enum camera_model model, int channels, const struct fit_sample sample[], size_t count,
             const double hold[3][3], double hold_sd, const struct camera_map *start,
             struct camera_map *out) {
    double terms[FIT_TERMS_MOST];
    struct aim aim[FIT_SAMPLES_MOST];
    const size_t used = aim_at(model, channels, sample, count, aim);
    struct camera_map first = {.model = model, .channels = channels, .hold_sd = hold_sd};
    first.terms = map_terms(model, channels, (const double[FIT_CHANNELS_MOST]){0}, terms);
    if (!start && (used < FEW || !start_linear(aim, used, &first)))
        for (int k = 0; k < 3; k++) memcpy(first.to_xyz[k], hold[k], sizeof hold[k]);
    *out = start ? *start : first;
    double cost = cost_of(out, hold, aim, used);
    if (!isfinite(cost)) return false;
    for (int i = 0; i < STEPS && improve(out, hold, aim, used, &cost); i++) {
    }
    for (int k = 0; k < 3; k++)
        for (int t = 0; t < out->terms; t++)
            if (!isfinite(out->to_xyz[k][t])) return false;
    return true;
}

void lab_cov_add(struct lab lab, const double dxyz[3], double cov[3][3]) {
    double by_xyz[3][3], v[3];
    lab_slope(xyz_of_lab(lab, d65()), by_xyz);
    for (int a = 0; a < 3; a++)
        v[a] = by_xyz[a][0] * dxyz[0] + by_xyz[a][1] * dxyz[1] + by_xyz[a][2] * dxyz[2];
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++) cov[a][b] += v[a] * v[b];
}

void map_doubt(const struct camera_map *map, const struct fit_sample sample[], size_t count, double miss,
               const double light[], double cov[3][3]) {
    double normal[UNKNOWNS * UNKNOWNS] = {0}, right[UNKNOWNS] = {0}, terms[FIT_TERMS_MOST], by_xyz[3][3];
    const double none[3][3] = {{0}};
    const int n = map->terms, unknowns = 3 * n;
    struct aim aim[FIT_SAMPLES_MOST];
    const size_t used = aim_at(map->model, map->channels, sample, count, aim);
    for (size_t i = 0; i < used; i++) look_at(map, &aim[i]), add_patch(&aim[i], n, normal, right);
    for (int p = 0; p < unknowns * unknowns; p++) normal[p] *= pow(ridge_de / miss, 2);
    ridge(map, none, normal, right);
    memset(cov, 0, 3 * sizeof cov[0]);
    if (!dense_cholesky(normal, (size_t)unknowns)) return;
    map_terms(map->model, map->channels, light, terms);
    lab_slope(map_xyz(map, terms), by_xyz);
    double j[3][UNKNOWNS];
    for (int a = 0; a < 3; a++) {
        for (int k = 0; k < 3; k++)
            for (int t = 0; t < n; t++) j[a][k * n + t] = by_xyz[a][k] * terms[t];
        dense_forward_solve(normal, (size_t)unknowns, j[a]);
    }
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            for (int p = 0; p < unknowns; p++) cov[a][b] += ridge_de * ridge_de * j[a][p] * j[b][p];
}

/* A display's colours are told for the 2 degree observer (IEC 61966-2-1). Rows of sum 1, of reflectances
 * under D65: linear sRGB to XYZ 2 degrees, then the matrix that comes nearest to XYZ 10 degrees for 266
 * opaque paints (two-constant-acrylics.csv, each pigment in white and pairs in white; CIE tables): rms .003
 * of white, where the 2 degree values taken as they are would be off by .010, .015 and .005. */
void map_display(double to_xyz[3][3]) {
    static const double row[3][3] = {{.4058, .4070, .1872}, {.1963, .6867, .1170}, {.0245, .0880, .8875}};
    const struct xyz white = d65()->white;
    const double to[3] = {white.x, white.y, white.z};
    for (int k = 0; k < 3; k++)
        for (int c = 0; c < 3; c++) to_xyz[k][c] = row[k][c] * to[k];
}
