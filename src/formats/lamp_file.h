/* A measured lamp: one relative spectral power distribution, in any format of sample_file.h but our JSON. The
 * values may be of any scale; none may be negative. The grid is the file's own: regular, 1..20 nm, inside
 * 340..830 nm, covering 400..700 nm. */
#ifndef RUSSET_FORMATS_LAMP_FILE_H
#define RUSSET_FORMATS_LAMP_FILE_H

#include "base/memory.h"
#include "base/text.h"
#include "colour/spectrum.h"

/* out->value is the arena's. INPUT: no spectrum, more than one, a negative value. */
enum status lamp_file_read(const struct bytes *bytes, struct arena *arena, struct sampled *out,
                           struct fault *fault) MUST_USE;

#endif
