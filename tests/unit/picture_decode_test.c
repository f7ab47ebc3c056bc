/* Photographs of every kind through the decoder: the numbers that come out are light. Formulas are the tests'
 * own: IEC 61966-2-1 for sRGB, the power curve and primaries of a profile made with lcms2, EXIF 2.32 4.6.4
 * for orientation, Adobe DNG 1.4 for levels. */
#include "picture_files.h"

static double srgb_light(double v) {
    return v <= .04045 ? v / 12.92 : pow((v + .055) / 1.055, 2.4);
}

static double inverse_srgb(double v) {
    return v <= .0031308 ? 12.92 * v : 1.055 * pow(v, 1 / 2.4) - .055;
}

/* In codes of 8 bits, so that dark and bright are judged alike. */
static double codes_apart(unsigned got, double code) {
    return fabs(255 * inverse_srgb(got / 65535.) - code);
}

static struct canvas steps(void) {
    struct canvas c = canvas_new(256, 8, 8);
    for (unsigned x = 0; x < 256; x++)
        for (int y = 0; y < 8; y++) canvas_set(&c, (int)x, y, x, 255 - x, (x * 7) & 255);
    return c;
}

static void check_steps(const char *path, bool known) {
    struct picture p = load(path);
    CHECK(p.width == 256 && p.height == 8 && !p.raw && p.reduced == 1);
    CHECK(p.curve_known == known);
    CHECK((p.note[0] != 0) == !known);
    for (unsigned x = 0; p.rgb && x < 256; x++) {
        const uint16_t *v = picture_at(&p, (int)x, 3);
        CHECK_NEAR(v[0], 65535 * srgb_light(x / 255.), .501);
        CHECK_NEAR(v[1], 65535 * srgb_light((255 - x) / 255.), .501);
        CHECK_NEAR(v[2], 65535 * srgb_light(((x * 7) & 255) / 255.), .501);
    }
    CHECK(p.rgb && picture_at(&p, 255, 0)[0] >= p.clip && picture_at(&p, 250, 0)[0] < p.clip);
    picture_free(&p);
}

static void eight_bits_become_light_by_iec_61966(void) {
    char path[300];
    struct canvas c = steps();
    canvas_png(&c, file_in(path, "steps.png"), PNG_SAYS_SRGB);
    check_steps(path, true);
    canvas_png(&c, file_in(path, "plain.png"), PNG_PLAIN);
    check_steps(path, false);
    canvas_png(&c, file_in(path, "interlaced.png"), PNG_INTERLACED);
    check_steps(path, false);
    canvas_free(&c);
}

static void every_way_of_a_tiff_holds_the_same_picture(void) {
    static const struct tiff_way ways[] = {
        {COMPRESSION_NONE, false, false, false},       {COMPRESSION_LZW, false, false, false},
        {COMPRESSION_LZW, true, false, false},         {COMPRESSION_ADOBE_DEFLATE, false, true, false},
        {COMPRESSION_ADOBE_DEFLATE, true, true, true}, {COMPRESSION_PACKBITS, false, false, true},
    };
    struct canvas c = steps();
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        char path[300];
        canvas_tiff(&c, file_in(path, "steps.tif"), ways[i]);
        check_steps(path, false);
    }
    canvas_free(&c);
}

static void check_sixteen(const char *path) {
    struct picture p = load(path);
    double worst = 0;
    for (int i = 0; p.rgb && i < 256 * 64; i++) {
        const double want = 65535 * srgb_light((i * 4 + 1) / 65535.);
        const double off = fabs(picture_at(&p, i % 256, i / 256)[1] - want);
        if (!(off <= worst)) worst = off;
    }
    CHECK(p.width == 256 && p.height == 64);
    CHECK_AT_MOST(worst, .501);
    picture_free(&p);
}

