/* Drawing functions that operations.def names; one line each. */
#ifndef RUSSET_FLOW_PAPERS_H
#define RUSSET_FLOW_PAPERS_H

#include "flow/operation.h"

#endif
