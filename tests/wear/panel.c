#include "wear/panel.h"
#include "check.h"

struct stuff {
    float ground[3], raw[3];
    double narrow; /* of the cracks' widths */
};
static const struct stuff stuff[PANEL_MATERIALS] = {
    [PANEL_LEATHER] = {{.24f, .105f, .045f}, {.52f, .38f, .27f}, 1},
    [PANEL_VINYL] = {{.06f, .062f, .068f}, {.34f, .32f, .29f}, 1},
    [PANEL_PLASTIC] = {{.15f, .15f, .16f}, {.42f, .43f, .44f}, .7}};

static double random_of(struct panel *panel) {
    return check_random(&panel->state);
}

static double normal(struct panel *panel) {
    return sqrt(-2 * log(1 - random_of(panel))) * cos(2 * M_PI * random_of(panel));
}

static void *plane_new(int side, size_t size) {
    return calloc((size_t)side * (size_t)side, size);
}

/* Distances to the two nearest of jittered points, one to each square: F2 - F1 is small in the valleys. */
static void raise_pebbles(struct panel *panel, const struct panel_plan *plan) {
    const double pitch = plan->pebble_mm / plan->px_mm;
    const int n = (int)(panel->side / pitch) + 3;
    double *px = calloc((size_t)(n * n), sizeof *px), *py = calloc((size_t)(n * n), sizeof *py);
    for (int i = 0; i < n * n; i++)
        px[i] = (i % n - 1 + random_of(panel)) * pitch, py[i] = (i / n - 1 + random_of(panel)) * pitch;
    for (int y = 0; y < panel->side; y++)
        for (int x = 0; x < panel->side; x++) {
            double first = 1e30, second = 1e30;
            const int cx = (int)(x / pitch) + 1, cy = (int)(y / pitch) + 1;
            for (int j = cy - 1; j <= cy + 1; j++)
                for (int i = cx - 1; i <= cx + 1; i++) {
                    if (i < 0 || j < 0 || i >= n || j >= n) continue;
                    const double u = x - px[j * n + i], v = y - py[j * n + i], d = u * u + v * v;
                    if (d < first)
                        second = first, first = d;
                    else if (d < second)
                        second = d;
                }
            const double t = (sqrt(second) - sqrt(first)) / (.55 * pitch);
            panel->height[y * panel->side + x] = (float)(plan->depth_mm * (1 - exp(-t * t)));
        }
    free(px), free(py);
}

/* when[]: the step that first came here, from 1. */
static void stamp_crack(struct panel *panel, double x, double y, double half, double colour, int step,
                        int *when) {
    const int reach = (int)half + 2;
    for (int j = -reach; j <= reach; j++)
        for (int i = -reach; i <= reach; i++) {
            const int u = (int)x + i, v = (int)y + j;
            if (u < 0 || v < 0 || u >= panel->side || v >= panel->side) continue;
            const double d = hypot(u + .5 - x, v + .5 - y);
            if (d > half) continue;
            const int at = v * panel->side + u;
            if (!when[at]) when[at] = step;
            if (!panel->crack[at]) {
                for (int c = 0; c < 3; c++) panel->albedo[c][at] *= (float)colour;
                panel->height[at] -= (float)fmin(.3, .5 * half * panel->px_mm);
            }
            panel->crack[at] = 255;
        }
}

static double number_median(double *v, size_t n) {
    for (size_t i = 1; i < n; i++)
        for (size_t k = i; k > 0 && v[k] < v[k - 1]; k--) {
            const double t = v[k];
            v[k] = v[k - 1], v[k - 1] = t;
        }
    return n ? v[n / 2] : 0;
}

static void open_cracks(struct panel *panel, int cracks, double narrow) {
    double *width = calloc(100000, sizeof *width);
    int *when = plane_new(panel->side, sizeof *when), step = 0;
    size_t n = 0;
    for (int k = 0; k < cracks; k++) {
        double x = (.1 + .8 * random_of(panel)) * panel->side, y = (.1 + .8 * random_of(panel)) * panel->side;
        double way = 2 * M_PI * random_of(panel), turn = 0;
        step += 1000;
        const double length = (6 + 14 * random_of(panel)) / panel->px_mm,
                     half = (.1 + .16 * random_of(panel)) / panel->px_mm * narrow,
                     colour = .45 + .25 * random_of(panel);
        for (double s = 0; s < length; s += .5) {
            const double ends = fmin(1, 8 * fmin(s, length - s) / length), here = half * (.5 + .5 * ends);
            if (x < 12 || y < 12 || x > panel->side - 12 || y > panel->side - 12) break;
            const int before = when[(int)y * panel->side + (int)x];
            stamp_crack(panel, x, y, here, colour, ++step, when);
            if (n < 100000) width[n++] = 2 * here * panel->px_mm;
            /* a walk that runs in what an older one opened, or in its own loop, opens nothing more */
            if (!before || step - before < 8 * half) panel->crack_mm += .5 * panel->px_mm;
            turn = .97 * turn + .012 * normal(panel), way += turn * .5;
            x += .5 * cos(way), y += .5 * sin(way);
        }
    }
    size_t some = 0;
    for (size_t i = 0; i < n; i += 8) width[some++] = width[i];
    panel->width_median_mm = number_median(width, some);
    free(width), free(when);
}

