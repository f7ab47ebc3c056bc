/* Drawing functions that operations.def names; one line each. */
#ifndef RUSSET_FLOW_PAPERS_H
#define RUSSET_FLOW_PAPERS_H

#include "flow/operation.h"

operation_paper adjust_paper;
operation_paper bill_paper;
operation_paper card_paper;
operation_paper coat_card_paper;
operation_paper pour_draw;
operation_paper toners_swatch_draw;

#endif