static void sixteen_bits_keep_what_eight_lose(void) {
    char path[300];
    struct canvas c = canvas_new(256, 64, 16);
    for (int i = 0; i < 256 * 64; i++) canvas_set(&c, i % 256, i / 256, 9, (unsigned)(i * 4 + 1), 65535);
    canvas_png(&c, file_in(path, "deep.png"), PNG_PLAIN);
    check_sixteen(path);
    canvas_png(&c, file_in(path, "deep-interlaced.png"), PNG_INTERLACED);
    check_sixteen(path);
    canvas_tiff(&c, file_in(path, "deep.tif"), (struct tiff_way){COMPRESSION_LZW, false, false, false});
    check_sixteen(path);
    canvas_tiff(&c, file_in(path, "deep-planes.tif"), (struct tiff_way){COMPRESSION_LZW, true, true, false});
    check_sixteen(path);
    canvas_free(&c);
}

/* Flat blocks of 16: whatever a lossy kind does at edges, their middles must hold. */
enum { BLOCK = 16, BLOCKS = 12 };
static const unsigned block_colour[BLOCKS][3] = {
    {0, 0, 0},     {12, 12, 12}, {40, 40, 40}, {99, 99, 99},    {160, 160, 160}, {255, 255, 255},
    {150, 90, 50}, {92, 51, 28}, {44, 30, 26}, {210, 180, 140}, {30, 60, 90},    {120, 20, 30}};

static struct canvas blocks(void) {
    struct canvas c = canvas_new(BLOCK * BLOCKS, 2 * BLOCK, 8);
    for (int i = 0; i < BLOCKS; i++)
        canvas_fill(&c, i * BLOCK, 0, BLOCK, 2 * BLOCK, block_colour[i][0], block_colour[i][1],
                    block_colour[i][2]);
    return c;
}

static double worst_block(const struct picture *p) {
    double worst = 0;
    for (int i = 0; i < BLOCKS; i++)
        for (int k = 0; k < 3; k++) {
            const double off =
                codes_apart(picture_at(p, i * BLOCK + BLOCK / 2, BLOCK)[k], block_colour[i][k]);
            if (!(off <= worst)) worst = off;
        }
    return worst;
}

static void a_jpeg_is_as_near_as_its_own_rounding(void) {
    struct canvas c = blocks();
    for (int progressive = 0; progressive < 2; progressive++) {
        char path[300];
        canvas_jpeg(&c, file_in(path, "blocks.jpg"), 100, progressive);
        struct picture p = load(path);
        CHECK(p.rgb && p.width == c.width && p.height == c.height && !p.curve_known && p.note[0]);
        if (p.rgb) CHECK_AT_MOST(worst_block(&p), 1.6); /* rounding of YCbCr and of the transform */
        if (p.rgb) printf("  figure: JPEG, flat blocks, worst %.2f codes of 255\n", worst_block(&p));
        picture_free(&p);
    }
    canvas_free(&c);
}

static bool encode_heic(const char *from, const char *to) {
    char command[900];
    snprintf(command, sizeof command, "heif-enc -q 100 -p chroma=444 '%s' -o '%s' > /dev/null 2>&1", from,
             to);
    return system(command) == 0;
}

static void a_heic_of_heif_enc_is_read(void) {
    char png[300], heic[300];
    struct canvas c = blocks();
    canvas_png(&c, file_in(png, "for-heic.png"), PNG_PLAIN);
    CHECK(encode_heic(png, file_in(heic, "named.jpg")));
    struct picture p = load(heic);
    CHECK(p.rgb && p.width == c.width && p.height == c.height);
    if (p.rgb) CHECK_AT_MOST(worst_block(&p), 2.1); /* limited precision of the encoder's own conversion */
    if (p.rgb) printf("  figure: HEIC, flat blocks, worst %.2f codes of 255\n", worst_block(&p));
    picture_free(&p);
    canvas_free(&c);
}

/* EXIF: which side of the picture as one looks at it row 0 and column 0 are. */
static const char *const sides[9] = {"",         "top left",  "top right",    "bottom right", "bottom left",
                                     "left top", "right top", "right bottom", "left bottom"};

static void corner(const struct picture *p, int orientation, bool last_row, bool last_column, int *x,
                   int *y) {
    char row[8], column[8];
    sscanf(sides[orientation], "%7s %7s", row, column);
    const char *const side[2] = {row, column};
    const bool last[2] = {last_row, last_column};
    for (int i = 0; i < 2; i++) {
        if (strcmp(side[i], "top") == 0) *y = last[i] ? p->height - 1 : 0;
        if (strcmp(side[i], "bottom") == 0) *y = last[i] ? 0 : p->height - 1;
        if (strcmp(side[i], "left") == 0) *x = last[i] ? p->width - 1 : 0;
        if (strcmp(side[i], "right") == 0) *x = last[i] ? 0 : p->width - 1;
    }
}

