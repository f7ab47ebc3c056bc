/* Screens: IEC 61966-2-1, 5.2 turned round: 12.92 v up to .0031308, else 1.055 v^(1/2.4) - .055. Making
 * small: output pixel i covers [i w/n, (i+1) w/n) of the photograph; whole pixels only, so its mean is over
 * at least one. Grey PNG keeps 8 or 16 bits; 16-bit values are stored most significant byte first. */
#include "formats/picture_out.h"
#include <assert.h>
#include <math.h>
#include <png.h>
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

enum { CURVE_STEPS = 4096 };

static double to_screen(double v) {
    return v <= .0031308 ? 12.92 * v : 1.055 * pow(v, 1 / 2.4) - .055;
}

/* The mean light of a block of the photograph. */
static void mean_block(const struct picture *p, int x0, int x1, int y0, int y1, double mean[3]) {
    uint64_t sum[3] = {0, 0, 0};
    for (int y = y0; y < y1; y++) {
        const uint16_t *at = picture_at(p, x0, y);
        for (int x = x0; x < x1; x++, at += 3)
            for (int c = 0; c < 3; c++) sum[c] += at[c];
    }
    const double n = (double)(x1 - x0) * (double)(y1 - y0) * 65535;
    for (int c = 0; c < 3; c++) mean[c] = (double)sum[c] / n;
}

static int start_of(int i, int from, int to) {
    return (int)((int64_t)i * from / to);
}

static int end_of(int i, int from, int to) {
    const int start = start_of(i, from, to), end = start_of(i + 1, from, to);
    return end > start ? end : start + 1;
}

/* The light that all but a hundredth of some ten thousand pixels stay under. */
static double gain_of(const struct picture *p) {
    enum { BINS = 1024 };
    static const size_t wanted = 10000;
    size_t count[BINS] = {0}, seen = 0;
    const size_t pixels = (size_t)p->width * (size_t)p->height, step = pixels / wanted + 1;
    for (size_t i = 0; i < pixels; i += step, seen++) {
        double most = 0;
        for (int k = 0; k < 3; k++) {
            const double *m = p->to_srgb + 3 * k;
            const uint16_t *v = p->rgb + 3 * i;
            most = fmax(most, (m[0] * v[0] + m[1] * v[1] + m[2] * v[2]) / 65535);
        }
        count[most >= 1 ? BINS - 1 : (int)(most * BINS)]++;
    }
    size_t over = 0;
    int bin = BINS;
    while (bin > 1 && over * 100 <= seen) over += count[--bin];
    return (double)BINS / (bin + 1);
}

static void fill_row(const struct picture *p, double gain, const uint8_t *curve, int y,
                     const struct screen_picture *out) {
    const int y0 = start_of(y, p->height, out->height), y1 = end_of(y, p->height, out->height);
    uint8_t *to = out->rgb + 3 * (size_t)y * (size_t)out->width;
    for (int x = 0; x < out->width; x++, to += 3) {
        double v[3];
        mean_block(p, start_of(x, p->width, out->width), end_of(x, p->width, out->width), y0, y1, v);
        for (int k = 0; k < 3; k++) {
            const double *m = p->to_srgb + 3 * k, light = gain * (m[0] * v[0] + m[1] * v[1] + m[2] * v[2]);
            to[k] = curve[light > 0 ? light < 1 ? (int)(light * CURVE_STEPS + .5) : CURVE_STEPS : 0];
        }
    }
}

