/* Drawdowns: films of known mixes over known backings, as measured. What the fit of the toners starts from.
 */
#ifndef RUSSET_PAINT_DRAWDOWN_H
#define RUSSET_PAINT_DRAWDOWN_H

#include "paint/toner.h"
#include <stddef.h>

enum { DRAWDOWN_OPAQUE = -1, DRAWDOWNS_MOST = 4096 };

struct drawdown {
    char id[64];
    int line;       /* of the file, for messages */
    bool is_bare;   /* a bare backing: no toner in it */
    int backing;    /* row of its bare backing, or DRAWDOWN_OPAQUE; DRAWDOWN_OPAQUE for a bare row too */
    double film_um; /* dry; NAN when not said (opaque and bare rows: always NAN) */
    const double *mass_g;        /* [toner_count], as weighed, >= 0; all 0 for a bare row */
    double topcoat_gu;           /* GU at 60 degrees of the clear on it; NAN: none */
    struct spectrum reflectance; /* as measured */
};

/* All memory belongs to the arena that it was read into. */
struct drawdown_set {
    size_t toner_count;
    const char (*toner_id)[TONER_ID_MAX]; /* in the order of the file's columns; binder among them when it was
                                             weighed */
    size_t count;
    struct drawdown *row;
    double weighing_sd_g;   /* standard deviation of one weighed mass; 0: that of a scale that shows .01 g */
    enum geometry geometry; /* one for all rows; GEOMETRY_UNKNOWN when neither the file nor the caller says */
};

#endif
