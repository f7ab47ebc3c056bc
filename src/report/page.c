/* Cairo and Pango behind millimetres. Points are Cairo's unit for PDF and SVG, so 1 mm = 72/25.4 units
 * everywhere and a PNG is scaled as a whole. Metrics are not hinted: a line breaks at the same word on paper
 * and on screen. */
#include "report/page.h"
#include "base/memory.h"
#include "report/font.h"
#include <assert.h>
#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <qrencode.h>
#include <stdio.h>
#include <string.h>

const struct page_size PAGE_A4 = {210, 297}, PAGE_A5 = {148, 210}, PAGE_LETTER = {215.9, 279.4};
static const double MM = 72 / 25.4, PIXELS_PER_INCH = 300, SHRINK_MOST = .75;
static const char UNCHANGING_DATE[] = "2000-01-01T00:00:00Z"; /* a paper carries no clock */

struct page {
    enum page_kind kind;
    cairo_surface_t *surface;
    cairo_t *cr;
    PangoFontMap *map;
    PangoContext *context;
    unsigned warnings; /* of the fonts, before the first word */
    struct text bytes;
    const char *text_tag; /* of what is drawn now when it is no heading: P, TD, LI */
};

static cairo_status_t keep_bytes(void *closure, const unsigned char *data, unsigned int n) {
    text_add_bytes(closure, data, n);
    return CAIRO_STATUS_SUCCESS;
}

static cairo_surface_t *surface_new(struct page *page, struct page_size size, const char *title) {
    const double w = size.width_mm * MM, h = size.height_mm * MM;
    if (page->kind == PAGE_SVG) return cairo_svg_surface_create_for_stream(keep_bytes, &page->bytes, w, h);
    if (page->kind == PAGE_PNG) {
        const double scale = PIXELS_PER_INCH / 72;
        return cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)(w * scale + .5), (int)(h * scale + .5));
    }
    cairo_surface_t *pdf = cairo_pdf_surface_create_for_stream(keep_bytes, &page->bytes, w, h);
    if (text_is_utf8(title, strlen(title)))
        cairo_pdf_surface_set_metadata(pdf, CAIRO_PDF_METADATA_TITLE, title);
    cairo_pdf_surface_set_metadata(pdf, CAIRO_PDF_METADATA_CREATOR, "russet " RUSSET_VERSION);
    cairo_pdf_surface_set_metadata(pdf, CAIRO_PDF_METADATA_CREATE_DATE, UNCHANGING_DATE);
    return pdf;
}

static void set_font_options(PangoContext *context) {
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(context, options);
    pango_context_set_round_glyph_positions(context, FALSE);
    pango_context_set_language(context, pango_language_from_string("en"));
    cairo_font_options_destroy(options);
}

static void paint_white(struct page *page) {
    cairo_set_source_rgb(page->cr, 1, 1, 1);
    cairo_paint(page->cr);
}

struct page *page_new(enum page_kind kind, struct page_size size, const char *title) {
    struct page *page = memory_need(1, sizeof *page);
    page->kind = kind;
    page->text_tag = "P";
    page->surface = surface_new(page, size, title);
    page->cr = cairo_create(page->surface);
    if (kind == PAGE_PNG) cairo_scale(page->cr, PIXELS_PER_INCH / 72, PIXELS_PER_INCH / 72);
    cairo_scale(page->cr, MM, MM);
    if (kind == PAGE_PDF) cairo_tag_begin(page->cr, "Document", NULL);
    if (kind != PAGE_PDF) paint_white(page);
    page->warnings = font_warnings();
    page->map = font_map_new();
    if (page->map) page->context = pango_font_map_create_context(page->map);
    if (page->context) set_font_options(page->context);
    return page;
}

enum page_kind page_kind_of(const struct page *page) {
    return page->kind;
}

void page_next(struct page *page) {
    assert(page->kind == PAGE_PDF);
    cairo_show_page(page->cr);
}

static cairo_status_t end_surface(struct page *page) {
    if (page->kind == PAGE_PDF) cairo_tag_end(page->cr, "Document");
    if (page->kind == PAGE_PNG) {
        cairo_surface_flush(page->surface);
        const cairo_status_t status = cairo_status(page->cr);
        return status ? status : cairo_surface_write_to_png_stream(page->surface, keep_bytes, &page->bytes);
    }
    cairo_show_page(page->cr);
    cairo_surface_finish(page->surface);
    const cairo_status_t status = cairo_status(page->cr);
    return status ? status : cairo_surface_status(page->surface);
}

