#include "surface/camera_doubt.h"
#include "colour/difference.h"
#include <math.h>
#include <string.h>

/* What a leather misses by over what a patch misses by when it is left out: like the card's materials, other
 * ones, and with a chart of many pigments. Under 1: patches lie at the edge of what they cover, leathers
 * inside. Measured in the photo room (docs/camera-room.md). */
static const double k_like = .65, k_unlike = .55; /* like: on poses 101 .. 299 of the sweep, by the model */
static const double k_bought = .6;
static const double k_apart = .5;   /* of a difference of unlike pigments; on odd poses of the sweep, where
                                       1.7 stated five times what was missed */
static const double floor_de = .25; /* no camera is surer: the card's own values */
static const double shine_bare = .0012, shine_gel = .0003,
                    shine_polarised = .0003; /* sd of specular residue, reflectance */
/* Of a spot's own scatter, relative: what the mean of a grained surface is darker by than a flat one.
 * Pictures against the same without grain: 50 of them, ten odd poses of the sweep from 101 on, .6 at grain
 * .04 to .12, .8 at .2. */
static const double grain_share = .6;
static const double place_sd = .003; /* sd of ln light from place to place, after the flat field */
/* Without colours to tell them: paper's level and its tint, and what a map to the display's colours misses
 * colour by colour. */
static const double paper_sd = .03, balance_sd[2] = {.02, .05}; /* red, blue */
/* Of a camera's own map: the share of red and of blue in X, Y and Z that is green's, XYZ of white 100; about
 * what the cameras of the photo room differ by. */
static const double map_sd[3][2] = {{3, 2}, {2, 1.5}, {1.5, 4}};
static const double few_de = 1.5, few_chroma = 30; /* strong colours are missed by more */
static const double own_de = 1, own_chroma = 60;   /* of it what no linear map of another eye explains */
static const double cut_at = .05, cut_sd = .1;     /* of the brightest channel */
static const double slope_sd = .08;                /* of a difference: what the map's slope is off by */

static void add(double cov[3][3], const double v[3], double scale) {
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++) cov[a][b] += scale * v[a] * v[b];
}

/* A covariance whose dE00 has that mean square, the same in each direction of CIEDE2000: ms/3 (F'F)^-1. */
static void add_alike(struct lab lab, double mean_square, double cov[3][3]) {
    const struct de00_metric m = difference_metric(lab);
    /* F = [l 0 0; 0 p q; 0 r s]: its columns of the inverse. */
    const double det = m.f[1][1] * m.f[2][2] - m.f[1][2] * m.f[2][1];
    const double l[3] = {1 / m.f[0][0], 0, 0};
    const double c[3] = {0, m.f[2][2] / det, -m.f[2][1] / det}, h[3] = {0, -m.f[1][2] / det, m.f[1][1] / det};
    add(cov, l, mean_square / 3);
    add(cov, c, mean_square / 3);
    add(cov, h, mean_square / 3);
}

static void add_shine(const struct camera_task *task, struct lab lab, double cov[3][3]) {
    const struct weights *d65 = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    double slope[3][3];
    lab_slope(xyz_of_lab(lab, d65), slope);
    const double sd = task->shine == SHINE_BARE  ? shine_bare
                      : task->shine == SHINE_GEL ? shine_gel
                                                 : shine_polarised;
    double v[3];
    for (int a = 0; a < 3; a++)
        v[a] = sd * (slope[a][0] * d65->white.x + slope[a][1] * d65->white.y + slope[a][2] * d65->white.z);
    add(cov, v, 1);
}

/* A bought chart's patches are each of pigments of their own: leaving one out is a trial on an unlike
 * material already. */
static bool is_of_many_pigments(const struct photo_card *card) {
    int bought = 0, colours = 0;
    for (int i = 0; i < card->patches; i++) {
        if (card->patch[i].role != PATCH_COLOUR || card->patch[i].known == KNOWN_NOT) continue;
        colours++;
        bought += card->patch[i].lab_sd > 0 || card->patch[i].known == KNOWN_LAB;
    }
    return 2 * bought > colours;
}

