/* Pictures out, read back with libpng and through russet's own decoder. */
#include "formats/picture_out.h"
#include "picture_files.h"

static struct picture gradient(int width, int height) {
    struct picture p = {.width = width,
                        .height = height,
                        .clip = 65535,
                        .reduced = 1,
                        .to_srgb = {1, 0, 0, 0, 1, 0, 0, 0, 1}};
    p.rgb = calloc((size_t)width * (size_t)height * 3, sizeof *p.rgb);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            uint16_t *v = p.rgb + 3 * ((size_t)y * (size_t)width + (size_t)x);
            v[0] = (uint16_t)(65535 * x / (width - 1));
            v[1] = (uint16_t)(65535 * y / (height - 1));
            v[2] = 20000;
        }
    return p;
}

static void what_is_written_as_png_is_read_as_the_same_light(void) {
    struct picture p = gradient(200, 100);
    struct arena *arena = arena_new();
    struct screen_picture screen;
    struct text bytes = {0};
    char path[300];
    screen_picture_of(&p, 0, 1, arena, &screen);
    CHECK(screen.width == 200 && screen.height == 100);
    CHECK(picture_out_png(&screen, &bytes, NULL) == STATUS_OK);
    file_put(file_in(path, "out.png"), bytes.data, bytes.length);
    struct picture back = load(path);
    CHECK(back.curve_known && back.width == 200);
    double worst = 0;
    for (int i = 0; back.rgb && i < 200 * 100 * 3; i++) {
        /* half a code of 255 is at most .0045 of light at the bright end (slope of IEC 61966-2-1 there: 2.27)
         */
        const double off = fabs((double)back.rgb[i] - (double)p.rgb[i]) / 65535;
        if (!(off <= worst)) worst = off;
    }
    CHECK_AT_MOST(worst, .0046);
    picture_free(&back);
    text_free(&bytes);
    arena_free(arena);
    free(p.rgb);
}

static void a_small_picture_is_the_mean_of_the_light(void) {
    struct picture p = gradient(400, 300);
    struct arena *arena = arena_new();
    struct screen_picture screen;
    for (int y = 0; y < 300; y++) /* a chessboard of black and white in blue: its mean is half the light */
        for (int x = 0; x < 400; x++) p.rgb[3 * (y * 400 + x) + 2] = (x + y) % 2 ? 65535 : 0;
    screen_picture_of(&p, 100, 1, arena, &screen);
    CHECK(screen.width == 100 && screen.height == 75);
    /* half of light is 187.5 of 255 by IEC 61966-2-1 */
    for (int i = 0; i < 100 * 75; i++) CHECK_NEAR(screen.rgb[3 * i + 2], 187.5, .51);
    screen_picture_of(&p, 1, 1, arena, &screen);
    CHECK(screen.width == 1 && screen.height == 1);
    screen_picture_of(&p, 9999, 1, arena, &screen);
    CHECK(screen.width == 400);
    arena_free(arena);
    free(p.rgb);
}

static void a_dark_raw_is_brightened_for_looking(void) {
    struct picture p = gradient(100, 100);
    struct arena *arena = arena_new();
    struct screen_picture screen;
    for (int i = 0; i < 100 * 100 * 3; i++) p.rgb[i] /= 16;
    screen_picture_of(&p, 0, 0, arena, &screen);
    CHECK(screen.rgb[3 * (50 * 100 + 97)] > 240);
    arena_free(arena);
    free(p.rgb);
}

static void a_jpeg_out_is_a_jpeg_in(void) {
    struct picture p = gradient(64, 48);
    struct arena *arena = arena_new();
    struct screen_picture screen;
    struct text bytes = {0}, again = {0};
    char path[300];
    screen_picture_of(&p, 0, 1, arena, &screen);
    CHECK(picture_out_jpeg(&screen, &bytes, NULL) == STATUS_OK &&
          picture_out_jpeg(&screen, &again, NULL) == STATUS_OK);
    CHECK(bytes.length == again.length && memcmp(bytes.data, again.data, bytes.length) == 0);
    file_put(file_in(path, "out.jpg"), bytes.data, bytes.length);
    struct picture back = load(path);
    CHECK(back.rgb && back.width == 64 && back.height == 48);
    if (back.rgb) CHECK_NEAR(picture_at(&back, 32, 24)[2], 20000, 1500);
    picture_free(&back);
    text_free(&bytes);
    text_free(&again);
    arena_free(arena);
    free(p.rgb);
}

