/* Volatile organic compounds in what is sprayed (40 CFR 59.104):
 *
 *     regulatory  (Wv - Ww - Wec) / (V - Vw - Vec)     g per litre less water and exempt compounds
 *     actual      (Wv - Ww - Wec) / V                  g per litre as it is in the gun
 *
 * W mass, V volume, v all volatile, w water, ec exempt compounds. Water counts 1.000 kg/l. Parts are added
 * before the division, so what was thinned in counts: VOC as applied. Where nothing but water and exempt
 * compounds is left the quotient is refused. */
#ifndef RUSSET_TRADE_VOC_H
#define RUSSET_TRADE_VOC_H

#include "base/fault.h"

struct voc_part {
    double mass_g;        /* how much of it, any scale */
    double density_g_ml;  /* 0.3..3 */
    double volatiles;     /* of its mass, 0..1, water and exempt compounds among them */
    double water, exempt; /* of its mass */
    double exempt_density_g_ml;
};

struct voc {
    double regulatory_g_l, actual_g_l;
};

enum status voc_of(const struct voc_part part[], size_t count, struct voc *out, struct fault *fault) MUST_USE;

#endif
