/* A camera delivers
 *
 *     XYZ_k = sum_b (w_k(b) + usual_k(b) + sum_j z_kj wave_kj(b)) R(b)
 *
 * with w the CIE's weights (D65, 10 degrees). Usual: three bells of colour filters, taken to w by the best
 * 3 x 3 that keeps white. The bells' places and widths are from memory of published measured sets (Jiang,
 * Liu, Gu and Suesstrunk 2013: peaks of blue 440..470, green 520..545, red 585..615 nm); red rises steeply.
 * Waves: cosines under the envelope of w, widened by 30 nm because filters and eyes differ at their flanks;
 * .15 of it is about what a camera of such sets has beside the usual one (set on twenty cameras of the photo
 * room that no figure uses; docs/camera-room.md). Each adds up to nothing over the bands. */
#include "paint/prior_eye.h"
#include "base/dense.h"
#include <math.h>
#include <string.h>

static const double bell_at[3] = {457, 532, 598}, bell_below[3] = {33, 38, 26}, bell_above[3] = {33, 38, 38};
static const double envelope_bands = 3, wave_share = .15;
static const double keeps_white = 1e4; /* weight of the one condition beside the bands */

static void make_bells(double bell[3][BANDS]) {
    for (int c = 0; c < 3; c++) {
        double sum = 0;
        for (int b = 0; b < BANDS; b++) {
            const double nm = BAND_FIRST_NM + b * BAND_STEP_NM - bell_at[c];
            const double t = nm / (nm < 0 ? bell_below[c] : bell_above[c]);
            sum += bell[c][b] = exp(-.5 * t * t);
        }
        for (int b = 0; b < BANDS; b++) bell[c][b] /= sum;
    }
}

/* Least squares over the bands, the sum kept. */
static void make_usual(const double bell[3][BANDS], const double *curve, double usual[BANDS]) {
    double normal[9], best[3], white = 0;
    for (int b = 0; b < BANDS; b++) white += curve[b];
    for (int c = 0; c < 3; c++) {
        best[c] = keeps_white * white;
        for (int b = 0; b < BANDS; b++) best[c] += bell[c][b] * curve[b];
        for (int d = 0; d < 3; d++) {
            normal[3 * c + d] = keeps_white;
            for (int b = 0; b < BANDS; b++) normal[3 * c + d] += bell[c][b] * bell[d][b];
        }
    }
    memset(usual, 0, BANDS * sizeof *usual);
    if (!dense_cholesky(normal, 3)) return; /* never: the bells are fixed */
    dense_cholesky_solve(normal, 3, best);
    for (int b = 0; b < BANDS; b++)
        usual[b] = best[0] * bell[0][b] + best[1] * bell[1][b] + best[2] * bell[2][b] - curve[b];
}

static void make_envelope(const double *curve, double out[BANDS]) {
    for (int b = 0; b < BANDS; b++) {
        double sum = 0, weight = 0;
        for (int c = 0; c < BANDS; c++) {
            const double t = (b - c) / envelope_bands, g = exp(-.5 * t * t);
            sum += g * fabs(curve[c]), weight += g;
        }
        out[b] = sum / weight;
    }
}

static void make_wave(const double envelope[BANDS], int j, double wave[BANDS]) {
    double sum = 0, whole = 0;
    for (int b = 0; b < BANDS; b++) {
        wave[b] = wave_share * envelope[b] * cos(3.14159265358979323846 * j * (b + .5) / BANDS);
        sum += wave[b], whole += envelope[b];
    }
    for (int b = 0; b < BANDS; b++) wave[b] -= sum / whole * envelope[b];
}

void prior_eye_make(struct prior_eye *out) {
    const struct weights *w = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    const double *curve[3] = {w->x, w->y, w->z};
    double bell[3][BANDS], envelope[BANDS];
    make_bells(bell);
    for (int k = 0; k < 3; k++) {
        make_usual((const double(*)[BANDS])bell, curve[k], out->usual[k]);
        make_envelope(curve[k], envelope);
        for (int j = 0; j < EYE_WAVES; j++) make_wave(envelope, j + 1, out->wave[k][j]);
    }
}

static double seen_by(const struct prior_eye *eye, int k, const double z[], const struct spectrum *r) {
    double sum = 0;
    for (int b = 0; b < BANDS; b++) sum += eye->usual[k][b] * r->band[b];
    for (int j = 0; j < EYE_WAVES; j++) {
        double wave = 0;
        for (int b = 0; b < BANDS; b++) wave += eye->wave[k][j][b] * r->band[b];
        sum += z[k * EYE_WAVES + j] * wave;
    }
    return sum;
}

void prior_eye_add(const struct prior_eye *eye, const double z[], const struct spectrum *r, struct xyz *xyz) {
    xyz->x += seen_by(eye, 0, z, r);
    xyz->y += seen_by(eye, 1, z, r);
    xyz->z += seen_by(eye, 2, z, r);
}

void prior_eye_weights(const struct prior_eye *eye, const double z[], struct weights *out) {
    *out = *weights_of((struct view){LIGHT_D65, OBSERVER_10});
    double *curve[3] = {out->x, out->y, out->z};
    for (int k = 0; k < 3; k++)
        for (int b = 0; b < BANDS; b++) {
            curve[k][b] += eye->usual[k][b];
            for (int j = 0; j < EYE_WAVES; j++) curve[k][b] += z[k * EYE_WAVES + j] * eye->wave[k][j][b];
        }
}

void eye_less_camera(const struct weights *camera, const struct spectrum *r, double dlab[3]) {
    const struct lab eye = lab_of_spectrum(r, weights_of((struct view){LIGHT_D65, OBSERVER_10})),
                     seen = lab_of_spectrum(r, camera);
    dlab[0] = eye.l - seen.l, dlab[1] = eye.a - seen.a, dlab[2] = eye.b - seen.b;
}

/* Set on shops 1001 to 1006 of the photo room (docs/camera-room.md). */
static const double unknown_share = .5;

void eye_less_camera_apart(const struct weights *camera, const struct spectrum *dab,
                           const struct spectrum *spot, double dlab[3]) {
    double of_spot[3];
    eye_less_camera(camera, dab, dlab);
    if (spot) eye_less_camera(camera, spot, of_spot);
    for (int k = 0; k < 3; k++) dlab[k] -= spot ? of_spot[k] : unknown_share * dlab[k];
}
