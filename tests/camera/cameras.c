/* Sensitivities by a family of curves: a colour filter (a Gaussian with two widths, with a shoulder and a
 * leak towards the neighbour), and one pass band for all three channels (ultraviolet and infrared cut).
 *
 *     blue:  skew Gaussian
 *     green: skew Gaussian + shoulder near 478 nm + base near 440 nm + a trace of red
 *     red:   logistic edge x Gaussian fall + bump near 528 nm + leak of blue
 *     then crosstalk between neighbouring pixels (small sensors), and the pass band
 *
 * Camera 0 has the numbers that follow a measured single-lens camera (Darrodi, Finlayson, Goodman, Mackiewicz
 * 2015, J. Opt. Soc. Am. A 32:381; render_test.c holds it against fourteen of those measured points). The
 * other nineteen spread those numbers evenly over ranges that are from memory of published sets of measured
 * cameras (Jiang, Liu, Gu, Suesstrunk 2013: peaks of blue 440..470, green 520..545, red 585..615 nm); odd
 * numbers are phones, with more crosstalk and an earlier infrared cut.
 *
 * Lamps are the CIE's tables (D65, A, FL11, LED-B3; open shade is D75), not the folded weights of russet. */
#include "camera/cameras.h"
#include "colour/cie_table.h"
#include <assert.h>
#include <math.h>
#include <string.h>

struct curve_numbers {
    double ultraviolet_nm, ultraviolet_width, infrared_nm, infrared_width;
    double blue_nm, blue_left, blue_right;
    double green_nm, green_left, green_right, shoulder, base;
    double red_nm, red_width, red_fall, bump, leak;
    double crosstalk;
};
enum { NUMBERS = sizeof(struct curve_numbers) / sizeof(double) };

static const struct curve_numbers measured = {420, 2.5, 669, 5,   459, 40, 36,  531,  27,
                                              40,  .30, .14, 578, 3.5, 41, .11, .055, 0};
static const struct curve_numbers least = {402, 2,   640, 4,   445, 24, 27,  522, 25,
                                           33,  .10, .04, 570, 3,   34, .04, .02, 0};
static const struct curve_numbers most = {424, 7,   690, 14,  468, 45, 42,  543, 37,
                                          46,  .40, .20, 588, 9,   56, .24, .11, .03};

/* Evenly spread without clusters: the fractional parts of multiples of square roots (Weyl). */
static double spread(int camera, int number) {
    static const double root[NUMBERS] = {1.4142136, 1.7320508, 2.2360680, 2.6457513, 3.3166248, 3.6055513,
                                         4.1231056, 4.3588989, 4.7958315, 5.3851648, 5.5677644, 6.0827625,
                                         6.4031242, 6.5574385, 6.8556546, 7.2801099, 7.6811457, 7.8102497};
    const double at = camera * root[number];
    return at - floor(at);
}

static struct curve_numbers numbers_of(int camera) {
    if (camera == 0) return measured;
    struct curve_numbers out;
    double low[NUMBERS], high[NUMBERS], value[NUMBERS];
    memcpy(low, &least, sizeof low);
    memcpy(high, &most, sizeof high);
    for (int i = 0; i < NUMBERS; i++) value[i] = low[i] + (high[i] - low[i]) * spread(camera, i);
    memcpy(&out, value, sizeof out);
    if (camera % 2 == 1) out.crosstalk += .04, out.infrared_nm = fmin(out.infrared_nm, 665);
    return out;
}

static double bell(double nm, double at, double left, double right) {
    const double t = (nm - at) / (nm < at ? left : right);
    return exp(-.5 * t * t);
}

static double edge(double nm, double at, double width) {
    return 1 / (1 + exp((at - nm) / width));
}

static void filters(const struct curve_numbers *n, double nm, double out[3]) {
    out[0] = edge(nm, n->red_nm, n->red_width) * bell(nm, 590, 60, n->red_fall) +
             n->bump * bell(nm, 528, 12, 12) + n->leak * bell(nm, 450, 40, 60);
    out[1] = bell(nm, n->green_nm, n->green_left, n->green_right) + n->shoulder * bell(nm, 478, 16, 16) +
             n->base * bell(nm, 440, 40, 20) + .02 * bell(nm, 650, 30, 30);
    out[2] = bell(nm, n->blue_nm, n->blue_left, n->blue_right) + .006 * bell(nm, 640, 60, 40);
}

static void leak_to_neighbours(double value[3], double crosstalk) {
    const double r = value[0], g = value[1], b = value[2];
    value[0] = (1 - 2 * crosstalk) * r + 2 * crosstalk * g;
    value[1] = (1 - 2 * crosstalk) * g + crosstalk * (r + b);
    value[2] = (1 - 2 * crosstalk) * b + 2 * crosstalk * g;
}

void sensitivities_make(struct sensitivities *out, int camera) {
    const struct curve_numbers n = numbers_of(camera);
    double peak[3] = {0};
    for (int i = 0; i < CAMERA_NMS; i++) {
        const double nm = CAMERA_FIRST_NM + i;
        const double pass =
            edge(nm, n.ultraviolet_nm, n.ultraviolet_width) * (1 - edge(nm, n.infrared_nm, n.infrared_width));
        double value[3];
        filters(&n, nm, value);
        leak_to_neighbours(value, n.crosstalk);
        for (int c = 0; c < 3; c++) {
            out->channel[c][i] = value[c] * pass;
            peak[c] = fmax(peak[c], out->channel[c][i]);
        }
    }
    for (int c = 0; c < 3; c++)
        for (int i = 0; i < CAMERA_NMS; i++) out->channel[c][i] /= peak[c];
}

