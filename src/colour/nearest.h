/* Which of many colours are nearest to one, by CIEDE2000: exact answers from a k-d tree over Lab. */
#ifndef RUSSET_COLOUR_NEAREST_H
#define RUSSET_COLOUR_NEAREST_H

#include "colour/lab.h"

struct nearest;
struct near_colour {
    size_t index; /* into the colours that the tree was made of */
    double de00;
};

/* Borrows nothing: the colours are copied. All must be of one view; n may be 0. About 33 bytes a colour. */
struct nearest *nearest_new(const struct lab *colours, size_t n) __attribute__((returns_nonnull));
void nearest_free(struct nearest *tree); /* NULL is fine */

/* The `most` nearest that are not farther than within_de00, nearest first, equally near ones in the order
 * they were given; returns how many. The answers are those of a look at every colour. */
size_t nearest_find(const struct nearest *tree, struct lab query, size_t most, double within_de00,
                    struct near_colour *out);

/* A box in Lab that holds every colour that is not farther than within_de00 from the query (and more): low
 * and high of L*, a*, b*. Infinite where nothing bounds it. */
struct lab_box {
    double low[3], high[3];
};
struct lab_box nearest_box(struct lab query, double within_de00);

#endif