/* Four corners of the file in four colours; each must lie where EXIF says. */
static void check_turned(const char *path, const struct canvas *c, int orientation, double scale) {
    struct picture p = load(path);
    const bool turned = orientation >= 5;
    CHECK_NEAR(p.width * scale, turned ? c->height : c->width, .1);
    CHECK_NEAR(p.height * scale, turned ? c->width : c->height, .1);
    for (int i = 0; p.rgb && i < 4; i++) {
        int x = 0, y = 0;
        corner(&p, orientation, i / 2, i % 2, &x, &y);
        const uint16_t *v = picture_at(&p, x, y);
        const bool want[3] = {i == 1 || i == 3, i == 2 || i == 3, i == 0};
        for (int k = 0; k < 3; k++) CHECK((v[k] > 30000) == want[k]);
    }
    picture_free(&p);
}

static struct canvas corners(void) {
    struct canvas c = canvas_new(48, 32, 8);
    canvas_fill(&c, 0, 0, 24, 16, 10, 10, 240);
    canvas_fill(&c, 24, 0, 24, 16, 240, 10, 10);
    canvas_fill(&c, 0, 16, 24, 16, 10, 240, 10);
    canvas_fill(&c, 24, 16, 24, 16, 240, 240, 10);
    return c;
}

static void all_eight_orientations_of_exif_are_turned_upright(void) {
    struct canvas c = corners();
    for (int orientation = 1; orientation <= 8; orientation++) {
        char path[300];
        c.orientation = orientation;
        canvas_jpeg(&c, file_in(path, "turned.jpg"), 95, false);
        check_turned(path, &c, orientation, 1);
        canvas_tiff(&c, file_in(path, "turned.tif"), (struct tiff_way){COMPRESSION_LZW, false, false, false});
        check_turned(path, &c, orientation, 1);
        canvas_png(&c, file_in(path, "turned.png"), PNG_PLAIN);
        check_turned(path, &c, orientation, 1);
    }
    canvas_free(&c);
}

/* A large picture runs through many slots; turned, through tiles: every pixel must come home. */
static void many_rows_come_home_in_every_orientation(void) {
    struct canvas c = canvas_new(1501, 903, 8);
    unsigned long long seed = 4711;
    unsigned light[256];
    for (int i = 0; i < 256; i++) light[i] = (unsigned)(65535 * srgb_light(i / 255.) + .5);
    for (int y = 0; y < c.height; y++)
        for (int x = 0; x < c.width; x++) {
            const unsigned v = (unsigned)(16777216 * check_random(&seed));
            canvas_set(&c, x, y, v & 255, v >> 8 & 255, v >> 16);
        }
    for (int orientation = 1; orientation <= 8; orientation++) {
        char path[300];
        c.orientation = orientation;
        canvas_tiff(&c, file_in(path, "many.tif"), (struct tiff_way){COMPRESSION_NONE, false, false, false});
        struct picture p = load(path);
        int wrong = 0, left = 0, top = 0, right = 0, bottom = 0; /* where (0, 0) lies, and the far corner */
        corner(&p, orientation, false, false, &left, &top);
        corner(&p, orientation, true, true, &right, &bottom);
        const int dx = right > left ? 1 : -1, dy = bottom > top ? 1 : -1;
        for (int y = 0; p.rgb && y < c.height; y++)
            for (int x = 0; x < c.width; x++) {
                const uint16_t *v = orientation < 5 ? picture_at(&p, left + dx * x, top + dy * y)
                                                    : picture_at(&p, left + dx * y, top + dy * x);
                const uint8_t *w = c.v8 + 3 * ((size_t)y * (size_t)c.width + (size_t)x);
                for (int k = 0; k < 3; k++) wrong += v[k] != light[w[k]];
            }
        CHECK(wrong == 0);
        picture_free(&p);
    }
    canvas_free(&c);
}

