/* How a phone reads a reflectance beside the dabs of the first day's sheet: the camera that the fit found,
 * and after it the 3 x 3 that a photograph of the dabs as a card is corrected by. */
#ifndef RUSSET_FLOW_DAB_CAMERA_H
#define RUSSET_FLOW_DAB_CAMERA_H

#include "paint/prior_fit.h"

/* films: as many rows as result has. False when they fix no map. */
bool dab_camera_make(const struct prior_result *result, size_t films, struct weights *out);

#endif
