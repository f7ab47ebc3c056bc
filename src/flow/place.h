/* Where a colour comes from on a command line: FILE, FILE#SAMPLE_ID, or --lab L,a,b. */
#ifndef RUSSET_FLOW_PLACE_H
#define RUSSET_FLOW_PLACE_H

#include "flow/operation.h"
#include "formats/sample_file.h"
#include "paint/toner.h"

/* One reading: the sample named behind '#', or the robust mean of all samples of the file (repeats of one
 * spot). A literal file name wins over FILE#ID. geometry: assumed when the file does not say. */
enum status place_read(const struct surroundings *around, const char *place, enum geometry geometry,
                       struct reading *out, struct fault *fault) MUST_USE;
/* "L,a,b" under D65/10. */
enum status place_from_lab(const double *lab, size_t count, struct reading *out,
                           struct fault *fault) MUST_USE;
/* Reads a shelf (kind `toners`). */
enum status place_read_shelf(const struct surroundings *around, const char *path, struct shelf *out,
                             struct fault *fault) MUST_USE;

#endif
