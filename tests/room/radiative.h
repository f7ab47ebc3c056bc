/* Radiative transfer in one film, as a referee: it shares no equation with Kubelka and Munk. See radiative.c.
 */
#ifndef RUSSET_TESTS_ROOM_RADIATIVE_H
#define RUSSET_TESTS_ROOM_RADIATIVE_H

enum { DIRECTIONS = 16, MOMENTS = 16 };

/* Directions for a film of one refractive index; made once. */
struct directions {
    double index;                      /* of the film against air, >= 1 */
    double mu[DIRECTIONS];             /* cosines inside the film, ascending; the last is 1 */
    double weight[DIRECTIONS];         /* sum 1 */
    double inside[DIRECTIONS];         /* Fresnel reflectance from inside, 1 beyond the critical angle */
    double outside;                    /* Fresnel reflectance of a beam from air at normal incidence */
    double oblique_mu, oblique_inside; /* of a ray that leaves at 45 degrees in air */
    double along[DIRECTIONS];          /* interpolates an intensity to oblique_mu */
    double moment[MOMENTS][DIRECTIONS][DIRECTIONS]; /* (2k + 1) P_k(mu_i) P_k(mu_j) */
};
void directions_make(struct directions *out, double index);

/* What is in the film at one wavelength. moment[k]: k-th Legendre moment of the phase function (moment[0] =
 * 1). */
struct medium {
    double absorb, scatter; /* per um */
    double moment[MOMENTS];
};
/* Henyey and Greenstein 1941: moment k is g^k. */
void medium_henyey_greenstein(struct medium *medium, double absorb, double scatter, double g);

/* Reflection and transmission of a homogeneous film without boundaries, scaled by sqrt(2 w mu) on both sides
 * (symmetric). */
struct slab {
    double r[DIRECTIONS][DIRECTIONS], t[DIRECTIONS][DIRECTIONS];
};
void slab_make(struct slab *out, const struct directions *at, const struct medium *medium, double film_um);
/* upper on lower, both homogeneous; the result is the reflection of the pair over a black floor and its
 * transmission down. */
void slab_stack_reflection(double out[DIRECTIONS][DIRECTIONS], const struct slab *upper,
                           double below[DIRECTIONS][DIRECTIONS]);
/* The reflection of the slab over a Lambertian floor of that reflectance (in optical contact). */
void slab_over(double out[DIRECTIONS][DIRECTIONS], const struct directions *at, const struct slab *slab,
               double floor);

/* What leaves through the surface when a beam comes in at normal incidence: */
struct leaving {
    double diffuse; /* d/8 without the surface's own reflection, as a fraction of the beam */
    double oblique; /* radiance factor at 45 degrees */
};
struct leaving surface_leaving(const struct directions *at, double below[DIRECTIONS][DIRECTIONS]);

/* Index-matched totals for checks: flux reflectance and transmittance for a beam along mu = 1 and for diffuse
 * light. */
double slab_flux(const struct directions *at, double operator_[DIRECTIONS][DIRECTIONS],
                 int from); /* from -1: diffuse */

#endif
