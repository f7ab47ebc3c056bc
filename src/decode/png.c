/* PNG (ISO/IEC 15948) by libpng: 8 and 16 bits, palettes, interlaced or not; alpha is dropped. The curve
 * comes from iCCP, else sRGB, else gAMA (11.3.3: iCCP and sRGB overrule gAMA; a gAMA of
 * 1/2.2 is what sRGB pictures carry for programs that know no better, and is taken as sRGB); orientation from
 * eXIf. Checksums must be right. */
#include "decode/decode.h"
#include "decode/exif.h"
#include <math.h>
#include <png.h>
#include <setjmp.h>
#include <stdlib.h>
#include <string.h>

struct png {
    png_structp reader;
    png_infop info;
    const unsigned char *data;
    size_t size, at;
    jmp_buf away;
    enum wire_refusal refusal;
    unsigned char *rows; /* one row, or all of an interlaced picture */
    struct file_light light;
    int bits, bands;
    size_t stride;
};

static void leave(png_structp reader, png_const_charp text) {
    struct png *p = png_get_error_ptr(reader);
    (void)text;
    longjmp(p->away, 1);
}

static void remark(png_structp reader, png_const_charp text) {
    (void)reader, (void)text;
}

static void give_bytes(png_structp reader, png_bytep to, size_t n) {
    struct png *p = png_get_io_ptr(reader);
    if (n > p->size - p->at) png_error(reader, "cut short");
    memcpy(to, p->data + p->at, n);
    p->at += n;
}

static void find_light(struct png *p) {
    const double clip = 254 / 255.;
    png_charp name;
    int compression, intent;
    png_bytep icc;
    png_uint_32 size;
    double gamma;
    if (png_get_iCCP(p->reader, p->info, &name, &compression, &icc, &size))
        light_of_profile(&p->light, icc, size, clip);
    else if (png_get_sRGB(p->reader, p->info, &intent))
        light_of_srgb(&p->light, true, clip);
    else if (png_get_gAMA(p->reader, p->info, &gamma) && fabs(gamma - 1 / 2.2) < 1e-4)
        light_of_srgb(&p->light, true, clip);
    else if (png_get_gAMA(p->reader, p->info, &gamma) && gamma > .1 && gamma < 4)
        light_of_gamma(&p->light, 1 / gamma, clip);
    else
        light_of_srgb(&p->light, false, clip);
}

static int find_orientation(struct png *p) {
    png_uint_32 size = 0;
    png_bytep bytes = NULL;
    struct exif exif;
    exif_read(NULL, 0, &exif);
    if (png_get_eXIf_1(p->reader, p->info, &size, &bytes)) exif_read(bytes, size, &exif);
    return exif.orientation;
}

/* Everything to red, green, blue of 8 or 16 bits; alpha stays behind them where there is any. */
static void ask_for_rgb(struct png *p) {
    const int colour = png_get_color_type(p->reader, p->info);
    if (colour == PNG_COLOR_TYPE_PALETTE) png_set_palette_to_rgb(p->reader);
    p->bits = png_get_bit_depth(p->reader, p->info) == 16 ? 16 : 8;
    if (p->bits == 16) png_set_swap(p->reader);
    if (colour & PNG_COLOR_MASK_ALPHA) png_set_strip_alpha(p->reader);
}

static bool send_row(struct png *p, struct sink *sink, const unsigned char *row) {
    if (p->bits == 8) return sink_rows8(sink, 1, row, p->stride, p->bands);
    return sink_rows16(sink, 1, (const uint16_t *)(const void *)row, p->stride, p->bands, &p->light);
}

/* An interlaced picture is only whole when its last pass is. */
static bool read_rows(struct png *p, struct sink *sink, size_t height) {
    const int passes = png_set_interlace_handling(p->reader);
    png_read_update_info(p->reader, p->info);
    p->stride = png_get_rowbytes(p->reader, p->info);
    p->bands = png_get_channels(p->reader, p->info);
    if (p->bands < 3 || p->bands > 4) png_error(p->reader, "not three values");
    p->rows = calloc(passes > 1 ? height : 1, p->stride);
    if (!p->rows) return false;
    for (int pass = 1; pass < passes; pass++)
        for (size_t y = 0; y < height; y++) png_read_row(p->reader, p->rows + y * p->stride, NULL);
    for (size_t y = 0; y < height; y++) {
        unsigned char *row = p->rows + (passes > 1 ? y * p->stride : 0);
        png_read_row(p->reader, row, NULL);
        if (!send_row(p, sink, row)) return false;
    }
    return true;
}

static void decode(struct png *p, struct sink *sink) {
    png_set_user_limits(p->reader, 1U << 20, 1U << 20);
    png_set_chunk_cache_max(p->reader, 64);
    png_set_chunk_malloc_max(p->reader, 16U << 20);
    png_set_crc_action(p->reader, PNG_CRC_ERROR_QUIT, PNG_CRC_WARN_DISCARD);
    png_read_info(p->reader, p->info);
    p->refusal = WIRE_REFUSED_GREY;
    if (!(png_get_color_type(p->reader, p->info) & PNG_COLOR_MASK_COLOR)) return;
    find_light(p);
    ask_for_rgb(p);
    if (p->bits == 16) light_widen(&p->light);
    const size_t height = png_get_image_height(p->reader, p->info);
    p->refusal = sink_begin(sink, png_get_image_width(p->reader, p->info), (long long)height,
                            find_orientation(p), p->bits, &p->light);
    if (p->refusal != WIRE_REFUSED_NOTHING) return;
    p->refusal = WIRE_REFUSED_DAMAGED;
    if (!read_rows(p, sink, height)) {
        p->refusal = WIRE_REFUSED_MEMORY;
        return;
    }
    png_read_end(p->reader, NULL);
    p->refusal = WIRE_REFUSED_NOTHING;
}

enum wire_refusal decode_png(const unsigned char *data, size_t size, struct sink *sink) {
    struct png *p = calloc(1, sizeof *p);
    if (!p) return WIRE_REFUSED_MEMORY;
    p->data = data;
    p->size = size;
    p->refusal = WIRE_REFUSED_DAMAGED;
    p->reader = png_create_read_struct(PNG_LIBPNG_VER_STRING, p, leave, remark);
    p->info = p->reader ? png_create_info_struct(p->reader) : NULL;
    if (p->info && setjmp(p->away) == 0) {
        png_set_read_fn(p->reader, p, give_bytes);
        decode(p, sink);
    }
    const enum wire_refusal refusal = p->info ? p->refusal : WIRE_REFUSED_MEMORY;
    png_destroy_read_struct(&p->reader, &p->info, NULL);
    free(p->rows);
    light_end(&p->light);
    free(p);
    return refusal;
}