enum status page_finish(struct page *page, struct text *out, struct fault *fault) {
    const cairo_status_t ended = end_surface(page);
    enum status status = STATUS_OK;
    if (!page->context || font_warnings() != page->warnings)
        status = FAULT0(fault, PAPER_NO_FONT);
    else if (ended)
        status = FAULT(fault, PAPER_NOT_DRAWN, cairo_status_to_string(ended));
    else
        text_add_bytes(out, page->bytes.data, page->bytes.length);
    if (page->context) g_object_unref(page->context);
    if (page->map) g_object_unref(page->map);
    cairo_destroy(page->cr);
    cairo_surface_destroy(page->surface);
    text_free(&page->bytes);
    memory_free(page);
    return status;
}

/* Sizes are set in points of the page while the drawing runs in millimetres: one Pango unit is 1/1024 mm
 * here. */
static PangoLayout *layout_new(const struct page *page, struct page_type type, double size_pt,
                               const char *text) {
    PangoLayout *layout = pango_layout_new(page->context);
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, "Noto Sans");
    pango_font_description_set_weight(font, type.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_absolute_size(font, size_pt / MM * PANGO_SCALE);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    const size_t n = strlen(text);
    if (text_is_utf8(text, n)) pango_layout_set_text(layout, text, (int)n);
    return layout;
}

static double layout_width(PangoLayout *layout) {
    PangoRectangle logical;
    pango_layout_get_extents(layout, NULL, &logical);
    return (double)logical.width / PANGO_SCALE;
}

static void show_layout(struct page *page, double x, double y, struct page_type type, PangoLayout *layout) {
    const char *tag = type.heading == 1 ? "H1" : type.heading == 2 ? "H2" : page->text_tag;
    if (page->kind == PAGE_PDF) cairo_tag_begin(page->cr, tag, NULL);
    cairo_set_source_rgb(page->cr, type.grey, type.grey, type.grey);
    cairo_move_to(page->cr, x, y);
    pango_cairo_show_layout(page->cr, layout);
    if (page->kind == PAGE_PDF) cairo_tag_end(page->cr, tag);
}

double page_text_size(struct page *page, double width_mm, struct page_type type, const char *text) {
    if (!page->context || width_mm <= 0) return type.size_pt;
    PangoLayout *layout = layout_new(page, type, type.size_pt, text);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    const double part = width_mm / fmax(layout_width(layout), 1e-9);
    g_object_unref(layout);
    return type.size_pt * (part >= 1 ? 1 : part > SHRINK_MOST ? part * .999 : SHRINK_MOST);
}

/* Smaller first, then cut. */
static PangoLayout *layout_fitting(struct page *page, double width_mm, struct page_type type,
                                   const char *text) {
    const double size_pt = page_text_size(page, width_mm, type, text);
    PangoLayout *layout = layout_new(page, type, size_pt, text);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    if (size_pt == type.size_pt) return layout;
    pango_layout_set_width(layout, (int)(width_mm * PANGO_SCALE));
    pango_layout_set_height(layout, -1); /* one line */
    pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
    return layout;
}

double page_text(struct page *page, double x, double y, double width_mm, struct page_type type,
                 const char *text) {
    if (!page->context) return 0;
    PangoLayout *layout = layout_fitting(page, width_mm, type, text);
    const double width = layout_width(layout);
    const double baseline = (double)pango_layout_get_baseline(layout) / PANGO_SCALE;
    const double left = type.align == PAGE_LEFT ? x : type.align == PAGE_RIGHT ? x - width : x - width / 2;
    pango_layout_set_width(layout, pango_layout_is_ellipsized(layout) ? (int)(width_mm * PANGO_SCALE) : -1);
    show_layout(page, left, y - baseline, type, layout);
    g_object_unref(layout);
    return width;
}

double page_paragraph(struct page *page, double x, double y, struct page_size most, struct page_type type,
                      const char *text) {
    if (!page->context) return 0;
    PangoLayout *layout = layout_new(page, type, type.size_pt, text);
    pango_layout_set_width(layout, (int)(most.width_mm * PANGO_SCALE));
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_height(layout, (int)(most.height_mm * PANGO_SCALE));
    pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
    if (type.align != PAGE_LEFT)
        pango_layout_set_alignment(layout, type.align == PAGE_RIGHT ? PANGO_ALIGN_RIGHT : PANGO_ALIGN_CENTER);
    show_layout(page, x, y, type, layout);
    PangoRectangle logical;
    pango_layout_get_extents(layout, NULL, &logical);
    g_object_unref(layout);
    return (double)logical.height / PANGO_SCALE;
}

