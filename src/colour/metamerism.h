/* The special metamerism index: how far apart two colours fall under another light that match under the
 * reference light. */
#ifndef RUSSET_COLOUR_METAMERISM_H
#define RUSSET_COLOUR_METAMERISM_H

#include "colour/lab.h"

/* CIE special metamerism index, change in illuminant (CIE 15:2018, section 9.2), in dE*ab under `test`, after
 * a multiplicative parametric correction of the sample's XYZ so that it matches the standard under
 * `reference` exactly. False, and *index 0, when the sample's XYZ under the reference light is not positive
 * (there is no factor then). */
bool metamerism_index(const struct spectrum *standard, const struct spectrum *sample,
                      const struct weights *reference, const struct weights *test, double *index);

#endif
