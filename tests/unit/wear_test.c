/* Cracks and lost colour. Real cracks: SUT-Crack (Sabouri & Sepidbar 2023, CC BY 4.0, tests/data/cracks), on
 * which nothing was tuned. Rendered leather: tests/wear/panel.c, rendered broken ground: tests/wear/rubble.h,
 * seeds from 101 (constants were set on seeds 1 to 36). Analytic lines, polygons and profiles: closed forms.
 */
#include "wear/panel.c"
#include "wear/rubble.h"

#include "base/memory.h"
#include "surface/blob.h"
#include "surface/crack_line.h"
#include "surface/ridge.h"
#include "surface/wear.h"
#include <jpeglib.h>
#include <png.h>

enum { SIDE = 480 };

static void polygons_know_their_area_and_inside(void) {
    const struct polygon ell = {6, {{0, 0}, {4, 0}, {4, 2}, {2, 2}, {2, 5}, {0, 5}}};
    CHECK_NEAR(polygon_area(&ell), 14, 1e-12);
    CHECK(polygon_holds(&ell, (struct point){1, 4}) && polygon_holds(&ell, (struct point){3, 1}));
    CHECK(!polygon_holds(&ell, (struct point){3, 3}) && !polygon_holds(&ell, (struct point){-1, 1}));
    const struct panel_grid grid = {40, 50, .1, {0, 0}};
    uint8_t cells[40 * 50];
    double n = 0;
    grid_fill(&grid, &ell, cells);
    for (int i = 0; i < 40 * 50; i++) n += cells[i];
    CHECK_NEAR(n, 1400, 0);
}

/* I = 1 - exp(-x^2 / 2 w^2) at an angle: at its middle the response is sigma^2 w / (w^2 + sigma^2)^(3/2), for
 * a line that has no end. */
static void a_ridge_meets_its_closed_form(void) {
    enum { N = 160 };
    float *plane = memory_need(N * N, sizeof *plane), *bank = memory_need(6 * N * N, sizeof *bank);
    uint8_t *along = memory_need(2 * N * N, 1);
    for (int k = 0; k < RIDGE_DIRECTIONS; k++) {
        const double angle = M_PI * k / RIDGE_DIRECTIONS, w = 1.5;
        for (int i = 0; i < N * N; i++) {
            const double d = (i / N - N / 2) * cos(angle) - (i % N - N / 2) * sin(angle);
            plane[i] = (float)(1 - exp(-d * d / (2 * w * w)));
        }
        struct ridge_planes out = {false,
                                   {bank, bank + N * N, bank + 2 * N * N},
                                   {bank + 3 * N * N, bank + 4 * N * N, bank + 5 * N * N},
                                   along,
                                   along + N * N};
        ridge_filter(plane, N, N, NULL, &out);
        const int at = N / 2 * N + N / 2;
        for (int s = 0; s < RIDGE_SCALES; s++) {
            const double sigma = ridge_sigma[s], all = w * w + sigma * sigma, far = sigma * 4 / 3,
                         want = sigma * w * far / pow(all, 1.5) * exp(-far * far / (2 * all));
            CHECK_NEAR((double)out.dark[s][at], want, .12 * want); /* the flanks are whole cells away */
            CHECK((double)out.light[s][at] < .1 * want);
        }
        CHECK(along[at] == k);
    }
    memory_free(plane), memory_free(bank), memory_free(along);
}

static void avx2_changes_no_bit_of_a_response(void) {
    enum { W = 230, H = 90, N = W * H };
    unsigned long long seed = 5;
    float *plane = memory_need(N, sizeof *plane), *bank = memory_need(12 * N, sizeof *bank);
    uint8_t *along = memory_need(4 * N, 1);
    for (int i = 0; i < N; i++) plane[i] = (float)check_random(&seed);
    for (int k = 0; k < 2; k++) {
        float *b = bank + 6 * N * k;
        struct ridge_planes out = {false,
                                   {b, b + N, b + 2 * N},
                                   {b + 3 * N, b + 4 * N, b + 5 * N},
                                   along + 2 * N * k,
                                   along + 2 * N * k + N};
        (k ? ridge_filter_plainly : ridge_filter)(plane, W, H, NULL, &out);
    }
    CHECK(memcmp(bank, bank + 6 * N, 6 * N * sizeof *bank) == 0 && memcmp(along, along + 2 * N, 2 * N) == 0);
    memory_free(plane), memory_free(bank), memory_free(along);
}