/* libpng's own reader: grey values as numbers. */
struct grey_png {
    int width, height, bits;
    png_uint_32 per_metre;
    char low[20], high[20], unit[20];
    uint16_t *v;
};

static void read_texts(png_structp r, png_infop info, struct grey_png *out) {
    png_textp texts;
    int n = 0;
    png_get_text(r, info, &texts, &n);
    for (int i = 0; i < n; i++) {
        if (strcmp(texts[i].key, "low") == 0) snprintf(out->low, 20, "%s", texts[i].text);
        if (strcmp(texts[i].key, "high") == 0) snprintf(out->high, 20, "%s", texts[i].text);
        if (strcmp(texts[i].key, "unit") == 0) snprintf(out->unit, 20, "%s", texts[i].text);
    }
}

static struct grey_png read_grey(const char *path) {
    struct grey_png out = {0};
    FILE *f = fopen(path, "rb");
    png_structp r = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(r);
    png_init_io(r, f);
    png_read_info(r, info);
    out.width = (int)png_get_image_width(r, info);
    out.height = (int)png_get_image_height(r, info);
    out.bits = png_get_bit_depth(r, info);
    CHECK(png_get_color_type(r, info) == PNG_COLOR_TYPE_GRAY);
    out.per_metre = png_get_pixels_per_meter(r, info);
    read_texts(r, info, &out);
    out.v = calloc((size_t)out.width * (size_t)out.height, sizeof *out.v);
    unsigned char *row = calloc((size_t)out.width, 2);
    for (int y = 0; y < out.height; y++) {
        png_read_row(r, row, NULL);
        for (int x = 0; x < out.width; x++)
            out.v[y * out.width + x] = (uint16_t)(out.bits == 16 ? row[2 * x] << 8 | row[2 * x + 1] : row[x]);
    }
    png_destroy_read_struct(&r, &info, NULL);
    free(row);
    fclose(f);
    return out;
}

static void a_plane_keeps_its_numbers_and_its_scale(void) {
    float plane[30 * 20];
    struct text bytes = {0};
    char path[300];
    for (int i = 0; i < 600; i++) plane[i] = (float)(-12.5 + .05 * i);
    plane[0] = -99;
    plane[1] = 99;
    plane[2] = NAN;
    const struct plane_scale scale = {-12.5, 17.45, 20, "um"};
    CHECK(picture_out_plane(plane, 30, 20, &scale, &bytes, NULL) == STATUS_OK);
    file_put(file_in(path, "plane.png"), bytes.data, bytes.length);
    struct grey_png got = read_grey(path);
    CHECK(got.width == 30 && got.height == 20 && got.bits == 16 && got.per_metre == 20000);
    CHECK_TEXT(got.low, "-12.5");
    CHECK_TEXT(got.high, "17.45");
    CHECK_TEXT(got.unit, "um");
    CHECK(got.v[0] == 0 && got.v[1] == 65535 && got.v[2] == 0);
    for (int i = 3; i < 600; i++)
        CHECK_NEAR(-12.5 + 29.95 * got.v[i] / 65535., (double)plane[i], 29.95 / 65535);
    free(got.v);
    text_free(&bytes);
}

static void a_mask_keeps_every_pixel(void) {
    uint8_t mask[33 * 17];
    struct text bytes = {0};
    char path[300];
    for (int i = 0; i < 33 * 17; i++) mask[i] = i % 7 == 0 ? 255 : 0;
    CHECK(picture_out_mask(mask, 33, 17, 0, &bytes, NULL) == STATUS_OK);
    file_put(file_in(path, "mask.png"), bytes.data, bytes.length);
    struct grey_png got = read_grey(path);
    CHECK(got.width == 33 && got.height == 17 && got.bits == 8 && got.per_metre == 0);
    for (int i = 0; i < 33 * 17; i++) CHECK(got.v[i] == mask[i]);
    free(got.v);
    text_free(&bytes);
}

int main(void) {
    RUN(what_is_written_as_png_is_read_as_the_same_light);
    RUN(a_small_picture_is_the_mean_of_the_light);
    RUN(a_dark_raw_is_brightened_for_looking);
    RUN(a_jpeg_out_is_a_jpeg_in);
    RUN(a_plane_keeps_its_numbers_and_its_scale);
    RUN(a_mask_keeps_every_pixel);
    files_remove();
    return check_done();
}