double page_paragraph_height(struct page *page, double width_mm, struct page_type type, const char *text) {
    if (!page->context) return 0;
    PangoLayout *layout = layout_new(page, type, type.size_pt, text);
    pango_layout_set_width(layout, (int)(width_mm * PANGO_SCALE));
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    PangoRectangle logical;
    pango_layout_get_extents(layout, NULL, &logical);
    g_object_unref(layout);
    return (double)logical.height / PANGO_SCALE;
}

void page_line(struct page *page, double x0, double y0, double x1, double y1, double width_mm, double grey) {
    cairo_set_source_rgb(page->cr, grey, grey, grey);
    cairo_set_line_width(page->cr, width_mm);
    cairo_move_to(page->cr, x0, y0);
    cairo_line_to(page->cr, x1, y1);
    cairo_stroke(page->cr);
}

void page_box(struct page *page, double x, double y, struct page_size size, double grey) {
    cairo_set_source_rgb(page->cr, grey, grey, grey);
    cairo_rectangle(page->cr, x, y, size.width_mm, size.height_mm);
    cairo_fill(page->cr);
}

void page_cells(struct page *page, double x, double y, double side, const bool *cells, int rows,
                int columns) {
    cairo_set_source_rgb(page->cr, 0, 0, 0);
    for (int i = 0; i < rows * columns; i++)
        if (cells[i])
            cairo_rectangle(page->cr, x + side * (i % columns), y + side * (i / columns), side, side);
    cairo_fill(page->cr); /* one path: no hair between neighbours */
}

void page_swatch(struct page *page, double x, double y, struct page_size size, struct screen_colour colour) {
    cairo_save(page->cr);
    cairo_set_antialias(page->cr, CAIRO_ANTIALIAS_NONE); /* no white hair between two swatches that touch */
    cairo_set_source_rgb(page->cr, colour.r, colour.g, colour.b);
    cairo_rectangle(page->cr, x, y, size.width_mm, size.height_mm);
    cairo_fill(page->cr);
    cairo_restore(page->cr);
}

void page_open(struct page *page, const char *tag) {
    if (page->kind != PAGE_PDF) return;
    cairo_tag_begin(page->cr, tag, NULL);
    page->text_tag = strcmp(tag, "TR") == 0 ? "TD" : strcmp(tag, "L") == 0 ? "LI" : page->text_tag;
}

void page_close(struct page *page, const char *tag) {
    if (page->kind != PAGE_PDF) return;
    cairo_tag_end(page->cr, tag);
    page->text_tag = "P";
}

static cairo_surface_t *surface_of_picture(const struct page_picture *picture) {
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture->width, picture->height);
    if (cairo_surface_status(surface)) return surface;
    unsigned char *rows = cairo_image_surface_get_data(surface);
    const size_t stride = (size_t)cairo_image_surface_get_stride(surface);
    for (int y = 0; y < picture->height; y++)
        for (int x = 0; x < picture->width; x++) {
            const unsigned char *from = picture->rgb + 3 * ((size_t)y * (size_t)picture->width + (size_t)x);
            const uint32_t pixel = (uint32_t)from[0] << 16 | (uint32_t)from[1] << 8 | from[2];
            memcpy(rows + (size_t)y * stride + 4 * (size_t)x, &pixel, sizeof pixel);
        }
    cairo_surface_mark_dirty(surface);
    return surface;
}

void page_image(struct page *page, double x, double y, struct page_size box,
                const struct page_picture *picture) {
    const double scale = fmin(box.width_mm / picture->width, box.height_mm / picture->height);
    cairo_surface_t *surface = surface_of_picture(picture);
    cairo_save(page->cr);
    cairo_translate(page->cr, x + (box.width_mm - scale * picture->width) / 2,
                    y + (box.height_mm - scale * picture->height) / 2);
    cairo_scale(page->cr, scale, scale);
    cairo_set_source_surface(page->cr, surface, 0, 0);
    cairo_pattern_set_filter(cairo_get_source(page->cr), CAIRO_FILTER_GOOD);
    cairo_paint(page->cr);
    cairo_restore(page->cr);
    cairo_surface_destroy(surface);
}

