/* TIFF 6.0 (and BigTIFF) by libtiff: the first directory, red, green and blue of 8 or 16 bits, in strips or
 * tiles, values together or in planes, any compression that libtiff reads without losing rows; further values
 * (alpha) are dropped. The profile is tag 34675 (ICC.1:2010, B.3). Floating point, palettes, inks, Lab and
 * grey are refused in words. */
#include "decode/decode.h"
#include "decode/exif.h"
#include <stdlib.h>
#include <string.h>
#include <tiffio.h>

enum { PLANES = 3 };

struct memory_file {
    const unsigned char *data;
    toff_t size, at;
};

struct tiff {
    struct memory_file file[PLANES]; /* one for each plane: planes are read side by side */
    TIFF *tif[PLANES];
    int planes; /* 1: values together */
    uint32_t width, height, tile_width, tile_height;
    uint16_t bits, samples, photometric, compression, orientation;
    struct file_light light;
    unsigned char *in, *out;
};

static tmsize_t file_read(thandle_t handle, void *to, tmsize_t n) {
    struct memory_file *f = handle;
    const toff_t left = f->at < f->size ? f->size - f->at : 0;
    const tmsize_t take = n < 0 ? 0 : (toff_t)n < left ? n : (tmsize_t)left;
    memcpy(to, f->data + (f->at < f->size ? f->at : 0), (size_t)take);
    f->at += (toff_t)take;
    return take;
}

static tmsize_t file_write(thandle_t handle, void *from, tmsize_t n) {
    (void)handle, (void)from, (void)n;
    return -1;
}

static toff_t file_seek(thandle_t handle, toff_t to, int from) {
    struct memory_file *f = handle;
    f->at = from == SEEK_SET ? to : from == SEEK_CUR ? f->at + to : f->size + to;
    return f->at;
}

static int file_close(thandle_t handle) {
    (void)handle;
    return 0;
}

static toff_t file_size(thandle_t handle) {
    return ((struct memory_file *)handle)->size;
}

static bool open_plane(struct tiff *t, int plane, const unsigned char *data, size_t size) {
    t->file[plane] = (struct memory_file){data, size, 0};
    t->tif[plane] = TIFFClientOpen("photograph", "rmO", &t->file[plane], file_read, file_write, file_seek,
                                   file_close, file_size, NULL, NULL);
    if (t->tif[plane] && t->photometric == PHOTOMETRIC_YCBCR && t->compression == COMPRESSION_JPEG)
        TIFFSetField(t->tif[plane], TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB);
    return t->tif[plane] != NULL;
}

static enum wire_refusal check_colours(const struct tiff *t, uint16_t format) {
    switch (t->photometric) {
    case PHOTOMETRIC_MINISBLACK:
    case PHOTOMETRIC_MINISWHITE:
        return WIRE_REFUSED_GREY;
    case PHOTOMETRIC_RGB:
        break;
    case PHOTOMETRIC_YCBCR:
        if (t->compression == COMPRESSION_JPEG && t->planes == 1) break;
        return WIRE_REFUSED_INKS;
    default:
        return WIRE_REFUSED_INKS;
    }
    if (t->samples < 3) return WIRE_REFUSED_GREY;
    if ((t->bits != 8 && t->bits != 16) || format != SAMPLEFORMAT_UINT || t->samples > 8)
        return WIRE_REFUSED_SAMPLES;
    return WIRE_REFUSED_NOTHING;
}

