/* ISO 105-A05, change in colour, with CM and hM the means of the CIELAB chromas and hues of both:
 *     x = ((hM - 280)/30)^2, or ((360 - |hM - 280|)/30)^2 where |hM - 280| > 180;  D = dC CM exp(-x) / 100
 *     dCF = (dC - D)/(1 + (20 CM/1000)^2), dHF = (dH - D)/(1 + (10 CM/1000)^2), dEF = sqrt(dL^2 + dCF^2 +
 * dHF^2) grade 5 - dEF/1.7 up to 3.4, else 5 - log2(dEF/.85); both meet at 3 there. ISO 105-A04, staining:
 * dEGS = dE - .4 sqrt(dE^2 - dL^2); grade 6.1 - 1.45 ln dEGS, or 5 - .23 dEGS where that is over 4. The two
 * branches of A04 do not quite meet (4.014 against 4): that is the standard's own step. Seams: hues more than
 * 180 degrees apart are averaged across 0; exactly 180 takes the plain mean; a grey's hue is 0. Grades stop
 * at 1. The formulas are as seen in public code, the classes of A05 are those of its table (by dEF); the
 * classes of A04 are the nearest half step (from memory). */
#include "colour/grey_scale.h"
#include "colour/difference.h"
#include <math.h>

static const char *const classes[] = {"5", "4-5", "4", "3-4", "3", "2-3", "2", "1-2", "1"};

static double hue_mean(double h1, double h2) {
    const double mean = (h1 + h2) / 2;
    if (fabs(h2 - h1) <= 180 + 1e-9) return mean;
    return mean < 180 ? mean + 180 : mean - 180;
}

static double change_difference(struct lab reference, struct lab sample) {
    const struct lch r = lch_of(reference), s = lch_of(sample);
    const struct difference d = difference_of(reference, sample);
    const double cm = (r.c + s.c) / 2, off = fabs(hue_mean(r.h_deg, s.h_deg) - 280);
    const double x = (off > 180 ? 360 - off : off) / 30;
    const double shift = d.dc * cm * exp(-x * x) / 100;
    const double c = (d.dc - shift) / (1 + pow(20 * cm / 1000, 2));
    const double h = (d.dh - shift) / (1 + pow(10 * cm / 1000, 2));
    return sqrt(d.dl * d.dl + c * c + h * h);
}

static const char *change_class(double difference) {
    static const double limit[] = {.40, 1.25, 2.10, 2.95, 4.10, 5.80, 8.20, 11.60};
    size_t i = 0;
    while (i < 8 && difference >= limit[i]) i++;
    return classes[i];
}

struct grey_rating grey_scale_change(struct lab reference, struct lab sample) {
    const double d = change_difference(reference, sample);
    const double grade = d <= 3.4 ? 5 - d / 1.7 : 5 - log2(d / .85);
    return (struct grey_rating){d, fmax(1, grade), change_class(d)};
}

struct grey_rating grey_scale_staining(struct lab unstained, struct lab stained) {
    const struct difference d = difference_of(unstained, stained);
    const double g = d.de76 - .4 * hypot(d.da, d.db); /* dE^2 - dL^2 without its cancellation */
    const double steep = 6.1 - 1.45 * log(g);
    const double grade = fmax(1, g <= 0 || steep > 4 ? 5 - .23 * g : steep);
    return (struct grey_rating){g, grade, classes[(int)floor((5 - grade) * 2 + .5)]};
}
