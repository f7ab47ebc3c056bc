/* Toners from few films and what was known before: the most probable curves (MAP), how sure they are, and
 * which film to spray next. For shelves that were started from pigment names (pigment.h). */
#ifndef RUSSET_PAINT_PRIOR_FIT_H
#define RUSSET_PAINT_PRIOR_FIT_H

#include "base/memory.h"
#include "base/work.h"
#include "paint/predict.h"

enum { PRIOR_FILMS_MOST = 400, PRIOR_BARE = -1, PRIOR_MODES_MOST = 12 };

struct prior_film {
    const char *id;
    const double *mass_g; /* [shelf->count] */
    int over;             /* index of its bare backing, or PRIOR_BARE: opaque */
    int dab;              /* films of one dab share their thickness; own index when alone */
    double film_um;       /* dry; NAN: not known */
    bool has_spectrum;    /* read by an instrument: the spectrum counts; else the Lab with its covariance */
    struct spectrum reflectance;
    struct lab lab; /* D65/10 */
    double cov[3][3];
    double common[PRIOR_MODES_MOST][3]; /* what each error that all films share (sd 1) adds to the XYZ */
};

struct prior_bare {
    struct spectrum reflectance; /* as read, or as estimated from its Lab (prior_bare_of_lab) */
    double common[PRIOR_MODES_MOST][3];
};

struct prior_task {
    const struct shelf *shelf; /* with priors; a toner without one is taken as known */
    enum geometry geometry;    /* of the films */
    size_t bares, films;
    bool eye; /* the camera's own map was not told by the sheet: what it misses of strong colours is fitted */
    int modes; /* errors of the photograph that all its films share: its tone curve, its balance */
    const struct prior_bare *bare;
    const struct prior_film *film;
};

struct prior_row {
    double de00, film_um; /* what it misses by, the photograph's common errors taken out; film as found,
                             INFINITY: opaque */
    struct lab lab;       /* the colour that the shelf gives it */
    struct lab seen;      /* and what the photograph's camera makes of that; lab where none was fitted */
};

struct prior_toner {
    int films;
    double strength_sd, scatter_sd, shape_sd; /* as they are now */
    double full_de,
        tint_de; /* sd of its colour, opaque, as it is and 1 in 10 in white, root mean square Lab */
};

struct prior_next { /* a film to spray next */
    int toner;
    double part; /* of it in white; 1: as it is */
    bool black;  /* over black, else over white */
    double gain; /* how much less unsure colours become, share of the whole */
};
enum { PRIOR_NEXT = 3 };

struct prior_result {
    struct prior_row *row;     /* [films] */
    struct prior_toner *toner; /* [toners] */
    double de00_median, de00_max;
    struct weights camera; /* with task.eye: the camera as an observer (prior_eye.h), else the CIE's */
    int nexts;
    struct prior_next next[PRIOR_NEXT]; /* best first, of different toners */
};

/* shelf: the task's, with the curves, the surface and the priors that are now; its toners are the arena's.
 * INPUT: no film, too many. */
enum status prior_fit(const struct prior_task *task, struct arena *arena, struct shelf *shelf,
                      struct prior_result *out, struct fault *fault) MUST_USE;

/* The smoothest reflectance that has this Lab: exp of a parabola over the wavelength. For bare card, whose
 * curve matters little. */
void prior_bare_of_lab(struct lab lab, struct spectrum *out);

#endif
