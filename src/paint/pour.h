/* The pour: a recipe by the scale, in an order that can be rescued, with a window for every toner.
 *
 *     struct pour_task task = {.recipe = &recipe, .batch_g = 60, .scale = {.01, 0}, .tolerance_de00 = 1,
 * .pot_g = INFINITY}; struct pour_plan plan; pour_plan_make(&task, &plan); struct pour_state state;
 *     pour_look(&task, &plan, &state);
 */
#ifndef RUSSET_PAINT_POUR_H
#define RUSSET_PAINT_POUR_H

#include "paint/recipe.h"
#include "paint/weighing.h"

#define POUR_LET_DOWN 0.10 /* of toner in a let-down: 1 to 9 in binder */

enum { POUR_STEPS_MOST = RECIPE_TONERS_MOST + 1 };

/* A recipe that stands alone: only its own toners are on the shelf, all of them with a part > 0. */
struct pour_recipe {
    struct shelf shelf;              /* shelf.toner[0 .. shelf.count), count 1 .. RECIPE_TONERS_MOST */
    double part[RECIPE_TONERS_MOST]; /* mass fractions, sum 1 */
    struct film_case film;
    bool has_target;
    struct lab target; /* D65/10; meaningless without has_target */
};

struct pour_task {
    const struct pour_recipe *recipe;
    double batch_g; /* what the finished pot weighs when nothing goes wrong */
    struct scale scale;
    double tolerance_de00; /* of the pot to the target */
    bool let_downs;        /* may a strong toner be poured as a let-down? */
    /* What has been poured so far, by toner: pure, and as a let-down (grams of the let-down). */
    double poured_g[RECIPE_TONERS_MOST], let_down_poured_g[RECIPE_TONERS_MOST];
    double taken_g; /* left the pot since, well stirred */
    double pot_g;   /* what the pot may hold; INFINITY when it does not matter */
};

/* A strong toner stirred into binder first, so that the scale can weigh it. */
struct let_down {
    double fraction; /* of toner in it: POUR_LET_DOWN; 1 for a toner that is poured as it is */
    double make_g;   /* how much to make, in this share: */
    double toner_g, binder_g;
};

struct pour_step {
    int toner;
    bool first_part, rest; /* a toner that is poured in two parts: the bed and what remains */
    struct let_down let_down;
    double g;               /* of what is poured: of the let-down when there is one */
    double reading_g;       /* where the scale that is not re-zeroed ends */
    double minus_g, plus_g; /* the reading may miss by that much, multiples of the scale's step */
    double share_de00;      /* what such a miss costs at most */
    bool below_scale;       /* the scale is too coarse for the batch, and this step is why */
    double ml;              /* 0 when the density is not known */
};

struct pour_plan {
    size_t count;
    struct pour_step step[POUR_STEPS_MOST];
    double toner_g[RECIPE_TONERS_MOST]; /* on the scale's grid; whichever way it is poured */
    double total_g;
    struct lab lab;        /* of the recipe as predicted, D65/10 */
    struct lab grid_lab;   /* of the grams as they stand in the steps */
    double recipe_de00;    /* to the target; NAN without one */
    double allowance_de00; /* what pouring may cost */
    double let_down_de00;  /* what weighing the let-downs themselves costs (two standard uncertainties) */
    double worst_de00;     /* when every window is missed in the worst way; let_down_de00 in quadrature */
    bool scale_too_coarse; /* worst_de00 is over the allowance although the windows are the smallest the scale
                              resolves */
};

/* Mass of toner i per gram of a step, onto mass[count] += g * share. */
void pour_add(const struct pour_recipe *recipe, int toner, double fraction, double g, double mass_g[]);
/* The colour of any pot of the recipe's toners (not all 0), D65/10. */
struct lab pour_lab(const struct pour_recipe *recipe, const double mass_g[]);
/* The toner that strong ones are let down in, -1 when the recipe has no binder. */
int pour_binder(const struct pour_recipe *recipe);

/* How much of a let-down to stir so that g grams of it can be poured into a pot of mass_g and two standard
 * uncertainties of its strength cost at most de00 there; returns what they do cost. */
double pour_let_down_make(const struct pour_task *task, const double mass_g[], int toner, double g,
                          double de00, struct let_down *out);

/* batch_g > 0 and at least as many steps of the scale as there are toners: asserted. */
void pour_plan_make(const struct pour_task *task, struct pour_plan *plan);

/* Where the pot stands. */
struct pour_state {
    double in_pot_g[RECIPE_TONERS_MOST]; /* what was poured less what was taken */
    double reading_g;                    /* of the scale now, the cup left on it */
    double fraction[RECIPE_TONERS_MOST]; /* as the plan pours each toner: 1, or a let-down's */
    double keep;                /* the part of what was poured that is still there: the plan shrinks by it */
    bool done[POUR_STEPS_MOST]; /* by step */
    double left_g[POUR_STEPS_MOST]; /* still to pour, on the scale's grid; 0 when done */
    int next;                       /* the step to do; -1 when all is in */
    double next_g, next_reading_g;
    bool over[RECIPE_TONERS_MOST]; /* poured past its window */
    bool any_over;
    double stay_mass_g[RECIPE_TONERS_MOST]; /* the pot when the rest is poured as planned and nothing is
                                               mended */
    double stay_de00;                       /* what it costs, to the recipe's own colour */
    double stay_target_de00;                /* to the target; NAN without one */
    bool may_stay;                          /* inside the allowance */
};

void pour_look(const struct pour_task *task, const struct pour_plan *plan, struct pour_state *state);

#endif
