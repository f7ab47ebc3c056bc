/* Photographs for tests, written by general-purpose libraries (libjpeg-turbo, libpng, libtiff, lcms2), and
 * what comes back of them through the decoder. The numbers in them are invented. */
#ifndef RUSSET_TESTS_PICTURE_FILES_H
#define RUSSET_TESTS_PICTURE_FILES_H

#include "check.h"
#include "flow/picture_flow.h"
#include <lcms2.h>
#include <png.h>
#include <stdint.h>
#include <stdio.h>
#include <tiffio.h>
#include <unistd.h>

#include <jpeglib.h>

/* A picture of 8 or 16 bits, three values a pixel, as it lies in a file. */
struct canvas {
    int width, height, bits;
    uint8_t *v8;
    uint16_t *v16;
    const void *icc;
    unsigned icc_size;
    int orientation; /* 0: the file does not say */
};

static inline struct canvas canvas_new(int width, int height, int bits) {
    struct canvas c = {.width = width, .height = height, .bits = bits};
    const size_t n = (size_t)width * (size_t)height * 3;
    if (bits == 8) c.v8 = calloc(n, 1);
    if (bits == 16) c.v16 = calloc(n, 2);
    return c;
}

static inline void canvas_free(struct canvas *c) {
    free(c->v8);
    free(c->v16);
}

static inline void canvas_set(struct canvas *c, int x, int y, unsigned r, unsigned g, unsigned b) {
    const unsigned v[3] = {r, g, b};
    for (int k = 0; k < 3; k++) {
        const size_t at = 3 * ((size_t)y * (size_t)c->width + (size_t)x) + (size_t)k;
        if (c->bits == 8)
            c->v8[at] = (uint8_t)v[k];
        else
            c->v16[at] = (uint16_t)v[k];
    }
}

static inline void canvas_fill(struct canvas *c, int x, int y, int w, int h, unsigned r, unsigned g,
                               unsigned b) {
    for (int j = y; j < y + h; j++)
        for (int i = x; i < x + w; i++) canvas_set(c, i, j, r, g, b);
}

static inline const char *file_in(char path[300], const char *name) {
    static char folder[200];
    if (!folder[0]) {
        const char *base = getenv("TMPDIR");
        snprintf(folder, sizeof folder, "%s/russet-picture-XXXXXX", base ? base : "/tmp");
        if (!mkdtemp(folder)) abort();
    }
    snprintf(path, 300, "%s/%s", folder, name);
    return path;
}

static inline void files_remove(void) {
    char path[300], command[400];
    snprintf(command, sizeof command, "rm -rf '%s'", file_in(path, ""));
    if (system(command) != 0) check_fail(__FILE__, __LINE__, "the test's folder stays");
}

static inline void file_put(const char *path, const void *bytes, size_t n) {
    FILE *f = fopen(path, "wb");
    if (!f || fwrite(bytes, 1, n, f) != n || fclose(f) != 0) abort();
}

static inline unsigned char *file_get(const char *path, size_t *n) {
    FILE *f = fopen(path, "rb");
    if (!f) abort();
    unsigned char *bytes = malloc(8 << 20);
    *n = fread(bytes, 1, 8 << 20, f);
    fclose(f);
    return bytes;
}

/* An EXIF block with one word, the orientation (EXIF 2.32, 4.5; little-endian). */
static inline unsigned exif_block(unsigned char out[40], int orientation) {
    static const unsigned char head[] = {'I', 'I', 42, 0, 8, 0, 0, 0, 1, 0, 0x12, 1, 3, 0, 1, 0, 0, 0};
    memset(out, 0, 40);
    memcpy(out, head, sizeof head);
    out[18] = (unsigned char)orientation;
    return 26;
}

