/* Reflectance on the one grid of russet: 31 bands, 400..700 nm by 10 (docs/decisions.md). */
#ifndef RUSSET_COLOUR_SPECTRUM_H
#define RUSSET_COLOUR_SPECTRUM_H

#include "base/fault.h"
#include <stdbool.h>

enum { BANDS = 31, BAND_FIRST_NM = 400, BAND_STEP_NM = 10, BAND_LAST_NM = 700 };

struct spectrum {
    double band[BANDS]; /* fraction of the perfect diffuser, 0..1 (a bright sample may pass 1 slightly) */
};

/* Values on a regular grid first_nm, first_nm + step_nm, ... */
struct sampled {
    double first_nm, step_nm;
    size_t count;
    const double *value;
};

/* Resamples to the 31 bands: Sprague's fifth-degree interpolation with the end points of CIE 167:2005; a grid
 * that has the bands exactly is copied, so a finer grid that holds them is picked from and not smoothed.
 * Accepts any regular grid inside 340..830 nm with steps of 1..20 nm that covers 400..700.
 * INPUT: narrower than 400..700, outside 340..830, step outside 1..20, fewer than 6 points. */
enum status spectrum_resample(const struct sampled *from, struct spectrum *out, struct fault *fault) MUST_USE;

#endif
