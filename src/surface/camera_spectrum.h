/* What reflectance a photographed colour may have: the conditional Gaussian of ln R over a library of mixes
 * near in colour, given the Lab. Three numbers fix three directions of thirty-one; the library fills in the
 * rest, and the band says how well. */
#ifndef RUSSET_SURFACE_CAMERA_SPECTRUM_H
#define RUSSET_SURFACE_CAMERA_SPECTRUM_H

#include "base/memory.h"
#include "colour/lab.h"
#include <stddef.h>

struct spectrum_guess {
    struct spectrum reflectance; /* has the Lab that was given, to 1e-3 */
    struct spectrum band;        /* half width of the 95 % interval, cov included */
    double nearest_de;           /* dE*ab of the nearest mixes (mean of five) */
    bool unlike;                 /* none is near: the band was widened */
};

/* count >= 40 mixes. own: they are the shop's; otherwise the part may be made of other pigments and the band
 * allows for it. False when no reflectance in 0..1 has that Lab. */
bool spectrum_guess(const struct spectrum library[], size_t count, bool own, struct lab lab, double cov[3][3],
                    struct arena *arena, struct spectrum_guess *out) MUST_USE;

#endif
