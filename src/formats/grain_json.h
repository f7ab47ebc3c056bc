/* A grain as JSON: Sa_um, Sq_um, Sz_um, Ssk, Sku, Sal_mm, Str, Std_deg, Sdq, Sdr, each with its _u95
 * (Sa_um_u95
 * ...), s_filter_mm, l_filter_mm; and the torches of a set of photographs. */
#ifndef RUSSET_FORMATS_GRAIN_JSON_H
#define RUSSET_FORMATS_GRAIN_JSON_H

#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"
#include "surface/grain.h"
#include "surface/stereo.h"
#include "surface/torch_mark.h"
#include <jansson.h>

extern const char *const grain_key[AREAL_COUNT];
/* From mm to what the key says (um: 1000). */
double grain_scale(enum areal_parameter which);
void grain_put(json_t *object, const struct grain *grain);
/* A file of kind `grain`. Only Sa_um and Sal_mm must be there with their _u95 missing allowed: 10 % of Sa and
 * its kin, 5 % of Sal, .08 otherwise; a parameter that is missing is NAN. */
enum status grain_read(const struct bytes *bytes, struct grain *out, struct fault *fault) MUST_USE;

/* lights.json: {"lights":[{"photo","azimuth_deg","elevation_deg","distance_mm"}]}: the torch of each
 * photograph (count of them), by the photograph's file name without folders. INPUT: one without a torch,
 * angles out of bounds (elevation 5..85). distance_mm left out: far away. "flash": true instead of angles: a
 * flash beside the lens (elevation 90). */
enum status torches_read(const struct bytes *bytes, const char *const *photo, size_t count,
                         struct stereo_light *out, struct torch_mark *mark, struct fault *fault) MUST_USE;

#endif
