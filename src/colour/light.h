/* The lights that can be named: the one list of them. Names, tables, help, sentences and what a match calls
 * them are made from it. A file of data/cie may lie there without being named here. */
#ifndef RUSSET_COLOUR_LIGHT_H
#define RUSSET_COLOUR_LIGHT_H

/* first(SYMBOL, "name", "file in data/cie" or NULL for a formula, "in words") for the first, more(...) for
 * each that follows. */
/* clang-format off */
#define LIGHT_TABLE(first, more) \
    first(D65, "D65", "illum_D65", "daylight") \
    more(A, "A", NULL, "lamp light") \
    more(FL11, "FL11", "illum_FL11", "shop light") \
    more(D50, "D50", "illum_D50", "warm daylight") \
    more(FL2, "FL2", "illum_FL2", "office light") \
    more(LED_B3, "LED-B3", "illum_LED-B3", "LED light")
/* clang-format on */

#define LIGHT_SYMBOL(symbol, name, table, words) LIGHT_##symbol,
enum light {
    LIGHT_TABLE(LIGHT_SYMBOL, LIGHT_SYMBOL) LIGHT_MEASURED, /* a lamp of one's own */
    LIGHT_COUNT
};

#define LIGHT_FIRST(symbol, name, table, words) name
#define LIGHT_COMMA(symbol, name, table, words) ", " name
#define LIGHT_LIST LIGHT_TABLE(LIGHT_FIRST, LIGHT_COMMA) /* "D65, A, ..." */

#endif