static double length_of(const uint8_t *thin) {
    double sum = 0;
    for (int i = 0; i < 60 * 60; i++)
        if (thin[i]) sum += crack_steps(thin, 60, 60, i % 60, i / 60);
    return sum;
}

static void thin_lines_have_their_length(void) {
    uint8_t mask[60 * 60] = {0};
    for (int y = 20; y < 25; y++)
        for (int x = 5; x < 55; x++) mask[y * 60 + x] = 1;
    blob_thin(mask, 60, 60);
    CHECK_NEAR(length_of(mask), 44, 2); /* the ends of a bar 5 wide shrink by about half of that each */
    double worst = 0, mean = 0;
    for (int k = 0; k <= 45; k++) { /* h + v + sqrt2 d is up to 8 % long, 5 % on average */
        const double way = k * M_PI / 180;
        memset(mask, 0, sizeof mask);
        for (double t = 0; t <= 50; t += .1)
            mask[(int)lround(2 + t * sin(way)) * 60 + (int)lround(2 + t * cos(way))] = 1;
        /* a thin line keeps no corner where a diagonal step would do */
        for (int i = 61; i < 59 * 60; i++)
            if (mask[i] && mask[i - 1] && mask[i + 60] && !mask[i + 1] && !mask[i - 60]) mask[i] = 0;
        worst = fmax(worst, fabs(length_of(mask) / 50 - 1)), mean += length_of(mask) / 50 / 46;
    }
    printf("  figure: length of straight lines of 50 cells at 46 angles: mean %.4f, worst off by %.4f\n",
           mean, worst);
    CHECK_NEAR(mean, 1, .02);
    CHECK(worst < .04);
}

static void twigs_go_and_the_line_stays(void) {
    uint8_t mask[60 * 60] = {0};
    for (int x = 5; x < 55; x++) mask[30 * 60 + x] = 1;
    for (int k = 1; k < 7; k++) mask[(30 - k) * 60 + 20] = 1, mask[(30 + k) * 60 + 40 + k] = 1;
    for (int k = 1; k < 15; k++) mask[(30 - k) * 60 + 35] = 1;
    blob_prune(mask, 60, 60, 9);
    int short_ones = 0, long_one = 0, line = 0;
    for (int k = 2; k < 7; k++) short_ones += mask[(30 - k) * 60 + 20] + mask[(30 + k) * 60 + 40 + k];
    for (int k = 1; k < 15; k++) long_one += mask[(30 - k) * 60 + 35];
    for (int x = 5; x < 55; x++) line += mask[30 * 60 + x];
    CHECK(short_ones == 0 && long_one == 14 && line == 50);
}

static void profiles_have_their_width(void) {
    double profile[25];
    bool step;
    for (double w = 1.5; w < 8; w += .5) {
        for (int i = 0; i < 25; i++) profile[i] = 1 - .4 * fmin(1, fmax(0, w / 2 + .5 - fabs(i - 12.)));
        CHECK_NEAR(crack_profile_width(profile, 25, &step), w, .26);
        CHECK(!step);
    }
    for (int i = 0; i < 25; i++) profile[i] = i < 12 ? .4 : 1;
    (void)crack_profile_width(profile, 25, &step);
    CHECK(step);
}

/* light of a line `deep` cells down at 0 +- half, between ground and another level that begins at `edge` */
static double rise_of(double deep, double half, double other, double edge) {
    double profile[CRACK_PROFILE];
    for (int i = 0; i < CRACK_PROFILE; i++) {
        const double u = i - CRACK_REACH;
        profile[i] = fabs(u) <= half ? 1 - deep : u >= edge ? other : 1;
    }
    return crack_valley_of(profile).rise;
}

static void a_step_of_colour_is_no_valley(void) {
    CHECK_NEAR(rise_of(.4, 1, 1, 99), .4, 1e-9);
    for (double edge = 0; edge < 8; edge++) CHECK(rise_of(0, 0, 2, edge) < 1e-9);
    for (double edge = 2; edge < 8; edge++) CHECK(rise_of(.4, 1, 2, edge) > .2); /* a crack before an edge */
    CHECK(rise_of(-.4, 1, 1, 99) < 0);
}

