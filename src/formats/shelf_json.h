/* kind `toners`: a shelf as JSON and back. What was written is read to the digits that were written. */
#ifndef RUSSET_FORMATS_SHELF_JSON_H
#define RUSSET_FORMATS_SHELF_JSON_H

#include "base/memory.h"
#include "base/text.h"
#include "paint/toner.h"
#include <jansson.h>

/* Adds toners, geometry, surface ... to an object of kind `toners` (the fit adds its report beside them). */
void shelf_put(json_t *object, const struct shelf *shelf);
enum status shelf_read(const struct bytes *bytes, struct arena *arena, struct shelf *out,
                       struct fault *fault) MUST_USE;

#endif