static enum wire_refusal read_head(struct tiff *t) {
    uint16_t planar = PLANARCONFIG_CONTIG, format = SAMPLEFORMAT_UINT;
    TIFF *tif = t->tif[0];
    if (!TIFFGetField(tif, TIFFTAG_IMAGEWIDTH, &t->width) ||
        !TIFFGetField(tif, TIFFTAG_IMAGELENGTH, &t->height) ||
        !TIFFGetField(tif, TIFFTAG_PHOTOMETRIC, &t->photometric))
        return WIRE_REFUSED_DAMAGED;
    TIFFGetFieldDefaulted(tif, TIFFTAG_BITSPERSAMPLE, &t->bits);
    TIFFGetFieldDefaulted(tif, TIFFTAG_SAMPLESPERPIXEL, &t->samples);
    TIFFGetFieldDefaulted(tif, TIFFTAG_SAMPLEFORMAT, &format);
    TIFFGetFieldDefaulted(tif, TIFFTAG_COMPRESSION, &t->compression);
    TIFFGetFieldDefaulted(tif, TIFFTAG_PLANARCONFIG, &planar);
    TIFFGetFieldDefaulted(tif, TIFFTAG_ORIENTATION, &t->orientation);
    t->planes = planar == PLANARCONFIG_SEPARATE ? PLANES : 1;
    if (TIFFIsTiled(tif)) {
        TIFFGetField(tif, TIFFTAG_TILEWIDTH, &t->tile_width);
        TIFFGetField(tif, TIFFTAG_TILELENGTH, &t->tile_height);
        if (t->tile_width < 1 || t->tile_height < 1 || t->tile_width > 1 << 16 || t->tile_height > 1 << 14)
            return WIRE_REFUSED_DAMAGED;
    }
    return check_colours(t, format);
}

static void find_light(struct tiff *t, const struct exif *exif) {
    const double clip = 254 / 255.;
    uint32_t size = 0;
    void *icc = NULL;
    if (TIFFGetField(t->tif[0], TIFFTAG_ICCPROFILE, &size, &icc) && size > 0)
        light_of_profile(&t->light, icc, size, clip);
    else
        light_of_srgb(&t->light, exif->says_srgb, clip);
    if (t->bits == 16) light_widen(&t->light);
}

/* Values of one plane to their place among three. */
static void weave(const struct tiff *t, unsigned char *to, const unsigned char *from, int plane,
                  size_t count) {
    const size_t n = t->bits / 8;
    for (size_t i = 0; i < count; i++) memcpy(to + (3 * i + (size_t)plane) * n, from + i * n, n);
}

static bool send_rows(struct tiff *t, struct sink *sink, int rows, size_t stride) {
    const int bands = t->planes == 1 ? t->samples : 3;
    if (t->bits == 8) return sink_rows8(sink, rows, t->out, stride, bands);
    return sink_rows16(sink, rows, (const uint16_t *)(const void *)t->out, stride, bands, &t->light);
}

static bool make_room(struct tiff *t, size_t in, size_t out) {
    t->in = calloc(1, in);
    t->out = calloc(1, out);
    return t->in && t->out;
}

static enum wire_refusal read_strips(struct tiff *t, struct sink *sink) {
    const size_t row = (size_t)t->width * (t->planes == 1 ? t->samples : 3) * (t->bits / 8);
    const tmsize_t said = TIFFScanlineSize(t->tif[0]);
    if (said <= 0 || (size_t)said != (t->planes == 1 ? row : row / 3)) return WIRE_REFUSED_DAMAGED;
    if (!make_room(t, (size_t)said, row)) return WIRE_REFUSED_MEMORY;
    for (uint32_t y = 0; y < t->height; y++) {
        for (int plane = 0; plane < t->planes; plane++) {
            unsigned char *to = t->planes == 1 ? t->out : t->in;
            if (TIFFReadScanline(t->tif[plane], to, y, (uint16_t)plane) < 0) return WIRE_REFUSED_DAMAGED;
            if (t->planes > 1) weave(t, t->out, t->in, plane, t->width);
        }
        if (!send_rows(t, sink, 1, row)) return WIRE_REFUSED_MEMORY;
    }
    return WIRE_REFUSED_NOTHING;
}