/* ---- rendered leather ---- */

struct trial {
    struct panel *panel;
    struct wear_result result;
    struct arena *arena;
};

static void place_patch(const struct panel *panel, bool worst, int *left, int *top) {
    int best = worst ? -1 : 1 << 30;
    for (int y = 20; y + 140 < SIDE; y += 20)
        for (int x = 20; x + 140 < SIDE; x += 20) {
            int bad = 0;
            for (int k = 0; k < 140 * 140; k++) {
                const int at = (y + k / 140) * SIDE + x + k % 140;
                bad += panel->crack[at] || panel->loss[at];
            }
            if (worst ? bad > best : bad < best) best = bad, *left = x, *top = y;
        }
}

static struct trial try_panel(int seed, int cracks, int losses, bool worst_patch, int lamps,
                              struct work *work) {
    const double px = .08;
    const struct panel_plan plan = {PANEL_LEATHER, (unsigned long long)seed, SIDE, px, 1.2, .05, cracks,
                                    losses};
    struct trial trial = {.panel = panel_new(&plan), .arena = arena_new()};
    const struct plane_view view = {NULL, px};
    const struct polygon all = {4, {{0, 0}, {SIDE, 0}, {SIDE, SIDE}, {0, SIDE}}};
    struct polygon mm;
    struct panel_grid grid;
    CHECK(grid_over(&all, &view, &grid, &mm) && grid.width == SIDE && grid.height == SIDE);
    uint8_t *inside = arena_need(trial.arena, SIDE * SIDE, 1),
            *sound = arena_need(trial.arena, SIDE * SIDE, 1);
    grid_fill(&grid, &mm, inside);
    int x = 0, y = 0;
    place_patch(trial.panel, worst_patch, &x, &y);
    const double a = x * px, b = y * px, c = 140 * px;
    const struct polygon patch = {4, {{a, b}, {a + c, b}, {a + c, b + c}, {a, b + c}}};
    grid_fill(&grid, &patch, sound);
    struct wear *wear = wear_new(&grid, inside, sound, trial.arena);
    for (int i = 0; i < lamps; i++) {
        const struct panel_lamp lamp = {90. * i + 17 * seed, 30, .05, .01, .1};
        struct picture picture = panel_shoot(trial.panel, &lamp);
        wear_add(wear, &picture, &view, work);
        free(picture.rgb);
    }
    CHECK(wear_measure(wear, work, &trial.result));
    return trial;
}

static void trial_end(struct trial *trial) {
    panel_free(trial->panel), arena_free(trial->arena);
}

/* How often the truth lies inside of what is told. */
struct held {
    int length, width, area, of;
};

static bool holds(double measured, double truth, double u95) {
    return fabs(measured - truth) <= u95;
}

static void rendered_cracks(int from, int seeds, int losses) {
    double f = 0, length = 0, width = 0;
    struct held held = {0};
    for (int seed = from; seed < from + seeds; seed++) {
        struct trial t = try_panel(seed, losses ? 4 : 8, losses, false, 4, NULL);
        const struct panel_score score = panel_score(t.result.cracks.mask, t.panel->crack, SIDE, SIDE, 2);
        f += score.f / seeds, length += t.result.cracks.length_mm / t.panel->crack_mm / seeds;
        width += t.result.cracks.width_median_mm / t.panel->width_median_mm / seeds;
        printf("  figure: rendered cracks, %d worn places, seed %d, four lamps: F %.3f, length %.2f, width "
               "%.2f of true\n",
               losses, seed, score.f, t.result.cracks.length_mm / t.panel->crack_mm,
               t.result.cracks.width_median_mm / t.panel->width_median_mm);
        CHECK(score.f >= .80);
        CHECK_NEAR(t.result.cracks.length_mm / t.panel->crack_mm, 1, .2);
        CHECK_NEAR(t.result.cracks.width_median_mm / t.panel->width_median_mm, 1, .2);
        CHECK(!t.result.sound_is_cracked);
        held.of++;
        held.length += holds(t.result.cracks.length_mm, t.panel->crack_mm, t.result.u95.crack_mm);
        held.width += holds(t.result.cracks.width_median_mm, t.panel->width_median_mm, t.result.u95.width_mm);
        trial_end(&t);
    }
    printf("  figure: the told interval holds the true length on %d, the true width on %d of %d panels\n",
           held.length, held.width, held.of);
    CHECK(10 * held.length >= 7 * held.of && 10 * held.width >= 7 * held.of);
    printf("  figure: mean F %.3f, length %.3f, width %.3f of true\n", f, length, width);
    CHECK_NEAR(length, 1, .2);
    CHECK_NEAR(width, 1, .2);
}