void page_tick_box(struct page *page, double x, double y, double side_mm) {
    cairo_set_source_rgb(page->cr, 0, 0, 0);
    cairo_set_line_width(page->cr, .35);
    cairo_rectangle(page->cr, x, y, side_mm, side_mm);
    cairo_stroke(page->cr);
}

/* The round figure, in per cent, that holds every curve. */
static double ceiling_percent(const struct page_curve *curve, size_t count) {
    double most = 0;
    for (size_t c = 0; c < count; c++)
        for (int b = 0; b < BANDS; b++)
            most = 100 * curve[c].curve->band[b] > most ? 100 * curve[c].curve->band[b] : most;
    static const double round_figures[] = {5, 10, 20, 40, 60, 80, 100};
    size_t i = 0;
    while (i < 6 && most > round_figures[i]) i++;
    return most > 100 ? most : round_figures[i];
}

static void draw_frame(struct page *page, double x, double y, struct page_size size, double ceiling) {
    const struct page_type small = {.size_pt = 5.5, .grey = .35, .align = PAGE_CENTRE};
    const double bottom = y + size.height_mm;
    for (int i = 0; i <= 4; i++)
        page_line(page, x, y + size.height_mm * i / 4, x + size.width_mm, y + size.height_mm * i / 4,
                  i == 4 ? .2 : .1, i == 4 ? .3 : .8);
    for (int nm = 400; nm <= 700; nm += 100) {
        const double at = x + size.width_mm * (nm - 400) / 300;
        char text[24];
        snprintf(text, sizeof text, nm == 700 ? "%d nm" : "%d", nm);
        page_line(page, at, bottom, at, bottom + .8, .15, .3);
        struct page_type type = small;
        if (nm == 700) type.align = PAGE_RIGHT;
        page_text(page, nm == 700 ? at + 1 : at, bottom + 3.2, 0, type, text);
    }
    char top[24];
    snprintf(top, sizeof top, "%.0f %%", ceiling);
    page_text(page, x, y - .8, 0, (struct page_type){.size_pt = 5.5, .grey = .35}, top);
}

static void draw_curve(struct page *page, double x, double y, struct page_size size,
                       const struct page_curve *curve, double ceiling) {
    cairo_t *cr = page->cr;
    cairo_save(cr);
    cairo_new_path(cr); /* a text before leaves its point behind */
    for (int b = 0; b < BANDS; b++) {
        const double r = curve->curve->band[b], up = r < 0 ? 0 : 100 * r / ceiling;
        cairo_line_to(cr, x + size.width_mm * b / (BANDS - 1), y + size.height_mm * (1 - up));
    }
    cairo_set_source_rgb(cr, curve->grey, curve->grey, curve->grey);
    cairo_set_line_width(cr, curve->width_mm);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
    if (curve->dash_mm > 0) cairo_set_dash(cr, &curve->dash_mm, 1, 0);
    cairo_stroke(cr);
    cairo_restore(cr);
}

void page_curves(struct page *page, double x, double y, struct page_size size, const struct page_curve *curve,
                 size_t count) {
    const double ceiling = ceiling_percent(curve, count);
    draw_frame(page, x, y, size, ceiling);
    for (size_t i = 0; i < count; i++) draw_curve(page, x, y, size, &curve[i], ceiling);
}

static QRcode *encode(const char *text) {
    QRcode *medium = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);
    if (medium && medium->version <= 25) return medium;
    QRcode_free(medium);
    return QRcode_encodeString8bit(text, 0, QR_ECLEVEL_L);
}

enum status page_qr(struct page *page, double x, double y, double side_mm, const char *text,
                    struct fault *fault) {
    QRcode *code = encode(text);
    if (!code) return FAULT(fault, PAPER_QR_TOO_LONG, COUNT_TEXT((long long)strlen(text)));
    const double quiet = 4, module = side_mm / (code->width + 2 * quiet);
    cairo_save(page->cr);
    cairo_set_antialias(page->cr, CAIRO_ANTIALIAS_NONE);
    cairo_set_source_rgb(page->cr, 0, 0, 0);
    for (int row = 0; row < code->width; row++)
        for (int column = 0; column < code->width; column++)
            if (code->data[row * code->width + column] & 1)
                cairo_rectangle(page->cr, x + module * (column + quiet), y + module * (row + quiet), module,
                                module);
    cairo_fill(page->cr);
    cairo_restore(page->cr);
    QRcode_free(code);
    return STATUS_OK;
}
