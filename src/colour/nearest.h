/* Which of many colours are nearest to one, by CIEDE2000: exact answers out of a file of colours that stands
 * in the order of their cells (a book's index, a sorted list), of which only what may be near is read. */
#ifndef RUSSET_COLOUR_NEAREST_H
#define RUSSET_COLOUR_NEAREST_H

#include "colour/lab.h"
#include <stddef.h>

/* The place of a colour in the file's order, below 2^30. Whoever files colours elsewhere (shop/schema) must
 * reckon the same number. */
unsigned nearest_cell(struct lab colour);

typedef void colour_seen(void *to, long long key, struct lab colour);
struct colour_file {
    void *from;
    /* How many colours are filed from cell low to cell high, counted up to `most`. */
    size_t (*count)(void *from, unsigned low, unsigned high, size_t most);
    /* Shows each of them, in any order, with the key that stands for it. */
    void (*each)(void *from, unsigned low, unsigned high, colour_seen *seen, void *to);
};

struct near_colour {
    long long key;
    double de00;
};

/* The `most` nearest that are not farther than within_de00, nearest first, equally near ones in the order of
 * their keys; returns how many. The answers are those of a look at every colour of the file with L* in
 * -50..200 and a*, b* in -1000..1000 (no film is beyond). All must be of the query's view. */
size_t nearest_find(const struct colour_file *file, struct lab query, size_t most, double within_de00,
                    struct near_colour *out);

#endif
