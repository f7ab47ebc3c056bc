/* The numbered steps of src/shop/schema, as they lie in the program (generated: tools/make_schema). */
#ifndef RUSSET_SHOP_SCHEMA_H
#define RUSSET_SHOP_SCHEMA_H

const char *schema_step(int version); /* 1 .. BOOK_SCHEMA; asserted */

#endif
