/* Lights and observers at 1 nm and the fold to 31 bands: CIE 15:2018 and ASTM E308 practice,
 *     X = k sum S(nm) x(nm) R(nm) over 360..830 nm by 1, k = 100 / sum S y,
 * with R between the bands by Sprague (CIE 167:2005) and beyond 400..700 held at the end bands. R is linear
 * in the 31 bands, so the sum is folded once into weights. Illuminant A: S = 100 (560/nm)^5 (exp(c2 / 2848 K
 * / 560 nm) - 1) / (exp(c2 / 2848 K / nm) - 1) with c2 = .01435 m K, which is the definition that every later
 * value of c2 leaves unchanged. */
#include "colour/one_nm.h"
#include "colour/cie_table.h"
#include "colour/sprague.h"
#include <assert.h>
#include <math.h>
#include <string.h>

static const struct cie_table *table_find(const char *name) {
    const struct cie_table *t = cie_tables;
    while (t->name && strcmp(t->name, name) != 0) t++;
    assert(t->name && "the table is among data/cie");
    return t;
}

#define TABLE(symbol, name, table, words) table,
static const char *const light_tables[LIGHT_MEASURED] = {LIGHT_TABLE(TABLE, TABLE)};
#undef TABLE

/* Linear between points, the end values held outside. */
static void linear(const struct sampled *from, struct one_nm *out) {
    const double last = (double)(from->count - 1);
    for (int i = 0; i < ONE_NM_COUNT; i++) {
        const double at = (ONE_NM_FIRST + i - from->first_nm) / from->step_nm;
        const double inside = fmin(fmax(at, 0), last), low = fmin(floor(inside), last - 1);
        const double *point = from->value + (size_t)low;
        out->value[i] = (1 - (inside - low)) * point[0] + (inside - low) * point[1];
    }
}

static double planck_factor(double nm) {
    return exp(1.435e7 / (2848 * nm)) - 1;
}

static void illuminant_a(struct one_nm *out) {
    for (int i = 0; i < ONE_NM_COUNT; i++) {
        const double nm = ONE_NM_FIRST + i;
        out->value[i] = 100 * pow(560 / nm, 5) * planck_factor(560) / planck_factor(nm);
    }
}

void one_nm_light(enum light light, struct one_nm *out) {
    if (light == LIGHT_A) {
        illuminant_a(out);
        return;
    }
    assert(light < LIGHT_MEASURED);
    const struct cie_table *t = table_find(light_tables[light]);
    const struct sampled from = {t->first_nm, t->step_nm, (size_t)t->rows, t->value};
    linear(&from, out);
}

void one_nm_lamp(const struct sampled *lamp, struct one_nm *out) {
    linear(lamp, out);
}

void one_nm_observer(enum observer observer, struct one_nm_observer *out) {
    const struct cie_table *t =
        table_find(observer == OBSERVER_10 ? "cmf_CIE_1964_10_Degree_Standard_Observer"
                                           : "cmf_CIE_1931_2_Degree_Standard_Observer");
    const int skip = ONE_NM_FIRST - (int)t->first_nm;
    assert(t->columns == 3 && skip >= 0 && t->rows - skip >= ONE_NM_COUNT);
    for (int i = 0; i < ONE_NM_COUNT; i++) {
        const double *row = t->value + 3 * (i + skip);
        out->x.value[i] = row[0];
        out->y.value[i] = row[1];
        out->z.value[i] = row[2];
    }
}

/* How much band b counts at a wavelength: the interpolation of a unit band. Sprague sees six bands, at the
 * ends the outermost six; the others count nothing. */
static double band_at(int b, int nm) {
    if (nm <= BAND_FIRST_NM || nm >= BAND_LAST_NM) return b == (nm <= BAND_FIRST_NM ? 0 : BANDS - 1);
    const int low = (nm - BAND_FIRST_NM) / BAND_STEP_NM;
    const bool is_end = (low < 2 && b < 6) || (low > BANDS - 4 && b > BANDS - 7);
    if (!is_end && (b < low - 2 || b > low + 3)) return 0;
    double unit[BANDS] = {0};
    unit[b] = 1;
    return sprague_at(unit, BANDS, (double)(nm - BAND_FIRST_NM) / BAND_STEP_NM);
}

static double sum_product(const struct one_nm *a, const struct one_nm *b) {
    double sum = 0;
    for (int i = 0; i < ONE_NM_COUNT; i++) sum += a->value[i] * b->value[i];
    return sum;
}

void one_nm_fold(const struct one_nm *light, struct view view, struct weights *out) {
    struct one_nm_observer observer;
    one_nm_observer(view.observer, &observer);
    *out = (struct weights){.view = view};
    const double k = 100 / sum_product(light, &observer.y);
    for (int i = 0; i < ONE_NM_COUNT; i++)
        for (int b = 0; b < BANDS; b++) {
            const double part = k * light->value[i] * band_at(b, ONE_NM_FIRST + i);
            out->x[b] += part * observer.x.value[i];
            out->y[b] += part * observer.y.value[i];
            out->z[b] += part * observer.z.value[i];
        }
    struct spectrum diffuser;
    for (int b = 0; b < BANDS; b++) diffuser.band[b] = 1;
    out->white = xyz_of(&diffuser, out);
}