static double k_of(const struct camera_task *task) {
    if (is_of_many_pigments(task->card)) return k_bought;
    return task->like_card ? k_like : k_unlike;
}

void doubt_common(const struct camera_solved *solved, const double light[], double common[CAMERA_COMMON][3]) {
    memset(common, 0, CAMERA_COMMON * sizeof common[0]);
    if (solved->tone.kind != TONE_USUAL) return;
    const double curved = solved->raw ? 0 : 1;
    const double tone_sd[2] = {curved * TONE_POWER_SD, curved * TONE_CONTRAST_SD};
    for (int a = 0; a < 3; a++)
        for (int c = 0; c < 3; c++) {
            const double slope = solved->map.to_xyz[a][c];
            for (int m = 0; m < 2; m++) common[m][a] += slope * tone_sd[m] * tone_bend(light[c], m);
            common[2][a] += slope * TONE_VEIL_SD * (1 - light[c]);
        }
    for (int a = 0; a < 3; a++) {
        const double *to = solved->map.to_xyz[a];
        common[3][a] = paper_sd * (to[0] * light[0] + to[1] * light[1] + to[2] * light[2]);
        common[4][a] = balance_sd[0] * to[0] * light[0], common[5][a] = balance_sd[1] * to[2] * light[2];
    }
    for (int a = 0; a < 3; a++) {
        common[6 + 2 * a][a] = map_sd[a][0] * (light[0] - light[1]);
        common[7 + 2 * a][a] = map_sd[a][1] * (light[2] - light[1]);
    }
}

/* Grain: slopes turned from the lamp and furrows return less than the flat finish that the colour is meant
 * of. How much nobody knows from one photograph; the scatter that the spot shows tells its size. The
 * steadiest channel: noise scatters too and darkens nothing. */
void doubt_grain(const struct camera_sample *spot, struct lab lab, double cov[3][3]) {
    double scatter = HUGE_VAL, dxyz[3];
    for (int c = 0; c < 3; c++)
        if (spot->mean[c] > 0) scatter = fmin(scatter, spot->sd[c] / spot->mean[c]);
    if (!isfinite(scatter)) return;
    const struct xyz xyz = xyz_of_lab(lab, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    const double is[3] = {xyz.x, xyz.y, xyz.z};
    for (int a = 0; a < 3; a++) dxyz[a] = grain_share * scatter * is[a];
    lab_cov_add(lab, dxyz, cov);
}

/* A colour outside of what a display shows: its least channel was cut at nothing, nobody knows how far below.
 */
static void add_cut(const struct camera_solved *solved, struct lab lab, const double light[],
                    double cov[3][3]) {
    const double top = fmax(light[0], fmax(light[1], light[2]));
    for (int c = 0; c < 3; c++) {
        if (!(light[c] < cut_at * top)) continue;
        double dxyz[3];
        for (int a = 0; a < 3; a++) dxyz[a] = solved->map.to_xyz[a][c] * cut_sd * top;
        lab_cov_add(lab, dxyz, cov);
    }
}

static void add_few(const struct camera_task *task, const struct camera_solved *solved, const double light[],
                    struct lab lab, double de, double chroma, double cov[3][3]) {
    add_alike(lab, pow(de * (1 + pow(hypot(lab.a, lab.b) / chroma, 2)), 2), cov);
    add_cut(solved, lab, light, cov);
    add_shine(task, lab, cov);
}

void doubt_own(const struct camera_task *task, const struct camera_solved *solved, const double light[],
               struct lab lab, double own[3][3]) {
    memset(own, 0, 3 * sizeof own[0]);
    if (solved->tone.kind == TONE_USUAL) add_few(task, solved, light, lab, own_de, own_chroma, own);
}

void doubt_colour(const struct camera_task *task, const struct camera_solved *solved, const double light[],
                  struct lab lab, double cov[3][3]) {
    memset(cov, 0, 3 * sizeof cov[0]);
    if (solved->tone.kind == TONE_USUAL) {
        double common[CAMERA_COMMON][3];
        doubt_common(solved, light, common);
        for (int m = 0; m < CAMERA_COMMON; m++) lab_cov_add(lab, common[m], cov);
        add_few(task, solved, light, lab, few_de, few_chroma, cov);
        return;
    }
    const double k = k_of(task), miss = solved_miss(solved, task->card, lab) + floor_de * floor_de;
    double open[3][3];
    add_alike(lab, k * k * miss, cov);
    map_doubt(&solved->map, solved->sample, (size_t)task->card->patches, sqrt(miss / 3), light, open);
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++) cov[a][b] += open[a][b];
    add_shine(task, lab, cov);
}

