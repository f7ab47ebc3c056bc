/* The picture of a tag: black and white cells. */
#ifndef RUSSET_SURFACE_TAG_CELLS_H
#define RUSSET_SURFACE_TAG_CELLS_H

#include <stdbool.h>

enum { TAG_CELLS = 10, TAG_BORDER = 1 /* of white around the black square */ };

/* cell[row][column]: true is black. id 0..586 of the family tag36h11, white border of one cell included. */
void tag_cells(int id, bool cell[TAG_CELLS][TAG_CELLS]);

#endif