static inline void canvas_jpeg(const struct canvas *c, const char *path, int quality, bool progressive) {
    struct jpeg_compress_struct j;
    struct jpeg_error_mgr errors;
    FILE *f = fopen(path, "wb");
    if (!f) abort();
    j.err = jpeg_std_error(&errors);
    jpeg_create_compress(&j);
    jpeg_stdio_dest(&j, f);
    j.image_width = (JDIMENSION)c->width;
    j.image_height = (JDIMENSION)c->height;
    j.input_components = 3;
    j.in_color_space = JCS_RGB;
    jpeg_set_defaults(&j);
    jpeg_set_quality(&j, quality, TRUE);
    j.comp_info[0].h_samp_factor = j.comp_info[0].v_samp_factor = 1;
    if (progressive) jpeg_simple_progression(&j);
    jpeg_start_compress(&j, TRUE);
    if (c->orientation) {
        unsigned char block[46] = "Exif\0";
        const unsigned n = exif_block(block + 6, c->orientation);
        jpeg_write_marker(&j, JPEG_APP0 + 1, block, n + 6);
    }
    if (c->icc) jpeg_write_icc_profile(&j, c->icc, c->icc_size);
    for (int y = 0; y < c->height; y++) {
        JSAMPROW row = c->v8 + (size_t)y * (size_t)c->width * 3;
        jpeg_write_scanlines(&j, &row, 1);
    }
    jpeg_finish_compress(&j);
    jpeg_destroy_compress(&j);
    fclose(f);
}

enum png_extra { PNG_PLAIN, PNG_SAYS_SRGB, PNG_SAYS_GAMMA_1, PNG_INTERLACED };

static inline void canvas_png(const struct canvas *c, const char *path, enum png_extra extra) {
    FILE *f = fopen(path, "wb");
    if (!f) abort();
    png_structp p = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(p);
    png_init_io(p, f);
    png_set_compression_level(p, 1); /* for time */
    png_set_IHDR(p, info, (png_uint_32)c->width, (png_uint_32)c->height, c->bits, PNG_COLOR_TYPE_RGB,
                 extra == PNG_INTERLACED ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE,
                 PNG_COMPRESSION_TYPE_BASE, PNG_FILTER_TYPE_BASE);
    if (extra == PNG_SAYS_SRGB) png_set_sRGB(p, info, PNG_sRGB_INTENT_RELATIVE);
    if (extra == PNG_SAYS_GAMMA_1) png_set_gAMA(p, info, 1);
    if (c->icc) png_set_iCCP(p, info, "profile", PNG_COMPRESSION_TYPE_BASE, c->icc, c->icc_size);
    unsigned char block[40];
    if (c->orientation) png_set_eXIf_1(p, info, exif_block(block, c->orientation), block);
    png_write_info(p, info);
    if (c->bits == 16) png_set_swap(p);
    png_bytep *rows = calloc((size_t)c->height, sizeof *rows);
    for (int y = 0; y < c->height; y++) {
        const size_t at = 3 * (size_t)y * (size_t)c->width;
        rows[y] = c->bits == 8 ? c->v8 + at : (png_bytep)(void *)(c->v16 + at);
    }
    png_write_image(p, rows);
    png_write_end(p, info);
    png_destroy_write_struct(&p, &info);
    free(rows);
    fclose(f);
}

struct tiff_way {
    int compression; /* COMPRESSION_... */
    bool planes, tiles, big;
};

static inline void *canvas_values(const struct canvas *c) {
    return c->bits == 8 ? (void *)c->v8 : (void *)c->v16;
}

static inline void tiff_tags(TIFF *t, const struct canvas *c, struct tiff_way way) {
    TIFFSetField(t, TIFFTAG_IMAGEWIDTH, c->width);
    TIFFSetField(t, TIFFTAG_IMAGELENGTH, c->height);
    TIFFSetField(t, TIFFTAG_BITSPERSAMPLE, c->bits);
    TIFFSetField(t, TIFFTAG_SAMPLESPERPIXEL, 3);
    TIFFSetField(t, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB);
    TIFFSetField(t, TIFFTAG_COMPRESSION, way.compression);
    TIFFSetField(t, TIFFTAG_PLANARCONFIG, way.planes ? PLANARCONFIG_SEPARATE : PLANARCONFIG_CONTIG);
    if (c->orientation) TIFFSetField(t, TIFFTAG_ORIENTATION, c->orientation);
    if (c->icc) TIFFSetField(t, TIFFTAG_ICCPROFILE, c->icc_size, c->icc);
    if (way.tiles) {
        TIFFSetField(t, TIFFTAG_TILEWIDTH, 16);
        TIFFSetField(t, TIFFTAG_TILELENGTH, 16);
    } else {
        TIFFSetField(t, TIFFTAG_ROWSPERSTRIP, 5);
    }
}

