/* What is no photograph, or a broken one, ends in one sentence: told by content, whatever the name says. */
#include "formats/picture_kind.h"
#include "picture_files.h"

static void put_text(char path[300], const char *name, const char *text) {
    file_put(file_in(path, name), text, strlen(text));
}

static void other_kinds_are_told_by_content_not_by_name(void) {
    static const struct {
        const char *bytes;
        size_t size;
        const char *says;
    } others[] = {
        {"<?xml version=\"1.0\"?><svg xmlns=\"http://www.w3.org/2000/svg\"/>", 0, "an SVG or XML text"},
        {"\xef\xbb\xbf\n <!-- x --><svg/>", 0, "an SVG or XML text"},
        {"%PDF-1.4\n", 0, "a PDF document"},
        {"%!PS-Adobe-3.0\n", 0, "a PostScript document"},
        {"GIF89a\1\0\1\0", 10, "a GIF picture"},
        {"RIFF\20\0\0\0WEBPVP8 ", 16, "a WebP picture"},
        {"BM\0\0\0\0\0\0\0\0", 10, "a BMP picture"},
        {"\0\0\0\34ftypavif\0\0\0\0avifmif1", 24, "an AVIF picture"},
        {"\0\0\0\34ftypmif1\0\0\0\0mif1avif", 24, "an AVIF picture"},
        {"\0\0\0\30ftypqt  \0\0\0\0qt  ", 20, "a video"},
        {"\xff\x0a\xfa\x1f", 4, "a JPEG XL picture"},
        {"\0\0\0\14jP  \r\n\x87\n", 12, "a JPEG 2000 picture"},
        {"v/1\1\2\0\0\0", 8, "an OpenEXR picture"},
        {"8BPS\0\1", 6, "a layered picture (PSD)"},
        {"P6\n8 8\n255\n", 0, "a PBM, PGM or PPM picture"},
        {"PK\3\4\24\0", 6, "an archive"},
        {"push graphic-context\n", 0, "a text"},
    };
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        char path[300];
        struct picture picture;
        struct fault fault;
        const size_t n = others[i].size ? others[i].size : strlen(others[i].bytes);
        file_put(file_in(path, "photo.jpg"), others[i].bytes, n);
        CHECK(load_with(path, NULL, &picture, &fault) == STATUS_INPUT);
        CHECK(fault.word == WORD_PICTURE_OTHER_KIND);
        if (!strstr(fault.text, others[i].says)) check_fail(__FILE__, __LINE__, fault.text);
    }
}

static void what_is_nothing_known_is_said_so(void) {
    char path[300];
    put_text(path, "photo.jpg", "");
    CHECK_REFUSED(path, PICTURE_EMPTY);
    put_text(path, "photo.jpg",
             "\x7f"
             "ELF\2\1\1");
    CHECK_REFUSED(path, PICTURE_NOT_ONE);
    CHECK_REFUSED(file_in(path, "nowhere.jpg"), FILE_CANNOT_OPEN);
    CHECK_REFUSED(file_in(path, ""), FILE_IS_DIRECTORY);
    CHECK_REFUSED("/dev/zero", PICTURE_NOT_ONE);
}

static void a_raw_file_that_libraw_does_not_know_is_refused(void) {
    static const char *const starts[] = {"FUJIFILMCCD-RAW 0201FF", "FOVb", "IIU", "IIRO"};
    for (size_t i = 0; i < sizeof starts / sizeof starts[0]; i++) {
        char path[300], bytes[4096] = "";
        snprintf(bytes, sizeof bytes, "%s", starts[i]);
        file_put(file_in(path, "photo.raw"), bytes, sizeof bytes);
        CHECK_REFUSED(path, PICTURE_RAW_UNKNOWN);
    }
}

