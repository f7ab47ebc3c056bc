/* Fills a new shop with the demo: the cognac-coloured helm seat of a wooden motor launch, half done, an older
 * job handed over, a shelf with lots, and a book of some hundred finishes. All of it is invented and marked
 * so. */
#ifndef RUSSET_FLOW_DEMO_SHOP_H
#define RUSSET_FLOW_DEMO_SHOP_H

#include "flow/operation.h"

/* around->shop_dir is the new shop. The work is done by the operations themselves, on files in memory. */
enum status demo_shop_fill(const struct surroundings *around, struct fault *fault) MUST_USE;

#endif