/* Sample k of pixel i, as bytes. */
static inline void canvas_sample(const struct canvas *c, int x, int y, int k, unsigned char *to) {
    const size_t n = (size_t)c->bits / 8;
    const size_t at = 3 * ((size_t)y * (size_t)c->width + (size_t)x) + (size_t)k;
    memset(to, 0, n);
    if (x < c->width && y < c->height) memcpy(to, (char *)canvas_values(c) + at * n, n);
}

static inline void tiff_tiles(TIFF *t, const struct canvas *c, bool planes) {
    static unsigned char tile[16 * 16 * 3 * 2];
    const int bands = planes ? 1 : 3, n = c->bits / 8;
    for (int plane = 0; plane < (planes ? 3 : 1); plane++)
        for (int y = 0; y < c->height; y += 16)
            for (int x = 0; x < c->width; x += 16) {
                for (int i = 0; i < 256; i++)
                    for (int k = 0; k < bands; k++)
                        canvas_sample(c, x + i % 16, y + i / 16, planes ? plane : k,
                                      tile + (i * bands + k) * n);
                TIFFWriteTile(t, tile, (uint32_t)x, (uint32_t)y, 0, (uint16_t)plane);
            }
}

static inline void tiff_strips(TIFF *t, const struct canvas *c, bool planes) {
    const int bands = planes ? 1 : 3, n = c->bits / 8;
    unsigned char *row = calloc((size_t)c->width, 6);
    for (int plane = 0; plane < (planes ? 3 : 1); plane++)
        for (int y = 0; y < c->height; y++) {
            for (int x = 0; x < c->width; x++)
                for (int k = 0; k < bands; k++)
                    canvas_sample(c, x, y, planes ? plane : k, row + (x * bands + k) * n);
            TIFFWriteScanline(t, row, (uint32_t)y, (uint16_t)plane);
        }
    free(row);
}

static inline void canvas_tiff(const struct canvas *c, const char *path, struct tiff_way way) {
    TIFF *t = TIFFOpen(path, way.big ? "w8" : "w");
    if (!t) abort();
    tiff_tags(t, c, way);
    if (way.tiles)
        tiff_tiles(t, c, way.planes);
    else
        tiff_strips(t, c, way.planes);
    TIFFClose(t);
}

/* A DNG (Adobe DNG 1.4, the tags that it demands) of one colour filter array or of three values a pixel;
 * plain: a raw file by TIFF/EP alone (ISO 12234-2: a colour filter array, no levels, no colours, no white).
 */
struct dng {
    int width, height;
    bool three, plain;
    const uint16_t *values;
    double black, white;
    unsigned char pattern[4]; /* 0 red, 1 green, 2 blue: rows of a 2 x 2 cell */
    int orientation;
};

static inline void dng_colours(TIFF *t, const struct dng *d) {
    static const float matrix[9] = {.9F, -.3F, -.1F, -.5F, 1.3F, .2F, -.1F, .2F, .7F};
    static const float neutral[3] = {.5F, 1, .6F};
    const float black = (float)d->black;
    const uint32_t white = (uint32_t)d->white;
    TIFFSetField(t, TIFFTAG_DNGVERSION, "\001\004\000\000");
    TIFFSetField(t, TIFFTAG_UNIQUECAMERAMODEL, "Invented One");
    TIFFSetField(t, TIFFTAG_COLORMATRIX1, 9, matrix);
    TIFFSetField(t, TIFFTAG_ASSHOTNEUTRAL, 3, neutral);
    TIFFSetField(t, TIFFTAG_CALIBRATIONILLUMINANT1, 21);
    if (!d->three) TIFFSetField(t, TIFFTAG_BLACKLEVEL, 1, &black);
    TIFFSetField(t, TIFFTAG_WHITELEVEL, 1, &white);
}