void screen_picture_of(const struct picture *picture, int longest, double gain, struct arena *arena,
                       struct screen_picture *out) {
    const int side = picture->width > picture->height ? picture->width : picture->height;
    const double scale = longest > 0 && longest < side ? (double)longest / side : 1;
    const int width = (int)(picture->width * scale + .5), height = (int)(picture->height * scale + .5);
    out->width = width > 0 ? width : 1;
    out->height = height > 0 ? height : 1;
    out->rgb = arena_need(arena, (size_t)out->width * (size_t)out->height, 3);
    uint8_t *curve = arena_need(arena, CURVE_STEPS + 1, 1);
    for (int i = 0; i <= CURVE_STEPS; i++)
        curve[i] = (uint8_t)(255 * to_screen((double)i / CURVE_STEPS) + .5);
    if (!(gain > 0)) gain = gain_of(picture);
    for (int y = 0; y < out->height; y++) fill_row(picture, gain, curve, y, out);
}

/* What a PNG is made of. */
struct sheet {
    int width, height, bits, colour; /* PNG_COLOR_TYPE_... */
    double px_per_mm;                /* 0: not told */
    const struct plane_scale *scale; /* its words, or NULL */
    void (*row)(const struct sheet *sheet, int y, unsigned char *to);
    const void *from;
};

static void add_bytes(png_structp writer, png_bytep bytes, size_t n) {
    text_add_bytes(png_get_io_ptr(writer), bytes, n);
}

static void flush_nothing(png_structp writer) {
    (void)writer;
}

static void quiet(png_structp writer, png_const_charp text) {
    (void)writer, (void)text;
}

static void tell_scale(png_structp writer, png_infop info, const struct sheet *sheet) {
    if (sheet->px_per_mm > 0 && sheet->px_per_mm < 1e6) {
        const png_uint_32 per_metre = (png_uint_32)(1000 * sheet->px_per_mm + .5);
        png_set_pHYs(writer, info, per_metre, per_metre, PNG_RESOLUTION_METER);
    }
    if (!sheet->scale) return;
    char words[3][40], keys[3][8] = {"unit", "low", "high"};
    png_text texts[3] = {{0}};
    snprintf(words[0], sizeof words[0], "%s", sheet->scale->unit);
    number_text(words[1], sheet->scale->low);
    number_text(words[2], sheet->scale->high);
    for (int i = 0; i < 3; i++) {
        texts[i].compression = PNG_TEXT_COMPRESSION_NONE;
        texts[i].key = keys[i];
        texts[i].text = words[i];
        texts[i].text_length = strlen(words[i]);
    }
    png_set_text(writer, info, texts, 3);
}

/* Between setjmp and longjmp only memory is touched that the caller owns. */
static void write_sheet(png_structp writer, png_infop info, const struct sheet *sheet, unsigned char *row) {
    png_set_IHDR(writer, info, (png_uint_32)sheet->width, (png_uint_32)sheet->height, sheet->bits,
                 sheet->colour, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_BASE, PNG_FILTER_TYPE_BASE);
    png_set_compression_level(writer, 4);
    if (sheet->colour == PNG_COLOR_TYPE_RGB) png_set_sRGB(writer, info, PNG_sRGB_INTENT_RELATIVE);
    tell_scale(writer, info, sheet);
    png_write_info(writer, info);
    for (int y = 0; y < sheet->height; y++) {
        sheet->row(sheet, y, row);
        png_write_row(writer, row);
    }
    png_write_end(writer, info);
}

static enum status png_of(const struct sheet *sheet, struct text *bytes, struct fault *fault) {
    assert(sheet->width > 0 && sheet->height > 0);
    png_structp writer = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, quiet);
    png_infop info = writer ? png_create_info_struct(writer) : NULL;
    unsigned char *row = memory_need((size_t)sheet->width, 6);
    bool written = false;
    if (info && !setjmp(png_jmpbuf(writer))) {
        png_set_write_fn(writer, bytes, add_bytes, flush_nothing);
        write_sheet(writer, info, sheet, row);
        written = true;
    }
    png_destroy_write_struct(&writer, &info);
    memory_free(row);
    return written ? STATUS_OK : FAULT(fault, PICTURE_NOT_MADE, "PNG");
}

static void rgb_row(const struct sheet *sheet, int y, unsigned char *to) {
    const struct screen_picture *p = sheet->from;
    memcpy(to, p->rgb + 3 * (size_t)y * (size_t)p->width, 3 * (size_t)p->width);
}

