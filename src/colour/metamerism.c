/* CIE special metamerism index: change in illuminant (CIE 15:2018, section 9.2), with the multiplicative
 * correction: X2c = X2(test) X1(reference) / X2(reference), Y and Z likewise; index = dE*ab(XYZ1(test),
 * XYZ2c). A pair that matches under the reference light is not corrected at all. The factor is undefined
 * where a tristimulus value of the sample is 0 or less, which is no reflectance but a dark reading's noise.
 */
#include "colour/metamerism.h"
#include "colour/difference.h"

static const double least = 1e-6; /* of Y 100 */

bool metamerism_index(const struct spectrum *standard, const struct spectrum *sample,
                      const struct weights *reference, const struct weights *test, double *index) {
    *index = 0;
    const struct xyz r1 = xyz_of(standard, reference), r2 = xyz_of(sample, reference);
    if (!(r2.x > least && r2.y > least && r2.z > least)) return false;
    const struct xyz t2 = xyz_of(sample, test);
    const struct xyz corrected = {t2.x * (r1.x / r2.x), t2.y * (r1.y / r2.y), t2.z * (r1.z / r2.z)};
    *index = difference_de76(lab_of_spectrum(standard, test), lab_of(corrected, test));
    return true;
}