static void cracks_of_rendered_leather_are_found(void) {
    rendered_cracks(102, 1, 0);
}

static void LONG_cracks_of_more_leather_are_found(void) {
    rendered_cracks(101, 8, 0);
}

/* The edges of worn places are no cracks, and hide none. */
static void LONG_cracks_beside_worn_places_are_found(void) {
    rendered_cracks(501, 8, 3);
}

static double loss_mm2(const struct panel *panel) {
    size_t cells = 0;
    for (int i = 0; i < SIDE * SIDE; i++) cells += panel->loss[i] != 0;
    return (double)cells * panel->px_mm * panel->px_mm;
}

static void rendered_loss(int seeds) {
    double mean = 0, cracks = 0;
    for (int seed = 101; seed < 101 + seeds; seed++) {
        struct trial t = try_panel(seed, 0, 3, false, 4, NULL);
        const struct panel_score score = panel_score(t.result.loss.mask, t.panel->loss, SIDE, SIDE, 0);
        printf("  figure: rendered lost colour, seed %d: F %.3f; called cracks %.1f mm\n", seed, score.f,
               t.result.cracks.length_mm);
        CHECK(holds(t.result.loss.area_mm2, loss_mm2(t.panel), t.result.u95.loss_mm2));
        mean += score.f / seeds, cracks += t.result.cracks.length_mm / seeds;
        CHECK(!t.result.sound_is_spotted);
        trial_end(&t);
    }
    printf("  figure: rendered lost colour, mean F %.3f of %d; the edges called cracks %.2f mm a panel\n",
           mean, seeds, cracks);
    CHECK(mean >= .95); /* asked .90 */
    CHECK(cracks <= 3);
}

static void lost_colour_of_rendered_leather_is_found(void) {
    rendered_loss(1);
}

static void LONG_more_lost_colour_is_found(void) {
    rendered_loss(8);
}

/* ---- other materials, and dirt ---- */

struct whole {
    struct panel_grid grid;
    uint8_t *inside, *sound;
};

static struct whole whole_of(const struct panel *panel, struct arena *arena) {
    struct whole whole = {{SIDE, SIDE, panel->px_mm, {0, 0}}, NULL, NULL};
    int left = 0, top = 0;
    whole.inside = arena_need(arena, SIDE * SIDE, 1), whole.sound = arena_need(arena, SIDE * SIDE, 1);
    memset(whole.inside, 1, SIDE * SIDE);
    place_patch(panel, false, &left, &top);
    for (int y = top; y < top + 140; y++) memset(whole.sound + y * SIDE + left, 1, 140);
    return whole;
}

static struct wear *shoot_all(struct panel *panel, const struct whole *whole, double gloss,
                              struct arena *arena) {
    const struct plane_view view = {NULL, panel->px_mm};
    struct wear *wear = wear_new(&whole->grid, whole->inside, whole->sound, arena);
    for (int i = 0; i < 4; i++) {
        const struct panel_lamp lamp = {90. * i + 20, 30, gloss, .01, .1};
        struct picture picture = panel_shoot(panel, &lamp);
        wear_add(wear, &picture, &view, NULL);
        free(picture.rgb);
    }
    return wear;
}