/* JPEG of one or four values a pixel. */
static void jpeg_of(const char *path, int values, J_COLOR_SPACE space) {
    struct jpeg_compress_struct j;
    struct jpeg_error_mgr errors;
    FILE *f = fopen(path, "wb");
    unsigned char row[64] = {0};
    if (!f) abort();
    j.err = jpeg_std_error(&errors);
    jpeg_create_compress(&j);
    jpeg_stdio_dest(&j, f);
    j.image_width = j.image_height = 16;
    j.input_components = values;
    j.in_color_space = space;
    jpeg_set_defaults(&j);
    jpeg_start_compress(&j, TRUE);
    for (int y = 0; y < 16; y++) {
        JSAMPROW at = row;
        jpeg_write_scanlines(&j, &at, 1);
    }
    jpeg_finish_compress(&j);
    jpeg_destroy_compress(&j);
    fclose(f);
}

static void tiff_of(const char *path, int photometric, int values, int bits, int format) {
    unsigned char row[16 * 4 * 8] = {0};
    TIFF *t = TIFFOpen(path, "w");
    if (!t) abort();
    TIFFSetField(t, TIFFTAG_IMAGEWIDTH, 16);
    TIFFSetField(t, TIFFTAG_IMAGELENGTH, 16);
    TIFFSetField(t, TIFFTAG_BITSPERSAMPLE, bits);
    TIFFSetField(t, TIFFTAG_SAMPLESPERPIXEL, values);
    TIFFSetField(t, TIFFTAG_SAMPLEFORMAT, format);
    TIFFSetField(t, TIFFTAG_PHOTOMETRIC, photometric);
    TIFFSetField(t, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    for (uint32_t y = 0; y < 16; y++) TIFFWriteScanline(t, row, y, 0);
    TIFFClose(t);
}

static void png_of(const char *path, int colour, int bits) {
    FILE *f = fopen(path, "wb");
    unsigned char row[16 * 8] = {0};
    if (!f) abort();
    png_structp p = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(p);
    png_init_io(p, f);
    png_set_IHDR(p, info, 16, 16, bits, colour, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_BASE,
                 PNG_FILTER_TYPE_BASE);
    const png_color colours[2] = {{10, 20, 30}, {40, 50, 60}};
    if (colour == PNG_COLOR_TYPE_PALETTE) png_set_PLTE(p, info, colours, 2);
    png_write_info(p, info);
    for (int y = 0; y < 16; y++) png_write_row(p, row);
    png_write_end(p, info);
    png_destroy_write_struct(&p, &info);
    fclose(f);
}

static void grey_inks_and_odd_values_are_refused_in_words(void) {
    char path[300];
    jpeg_of(file_in(path, "odd.jpg"), 1, JCS_GRAYSCALE);
    CHECK_REFUSED(path, PICTURE_GREY);
    jpeg_of(path, 4, JCS_CMYK);
    CHECK_REFUSED(path, PICTURE_INKS);
    png_of(file_in(path, "odd.png"), PNG_COLOR_TYPE_GRAY, 8);
    CHECK_REFUSED(path, PICTURE_GREY);
    png_of(path, PNG_COLOR_TYPE_GRAY_ALPHA, 16);
    CHECK_REFUSED(path, PICTURE_GREY);
    tiff_of(file_in(path, "odd.tif"), PHOTOMETRIC_MINISBLACK, 1, 16, SAMPLEFORMAT_UINT);
    CHECK_REFUSED(path, PICTURE_GREY);
    tiff_of(path, PHOTOMETRIC_SEPARATED, 4, 8, SAMPLEFORMAT_UINT);
    CHECK_REFUSED(path, PICTURE_INKS);
    tiff_of(path, PHOTOMETRIC_CIELAB, 3, 8, SAMPLEFORMAT_UINT);
    CHECK_REFUSED(path, PICTURE_INKS);
    tiff_of(path, PHOTOMETRIC_RGB, 3, 32, SAMPLEFORMAT_IEEEFP);
    CHECK_REFUSED(path, PICTURE_SAMPLES);
}

static void palettes_and_alpha_are_read_as_what_they_show(void) {
    char path[300];
    png_of(file_in(path, "palette.png"), PNG_COLOR_TYPE_PALETTE, 1);
    struct picture p = load(path);
    CHECK(p.rgb && p.width == 16 && picture_at(&p, 3, 3)[0] < picture_at(&p, 3, 3)[2]);
    picture_free(&p);
    png_of(file_in(path, "alpha.png"), PNG_COLOR_TYPE_RGB_ALPHA, 16);
    p = load(path);
    CHECK(p.rgb && p.width == 16);
    picture_free(&p);
    tiff_of(file_in(path, "alpha.tif"), PHOTOMETRIC_RGB, 4, 8, SAMPLEFORMAT_UINT);
    p = load(path);
    CHECK(p.rgb && p.width == 16);
    picture_free(&p);
}

/* Heads that claim more than 200 megapixels: refused before anything is decoded. */
static void giants_are_refused_by_their_heads(void) {
    char path[300];
    struct fault fault;
    struct picture picture;
    struct canvas c = canvas_new(16, 16, 8);
    size_t n;
    canvas_jpeg(&c, file_in(path, "giant.jpg"), 90, false);
    unsigned char *bytes = file_get(path, &n);
    for (size_t i = 0; i + 9 < n; i++)
        if (bytes[i] == 0xff && bytes[i + 1] == 0xc0) {
            memcpy(bytes + i + 5, "\xfd\xe8\xfd\xe8", 4); /* 65000 x 65000 */
            break;
        }
    file_put(path, bytes, n);
    free(bytes);
    CHECK(load_with(path, NULL, &picture, &fault) == STATUS_INPUT && fault.word == WORD_PICTURE_TOO_LARGE);
    CHECK(strstr(fault.text, "65000 x 65000") && strstr(fault.text, "4225 megapixels"));
    TIFF *t = TIFFOpen(file_in(path, "giant.tif"), "w");
    TIFFSetField(t, TIFFTAG_IMAGEWIDTH, 30000);
    TIFFSetField(t, TIFFTAG_IMAGELENGTH, 30000);
    TIFFSetField(t, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(t, TIFFTAG_SAMPLESPERPIXEL, 3);
    TIFFSetField(t, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB);
    TIFFSetField(t, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(t, TIFFTAG_ROWSPERSTRIP, 1);
    unsigned char *row = calloc(30000, 3);
    TIFFWriteScanline(t, row, 0, 0);
    TIFFClose(t);
    free(row);
    CHECK_REFUSED(path, PICTURE_TOO_LARGE);
    canvas_free(&c);
}

/* One small photograph of each kind. */
enum { KINDS = 5 };
static const char *make_kind(int kind, char path[300]) {
    struct canvas c = canvas_new(64, 48, 8);
    unsigned long long seed = 99;
    for (int i = 0; i < 64 * 48; i++)
        canvas_set(&c, i % 64, i / 64, (unsigned)(255 * check_random(&seed)), (unsigned)i & 255, 90);
    if (kind == 0) canvas_jpeg(&c, file_in(path, "small.jpg"), 90, false);
    if (kind == 1) canvas_png(&c, file_in(path, "small.png"), PNG_PLAIN);
    if (kind == 2)
        canvas_tiff(&c, file_in(path, "small.tif"), (struct tiff_way){COMPRESSION_LZW, false, false, false});
    if (kind == 3) {
        char png[300], command[900];
        canvas_png(&c, file_in(png, "small.png"), PNG_PLAIN);
        snprintf(command, sizeof command, "heif-enc '%s' -o '%s' > /dev/null 2>&1", png,
                 file_in(path, "small.heic"));
        CHECK(system(command) == 0);
    }
    if (kind == 4) {
        uint16_t values[64 * 48];
        for (int i = 0; i < 64 * 48; i++) values[i] = (uint16_t)(i * 5);
        const struct dng d = {
            .width = 64, .height = 48, .values = values, .white = 16383, .pattern = {0, 1, 1, 2}};
        dng_write(&d, file_in(path, "small.dng"));
    }
    canvas_free(&c);
    return path;
}

static void a_file_that_was_cut_short_is_refused(void) {
    for (int kind = 0; kind < KINDS; kind++) {
        char path[300], cut[300];
        size_t n;
        unsigned char *bytes = file_get(make_kind(kind, path), &n);
        file_put(file_in(cut, "cut"), bytes, n * 6 / 10);
        free(bytes);
        struct picture picture;
        struct fault fault;
        const enum status status = load_with(cut, NULL, &picture, &fault);
        const bool said = fault.word == WORD_PICTURE_DAMAGED || fault.word == WORD_PICTURE_RAW_UNKNOWN;
        if (status != STATUS_INPUT || !said)
            check_fail(__FILE__, __LINE__, fault.text[0] ? fault.text : path);
        picture_free(&picture);
    }
}

/* Bytes changed at random: a picture or a refusal, and never a broken decoder (that would be a finding). */
static void turn_bytes(int times) {
    int read_all = 0, refused = 0;
    unsigned long long seed = 20261;
    for (int kind = 0; kind < KINDS; kind++) {
        char path[300], turned[300];
        size_t n;
        unsigned char *bytes = file_get(make_kind(kind, path), &n);
        for (int i = 0; i < times; i++) {
            unsigned char *copy = malloc(n);
            memcpy(copy, bytes, n);
            for (int k = 0; k < 1 + i % 4; k++)
                copy[(size_t)((double)(i % 2     ? n
                                       : n < 300 ? n
                                                 : 300) *
                              check_random(&seed))] = (unsigned char)(256 * check_random(&seed));
            file_put(file_in(turned, "turned"), copy, n);
            free(copy);
            struct picture picture;
            struct fault fault;
            const enum status status = load_with(turned, NULL, &picture, &fault);
            read_all += status == STATUS_OK;
            refused += status == STATUS_INPUT;
            if ((status != STATUS_OK && status != STATUS_INPUT) || fault.word == WORD_PICTURE_CRASHES ||
                fault.word == WORD_PICTURE_REACHES_OUT || fault.word == WORD_PICTURE_DECODER_LIED)
                check_fail(__FILE__, __LINE__, fault.text);
            picture_free(&picture);
        }
        free(bytes);
    }
    printf("  figure: %d turned files: %d read, %d refused\n", read_all + refused, read_all, refused);
    CHECK(read_all > 0 && refused > 0);
}

static void turned_bytes_are_read_or_refused(void) {
    turn_bytes(12);
}

static void LONG_many_turned_bytes_are_read_or_refused(void) {
    turn_bytes(400);
}

static void kinds_need_only_their_first_bytes(void) {
    for (size_t n = 0; n < 12; n++)
        CHECK(picture_kind_of((const unsigned char *)"\x89PNG\r\n\x1a\nxxx", n) != PICTURE_PNG || n >= 8);
    CHECK(picture_kind_of((const unsigned char *)"\0\0\0\34ftypheic\0\0\0\0", 16) == PICTURE_HEIC);
    CHECK(picture_kind_of((const unsigned char *)"\0\0\0\34ftypmif1\0\0\0\0mif1heic", 24) == PICTURE_HEIC);
    CHECK(picture_kind_of((const unsigned char *)"\0\0\0\34ftypcrx \0\0\0\0", 16) == PICTURE_RAW);
    CHECK(picture_kind_of((const unsigned char *)"II*\0\20\0\0\0CR\2\0", 12) == PICTURE_TIFF);
}

int main(void) {
    TIFFSetWarningHandler(NULL);
    RUN(kinds_need_only_their_first_bytes);
    RUN(other_kinds_are_told_by_content_not_by_name);
    RUN(what_is_nothing_known_is_said_so);
    RUN(a_raw_file_that_libraw_does_not_know_is_refused);
    RUN(grey_inks_and_odd_values_are_refused_in_words);
    RUN(palettes_and_alpha_are_read_as_what_they_show);
    RUN(giants_are_refused_by_their_heads);
    RUN(a_file_that_was_cut_short_is_refused);
    RUN(turned_bytes_are_read_or_refused);
    RUN(LONG_many_turned_bytes_are_read_or_refused);
    files_remove();
    return check_done();
}
