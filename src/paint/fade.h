/* A fade seen from above: the film thins from full to none over ground (filler, sanded crust), and where it
 * no longer hides, a ring shows.
 *
 * Looked at is every thickness from full down to none over that ground, against the sound finish around it,
 * as dE00 under D65/10 (ISO 22700); up to .8 it is not seen (ours, editable). The thinnest film from which on
 * all thicker ones are not seen is the safe one; in a fade of width w that falls straight it lies w (1 -
 * safe/full) from the inner edge. */
#ifndef RUSSET_PAINT_FADE_H
#define RUSSET_PAINT_FADE_H

#include "paint/predict.h"

#define FADE_NOT_SEEN_DE00 0.8

struct fade_look {
    double opaque_de00; /* of the colour itself, where it hides, to the finish around it */
    double full_de00;   /* of the full film over the ground, to the finish around it */
    double worst_de00;  /* over the whole fade, if the ground went all through it */
    double worst_at_um;
    double safe_film_um; /* INFINITY: even the full film is seen */
};

/* film: the full film, its backing the ground. around: the sound finish, same geometry. */
struct fade_look fade_look_at(const struct shelf *shelf, const double part[], const struct film_case *film,
                              const struct spectrum *around, double not_seen_de00);

#endif
