/* From the light of three channels (six with a second lamp) to Lab: a linear map of terms to XYZ, fitted so
 * that the patches' colours come out, judged by CIEDE2000 near each patch.
 *
 *     MATRIX  r g b                              MODEL_OFFSET  r g b 1
 *     ROOT    r g b  sqrt(rg) sqrt(gb) sqrt(rb)  (Finlayson, Mackiewicz & Hurlbert 2015, degree 2)
 *
 * All of them keep their answer when the exposure changes, but for the offset. */
#ifndef RUSSET_SURFACE_CAMERA_FIT_H
#define RUSSET_SURFACE_CAMERA_FIT_H

#include "colour/lab.h"
#include <stdbool.h>
#include <stddef.h>

enum { FIT_CHANNELS_MOST = 6, FIT_TERMS_MOST = 10, FIT_SAMPLES_MOST = 256 };

enum camera_model { MODEL_MATRIX, MODEL_OFFSET, MODEL_ROOT, MODEL_COUNT };

struct fit_sample {
    double light[FIT_CHANNELS_MOST]; /* about the reflectance in each channel */
    struct lab lab;                  /* D65/10, what it should be */
    double weight;                   /* 0: left out */
};

struct camera_map {
    enum camera_model model;
    int channels, terms;
    double hold_sd; /* how far a channel's coefficient may lie from the display's, XYZ of white 100 */
    double to_xyz[3][FIT_TERMS_MOST]; /* Y of white is 100 */
};

/* The terms of a model, in the order above; returns how many. Negative light counts as 0 under a root. */
int map_terms(enum camera_model model, int channels, const double light[], double terms[FIT_TERMS_MOST]);

#define FIT_LOOSE 15. /* the patches alone tell the map */
#define FIT_TIGHT 3.  /* a camera that delivers the display's colours, as most do */

/* Gauss-Newton on sum weight |dE00|^2 plus a ridge that holds the map near hold (its first three channels; 0
 * for everything else), so that a few greys do too. start NULL: from the linear solution, or from hold when
 * the samples do not fix one. False when nothing finite comes out. */
bool map_fit(enum camera_model model, int channels, const struct fit_sample sample[], size_t count,
             const double hold[3][3], double hold_sd, const struct camera_map *start, struct camera_map *out);
/* Covariance of the Lab at that light by what the samples leave open in the map, when each of them misses by
 * miss_de. */
void map_doubt(const struct camera_map *map, const struct fit_sample sample[], size_t count, double miss_de,
               const double light[], double cov[3][3]);
/* XYZ (D65/10) of linear sRGB: the nearest map for paints, see camera_fit.c. */
void map_display(double to_xyz[3][3]);
struct lab map_lab(const struct camera_map *map, const double light[]);
/* d Lab / d light[channel]. */
void map_slope(const struct camera_map *map, const double light[], double slope[3][FIT_CHANNELS_MOST]);
/* Adds what an error of the XYZ (sd 1) makes of the Lab's covariance there. */
void lab_cov_add(struct lab lab, const double dxyz[3], double cov[3][3]);
/* d Lab / d XYZ (D65/10) at a colour. */
void lab_slope(struct xyz xyz, double slope[3][3]);

#endif