/* Jackknife: what the difference would be without each patch. */
static void add_jackknife(const struct camera_solved *solved, int patches, const double a[], const double b[],
                          double cov[3][3]) {
    double d[CARD_PATCHES_MOST][3], mean[3] = {0};
    int n = 0;
    for (int i = 0; i < patches; i++) {
        if (isnan(solved->loo[i])) continue;
        const struct lab x = map_lab(&solved->without[i], a), y = map_lab(&solved->without[i], b);
        d[n][0] = y.l - x.l, d[n][1] = y.a - x.a, d[n][2] = y.b - x.b;
        for (int k = 0; k < 3; k++) mean[k] += d[n][k];
        n++;
    }
    for (int i = 0; i < n; i++) {
        const double v[3] = {d[i][0] - mean[0] / n, d[i][1] - mean[1] / n, d[i][2] - mean[2] / n};
        add(cov, v, (n - 1.) / n);
    }
}

static void add_places(const struct camera_solved *solved, const double light[], double cov[3][3]) {
    double slope[3][FIT_CHANNELS_MOST], v[3] = {0};
    map_slope(&solved->map, light, slope);
    const double sd = fmax(place_sd, solved->light.flat.sd[1] / 4);
    for (int a = 0; a < 3; a++)
        for (int c = 0; c < solved->channels; c++) v[a] += slope[a][c] * light[c] * sd;
    add(cov, v, 1);
}

void doubt_difference(const struct camera_task *task, const struct camera_solved *solved, const double a[],
                      const double b[], bool same_pigments, double cov[3][3]) {
    memset(cov, 0, 3 * sizeof cov[0]);
    const struct lab x = map_lab(&solved->map, a), y = map_lab(&solved->map, b);
    const double d[3] = {y.l - x.l, y.a - x.a, y.b - x.b};
    add_jackknife(solved, task->card->patches, a, b, cov);
    add_places(solved, a, cov);
    add_places(solved, b, cov);
    for (int k = 0; k < 3; k++) cov[k][k] += pow(slope_sd * d[k], 2) + .05 * .05;
    if (same_pigments) return;
    const double miss = solved_miss(solved, task->card, y);
    add_alike(y, 2 * k_apart * k_apart * miss, cov);
}

/* |F d|^2 for d ~ N(0, cov) is a sum of three squares; its 95 % point by matching mean and variance with a
 * scaled chi-squared, Wilson-Hilferty. */
double doubt_u95(struct lab lab, double cov[3][3]) {
    const struct de00_metric m = difference_metric(lab);
    double g[3][3] = {{0}}, mean = 0, square = 0;
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            for (int p = 0; p < 3; p++)
                for (int q = 0; q < 3; q++) g[a][b] += m.f[a][p] * cov[p][q] * m.f[b][q];
    for (int a = 0; a < 3; a++) {
        mean += g[a][a];
        for (int b = 0; b < 3; b++) square += g[a][b] * g[b][a];
    }
    if (!(mean > 0)) return 0;
    const double nu = mean * mean / square, h = 2 / (9 * nu);
    return sqrt(mean * pow(1 - h + 1.6448536 * sqrt(h), 3));
}
