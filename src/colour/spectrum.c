/* Sprague's fifth-degree interpolation on a regular grid (CIE 167:2005, "Recommended practice for tabulating
 * spectral data for use in colour computations", section 5.2): between points 0 and 1, at X in 0..1, R(X) =
 * a0 + a1 X + ... + a5 X^5, the a's from the six points -2..3. The two points that are missing at either end
 * are made from the six outermost (same source). Exact for polynomials up to degree 4 inside and, because of
 * the published end points, up to degree 1 in the two outer intervals; continuous with its first and second
 * derivative at the points inside. Valid wherever there are six points; russet asks for 340..830 nm at 1..20
 * nm. */
#include "colour/spectrum.h"
#include "colour/sprague.h"
#include <assert.h>
#include <math.h>

static const double ends[2][6] = {
    {884, -1960, 3033, -2648, 1080, -180}, /* two before the first */
    {508, -540, 488, -367, 144, -24},      /* one before the first */
};

/* Point i of the grid, -2 .. count + 1. */
static double point(const double *value, size_t count, long i) {
    const long n = (long)count;
    if (i >= 0 && i < n) return value[i];
    const double *weight = ends[i < 0 ? i + 2 : n + 1 - i];
    double sum = 0;
    for (int k = 0; k < 6; k++) sum += weight[k] * value[i < 0 ? k : n - 1 - k];
    return sum / 209;
}

double sprague_at(const double *value, size_t count, double at) {
    assert(count >= SPRAGUE_LEAST && at >= 0 && at <= (double)(count - 1));
    const double floor_at = fmin(floor(at), (double)(count - 2));
    const double x = at - floor_at;
    double p[6];
    for (int k = 0; k < 6; k++) p[k] = point(value, count, (long)floor_at + k - 2);
    const double a1 = (2 * p[0] - 16 * p[1] + 16 * p[3] - 2 * p[4]) / 24;
    const double a2 = (-p[0] + 16 * p[1] - 30 * p[2] + 16 * p[3] - p[4]) / 24;
    const double a3 = (-9 * p[0] + 39 * p[1] - 70 * p[2] + 66 * p[3] - 33 * p[4] + 7 * p[5]) / 24;
    const double a4 = (13 * p[0] - 64 * p[1] + 126 * p[2] - 124 * p[3] + 61 * p[4] - 12 * p[5]) / 24;
    const double a5 = (-5 * p[0] + 25 * p[1] - 50 * p[2] + 50 * p[3] - 25 * p[4] + 5 * p[5]) / 24;
    return p[2] + x * (a1 + x * (a2 + x * (a3 + x * (a4 + x * a5))));
}

/* Wavelengths that differ by less than this are the same: files print steps like 3.3333333. */
static const double same_nm = 1e-4;

static enum status check_grid(const struct sampled *from, struct fault *fault) {
    const double first = from->first_nm, step = from->step_nm;
    const double last = first + step * ((double)from->count - 1);
    if (!(step >= 1 - same_nm && step <= 20 + same_nm)) return FAULT(fault, GRID_STEP, NUMBER_TEXT(step));
    if (from->count < SPRAGUE_LEAST) return FAULT(fault, GRID_FEW, COUNT_TEXT(from->count));
    if (!(first >= 340 - same_nm && last <= 830 + same_nm))
        return FAULT(fault, GRID_OUTSIDE, NUMBER_TEXT(first), NUMBER_TEXT(last));
    if (!(first <= BAND_FIRST_NM + same_nm && last >= BAND_LAST_NM - same_nm))
        return FAULT(fault, GRID_NARROW, NUMBER_TEXT(first), NUMBER_TEXT(last));
    for (size_t i = 0; i < from->count; i++)
        if (!(fabs(from->value[i]) <= 1e6))
            return FAULT(fault, GRID_NOT_NUMBER, NUMBER_TEXT(first + step * (double)i));
    return STATUS_OK;
}

enum status spectrum_resample(const struct sampled *from, struct spectrum *out, struct fault *fault) {
    const enum status status = check_grid(from, fault);
    if (status != STATUS_OK) return status;
    const double last = (double)(from->count - 1);
    for (int i = 0; i < BANDS; i++) {
        const double at = (BAND_FIRST_NM + i * BAND_STEP_NM - from->first_nm) / from->step_nm;
        const double nearest = fmin(fmax(round(at), 0), last);
        const bool is_there = fabs(at - nearest) * from->step_nm <= same_nm;
        out->band[i] = is_there ? from->value[(size_t)nearest] : sprague_at(from->value, from->count, at);
    }
    return STATUS_OK;
}
