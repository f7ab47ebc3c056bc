/* Grain of abrasive papers. The scales share numbers and not sizes (CAMI 400 is about P800), so a grit
 * without its scale is refused.
 *
 * FEPA P: median grain, um, ISO 6344-3 (decimals from memory). CAMI: only what facts of the trade give: 400
 * is about P800, 600 about P1200 (published comparison charts); other CAMI numbers are refused and not
 * guessed. */
#ifndef RUSSET_TRADE_GRIT_H
#define RUSSET_TRADE_GRIT_H

#include "base/fault.h"

enum grit_scale { GRIT_FEPA_P, GRIT_CAMI };

struct grit {
    enum grit_scale scale;
    int number;
    int fepa_p;       /* the same, or the nearest P number */
    double median_um; /* of fepa_p */
};

/* "P400", "p 400", "CAMI 400", "CAMI400", "FEPA P400". USAGE without a scale ("400") or for a number that is
 * not on its scale. */
enum status grit_read(const char *text, struct grit *out, struct fault *fault) MUST_USE;

#endif