/* One row of tiles: each tile is copied (or woven) into the strip that they make together. */
static bool read_tile_row(struct tiff *t, uint32_t y, uint32_t rows, size_t stride, size_t tile_row) {
    const size_t pixel = (size_t)(t->planes == 1 ? t->samples : 3) * (t->bits / 8);
    for (uint32_t x = 0; x < t->width; x += t->tile_width) {
        const uint32_t count = t->width - x < t->tile_width ? t->width - x : t->tile_width;
        for (int plane = 0; plane < t->planes; plane++) {
            if (TIFFReadTile(t->tif[plane], t->in, x, y, 0, (uint16_t)plane) < 0) return false;
            for (uint32_t i = 0; i < rows; i++) {
                unsigned char *to = t->out + i * stride + x * pixel;
                if (t->planes == 1)
                    memcpy(to, t->in + i * tile_row, count * pixel);
                else
                    weave(t, to, t->in + i * tile_row, plane, count);
            }
        }
    }
    return true;
}

static enum wire_refusal read_tiles(struct tiff *t, struct sink *sink) {
    const size_t pixel = (size_t)(t->planes == 1 ? t->samples : 3) * (t->bits / 8);
    const size_t stride = t->width * pixel;
    const tmsize_t said = TIFFTileSize(t->tif[0]), tile_row = TIFFTileRowSize(t->tif[0]);
    const size_t want = (size_t)t->tile_width * (t->planes == 1 ? t->samples : 1U) * (t->bits / 8U);
    if (tile_row <= 0 || (size_t)tile_row != want || said <= 0 || (size_t)said != want * t->tile_height)
        return WIRE_REFUSED_DAMAGED;
    if ((uint64_t)said > 256U << 20 || (uint64_t)stride * t->tile_height > 512U << 20)
        return WIRE_REFUSED_MEMORY;
    if (!make_room(t, (size_t)said, stride * t->tile_height)) return WIRE_REFUSED_MEMORY;
    for (uint32_t y = 0; y < t->height; y += t->tile_height) {
        const uint32_t rows = t->height - y < t->tile_height ? t->height - y : t->tile_height;
        if (!read_tile_row(t, y, rows, stride, (size_t)tile_row)) return WIRE_REFUSED_DAMAGED;
        if (!send_rows(t, sink, (int)rows, stride)) return WIRE_REFUSED_MEMORY;
    }
    return WIRE_REFUSED_NOTHING;
}

static enum wire_refusal decode(struct tiff *t, const unsigned char *data, size_t size, struct sink *sink) {
    struct exif exif;
    exif_read(data, size, &exif);
    if (!open_plane(t, 0, data, size)) return WIRE_REFUSED_DAMAGED;
    enum wire_refusal refusal = read_head(t);
    if (refusal != WIRE_REFUSED_NOTHING) return refusal;
    if (t->photometric == PHOTOMETRIC_YCBCR) {
        TIFFClose(t->tif[0]);
        if (!open_plane(t, 0, data, size)) return WIRE_REFUSED_DAMAGED;
    }
    for (int plane = 1; plane < t->planes; plane++)
        if (!open_plane(t, plane, data, size)) return WIRE_REFUSED_DAMAGED;
    find_light(t, &exif);
    refusal = sink_begin(sink, t->width, t->height, t->orientation, t->bits, &t->light);
    if (refusal != WIRE_REFUSED_NOTHING) return refusal;
    return t->tile_width > 0 ? read_tiles(t, sink) : read_strips(t, sink);
}

enum wire_refusal decode_tiff(const unsigned char *data, size_t size, struct sink *sink) {
    struct tiff t = {.planes = 1};
    TIFFSetErrorHandler(NULL);
    TIFFSetWarningHandler(NULL);
    const enum wire_refusal refusal = decode(&t, data, size, sink);
    for (int plane = 0; plane < PLANES; plane++)
        if (t.tif[plane]) TIFFClose(t.tif[plane]);
    free(t.in);
    free(t.out);
    light_end(&t.light);
    return refusal;
}
