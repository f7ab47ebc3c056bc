/* The codes of the family tag36h11 are libapriltag's (Olson 2011, "AprilTag: a robust and flexible visual
 * fiducial system"; BSD 2-clause), so what is printed is what is looked for. */
#include "surface/tag_cells.h"
#include <apriltag/apriltag.h>
#include <apriltag/tag36h11.h>
#include <assert.h>

void tag_cells(int id, bool cell[TAG_CELLS][TAG_CELLS]) {
    apriltag_family_t *family = tag36h11_create();
    assert(id >= 0 && (unsigned)id < family->ncodes && family->total_width == TAG_CELLS);
    for (int r = 0; r < TAG_CELLS; r++)
        for (int c = 0; c < TAG_CELLS; c++)
            cell[r][c] = r >= TAG_BORDER && c >= TAG_BORDER && r < TAG_CELLS - TAG_BORDER &&
                         c < TAG_CELLS - TAG_BORDER;
    for (unsigned i = 0; i < family->nbits; i++) /* a set bit is white; the first is the highest */
        if (family->codes[id] >> (family->nbits - 1 - i) & 1)
            cell[family->bit_y[i] + TAG_BORDER][family->bit_x[i] + TAG_BORDER] = false;
    tag36h11_destroy(family);
}