static const char *const table_of_lamp[LAMPS] = {
    [LAMP_D65] = "illum_D65",   [LAMP_SHADE] = "illum_D75",     [LAMP_A] = "illum_A",
    [LAMP_FL11] = "illum_FL11", [LAMP_LED_B3] = "illum_LED-B3",
};

const char *lamp_name(enum lamp lamp) {
    static const char *const name[LAMPS] = {"D65", "shade", "A", "FL11", "LED-B3"};
    return name[lamp];
}

static const struct cie_table *table(const char *name) {
    for (const struct cie_table *t = cie_tables; t->name; t++)
        if (strcmp(t->name, name) == 0) return t;
    assert(false);
    return cie_tables;
}

/* Linear between the table's points; the ends are held. */
static double table_at(const struct cie_table *t, int column, double nm) {
    const double at = fmin(fmax((nm - t->first_nm) / t->step_nm, 0), t->rows - 1);
    const int i = at >= t->rows - 1 ? t->rows - 2 : (int)at;
    const double low = t->value[i * t->columns + column], high = t->value[(i + 1) * t->columns + column];
    return low + (at - i) * (high - low);
}

/* Adds `much` at nm to the two bands around it. */
static void fold(double band[BANDS], double nm, double much) {
    const double at = fmin(fmax((nm - BAND_FIRST_NM) / BAND_STEP_NM, 0), BANDS - 1);
    const int i = at >= BANDS - 1 ? BANDS - 2 : (int)at;
    band[i] += much * (1 - (at - i));
    band[i + 1] += much * (at - i);
}

static double make_one(double band[BANDS]) {
    double sum = 0;
    for (int b = 0; b < BANDS; b++) sum += band[b];
    for (int b = 0; b < BANDS; b++) band[b] /= sum;
    return sum;
}

/* Linear sRGB (IEC 61966-2-1) as bands under the lamp, its white kept: what the camera's own matrix is after.
 */
static void wanted(enum lamp lamp, double out[3][BANDS]) {
    static const double to_rgb[3][3] = {
        {3.2406, -1.5372, -.4986}, {-.9689, 1.8758, .0415}, {.0557, -.2040, 1.0570}};
    static const double white_d65[3] = {.9505, 1, 1.089};
    const struct cie_table *light = table(table_of_lamp[lamp]);
    const struct cie_table *eye = table("cmf_CIE_1931_2_Degree_Standard_Observer");
    double xyz[3][BANDS] = {{0}};
    for (int nm = CAMERA_FIRST_NM; nm <= CAMERA_LAST_NM; nm++)
        for (int c = 0; c < 3; c++) fold(xyz[c], nm, table_at(light, 0, nm) * table_at(eye, c, nm));
    for (int c = 0; c < 3; c++) make_one(xyz[c]);
    memset(out, 0, sizeof(double[3][BANDS]));
    for (int c = 0; c < 3; c++)
        for (int k = 0; k < 3; k++)
            for (int b = 0; b < BANDS; b++) out[c][b] += to_rgb[c][k] * white_d65[k] * xyz[k][b];
}

/* Least squares over the bands for each row, rows kept at sum 1: row = e + p (first - e) + q (second - e). */
static void camera_matrix(const double band[3][BANDS], const double want[3][BANDS], double out[3][3]) {
    for (int c = 0; c < 3; c++) {
        const int i = (c + 1) % 3, j = (c + 2) % 3;
        double aa = 0, ab = 0, bb = 0, ay = 0, by = 0;
        for (int b = 0; b < BANDS; b++) {
            const double a = band[i][b] - band[c][b], d = band[j][b] - band[c][b];
            const double y = want[c][b] - band[c][b];
            aa += a * a, ab += a * d, bb += d * d, ay += a * y, by += d * y;
        }
        const double det = aa * bb - ab * ab;
        const double p = (ay * bb - by * ab) / det, q = (by * aa - ay * ab) / det;
        out[c][i] = p, out[c][j] = q, out[c][c] = 1 - p - q;
    }
}

void response_make(struct response *out, int camera, enum lamp lamp) {
    struct sensitivities eye;
    double want[3][BANDS], sum[3];
    const struct cie_table *light = table(table_of_lamp[lamp]);
    sensitivities_make(&eye, camera);
    memset(out, 0, sizeof *out);
    for (int c = 0; c < 3; c++) {
        for (int i = 0; i < CAMERA_NMS; i++)
            fold(out->band[c], CAMERA_FIRST_NM + i,
                 table_at(light, 0, CAMERA_FIRST_NM + i) * eye.channel[c][i]);
        sum[c] = make_one(out->band[c]);
    }
    for (int c = 0; c < 3; c++) out->gain[c] = sum[1] / sum[c];
    wanted(lamp, want);
    camera_matrix((const double(*)[BANDS])out->band, (const double(*)[BANDS])want, out->matrix);
    out->small = camera % 2 == 1;
}

void response_of(const struct response *response, const struct spectrum *reflectance, double out[3]) {
    for (int c = 0; c < 3; c++) {
        out[c] = 0;
        for (int b = 0; b < BANDS; b++) out[c] += response->band[c][b] * reflectance->band[b];
    }
}
