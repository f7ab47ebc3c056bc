/* What a price list may name besides the tasks of trade/tasks.def, and the unit that takes a price away. */
#ifndef RUSSET_FLOW_PRICE_ITEMS_H
#define RUSSET_FLOW_PRICE_ITEMS_H

#define PRICE_ITEM_KM "km"
#define PRICE_ITEM_CALL_OUT "call-out"
#define PRICE_UNIT_LIFTED "lifted"

#endif
