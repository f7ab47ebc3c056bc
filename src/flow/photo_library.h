/* Spectra that a photographed colour may have: opaque mixes of a shelf. */
#ifndef RUSSET_FLOW_PHOTO_LIBRARY_H
#define RUSSET_FLOW_PHOTO_LIBRARY_H

#include "base/memory.h"
#include "paint/predict.h"

/* Mixes of up to three toners in binder, as a photograph sees them (45/0). Returns how many. */
size_t photo_library_of(const struct shelf *shelf, struct arena *arena, struct spectrum **out);
/* The same of known pigments and of the families of oxides and blacks (paint/pigment.h): what a part may be
 * made of when nothing is known of its paint. */
size_t photo_library_prior(struct arena *arena, struct spectrum **out);

#endif