/* A wobbly disc that shows paler, raw leather. */
static void wear_off(struct panel *panel, int losses, const float raw[3]) {
    for (int k = 0; k < losses; k++) {
        const double x0 = (.15 + .7 * random_of(panel)) * panel->side,
                     y0 = (.15 + .7 * random_of(panel)) * panel->side,
                     r = (.03 + .09 * random_of(panel)) * panel->side, p = 6 * random_of(panel),
                     q = 6 * random_of(panel), much = .35 + .65 * random_of(panel);
        for (int y = 0; y < panel->side; y++)
            for (int x = 0; x < panel->side; x++) {
                const double angle = atan2(y - y0, x - x0), d = hypot(x - x0, y - y0),
                             edge = r * (1 + .25 * sin(3 * angle + p) + .12 * sin(7 * angle + q));
                const int at = y * panel->side + x;
                if (d > edge || panel->loss[at]) continue;
                panel->loss[at] = 255;
                for (int c = 0; c < 3; c++)
                    panel->albedo[c][at] += (float)much * (raw[c] - panel->albedo[c][at]);
            }
    }
}

struct panel *panel_new(const struct panel_plan *plan) {
    struct panel *panel = calloc(1, sizeof *panel);
    const struct stuff *of = &stuff[plan->material];
    panel->side = plan->side, panel->px_mm = plan->px_mm, panel->state = plan->seed * 7919 + 12345;
    panel->height = plane_new(plan->side, sizeof(float));
    panel->crack = plane_new(plan->side, 1), panel->loss = plane_new(plan->side, 1);
    for (int c = 0; c < 3; c++) panel->albedo[c] = plane_new(plan->side, sizeof(float));
    raise_pebbles(panel, plan);
    for (int i = 0; i < plan->side * plan->side; i++) {
        const float mottle = (float)(1 + .03 * normal(panel));
        for (int c = 0; c < 3; c++) panel->albedo[c][i] = of->ground[c] * mottle;
    }
    wear_off(panel, plan->losses, of->raw);
    open_cracks(panel, plan->cracks, of->narrow);
    return panel;
}

void panel_soil(struct panel *panel, int spots, uint8_t *where, float *clean) {
    const int n = panel->side * panel->side;
    static const float grime[3] = {.10f, .085f, .07f};
    for (int c = 0; c < 3; c++) memcpy(clean + c * n, panel->albedo[c], (size_t)n * sizeof(float));
    for (int k = 0; k < spots; k++) {
        const double x0 = (.15 + .7 * random_of(panel)) * panel->side,
                     y0 = (.15 + .7 * random_of(panel)) * panel->side,
                     r = (.05 + .07 * random_of(panel)) * panel->side, p = 6 * random_of(panel),
                     thick = .45 + .3 * random_of(panel);
        for (int i = 0; i < n; i++) {
            const double x = i % panel->side - x0, y = i / panel->side - y0;
            if (where[i] || hypot(x, y) > r * (1 + .2 * sin(3 * atan2(y, x) + p))) continue;
            where[i] = 1;
            for (int c = 0; c < 3; c++)
                panel->albedo[c][i] += (float)thick * (grime[c] - panel->albedo[c][i]);
        }
    }
}

void panel_wipe(struct panel *panel, const float *clean, int left, int top, int side) {
    for (int y = top; y < top + side && y < panel->side; y++)
        for (int x = left; x < left + side && x < panel->side; x++)
            for (int c = 0; c < 3; c++)
                panel->albedo[c][y * panel->side + x] =
                    clean[(size_t)c * (size_t)panel->side * (size_t)panel->side +
                          (size_t)(y * panel->side + x)];
}

void panel_free(struct panel *panel) {
    free(panel->height), free(panel->crack), free(panel->loss);
    for (int c = 0; c < 3; c++) free(panel->albedo[c]);
    free(panel);
}

static double power_40(double v) {
    const double v2 = v * v, v4 = v2 * v2, v8 = v4 * v4, v16 = v8 * v8;
    return v8 * v16 * v16;
}

/* Of unit spread, near enough to normal for a sensor, and cheap. */
static double noise(struct panel *panel) {
    return (random_of(panel) + random_of(panel) + random_of(panel) + random_of(panel) - 2) * sqrt(3);
}

static double height_at(const struct panel *panel, int x, int y) {
    x = x < 0 ? 0 : x >= panel->side ? panel->side - 1 : x;
    y = y < 0 ? 0 : y >= panel->side ? panel->side - 1 : y;
    return (double)panel->height[y * panel->side + x];
}

