/* Readings and drawdowns as CGATS.17 / ISO 28178 text, which sample_file_read and drawdowns_read take back
 * unchanged (reflectance to six decimals, the digits of docs/decisions.md). */
#ifndef RUSSET_FORMATS_CGATS_OUT_H
#define RUSSET_FORMATS_CGATS_OUT_H

#include "base/text.h"
#include "colour/reading.h"
#include "paint/drawdown.h"

/* Every reading needs a spectrum, all of one geometry (both asserted). originator: a line about where it is
 * from, or NULL. */
void cgats_write_readings(const struct reading *reading, size_t count, const char *originator,
                          struct text *out);
void cgats_write_drawdowns(const struct drawdown_set *set, const char *originator, struct text *out);

#endif
