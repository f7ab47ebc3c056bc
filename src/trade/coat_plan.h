/* The plan of the coats: what each lays, how the gun moves, when it may be touched again, when it hides, when
 * the pot ends.
 *
 *     wet film [um] = Q TE / (v W (1 - o))     Q flow, v gun speed, W fan width at the work, o overlap
 *     (100 ml/min, .65, .4572 m/s, 200 mm, 50 % = 23.695 um wet; computed)
 *
 * Gun speed is found for the wet film of a coat, or wet film for the speed. Coat n hides when n coats of dry
 * film reach the recipe's film to hide. Between coats the flash-off of the product's sheet is stretched by
 * 1/drying index (trade/air.h). A crosslinked pot lives for its pot life from the moment that the crosslinker
 * went in; a coat that would end after that has a new pot mixed before it, the rest of the old one is not
 * kept. Distances and speeds of an application are common practice, 150..250 mm for a gun is published. */
#ifndef RUSSET_TRADE_COAT_PLAN_H
#define RUSSET_TRADE_COAT_PLAN_H

#include "paint/amount.h"

struct gun {
    double flow_ml_min, fan_mm, overlap; /* overlap 0..0.9 */
    double speed_m_s;                    /* NAN: find it */
};

double gun_wet_um(double flow_ml_min, double transfer, double speed_m_s, double fan_mm, double overlap);
double gun_speed_m_s(double flow_ml_min, double transfer, double wet_um, double fan_mm, double overlap);

struct coat_case {
    enum applied_by by;
    double area_m2;
    double wide_mm, high_mm; /* of the panel, strokes along the width; NAN: a square of that area */
    double film_um, solids_volume, transfer;
    double thinner;         /* by volume of paint, as in struct amount_case */
    unsigned coats;         /* 0: found */
    double wet_um;          /* of one coat; NAN: the application's, or what the gun's speed lays */
    struct gun gun;         /* ignored when nothing is sprayed */
    double film_um_to_hide; /* NAN: not known */
    double old_film_um;
    double flash_s;      /* of the product's sheet, at 20 C and 50 % */
    double drying_index; /* 1: as at 20 C and 50 % */
    double pot_life_s;   /* NAN: no crosslinker */
    double mixed_ago_s;  /* since the crosslinker went in, when the first coat starts */
};

struct coat {
    double start_s, spray_s, flash_s; /* from the start of the first coat; flash 0 after the last */
    double film_um;                   /* dry, with all coats before it, without the old film */
    bool hides;
    unsigned pot; /* 1, 2 ... */
};

struct coat_plan {
    size_t count;
    struct coat coat[AMOUNT_COATS_MOST];
    double wet_um, dry_um; /* of each coat */
    double coat_ml;        /* sprayed or spread for each coat, as applied */
    double film_um, total_film_um;
    double solids_volume;                /* as applied */
    unsigned hides_at;                   /* the coat that reaches hiding, 0: none of them, or not known */
    double speed_m_s, step_mm, stroke_s; /* gun; NAN when nothing is sprayed */
    unsigned strokes;                    /* of one coat */
    unsigned pots;                       /* 0 without crosslinker */
    double total_s;
    bool too_thick; /* old and new film over LEATHER_COATING_MOST_UM */
};

/* INPUT for numbers outside their bounds (named); NO when it needs more than AMOUNT_COATS_MOST coats, when a
 * coat cannot be sprayed inside the pot's life, or when nothing dries in this air. */
enum status coat_plan_make(const struct coat_case *in, struct coat_plan *out, struct fault *fault) MUST_USE;

#endif
