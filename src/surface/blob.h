/* Connected parts of a mask (8 neighbours): numbered, measured, and thinned to lines one cell wide. */
#ifndef RUSSET_SURFACE_BLOB_H
#define RUSSET_SURFACE_BLOB_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct blob {
    size_t cells;
    int seed;                       /* index of one of its cells */
    double x, y, long_sd, short_sd; /* middle, and the standard deviations along its axes, in cells */
};

/* label[i]: 0, or 1 + the index of its blob, in the order of their first cells by rows. *out is the caller's
 * to memory_free. */
size_t blob_label(const uint8_t *mask, int width, int height, int32_t *label, struct blob **out);
/* How many of the eight cells about one are in the mask. */
int blob_neighbours(const uint8_t *mask, int width, int height, int at);
/* Zhang & Suen 1984, Comm. ACM 27:236, in place: 1 stays, 0 goes. */
void blob_thin(uint8_t *mask, int width, int height);
/* Takes twigs of at most `most` cells off thinned lines: what runs from a free end to where lines meet. */
void blob_prune(uint8_t *thin, int width, int height, int most);

#endif