/* Added up as its rows come, against the mean of the whole: in every orientation, with squares that do not
 * fill. */
static void a_photograph_is_made_small_from_its_rows(void) {
    struct arena *arena = arena_new();
    const struct surroundings around = {.disk = disk_real(), .arena = arena};
    struct canvas c = canvas_new(1501, 903, 8);
    unsigned long long seed = 4712;
    for (int y = 0; y < c.height; y++)
        for (int x = 0; x < c.width; x++) {
            const unsigned v = (unsigned)(16777216 * check_random(&seed));
            canvas_set(&c, x, y, x / 6 & 255, v >> 8 & 255, y / 6 & 255);
        }
    for (int orientation = 1; orientation <= 8; orientation++) {
        char path[300];
        struct screen_picture small = {0};
        struct fault fault = {0};
        int step = 0;
        c.orientation = orientation;
        canvas_tiff(&c, file_in(path, "small.tif"), (struct tiff_way){COMPRESSION_NONE, false, false, false});
        CHECK(picture_load_small(&around, path, 300, &small, &step, &fault) == STATUS_OK);
        CHECK(step == 6 && small.width == (orientation < 5 ? 251 : 151) &&
              small.height == (orientation < 5 ? 151 : 251));
        int wrong = 0;
        for (int y = 0; small.rgb && y < 151; y++)
            for (int x = 0; x < 251; x++) {
                const int left = orientation == 2 || orientation == 3 || orientation == 7 || orientation == 8,
                          up = orientation == 3 || orientation == 4 || orientation == 6 || orientation == 7;
                const int u = left ? 250 - x : x, v = up ? 150 - y : y;
                const int at = orientation < 5 ? v * small.width + u : u * small.width + v;
                double sum = 0, n = 0;
                for (int r = 6 * y; r < 6 * y + 6 && r < c.height; r++)
                    for (int k = 6 * x; k < 6 * x + 6 && k < c.width; k++, n++)
                        sum += srgb_light(c.v8[3 * ((size_t)r * (size_t)c.width + (size_t)k) + 1] / 255.);
                const uint8_t *rgb = small.rgb + 3 * (size_t)at;
                wrong += rgb[0] != (x & 255) || rgb[2] != (y & 255) ||
                         !(fabs(255 * inverse_srgb(sum / n) - rgb[1]) <= .6);
            }
        CHECK(wrong == 0);
        if (wrong) printf("  orientation %d: %d pixels\n", orientation, wrong);
    }
    canvas_free(&c);
    arena_free(arena);
}

/* Linear values times to_srgb against lcms2's own way from the profile to sRGB. */
static void check_primaries(const struct picture *p, const void *icc, unsigned size, const struct canvas *c) {
    cmsHPROFILE from = cmsOpenProfileFromMem(icc, size), to = cmsCreate_sRGBProfile();
    cmsHTRANSFORM t = cmsCreateTransform(from, TYPE_RGB_DBL, to, TYPE_RGB_DBL, INTENT_RELATIVE_COLORIMETRIC,
                                         cmsFLAGS_NOOPTIMIZE);
    for (int i = 3; i < BLOCKS; i++) {
        const uint16_t *v = picture_at(p, i * BLOCK + 8, BLOCK);
        const uint8_t *w = c->v8 + 3 * ((size_t)BLOCK * (size_t)c->width + (size_t)(i * BLOCK + 8));
        double code[3] = {w[0] / 255., w[1] / 255., w[2] / 255.}, srgb[3];
        cmsDoTransform(t, code, srgb, 1);
        for (int k = 0; k < 3; k++) {
            const double *m = p->to_srgb + 3 * k;
            const double light = (m[0] * v[0] + m[1] * v[1] + m[2] * v[2]) / 65535;
            CHECK_NEAR(light > .0031308 ? inverse_srgb(light) : 12.92 * light, srgb[k], .004);
        }
    }
    cmsDeleteTransform(t);
    cmsCloseProfile(from);
    cmsCloseProfile(to);
}