static inline void dng_write(const struct dng *d, const char *path) {
    const uint16_t dim[2] = {2, 2};
    TIFF *t = TIFFOpen(path, "w");
    if (!t) abort();
    TIFFSetField(t, TIFFTAG_SUBFILETYPE, 0);
    TIFFSetField(t, TIFFTAG_IMAGEWIDTH, d->width);
    TIFFSetField(t, TIFFTAG_IMAGELENGTH, d->height);
    TIFFSetField(t, TIFFTAG_BITSPERSAMPLE, 16);
    TIFFSetField(t, TIFFTAG_SAMPLESPERPIXEL, d->three ? 3 : 1);
    TIFFSetField(t, TIFFTAG_COMPRESSION, COMPRESSION_NONE);
    TIFFSetField(t, TIFFTAG_PHOTOMETRIC, d->three ? 34892 /* LinearRaw */ : PHOTOMETRIC_CFA);
    TIFFSetField(t, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(t, TIFFTAG_ROWSPERSTRIP, d->height);
    TIFFSetField(t, TIFFTAG_ORIENTATION, d->orientation ? d->orientation : 1);
    TIFFSetField(t, TIFFTAG_MAKE, "Invented");
    TIFFSetField(t, TIFFTAG_MODEL, "One");
    if (!d->plain) dng_colours(t, d);
    if (!d->three) {
        TIFFSetField(t, TIFFTAG_CFAREPEATPATTERNDIM, dim);
        TIFFSetField(t, TIFFTAG_CFAPATTERN, 4, d->pattern);
    }
    const size_t stride = (size_t)d->width * (d->three ? 3 : 1);
    uint16_t *row = calloc(stride, sizeof *row);
    for (int y = 0; y < d->height; y++) {
        memcpy(row, d->values + (size_t)y * stride, stride * sizeof *row);
        TIFFWriteScanline(t, row, (uint32_t)y, 0);
    }
    free(row);
    TIFFClose(t);
}

/* An RGB profile of a power curve with the primaries of P3; the bytes are the caller's to free. */
static inline void *profile_of_gamma(double gamma, unsigned *size) {
    const cmsCIExyY white = {.3127, .3290, 1};
    const cmsCIExyYTRIPLE primaries = {{.680, .320, 1}, {.265, .690, 1}, {.150, .060, 1}};
    cmsToneCurve *curve = cmsBuildGamma(NULL, gamma);
    cmsToneCurve *const curves[3] = {curve, curve, curve};
    cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, curves);
    cmsUInt32Number n = 0;
    cmsSaveProfileToMem(profile, NULL, &n);
    void *bytes = malloc(n);
    cmsSaveProfileToMem(profile, bytes, &n);
    cmsCloseProfile(profile);
    cmsFreeToneCurve(curve);
    *size = n;
    return bytes;
}

static inline enum status load_with(const char *path, const struct picture_decoder *decoder,
                                    struct picture *picture, struct fault *fault) {
    const struct surroundings around = {.disk = disk_real(), .decoder = decoder};
    *picture = (struct picture){0};
    *fault = (struct fault){0};
    return picture_load(&around, path, picture, fault);
}

/* The photograph must be read. */
static inline struct picture load(const char *path) {
    struct picture picture;
    struct fault fault;
    const enum status status = load_with(path, NULL, &picture, &fault);
    if (status != STATUS_OK) check_fail(__FILE__, __LINE__, fault.text);
    return picture;
}

/* The photograph must be refused with that word, in a sentence that names the file. */
static inline void check_refused(int line, const char *path, enum word word) {
    struct picture picture;
    struct fault fault;
    const enum status status = load_with(path, NULL, &picture, &fault);
    char what[1400];
    snprintf(what, sizeof what, "%s: status %d, word %d (wanted %d): %.900s", path, (int)status,
             (int)fault.word, (int)word, fault.text);
    if (status != word_status(word) || fault.word != word || !strstr(fault.text, path) || picture.rgb)
        check_fail(__FILE__, line, what);
    picture_free(&picture);
}
#define CHECK_REFUSED(path, word) check_refused(__LINE__, path, WORD_##word)

#endif