static void mask_row(const struct sheet *sheet, int y, unsigned char *to) {
    memcpy(to, (const uint8_t *)sheet->from + (size_t)y * (size_t)sheet->width, (size_t)sheet->width);
}

static void plane_row(const struct sheet *sheet, int y, unsigned char *to) {
    const float *from = (const float *)sheet->from + (size_t)y * (size_t)sheet->width;
    const double low = sheet->scale->low, range = sheet->scale->high - low;
    for (int x = 0; x < sheet->width; x++) {
        const double v = ((double)from[x] - low) / range;
        const unsigned word = v > 0 ? v < 1 ? (unsigned)(65535 * v + .5) : 65535 : 0;
        *to++ = (unsigned char)(word >> 8);
        *to++ = (unsigned char)(word & 255);
    }
}

enum status picture_out_png(const struct screen_picture *picture, struct text *bytes, struct fault *fault) {
    const struct sheet sheet = {picture->width, picture->height, 8,      PNG_COLOR_TYPE_RGB, 0,
                                NULL,           rgb_row,         picture};
    return png_of(&sheet, bytes, fault);
}

enum status picture_out_mask(const uint8_t *mask, int width, int height, double px_per_mm, struct text *bytes,
                             struct fault *fault) {
    const struct sheet sheet = {width, height, 8, PNG_COLOR_TYPE_GRAY, px_per_mm, NULL, mask_row, mask};
    return png_of(&sheet, bytes, fault);
}

enum status picture_out_plane(const float *plane, int width, int height, const struct plane_scale *scale,
                              struct text *bytes, struct fault *fault) {
    assert(scale->high > scale->low && scale->unit);
    const struct sheet sheet = {width, height,    16,   PNG_COLOR_TYPE_GRAY, scale->px_per_mm,
                                scale, plane_row, plane};
    return png_of(&sheet, bytes, fault);
}

struct jpeg_errors {
    struct jpeg_error_mgr base;
    jmp_buf away;
};

static void leave(j_common_ptr info) {
    struct jpeg_errors *errors = (struct jpeg_errors *)(void *)info->err;
    longjmp(errors->away, 1);
}

static void write_jpeg(struct jpeg_compress_struct *j, const struct screen_picture *picture) {
    j->image_width = (JDIMENSION)picture->width;
    j->image_height = (JDIMENSION)picture->height;
    j->input_components = 3;
    j->in_color_space = JCS_RGB;
    jpeg_set_defaults(j);
    jpeg_set_quality(j, PICTURE_OUT_JPEG_QUALITY, TRUE);
    jpeg_start_compress(j, TRUE);
    while (j->next_scanline < j->image_height) {
        JSAMPROW row = picture->rgb + 3 * (size_t)j->next_scanline * (size_t)picture->width;
        jpeg_write_scanlines(j, &row, 1);
    }
    jpeg_finish_compress(j);
}

enum status picture_out_jpeg(const struct screen_picture *picture, struct text *bytes, struct fault *fault) {
    struct jpeg_compress_struct j;
    struct jpeg_errors errors;
    struct {
        unsigned char *data;
        unsigned long size;
    } *made = memory_need(1, sizeof *made); /* on the heap: it must survive the jump */
    memset(&j, 0, sizeof j);
    j.err = jpeg_std_error(&errors.base);
    errors.base.error_exit = leave;
    enum status status = STATUS_OK;
    if (!setjmp(errors.away)) {
        jpeg_create_compress(&j);
        jpeg_mem_dest(&j, &made->data, &made->size);
        write_jpeg(&j, picture);
        text_add_bytes(bytes, made->data, made->size);
    } else
        status = FAULT(fault, PICTURE_NOT_MADE, "JPEG");
    jpeg_destroy_compress(&j);
    free(made->data);
    memory_free(made);
    return status;
}
