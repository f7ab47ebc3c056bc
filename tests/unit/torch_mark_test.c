/* Pins and balls drawn with their shadows and glints: the torch must be where it was. The ground is mottled;
 * edges of shadows are soft. */
#include "check.h"
#include "surface/torch_mark.h"

enum { SIDE = 700, LIGHTS = 4 };
static const double px_mm = .15, rad = .017453292519943295;

static struct picture blank(void) {
    struct picture p = {.width = SIDE, .height = SIDE, .clip = 65000, .reduced = 1};
    p.rgb = calloc(3 * SIDE * SIDE, sizeof *p.rgb);
    return p;
}

static void put(struct picture *p, int x, int y, double v) {
    for (int c = 0; c < 3; c++) p->rgb[3 * (y * SIDE + x) + c] = (uint16_t)(60000 * fmin(1, fmax(0, v)));
}

static double mottle(int x, int y) {
    unsigned long long seed = (unsigned long long)(x * 7919 + y * 104729 + 1);
    (void)check_random(&seed);
    return .9 + .2 * check_random(&seed);
}

/* A pin a millimetre thick at (350.3, 340.8), its shadow, a torch that falls off. */
static struct picture with_pin(double height_mm, double soft, double azimuth_deg, double elevation_deg) {
    struct picture p = blank();
    const double length = height_mm / tan(elevation_deg * rad);
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) {
            const double dx = (x + .5 - 350.3) * px_mm, dy = -(y + .5 - 340.8) * px_mm;
            const double along = -(dx * cos(azimuth_deg * rad) + dy * sin(azimuth_deg * rad));
            const double across = fabs(dx * sin(azimuth_deg * rad) - dy * cos(azimuth_deg * rad));
            const double dark = 1 / ((1 + exp((across - .5) / (.3 * soft))) *
                                     (1 + exp((along - length) / (.5 * soft))) * (1 + exp(-along / .1)));
            put(&p, x, y, .5 * mottle(x, y) * (1 - .002 * along) * (1 - .9 * dark));
        }
    return p;
}

static void one_pin(double height_mm, double soft) {
    static const double azimuth[LIGHTS] = {10, 101.3, 190.6, 283}, elevation[LIGHTS] = {27.5, 25, 32, 40};
    const struct torch_mark pin = {TORCH_PIN, 350.3, 340.8, height_mm};
    struct pin_rings *rings[LIGHTS];
    double worst_azimuth = 0, worst_elevation = 0;
    for (int i = 0; i < LIGHTS; i++) {
        struct picture p = with_pin(height_mm, soft, azimuth[i], elevation[i]);
        rings[i] = calloc(1, sizeof *rings[i]);
        pin_look(&p, &pin, px_mm, rings[i]);
        free(p.rgb);
    }
    for (int i = 0; i < LIGHTS; i++) {
        struct stereo_light light = {0, 0, 0};
        CHECK(pin_torch(rings, LIGHTS, i, &light));
        worst_azimuth = fmax(worst_azimuth, fabs(remainder(light.azimuth_deg - azimuth[i], 360)));
        worst_elevation = fmax(worst_elevation, fabs(light.elevation_deg - elevation[i]));
    }
    printf(
        "  figure: a pin of %g mm, .15 mm a pixel: azimuth off by %.2f, elevation by %.2f degrees at most\n",
        height_mm, worst_azimuth, worst_elevation);
    CHECK_AT_MOST(worst_azimuth, .5);
    CHECK_AT_MOST(worst_elevation, .5);
    struct stereo_light light;
    for (int a = 0; a < PIN_RAYS; a++) /* the picture ends inside of the first one's shadow */
        for (int s = PIN_STEPS / 4; s < PIN_STEPS; s++) rings[0]->light[a][s] = NAN;
    CHECK(!pin_torch(rings, LIGHTS, 0, &light));
    for (int i = 0; i < LIGHTS; i++) free(rings[i]);
}

/* A short pin is thick for its shadow, which near the foot is dark over many rays, all alike. */
static void a_pin_tells_the_torch(void) {
    one_pin(20, .25), one_pin(4, .02);
}

static void without_a_shadow_nothing_is_told(void) {
    const struct torch_mark pin = {TORCH_PIN, 350, 340, 20};
    struct pin_rings *rings[3];
    for (int i = 0; i < 3; i++) {
        struct picture p = blank();
        for (int k = 0; k < SIDE * SIDE; k++) put(&p, k % SIDE, k / SIDE, .5 * mottle(k % SIDE, k / SIDE));
        rings[i] = calloc(1, sizeof *rings[i]);
        pin_look(&p, &pin, px_mm, rings[i]);
        free(p.rgb);
    }
    struct stereo_light light;
    CHECK(!pin_torch(rings, 3, 1, &light));
    CHECK(!pin_torch(rings, 2, 1, &light));
    for (int i = 0; i < 3; i++) free(rings[i]);
}

/* Gloss of a ball (Phong about the mirrored direction). */
static void a_ball_tells_the_torch(void) {
    const struct torch_mark ball = {TORCH_BALL, 200.5, 180.5, 60};
    const double azimuth = 130, elevation = 30;
    const double l[3] = {cos(azimuth * rad) * cos(elevation * rad),
                         -sin(azimuth * rad) * cos(elevation * rad), sin(elevation * rad)};
    struct picture p = blank();
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) {
            const double nx = (x + .5 - ball.x) / ball.size, ny = (y + .5 - ball.y) / ball.size;
            const double nz2 = 1 - nx * nx - ny * ny, nz = sqrt(fmax(0, nz2));
            const double facing = 2 * nz * (nx * l[0] + ny * l[1] + nz * l[2]) - l[2];
            put(&p, x, y, nz2 > 0 ? .02 + .9 * pow(fmax(0, facing), 200) : .3);
        }
    struct stereo_light light = {0, 0, 0};
    CHECK(ball_torch(&p, &ball, &light));
    printf("  figure: a ball of 60 pixels: azimuth %.2f (130), elevation %.2f (30)\n", light.azimuth_deg,
           light.elevation_deg);
    CHECK_NEAR(light.azimuth_deg, azimuth, 1);
    CHECK_NEAR(light.elevation_deg, elevation, 1);
    const struct torch_mark outside = {TORCH_BALL, 20, 20, 60};
    CHECK(!ball_torch(&p, &outside, &light));
    free(p.rgb);
}

int main(void) {
    RUN(a_pin_tells_the_torch);
    RUN(without_a_shadow_nothing_is_told);
    RUN(a_ball_tells_the_torch);
    return check_done();
}