/* One panel with cracks, one with lost colour, of vinyl or hard plastic; constants were set on leather. */
static struct panel_score other_material(enum panel_material material, int seed, bool cracked) {
    const bool vinyl = material == PANEL_VINYL;
    const struct panel_plan plan = {
        material,           (unsigned long long)seed, SIDE,           .08, vinyl ? .9 : .5,
        vinyl ? .03 : .012, cracked ? 8 : 0,          cracked ? 0 : 3};
    struct panel *panel = panel_new(&plan);
    struct arena *arena = arena_new();
    struct wear_result result;
    const struct whole whole = whole_of(panel, arena);
    struct wear *wear = shoot_all(panel, &whole, vinyl ? .08 : .04, arena);
    CHECK(wear_measure(wear, NULL, &result));
    const struct panel_score score =
        panel_score(cracked ? result.cracks.mask : result.loss.mask, cracked ? panel->crack : panel->loss,
                    SIDE, SIDE, cracked ? 2 : 0);
    printf("  figure: %s, seed %d: F %.3f (%.3f, %.3f)", vinyl ? "vinyl" : "hard plastic", seed, score.f,
           score.precision, score.recall);
    if (cracked) {
        printf(", length %.2f, width %.2f of true", result.cracks.length_mm / panel->crack_mm,
               result.cracks.width_median_mm / panel->width_median_mm);
        CHECK_NEAR(result.cracks.length_mm / panel->crack_mm, 1, .2);
        CHECK_NEAR(result.cracks.width_median_mm / panel->width_median_mm, 1, .2);
    }
    printf("\n");
    arena_free(arena), panel_free(panel);
    return score;
}

static void materials(int seeds) {
    for (int m = PANEL_VINYL; m < PANEL_MATERIALS; m++) {
        double cracks = 0, loss = 0;
        for (int k = 0; k < seeds; k++) {
            cracks += other_material((enum panel_material)m, 301 + k, true).f;
            loss += other_material((enum panel_material)m, 301 + k, false).f;
        }
        printf("  figure: mean of %d: cracks F %.3f, lost colour F %.3f\n", seeds, cracks / seeds,
               loss / seeds);
        CHECK(cracks >= .8 * seeds);
        CHECK(loss >= .9 * seeds);
    }
}

static void vinyl_and_hard_plastic_are_measured(void) {
    materials(1);
}

static void LONG_more_vinyl_and_hard_plastic(void) {
    materials(8);
}

static void put_square(uint8_t *square, const uint8_t *dirt, int side, int *left, int *top) {
    int most = -1;
    for (int y = 10; y + side < SIDE - 10; y += 10)
        for (int x = 10; x + side < SIDE - 10; x += 10) {
            int n = 0;
            for (int k = 0; k < side * side; k++) n += dirt[(y + k / side) * SIDE + x + k % side];
            if (n > most) most = n, *left = x, *top = y;
        }
    for (int y = *top; y < *top + side; y++) memset(square + y * SIDE + *left, 1, (size_t)side);
}

/* Lost colour under dirt is not to be seen: it counts neither way. */
static double seen_f(const uint8_t *found, const uint8_t *truth, const struct panel *panel,
                     const uint8_t *dirt) {
    static uint8_t a[SIDE * SIDE], b[SIDE * SIDE];
    for (int i = 0; i < SIDE * SIDE; i++) {
        const bool both = panel->loss[i] && dirt[i];
        a[i] = found[i] && !both, b[i] = truth[i] && !both;
    }
    return panel_score(a, b, SIDE, SIDE, 0).f;
}

