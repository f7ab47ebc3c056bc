/* A dab and the spot in one photograph, as `photo colour --against --out` wrote them down. */
#ifndef RUSSET_FLOW_ADJUST_AGAINST_H
#define RUSSET_FLOW_ADJUST_AGAINST_H

#include "flow/operation.h"

struct against {
    double dlab[3];               /* what the dab has more of L*, a*, b* than the spot */
    double u95_de00, unlike_de00; /* how sure, of the same pigments and of others */
};

/* INPUT: no reading, none or several places against the spot, numbers that are none. */
enum status against_read(const struct surroundings *around, const char *path, struct against *out,
                         struct fault *fault) MUST_USE;

#endif
