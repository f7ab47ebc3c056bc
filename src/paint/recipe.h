/* A recipe: mass fractions of the toners of a shelf and what is known about them. */
#ifndef RUSSET_PAINT_RECIPE_H
#define RUSSET_PAINT_RECIPE_H

#include "paint/predict.h"

enum { RECIPE_TONERS_MOST = 8 }; /* binder among them */

struct recipe {
    size_t count;
    int toner[RECIPE_TONERS_MOST];     /* index on the shelf, in the order of the shelf */
    double part[RECIPE_TONERS_MOST];   /* mass fraction of the whole, sum 1 */
    double mass_g[RECIPE_TONERS_MOST]; /* on the scale's grid, sums to the batch */
};

/* Spreads the parts over the whole shelf: part[shelf->count]. */
void recipe_spread(const struct recipe *recipe, const struct shelf *shelf, double part[]);

#endif
