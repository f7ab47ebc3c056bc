/* A reading: what an instrument, a camera or a person says about one spot. */
#ifndef RUSSET_COLOUR_READING_H
#define RUSSET_COLOUR_READING_H

#include "colour/lab.h"

enum geometry { GEOMETRY_UNKNOWN, GEOMETRY_SCI, GEOMETRY_SCE, GEOMETRY_45_0, GEOMETRY_PHOTO };

const char *geometry_name(enum geometry geometry); /* "unknown", "sci", "sce", "45-0", "photo" */
bool geometry_from_name(const char *name,
                        enum geometry *out); /* also d/8, de/8, 45/0, 0/45 ... as the open formats write it */

struct reading {
    char id[64];
    enum geometry geometry;
    bool has_spectrum; /* when false only the Lab is known and it counts in its own light */
    struct spectrum reflectance;
    struct lab lab; /* always set: of the spectrum under D65/10, or as given */
    bool has_cov;
    double lab_cov[3][3]; /* of L, a, b; photo readings */
    bool has_band;        /* the spectrum is an estimate of a photograph */
    struct spectrum band; /* half width of its 95 % interval */
};

#endif