static void check_profile(const char *path, const struct canvas *c, double gamma, double tolerance,
                          bool exact) {
    struct picture p = load(path);
    CHECK(p.curve_known && !p.note[0]);
    for (int i = 0; p.rgb && i < BLOCKS; i++)
        for (int k = 0; k < 3; k++) {
            const double v = picture_at(&p, i * BLOCK + 8, BLOCK)[k] / 65535.;
            CHECK_NEAR(255 * pow(v, 1 / gamma), block_colour[i][k], tolerance);
        }
    if (p.rgb && exact) check_primaries(&p, c->icc, c->icc_size, c);
    picture_free(&p);
}

static void an_embedded_profile_is_respected(void) {
    char path[300], heic[300];
    struct canvas c = blocks();
    unsigned size;
    void *icc = profile_of_gamma(1.8, &size);
    c.icc = icc;
    c.icc_size = size;
    canvas_png(&c, file_in(path, "profile.png"), PNG_PLAIN);
    check_profile(path, &c, 1.8, .1, true);
    CHECK(encode_heic(path, file_in(heic, "profile.heic")));
    check_profile(heic, &c, 1.8, 2.6, false);
    canvas_tiff(&c, file_in(path, "profile.tif"), (struct tiff_way){COMPRESSION_LZW, false, false, false});
    check_profile(path, &c, 1.8, .1, true);
    canvas_jpeg(&c, file_in(path, "profile.jpg"), 100, false);
    check_profile(path, &c, 1.8, 1.6, false);
    free(icc);
    c.icc = NULL;
    canvas_png(&c, file_in(path, "gamma.png"), PNG_SAYS_GAMMA_1);
    check_profile(path, &c, 1, .1, false);
    canvas_free(&c);
}

static void a_profile_that_is_none_leaves_srgb_and_a_note(void) {
    char path[300];
    struct canvas c = steps();
    c.icc = "this is no profile, but as long as the head of one would be .................................."
            "...............................................";
    c.icc_size = 140;
    canvas_tiff(&c, file_in(path, "no-profile.tif"),
                (struct tiff_way){COMPRESSION_NONE, false, false, false});
    struct picture p = load(path);
    CHECK(p.note_word == WORD_PICTURE_BAD_PROFILE && !p.curve_known);
    CHECK(strstr(p.note, "no-profile.tif") != NULL);
    picture_free(&p);
    check_steps(path, false);
    canvas_free(&c);
}

/* Blocks of 16 sensels; the light in them, and what the sensor of black 512 and white 15871 says. */
static const double sensor_light[6][3] = {{.5, .4, .3}, {.02, .01, .005}, {.9, .95, .3},
                                          {0, 0, 0},    {.25, .25, .25},  {1.2, .6, .3}};

static uint16_t *mosaic(const struct dng *d) {
    uint16_t *v = calloc((size_t)d->width * (size_t)d->height, sizeof *v);
    for (int y = 0; y < d->height; y++)
        for (int x = 0; x < d->width; x++) {
            const double light = sensor_light[x / 16][d->pattern[y % 2 * 2 + x % 2]];
            const double n = d->black + light * (d->white - d->black);
            v[y * d->width + x] = (uint16_t)((n < d->white ? n : d->white) + .5);
        }
    return v;
}

static void check_sensor(const struct picture *p, int cell) {
    for (int i = 0; p->rgb && i < 5; i++)
        for (int k = 0; k < 3; k++) {
            const double got = picture_at(p, (i * 16 + 8) / cell, 16 / cell)[k] / 65535.;
            CHECK_NEAR(got, sensor_light[i][k], 5e-5);
        }
    if (p->rgb) {
        const uint16_t *burnt = picture_at(p, 88 / cell, 16 / cell);
        CHECK(burnt[0] >= p->clip && burnt[1] < p->clip);
    }
}

