/* A shelf corrected by what its pots really measured.
 *
 * Every toner i in play gets, on the logarithm of its curves, a strength (K and S together), a scattering of
 * its own (S alone) and a smooth shape on K and on S (cosines over the bands):
 *
 *     ln K_i(b) = ln K0_i(b) + w_i0 + sum_j w_ij cos(pi j (b + 1/2) / 31),  j = 1..6
 *     ln S_i(b) = ln S0_i(b) + w_i0 + v_i0 + sum_j v_ij cos(pi j (b + 1/2) / 31),  j = 1..4
 *
 * with Gaussian priors; every card gets a film factor of its own. The maximum a posteriori is found by
 * Gauss-Newton with step control; the posterior covariance is the inverse of the last normal matrix
 * (Laplace). A pure function of its inputs.
 *
 * Why this shape: a lot that drifts is stronger or weaker as a whole; a grind that differs scatters
 * differently; a pigment from another maker has its shoulder a little elsewhere. Strengths alone, fed with a
 * curve whose shape is off, would be bent to explain the shape. */
#ifndef RUSSET_PAINT_CALIBRATE_H
#define RUSSET_PAINT_CALIBRATE_H

#include "paint/predict.h"

struct card {
    const double *part;    /* [shelf count] mass fractions in the pot that was sprayed, sum 1 */
    struct film_case film; /* film_um is nominal */
    struct spectrum measured;
    double trust_sd; /* sd of a relative error of the whole reading on top of the usual: 0 for a dry,
                        topcoated card */
    const int *lot;  /* [shelf count] lot index per toner, or NULL: all of lot 0 */
};

/* How far things may be off before anything is measured (sd of natural logarithms). */
struct doubt {
    double strength_sd, scatter_sd, shape_sd, film_sd;
    double noise_floor,
        noise_share; /* sd of a band of a card: floor + share * R (instrument and what the model cannot do) */
};
extern const struct doubt doubt_usual;    /* a pot and its few cards */
extern const struct doubt doubt_learning; /* all pots of a shop: what the model cannot do differs from mix to
                                             mix and is averaged, while every curve is met again and again */

struct calibration;

/* A toner that no card holds keeps its prior. lot_count: lots per toner are told apart by card.lot
 * 0..lot_count-1; the shape is common to a toner's lots, the strength is not. shelf and card must outlive it.
 */
struct calibration *calibration_new(const struct shelf *shelf, const struct card *card, size_t cards,
                                    int lot_count, const struct doubt *doubt);
/* How sure a shelf is of itself by the cards that it has learnt from: nothing is moved, only the covariance
 * is made. */
struct calibration *calibration_of_shelf(const struct shelf *shelf, const struct doubt *doubt);
void calibration_free(struct calibration *calibration);

/* Writes the corrected curves of the given lot into shelf->toner[].k and .s (a shelf of the same size,
 * usually a copy), and strength_sd. */
void calibration_apply(const struct calibration *calibration, int lot, struct shelf *shelf);
/* ln strength of a toner's lot with its sd (w_i0). sd equals the prior's when no card held it. */
double calibration_strength(const struct calibration *calibration, size_t toner, int lot, double *sd);
double calibration_film_factor(const struct calibration *calibration, size_t card);
/* dE00 (D65/10) between the card and the corrected model, its own film factor included. */
double calibration_card_de00(const struct calibration *calibration, size_t card);
/* What is still unsure of a mix's colour: covariance of reflectance projected on Lab (D65/10). part as in
 * struct card. */
void calibration_lab_cov(const struct calibration *calibration, const double part[],
                         const struct film_case *film, int lot, double cov[3][3]);

#endif
