/* Outlines are white on black, so that they are seen on any photograph: a tag that was used has its corners
 * ringed, a patch shows the part that was averaged, a spot its disc. */
#include "report/photo_overlay.h"
#include "base/memory.h"
#include <cairo.h>
#include <math.h>
#include <stdint.h>

static const double side_most = 1600;
static const double patch_share = .6, window_share = .8; /* as camera_shoot takes them */

struct sketch {
    cairo_t *cr;
    const struct located *located;
    double scale;
};

static double encoded(double v) {
    if (v <= .0031308) return 12.92 * fmax(v, 0);
    return 1.055 * pow(fmin(v, 1), 1 / 2.4) - .055;
}

static uint32_t shown(const struct picture *picture, const uint16_t *rgb) {
    double v[3], to[3] = {0};
    bool given = false;
    for (int c = 0; c < 3; c++) v[c] = rgb[c] / 65535.;
    for (int i = 0; i < 9; i++) {
        to[i / 3] += picture->to_srgb[i] * v[i % 3];
        given |= picture->to_srgb[i] != 0;
    }
    uint32_t out = 0;
    for (int c = 0; c < 3; c++) out = out << 8 | (uint32_t)lround(255 * encoded(given ? to[c] : v[c]));
    return out;
}

static cairo_surface_t *reduced(const struct picture *picture, double scale) {
    const int width = (int)fmax(1, floor(scale * picture->width)),
              height = (int)fmax(1, floor(scale * picture->height));
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    if (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS) return surface;
    cairo_surface_flush(surface);
    uint32_t *to = (uint32_t *)(void *)cairo_image_surface_get_data(surface);
    const int stride = cairo_image_surface_get_stride(surface) / 4;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            const int px = (int)fmin(picture->width - 1, (x + .5) / scale),
                      py = (int)fmin(picture->height - 1, (y + .5) / scale);
            to[y * stride + x] = shown(picture, picture_at(picture, px, py));
        }
    cairo_surface_mark_dirty(surface);
    return surface;
}

static void stroke(cairo_t *cr) {
    cairo_set_source_rgb(cr, 0, 0, 0);
    cairo_set_line_width(cr, 3);
    cairo_stroke_preserve(cr);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_set_line_width(cr, 1.2);
    cairo_stroke(cr);
}

static void outline(const struct sketch *sketch, const double center[2], double side) {
    for (int i = 0; i < 4; i++) {
        const double x = i == 1 || i == 2 ? .5 : -.5, y = i >= 2 ? .5 : -.5;
        const struct point at =
            located_to_pixel(sketch->located, (struct point){center[0] + side * x, center[1] + side * y});
        cairo_line_to(sketch->cr, sketch->scale * at.x, sketch->scale * at.y);
    }
    cairo_close_path(sketch->cr);
    stroke(sketch->cr);
}

static void disc(const struct sketch *sketch, double x, double y, double r) {
    cairo_new_sub_path(sketch->cr);
    cairo_arc(sketch->cr, sketch->scale * x, sketch->scale * y, fmax(2, sketch->scale * r), 0, 2 * M_PI);
    stroke(sketch->cr);
}

static void draw(const struct sketch *sketch, const struct photo_card *card, const struct camera_spot spot[],
                 int spots) {
    for (int i = 0; i < sketch->located->tags; i++)
        for (int k = 0; k < 4 && sketch->located->tag[i].fate == TAG_USED; k++)
            disc(sketch, sketch->located->tag[i].corner[k].x, sketch->located->tag[i].corner[k].y,
                 5 / sketch->scale);
    for (int i = 0; i < card->patches; i++)
        if (card->patch[i].known != KNOWN_NOT)
            outline(sketch, card->patch[i].center_mm, patch_share * card->patch[i].size_mm);
    for (int i = 0; i < card->places; i++)
        outline(sketch, card->place[i].center_mm, patch_share * card->place[i].size_mm);
    for (int i = 0; i < spots; i++)
        if (spot[i].r > 0)
            disc(sketch, spot[i].x, spot[i].y, spot[i].r);
        else
            outline(sketch, card->window_center_mm, window_share * card->window_mm);
}

static cairo_status_t keep(void *closure, const unsigned char *data, unsigned int n) {
    text_add_bytes(closure, data, n);
    return CAIRO_STATUS_SUCCESS;
}

enum status photo_overlay(const struct picture *picture, const struct photo_card *card,
                          const struct located *located, const struct camera_spot spot[], int spots,
                          struct text *out, struct fault *fault) {
    const double scale = fmin(1, side_most / fmax(picture->width, picture->height));
    cairo_surface_t *surface = reduced(picture, scale);
    const struct sketch sketch = {cairo_create(surface), located, scale};
    draw(&sketch, card, spot, spots);
    const bool good = cairo_status(sketch.cr) == CAIRO_STATUS_SUCCESS &&
                      cairo_surface_write_to_png_stream(surface, keep, out) == CAIRO_STATUS_SUCCESS;
    cairo_destroy(sketch.cr);
    cairo_surface_destroy(surface);
    return good ? STATUS_OK : FAULT0(fault, OVERLAY_FAILED);
}