/* Two losses, four spots of dirt; a square of 5 mm is cleaned where there is most of it. */
static void dirt_leaves_the_loss_when_a_square_was_cleaned(void) {
    double before = 0, after = 0, dirt_f = 0, edges = 0;
    const int seeds = getenv("RUSSET_LONG") ? 8 : 1;
    for (int k = 0; k < seeds; k++) {
        const struct panel_plan plan = {
            PANEL_LEATHER, 401 + (unsigned long long)k, SIDE, .08, 1.2, .05, 0, 2};
        struct panel *panel = panel_new(&plan);
        struct arena *arena = arena_new();
        uint8_t *dirt = arena_need(arena, SIDE * SIDE, 1), *square = arena_need(arena, SIDE * SIDE, 1);
        float *clean = arena_need(arena, 3 * SIDE * SIDE, sizeof *clean);
        struct wear_result result;
        struct loss_dirt told;
        int left = 0, top = 0;
        panel_soil(panel, 4, dirt, clean);
        for (int i = 0; i < SIDE * SIDE; i++) panel->crack[i] = dirt[i]; /* the patch keeps off it */
        const struct whole whole = whole_of(panel, arena);
        struct wear *first = shoot_all(panel, &whole, .05, arena);
        CHECK(wear_measure(first, NULL, &result));
        const double f0 = seen_f(result.loss.mask, panel->loss, panel, dirt);
        put_square(square, dirt, 62, &left, &top);
        panel_wipe(panel, clean, left, top, 62);
        struct wear *again = shoot_all(panel, &whole, .05, arena);
        CHECK(wear_take_dirt(first, again, square, NULL, &result, &told));
        const double now = seen_f(result.loss.mask, panel->loss, panel, dirt),
                     of_dirt = seen_f(result.loss.dirt, dirt, panel, dirt);
        printf("  figure: dirt, seed %d: lost colour F %.3f before, %.3f after; dirt F %.3f; %.0f of %.0f "
               "mm2 came off; called cracks %.1f mm\n",
               401 + k, f0, now, of_dirt, told.off_mm2, told.before_mm2, result.cracks.length_mm);
        edges += result.cracks.length_mm / seeds;
        before += f0 / seeds, after += now / seeds, dirt_f += of_dirt / seeds;
        CHECK(told.off_mm2 > .5 * told.before_mm2 && told.dirt_mm2 > told.off_mm2);
        arena_free(arena), panel_free(panel);
    }
    printf(
        "  figure: lost colour with dirt, mean F %.3f; after a test square was cleaned %.3f; dirt F %.3f\n",
        before, after, dirt_f);
    CHECK(after >= .85 && after > before + .05);
    CHECK(edges <= 3); /* an edge of dirt is no crack */
    CHECK(dirt_f >= .8);
}

static void a_sound_patch_that_is_not_sound_is_told(void) {
    struct trial t = try_panel(102, 8, 0, true, 1, NULL);
    CHECK(t.result.sound_is_cracked);
    trial_end(&t);
    t = try_panel(101, 0, 3, true, 1, NULL);
    CHECK(t.result.sound_is_spotted);
    trial_end(&t);
}

static void two_threads_find_the_same(void) {
    struct work *work = work_new(2, NULL, NULL);
    struct trial a = try_panel(105, 8, 2, false, 1, NULL), b = try_panel(105, 8, 2, false, 1, work);
    CHECK(memcmp(a.result.cracks.mask, b.result.cracks.mask, SIDE * SIDE) == 0);
    CHECK(memcmp(a.result.loss.mask, b.result.loss.mask, SIDE * SIDE) == 0);
    CHECK(a.result.cracks.length_mm == b.result.cracks.length_mm);
    trial_end(&a), trial_end(&b), work_free(work);
}

/* ---- real cracks, through the operation ---- */

static uint8_t *grey_read(const char *path, int *width, int *height) {
    png_image image = {.version = PNG_IMAGE_VERSION};
    if (!png_image_begin_read_from_file(&image, path)) return NULL;
    image.format = PNG_FORMAT_GRAY;
    uint8_t *v = memory_need(PNG_IMAGE_SIZE(image), 1);
    *width = (int)image.width, *height = (int)image.height;
    png_image_finish_read(&image, NULL, v, 0, NULL);
    return v;
}

static struct picture photo_read(const char *path) {
    struct picture picture = {.clip = 65000, .reduced = 1};
    struct jpeg_decompress_struct in;
    struct jpeg_error_mgr errors;
    FILE *file = fopen(path, "rb");
    if (!file) return picture;
    in.err = jpeg_std_error(&errors);
    jpeg_create_decompress(&in);
    jpeg_stdio_src(&in, file);
    (void)jpeg_read_header(&in, TRUE);
    in.out_color_space = JCS_RGB;
    (void)jpeg_start_decompress(&in);
    picture.width = (int)in.output_width, picture.height = (int)in.output_height;
    const size_t row = 3 * (size_t)picture.width;
    uint8_t *line = memory_need(row, 1);
    picture.rgb = calloc(row * (size_t)picture.height, sizeof *picture.rgb);
    for (int y = 0; y < picture.height; y++) {
        (void)jpeg_read_scanlines(&in, &line, 1);
        for (size_t i = 0; i < row; i++)
            picture.rgb[(size_t)y * row + i] = (uint16_t)lround(65535 * decode(line[i] / 255.));
    }
    (void)jpeg_finish_decompress(&in);
    jpeg_destroy_decompress(&in);
    fclose(file), memory_free(line);
    return picture;
}

