/* A sheet of paper in millimetres: text in the shipped font, rules, swatches, curves, tick boxes and QR
 * codes, as PDF, SVG or PNG bytes. Achromatic by design: the only colour on a paper is the material's. The
 * same calls give the same bytes: no clock, no locale, no installed font takes part. Origin at the top left,
 * y down. */
#ifndef RUSSET_REPORT_PAGE_H
#define RUSSET_REPORT_PAGE_H

#include "base/fault.h"
#include "base/text.h"
#include "colour/screen.h"
#include "colour/spectrum.h"
#include <stdbool.h>

enum page_kind { PAGE_PDF, PAGE_SVG, PAGE_PNG };
enum page_align { PAGE_LEFT, PAGE_CENTRE, PAGE_RIGHT };

struct page_size {
    double width_mm, height_mm;
};
extern const struct page_size PAGE_A4, PAGE_A5, PAGE_LETTER;

struct page;
/* title: of the document, UTF-8. PNG is drawn at 300 pixels an inch. */
struct page *page_new(enum page_kind kind, struct page_size size, const char *title);
enum page_kind page_kind_of(const struct page *page);
void page_next(struct page *page); /* a further sheet; PDF only */
/* The bytes; frees the page either way. MACHINE when the drawing library gave up. */
enum status page_finish(struct page *page, struct text *out, struct fault *fault) MUST_USE;

struct page_type {
    double size_pt;
    bool bold;
    int heading; /* 1, 2: tagged as a heading of that level in a PDF; 0: none */
    double grey; /* 0 black .. 1 white */
    enum page_align align;
};

/* One line with its baseline at y. When it is wider than width_mm (> 0) it is set smaller, down to three
 * quarters, and then cut with an ellipsis: a name never runs over its neighbour. x is the left edge, middle
 * or right edge, by align. Returns the width in mm. */
double page_text(struct page *page, double x, double y, double width_mm, struct page_type type,
                 const char *text);
/* The size that page_text would set it in. */
double page_text_size(struct page *page, double width_mm, struct page_type type, const char *text);
/* Lines broken at width_mm from the top y down, at most height_mm (the rest is cut with an ellipsis). Returns
 * the height used. */
double page_paragraph(struct page *page, double x, double y, struct page_size most, struct page_type type,
                      const char *text);

/* What page_paragraph would use when nothing was cut. */
double page_paragraph_height(struct page *page, double width_mm, struct page_type type, const char *text);

void page_line(struct page *page, double x0, double y0, double x1, double y1, double width_mm, double grey);
void page_box(struct page *page, double x, double y, struct page_size size, double grey);
/* Filled squares without hairs between them: cells[rows * columns], true is black. */
void page_cells(struct page *page, double x, double y, double side_mm, const bool *cells, int rows,
                int columns);
void page_swatch(struct page *page, double x, double y, struct page_size size, struct screen_colour colour);
/* Structure of a PDF around the texts drawn between the two calls: "Table", "TR", "L", "Sect"; nothing in
 * other kinds. Inside "TR" texts are tagged as cells, inside "L" as items. */
void page_open(struct page *page, const char *tag);
void page_close(struct page *page, const char *tag);

/* A photograph, 8 bits a channel, rows without gaps; drawn as large as fits, in the middle of the box, at the
 * resolution that it has. */
struct page_picture {
    int width, height;
    const unsigned char *rgb;
};
void page_image(struct page *page, double x, double y, struct page_size box,
                const struct page_picture *picture);

void page_tick_box(struct page *page, double x, double y, double side_mm);

/* A reflectance curve; dash in mm (0: drawn through). */
struct page_curve {
    const struct spectrum *curve;
    double grey, width_mm, dash_mm;
};
/* A frame with nm along it and per cent up it (0 .. the next round figure over the highest value), and its
 * curves. */
void page_curves(struct page *page, double x, double y, struct page_size size, const struct page_curve *curve,
                 size_t count);

/* A QR code of the text (error level M, L when it would pass version 25) with its quiet zone inside side_mm.
 * INPUT when no QR code can hold it. */
enum status page_qr(struct page *page, double x, double y, double side_mm, const char *text,
                    struct fault *fault) MUST_USE;

#endif