/* Ten steps towards the lamp, and how high the light is there. */
struct march {
    int u[10], v[10];
    double rise[10];
};

static struct march march_of(const struct panel *panel, const double to[3]) {
    const double across = hypot(to[0], to[1]);
    struct march march;
    for (int s = 1; s <= 10; s++) {
        march.u[s - 1] = (int)lround(s * to[0] / across), march.v[s - 1] = (int)lround(s * to[1] / across);
        march.rise[s - 1] = s * to[2] / across * panel->px_mm + .002;
    }
    return march;
}

static bool shaded(const struct panel *panel, int x, int y, const struct march *march) {
    const double h = height_at(panel, x, y);
    for (int s = 0; s < 10; s++)
        if (height_at(panel, x + march->u[s], y + march->v[s]) > h + march->rise[s]) return true;
    return false;
}

enum { GREYS = 4096 };
/* The nearest of 256 greys of sRGB, by a table: to a sixteenth of a grey. */
static int grey_of(double v) {
    static unsigned char grey[GREYS + 1];
    if (!grey[GREYS])
        for (int i = 0; i <= GREYS; i++) {
            const double light = (double)i / GREYS * i / GREYS; /* finer in the dark */
            grey[i] = (unsigned char)(255 * (light <= .0031308 ? 12.92 * light
                                                               : 1.055 * pow(light, 1 / 2.4) - .055) +
                                      .5);
        }
    return grey[(int)(GREYS * sqrt(fmin(1, fmax(0, v))) + .5)];
}
static double decode(double v) {
    return v <= .04045 ? v / 12.92 : pow((v + .055) / 1.055, 2.4);
}

struct picture panel_shoot(struct panel *panel, const struct panel_lamp *lamp) {
    struct picture picture = {
        .width = panel->side, .height = panel->side, .clip = 65000, .reduced = 1, .curve_known = true};
    for (int i = 0; i < 9; i += 4) picture.to_srgb[i] = 1;
    picture.rgb = calloc(3 * (size_t)panel->side * (size_t)panel->side, sizeof *picture.rgb);
    const double az = lamp->azimuth_deg * M_PI / 180, el = lamp->elevation_deg * M_PI / 180;
    const double to[3] = {cos(el) * cos(az), cos(el) * sin(az), sin(el)};
    const struct march march = march_of(panel, to);
    uint16_t decoded[256];
    for (int i = 0; i < 256; i++) decoded[i] = (uint16_t)lround(65535 * decode(i / 255.));
    const double norm = sqrt(to[0] * to[0] + to[1] * to[1] + (to[2] + 1) * (to[2] + 1));
    for (int y = 0; y < panel->side; y++)
        for (int x = 0; x < panel->side; x++) {
            const double gx = (height_at(panel, x + 1, y) - height_at(panel, x - 1, y)) / (2 * panel->px_mm),
                         gy = (height_at(panel, x, y + 1) - height_at(panel, x, y - 1)) / (2 * panel->px_mm),
                         n = 1 / sqrt(1 + gx * gx + gy * gy);
            const double lit = fmax(0, n * (-gx * to[0] - gy * to[1] + to[2])),
                         half = fmax(0, n * (-gx * to[0] - gy * to[1] + to[2] + 1) / norm);
            const bool dark = shaded(panel, x, y, &march);
            const double fall =
                1 - lamp->fall_off * (.5 + ((x * to[0] + y * to[1]) * -1) / (2. * panel->side));
            const int at = y * panel->side + x;
            for (int c = 0; c < 3; c++) {
                double v = dark ? .04 * (double)panel->albedo[c][at]
                                : (double)panel->albedo[c][at] * (.05 + lit) / sin(el) +
                                      lamp->gloss * power_40(half);
                v = v * fall + lamp->noise * noise(panel) * sqrt(fmax(.01, v));
                picture.rgb[3 * at + c] = decoded[grey_of(v)];
            }
        }
    return picture;
}

static double share_near(const uint8_t *of, const uint8_t *to, int width, int height, int near) {
    double all = 0, good = 0;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            if (!of[y * width + x]) continue;
            bool hit = false;
            for (int j = -near; j <= near; j++)
                for (int i = -near; i <= near; i++) {
                    const int u = x + i, v = y + j;
                    if (i * i + j * j > near * near || u < 0 || v < 0 || u >= width || v >= height) continue;
                    hit |= to[v * width + u] != 0;
                }
            all++, good += hit;
        }
    return all > 0 ? good / all : 0;
}

struct panel_score panel_score(const uint8_t *found, const uint8_t *truth, int width, int height, int near) {
    struct panel_score score = {share_near(found, truth, width, height, near),
                                share_near(truth, found, width, height, near), 0};
    if (score.precision + score.recall > 0)
        score.f = 2 * score.precision * score.recall / (score.precision + score.recall);
    return score;
}
