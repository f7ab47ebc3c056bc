/* Areal surface texture, ISO 25178-2:2012: heights in, parameters out.
 *
 *     Sa = mean |z|   Sq^2 = mean z^2   Ssk = mean z^3 / Sq^3   Sku = mean z^4 / Sq^4   Sz = highest - lowest
 *     ACF(t) = mean z(x) z(x+t) / Sq^2: Sal and Str = shortest (/ longest) way from the origin to ACF = .2
 *     Std: angle of the most power in the angular spectrum, counter-clockwise from the picture's right
 *     Sdq^2 = mean |grad z|^2    Sdr = mean sqrt(1 + |grad z|^2) - 1
 *     Gaussian filter of ISO 16610-61: transmission exp(-pi (alpha lc / lambda)^2), alpha = sqrt(ln 2 / pi)
 *
 * Heights and the pixel's side are in one unit (here mm). Beyond the edge a surface is taken as mirrored (the
 * filters: cosine transforms). The ACF is the mean over the overlap, for lags up to half a side; a way that
 * does not come down to .2 within that counts with its whole length (is_open). Slopes: the seven-point
 * formula of ISO 25178-2, one-sided at the edge. */
#ifndef RUSSET_SURFACE_AREAL_H
#define RUSSET_SURFACE_AREAL_H

#include "base/work.h"

enum { AREAL_LEAST_SIDE = 16 };

struct relief {
    int width, height; /* at least AREAL_LEAST_SIDE each */
    double step_mm;    /* side of a pixel */
    double *z_mm;      /* rows from the top, owned by the caller */
};

enum areal_parameter {
    AREAL_SA,
    AREAL_SQ,
    AREAL_SZ,
    AREAL_SSK,
    AREAL_SKU,
    AREAL_SAL,
    AREAL_STR,
    AREAL_STD,
    AREAL_SDQ,
    AREAL_SDR,
    AREAL_COUNT
};

/* value: lengths in mm, Std in degrees 0..180 (the direction in which it goes up and down most often; the lay
 * runs across it). A flat surface has zeros, Sku and Str too. */
struct areal {
    double value[AREAL_COUNT];
    bool is_open; /* no way, or not each way, comes down to .2 inside half the field: Str is a bound */
};

/* F: takes the least-squares surface of second order (six terms) away. */
void areal_level(struct relief *relief);
/* S and L filters in place: waves shorter than s_mm and longer than l_mm go (half of the amplitude at the
 * limit). s_mm 0 or l_mm 0: that one is left out. */
void areal_filter(struct relief *relief, double s_mm, double l_mm);
/* The transmission of the Gaussian low pass for a wavelength. */
double areal_transmission(double lambda_over_cutoff);
/* Heights are taken about their mean; nothing else is levelled. */
void areal_measure(const struct relief *relief, struct work *work, struct areal *out);
/* How far the field's chance goes: half-widths of 95 % intervals from the spread over 3 x 3 pieces of it
 * (Student's t, 8 degrees of freedom), and for Sal and Str from how much smaller fields read them aside.
 * whole: what areal_measure said of the relief. Zeros when the pieces were smaller than AREAL_LEAST_SIDE. */
void areal_chance(const struct relief *relief, const struct areal *whole, struct work *work,
                  struct areal *u95);
/* The angle between two directions without sense, 0..90 degrees. */
double areal_turn(double a_deg, double b_deg);

#endif
