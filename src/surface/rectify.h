/* A panel laid flat: a grid of square cells in millimetres over the photographs of it.
 *
 * A view says where a millimetre of the panel's plane lies in one photograph: by a located card, or by plain
 * millimetres per pixel (the camera looked straight at it; x and y in mm are then pixels times that). Pixels
 * have their origin at their corner, as everywhere here. */
#ifndef RUSSET_SURFACE_RECTIFY_H
#define RUSSET_SURFACE_RECTIFY_H

#include "base/work.h"
#include "surface/locate.h"

enum { POLYGON_MOST = 256 };

struct polygon {
    int corners;
    struct point corner[POLYGON_MOST];
};

/* Even-odd rule; a point on an edge belongs to one of the two sides. */
bool polygon_holds(const struct polygon *polygon, struct point at);
double polygon_area(const struct polygon *polygon); /* of the outline, never negative */

struct plane_view {
    const struct located *located; /* NULL: mm_per_px holds */
    double mm_per_px;
};
struct point view_to_pixel(const struct plane_view *view, struct point mm);
struct point view_to_mm(const struct plane_view *view, struct point px);

struct panel_grid {
    int width, height;
    double cell_mm;
    struct point origin_mm; /* of the corner of cell (0, 0) */
};

enum { GRID_MOST_CELLS = 3200000 };
#define GRID_FINEST_MM .04

/* A grid over a polygon told in pixels: cells of whole pixels of the photograph at the polygon's middle, as
 * few as hold the grid under GRID_MOST_CELLS and no finer than GRID_FINEST_MM needs. False when nothing is in
 * it. *out_mm gets the polygon in mm. */
bool grid_over(const struct polygon *px, const struct plane_view *view, struct panel_grid *out,
               struct polygon *out_mm) MUST_USE;
/* Sets the cells whose centre the polygon (mm) holds to 1, all others to 0. */
void grid_fill(const struct panel_grid *grid, const struct polygon *mm, uint8_t *cells);

/* Linear sRGB of every cell (mean over what it covers), a plane each; cells that lie outside the photograph
 * are cleared from inside[]. Two threads; the same result for any number. */
void rectify_picture(const struct picture *picture, const struct plane_view *view,
                     const struct panel_grid *grid, struct work *work, float *const rgb[3], uint8_t *inside);

#endif