/* No sound patch. */
static double unaided_f(const struct picture *picture, const uint8_t *truth, const char *name) {
    const int width = picture->width, height = picture->height;
    struct arena *arena = arena_new();
    const struct plane_view view = {NULL, .1};
    const struct polygon all = {4, {{0, 0}, {width, 0}, {width, height}, {0, height}}};
    struct polygon mm;
    struct panel_grid grid;
    CHECK(grid_over(&all, &view, &grid, &mm));
    uint8_t *inside = arena_need(arena, (size_t)(width * height), 1);
    grid_fill(&grid, &mm, inside);
    struct wear *wear = wear_new(&grid, inside, NULL, arena);
    struct wear_result result;
    wear_add(wear, picture, &view, NULL);
    CHECK(wear_measure(wear, NULL, &result));
    const struct panel_score score = panel_score(result.cracks.mask, truth, width, height, 2);
    printf("  figure: %s at 2 px: precision %.3f, recall %.3f, F %.3f\n", name, score.precision, score.recall,
           score.f);
    arena_free(arena);
    return score.f;
}

static double pavement_f(const char *name) {
    char path[400];
    int width = 0, height = 0;
    snprintf(path, sizeof path, TEST_DATA "/cracks/%s.jpg", name);
    struct picture picture = photo_read(path);
    snprintf(path, sizeof path, TEST_DATA "/cracks/%s_mask.png", name);
    uint8_t *truth = grey_read(path, &width, &height);
    CHECK(picture.rgb && truth && width == picture.width && height == picture.height);
    const double f = picture.rgb && truth ? unaided_f(&picture, truth, name) : 0;
    free(picture.rgb), memory_free(truth);
    return f;
}

static double rubble_f(int from, int seeds) {
    double f = 0;
    for (int seed = from; seed < from + seeds; seed++) {
        char name[40];
        struct rubble rubble = rubble_new((unsigned long long)seed, 360, 480);
        struct picture picture = rubble_picture(&rubble);
        snprintf(name, sizeof name, "broken ground %d", seed);
        f += unaided_f(&picture, rubble.truth, name) / seeds;
        free(picture.rgb), rubble_free(&rubble);
    }
    printf("  figure: mean F at 2 px on rendered broken ground %.3f of %d\n", f, seeds);
    return f;
}

static void LONG_cracks_of_broken_ground_are_found(void) {
    CHECK(rubble_f(101, 24) >=
          .65); /* not asked; .699 was reached before widths were read in plain light: a debt */
}

static void cracks_of_a_pavement_are_found(void) {
    static const char *const name[] = {"sut01", "sut03", "sut06"};
    const int n = CHECK_SANITIZED ? 1 : 3;
    double f = 0;
    for (int i = 0; i < n; i++) f += pavement_f(name[i]) / n;
    printf("  figure: mean F at 2 px on SUT-Crack %.3f\n", f);
    CHECK(f >= .75);
}

int main(void) {
    RUN(polygons_know_their_area_and_inside);
    RUN(a_ridge_meets_its_closed_form);
    RUN(avx2_changes_no_bit_of_a_response);
    RUN(thin_lines_have_their_length);
    RUN(twigs_go_and_the_line_stays);
    RUN(profiles_have_their_width);
    RUN(a_step_of_colour_is_no_valley);
    RUN(cracks_of_rendered_leather_are_found);
    RUN(LONG_cracks_of_more_leather_are_found);
    RUN(LONG_cracks_beside_worn_places_are_found);
    RUN(lost_colour_of_rendered_leather_is_found);
    RUN(LONG_more_lost_colour_is_found);
    RUN(vinyl_and_hard_plastic_are_measured);
    RUN(LONG_more_vinyl_and_hard_plastic);
    RUN(dirt_leaves_the_loss_when_a_square_was_cleaned);
    RUN(a_sound_patch_that_is_not_sound_is_told);
    RUN(cracks_of_a_pavement_are_found);
    RUN(LONG_cracks_of_broken_ground_are_found);
    RUN(two_threads_find_the_same);
    return check_done();
}
