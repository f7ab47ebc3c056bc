/* The fit of the toners: K and S of every toner from all drawdowns at once. See fit.c for the method and
 * docs/fit.md for how good it is. */
#ifndef RUSSET_PAINT_FIT_H
#define RUSSET_PAINT_FIT_H

#include "base/memory.h"
#include "base/work.h"
#include "paint/drawdown.h"

enum { FIT_FILMS_MOST = 1000, FIT_UNWRITTEN_UM = 30 /* of a film whose thickness nobody wrote */ };

/* What is probably wrong with a drawdown that the others contradict. */
enum fit_cause {
    CAUSE_NONE,
    CAUSE_TENFOLD, /* one toner's mass is ten times too small or too large */
    CAUSE_SWAPPED, /* its label and another row's are exchanged */
    CAUSE_CARDS,   /* it lies on the other card */
    CAUSE_SCALE,   /* per cent read as fraction, or the other way round */
    CAUSE_TONER,   /* another toner was poured than is written */
    CAUSE_FILM,    /* the film is not what was written */
    CAUSE_UNKNOWN  /* none of these explains it */
};

struct fit_row {    /* of each row of the set */
    bool counted;   /* in the fit; false: bare, or left out because it is doubted */
    double de00;    /* D65/10, measured against the fit, film as found; NAN for a bare row */
    double film_um; /* as found; NAN: opaque or bare */
    enum fit_cause cause;
    double de00_if; /* what would be left if the cause is right */
    int toner;      /* TENFOLD: which; TONER: what is written */
    double factor;  /* TENFOLD: its mass should be this many times what is written; FILM: the film */
    int other;      /* SWAPPED, CARDS: the other row; TONER: the toner that was poured */
};

struct fit_toner {
    int films;         /* that it is in and that count */
    double de00_mean;  /* of them */
    double k_sd, s_sd; /* of the logarithm of its mean K and S */
    bool s_known;      /* s_sd at most .2 */
    bool only_alone;   /* never seen in a mix with white (or with anything, on a shelf without white) */
};

struct fit_report {
    struct fit_row *row;     /* [set->count] */
    struct fit_toner *toner; /* [toners] */
    size_t films, doubted;
    double de00_median, de00_p95, de00_max; /* of the films that count */
    double film_sd;                         /* found: of ln(true film / written film); 0: none is written */
    bool
        cards_exchanged; /* the bare rows of two cards were exchanged in the whole file; taken as corrected */
    int card[2];
};

/* about: [set->toner_count] with id, role and labels; k, s, bend, crowd and strength_sd are filled in
 * shelf->toner, which is the arena's. INPUT: no film, more than FIT_FILMS_MOST, a toner in no film. */
enum status fit_shelf(const struct drawdown_set *set, const struct toner about[], const struct work *work,
                      struct arena *arena, struct shelf *shelf, struct fit_report *report,
                      struct fault *fault) MUST_USE;

#endif
