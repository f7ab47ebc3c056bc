/* The log of test shots as CSV: a heading line with the columns pressure_bar, fluid_turns, distance_mm,
 * viscosity_s, Sal_mm, Sa_um in any order and case (others are passed over), a shot a line after
 * it; coats may be left out (1), and flow_ml_min may stand for fluid_turns. Separator , ; or tab, told by the
 * heading; a decimal comma only with ; or tab. Blank lines and lines that begin with # are passed over. A
 * shot whose Sal_mm or Sa_um is blank was not read yet and is passed over too. */
#ifndef RUSSET_FORMATS_SHOTS_FILE_H
#define RUSSET_FORMATS_SHOTS_FILE_H

#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"
#include "surface/gun.h"

/* INPUT with file and line. line: of each shot in the file. */
enum status shots_read(const struct bytes *bytes, struct arena *arena, struct gun_shot shot[GUN_SHOTS_MOST],
                       int line[GUN_SHOTS_MOST], size_t *count, struct fault *fault) MUST_USE;

#endif