static void a_dng_of_each_filter_pattern_gives_the_sensors_light(void) {
    static const unsigned char patterns[4][4] = {{0, 1, 1, 2}, {2, 1, 1, 0}, {1, 0, 2, 1}, {1, 2, 0, 1}};
    for (int i = 0; i < 4; i++) {
        char path[300];
        struct dng d = {.width = 96, .height = 64, .black = 512, .white = 15871};
        memcpy(d.pattern, patterns[i], 4);
        uint16_t *values = mosaic(&d);
        d.values = values;
        dng_write(&d, file_in(path, "sensor.dng"));
        struct picture p = load(path);
        CHECK(p.raw && p.curve_known && p.reduced == 2 && p.width == 48 && p.height == 32 && !p.note[0]);
        check_sensor(&p, 2);
        /* For looking, a grey of the camera's chosen white (AsShotNeutral .5 1 .6) must look grey. */
        double grey[3];
        for (int k = 0; k < 3; k++)
            grey[k] = p.to_srgb[3 * k] * .5 + p.to_srgb[3 * k + 1] + p.to_srgb[3 * k + 2] * .6;
        CHECK_NEAR(grey[0], grey[1], .01);
        CHECK_NEAR(grey[2], grey[1], .01);
        picture_free(&p);
        free(values);
    }
}

static void a_dng_is_turned_upright(void) {
    for (int orientation = 1; orientation <= 8; orientation++) {
        char path[300];
        struct dng d = {
            .width = 96, .height = 64, .white = 1023, .pattern = {0, 1, 1, 2}, .orientation = orientation};
        struct canvas c = canvas_new(96, 64, 8);
        uint16_t *v = calloc(96 * 64, sizeof *v);
        for (int y = 0; y < 64; y++)
            for (int x = 0; x < 96; x++) {
                const int quarter = y / 32 * 2 + x / 48, k = d.pattern[y % 2 * 2 + x % 2];
                const bool lit[3] = {quarter == 1 || quarter == 3, quarter == 2 || quarter == 3,
                                     quarter == 0};
                v[y * 96 + x] = lit[k] ? 900 : 30;
            }
        d.values = v;
        dng_write(&d, file_in(path, "turned.dng"));
        check_turned(path, &c, orientation, 2);
        free(v);
        canvas_free(&c);
    }
}

static void a_dng_of_three_values_is_read_with_a_note(void) {
    char path[300];
    struct dng d = {.width = 96, .height = 64, .three = true, .white = 65535};
    uint16_t *v = calloc(96 * 64 * 3, sizeof *v);
    for (int i = 0; i < 96 * 64; i++)
        for (int k = 0; k < 3; k++) {
            const double light = sensor_light[i % 96 / 16][k];
            v[3 * i + k] = (uint16_t)(65535 * (light < 1 ? light : 1) + .5);
        }
    d.values = v;
    dng_write(&d, file_in(path, "three.dng"));
    struct picture p = load(path);
    CHECK(p.raw && p.reduced == 1 && p.width == 96 && p.note_word == WORD_PICTURE_RAW_LINEAR);
    check_sensor(&p, 1);
    picture_free(&p);
    free(v);
}

static void discs_inside_and_outside_are_told_apart(void) {
    const struct picture p = {.width = 100, .height = 50};
    CHECK(picture_inside(&p, 50, 25, 25));
    CHECK(!picture_inside(&p, 50, 25, 25.01));
    CHECK(picture_inside(&p, 0, 0, 0) && picture_inside(&p, 100, 50, 0));
    CHECK(!picture_inside(&p, NAN, 1, 0) && !picture_inside(&p, 1, 1, NAN) && !picture_inside(&p, 5, 5, -1));
}

int main(void) {
    TIFFSetWarningHandler(NULL);
    RUN(eight_bits_become_light_by_iec_61966);
    RUN(every_way_of_a_tiff_holds_the_same_picture);
    RUN(sixteen_bits_keep_what_eight_lose);
    RUN(a_jpeg_is_as_near_as_its_own_rounding);
    RUN(a_heic_of_heif_enc_is_read);
    RUN(all_eight_orientations_of_exif_are_turned_upright);
    RUN(many_rows_come_home_in_every_orientation);
    RUN(an_embedded_profile_is_respected);
    RUN(a_profile_that_is_none_leaves_srgb_and_a_note);
    RUN(a_dng_of_each_filter_pattern_gives_the_sensors_light);
    RUN(a_dng_is_turned_upright);
    RUN(a_dng_of_three_values_is_read_with_a_note);
    RUN(a_photograph_is_made_small_from_its_rows);
    RUN(discs_inside_and_outside_are_told_apart);
    files_remove();
    return check_done();
}
