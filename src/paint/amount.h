/* How much to mix for a colour: film, transfer, coats, spare, the edge it ends at, and what stays in the
 * tools.
 *
 *     wet film = dry film / VS                                     VS: solids by volume
 *     coverage [m2/l] = 1000 VS / dry film [um]                    (published handbook value: 65 % at 125 um
 * = 5.200) litres = A DFT / (1000 VS TE) (1 + spare) + loss             TE: transfer, by weight of solids
 * (SCAQMD practice)
 *
 * A colour ends at a seam, at a panel break, or in a fade. A seam or a break is masked and costs nothing. In
 * a fade the film falls straight from full to none over the width, so it takes half the film on its area, and
 * the blend coats over it (thinned so that no edge can be seen) take their own. Every default of an
 * application is common practice of the trade, editable, no rule.
 *
 * Thinner lowers the solids: VS' = VS / (1 + thinner), thinner by volume of paint. What was thinned is what
 * is sprayed and lost. */
#ifndef RUSSET_PAINT_AMOUNT_H
#define RUSSET_PAINT_AMOUNT_H

#include "base/fault.h"
#include <stdbool.h>

enum applied_by { BY_SPONGE, BY_BRUSH, BY_AIRBRUSH, BY_MINI_GUN, BY_GUN, BY_COUNT };

struct application {
    const char *name; /* "mini-gun" */
    double transfer;  /* 0..1 */
    double wet_um;    /* of one coat */
    double loss_ml;   /* stays in cup, line and strainer, or in tray and sponge */
    bool sprays;
    double distance_low_mm, distance_high_mm; /* gun to work; 0 when nothing is sprayed */
    double fan_mm, flow_ml_min;
};

const struct application *application_of(enum applied_by by);
bool application_from_name(const char *name, enum applied_by *out);

enum edge { EDGE_SEAM, EDGE_PANEL, EDGE_FADE };

struct fade {
    double length_mm, width_mm; /* 0 length: the colour fades nowhere */
    unsigned blend_coats;
    double blend_thinner; /* by volume of the mix */
    double blend_wet_um;
};

struct amount_case {
    double area_m2;       /* under full film, without the fade */
    double film_um;       /* dry, all coats */
    double solids_volume; /* of the unthinned paint, 0..1 */
    double transfer;      /* 0..1 */
    double spare;         /* 0..5, of the film and the fade */
    double thinner;       /* by volume of the paint, 0..5 */
    unsigned coats;       /* 0: found from wet_um, or from coat_um */
    double wet_um;        /* the most of one coat; NAN: not said */
    double coat_um;       /* dry film of one coat when nothing else says, 6 */
    double loss_ml;
    double density_g_ml, thinner_density_g_ml;
    struct fade fade;
};

struct amount {
    unsigned coats;
    double film_um;                    /* that is laid: more than asked when coats and wet_um say so */
    double wet_um, dry_um;             /* of one coat, all coats alike */
    double solids_volume;              /* as applied */
    double coverage_m2_l;              /* of the unthinned paint at film_um, nothing lost */
    double film_ml, fade_ml, blend_ml; /* as applied, without spare */
    double spare_ml, loss_ml;
    double total_ml;             /* as applied: what has to be in the cups */
    double paint_ml, thinner_ml; /* that the total is made of */
    double paint_g, thinner_g;
    double fade_area_m2;
    bool film_differs; /* coats times wet film is not the film that was asked for */
};

enum { AMOUNT_COATS_MOST = 60 };

/* INPUT, naming the value, when one is not finite or outside the bounds above; NO when more than
 * AMOUNT_COATS_MOST coats would be needed. */
enum status amount_reckon(const struct amount_case *in, struct amount *out, struct fault *fault) MUST_USE;

/* How far into a fade the full colour still hides, mm from its inner edge: the ground (filler, sanded crust)
 * must end before, or a ring shows. 0 when the full film itself does not hide; NAN when it is not known what
 * hides. */
double fade_hidden_mm(const struct fade *fade, double film_um, double film_um_to_hide);

/* Old and new film together against the .15 mm that a leather means as coating (EN 15987). */
enum { LEATHER_COATING_MOST_UM = 150 };

#endif
