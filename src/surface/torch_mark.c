#include "surface/torch_mark.h"
#include "base/memory.h"
#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979323846;
static const double nearest = .25, farthest = 3.6; /* in heights of the pin */
static const double in_shadow = .5, least_dark = .3;
enum { MISSES = 3, AROUND = 24, FAN = 80, TURNS = 2 };

static double light_at(const struct picture *picture, double x, double y) {
    if (!picture_inside(picture, x, y, 1)) return NAN;
    const int i = (int)floor(x - .5), j = (int)floor(y - .5);
    const double u = x - .5 - i, v = y - .5 - j;
    double sum = 0;
    for (int k = 0; k < 4; k++) {
        const uint16_t *rgb = picture_at(picture, i + k % 2, j + k / 2);
        sum += (k % 2 ? u : 1 - u) * (k / 2 ? v : 1 - v) * (rgb[0] + rgb[1] + rgb[2]) / (3 * 65535.);
    }
    return sum;
}

static double radius_of(int step) { /* in heights */
    return nearest + (farthest - nearest) * step / (PIN_STEPS - 1);
}

void pin_look(const struct picture *picture, const struct torch_mark *pin, double mm_per_px,
              struct pin_rings *out) {
    for (int a = 0; a < PIN_RAYS; a++)
        for (int s = 0; s < PIN_STEPS; s++) {
            const double r = radius_of(s) * pin->size / mm_per_px, angle = 2 * pi * a / PIN_RAYS;
            out->light[a][s] = (float)light_at(picture, pin->x + r * cos(angle), pin->y - r * sin(angle));
        }
}

/* ---- one picture against the others ---- */

static float middle_of(float *v, int n) {
    for (int i = 1; i < n; i++)
        for (int k = i; k > 0 && v[k] < v[k - 1]; k--) {
            const float t = v[k];
            v[k] = v[k - 1], v[k - 1] = t;
        }
    return n % 2 ? v[n / 2] : (v[n / 2 - 1] + v[n / 2]) / 2;
}

/* Light over the median of all pictures, 1 where it is as bright as its own median ratio; NAN outside. */
static void compare(struct pin_rings *const rings[], int n, int which, struct pin_rings *out) {
    float *all = memory_need((size_t)PIN_RAYS * PIN_STEPS, sizeof *all), v[STEREO_MOST];
    int seen = 0;
    for (int a = 0; a < PIN_RAYS; a++)
        for (int s = 0; s < PIN_STEPS; s++) {
            const float own = rings[which]->light[a][s];
            for (int i = 0; i < n; i++) v[i] = rings[i]->light[a][s];
            const float middle = isnan(own) ? 0 : middle_of(v, n);
            out->light[a][s] = middle > 0 ? own / middle : NAN;
            if (middle > 0 && (a + s) % 7 == 0) all[seen++] = own / middle;
        }
    /* a seventh of the places will do for the usual ratio: found by halving, as sorting them is slow */
    float low = 0, high = 16;
    for (int turn = 0; turn < 40; turn++) {
        const float half = (low + high) / 2;
        int under = 0;
        for (int i = 0; i < seen; i++) under += all[i] < half;
        if (2 * under < seen)
            low = half;
        else
            high = half;
    }
    for (int a = 0; a < PIN_RAYS; a++)
        for (int s = 0; s < PIN_STEPS; s++) out->light[a][s] = high > 0 ? out->light[a][s] / high : 1;
    memory_free(all);
}

/* Where the shadow along a ray ends, in steps; 0: there is none, or it leaves the picture. */
static double shadow_end(const struct pin_rings *ratio, int ray) {
    int last = -1;
    for (int s = 0; s < PIN_STEPS && s - last <= MISSES + 1; s++)
        if ((double)ratio->light[ray][s] < in_shadow) last = s;
    if (last < 0 || last + 1 >= PIN_STEPS || isnan(ratio->light[ray][last + 1])) return 0;
    const double here = (double)ratio->light[ray][last], next = (double)ratio->light[ray][last + 1];
    return last + (next > here ? fmin(1, (in_shadow - here) / (next - here)) : 0);
}

static double darkness(const struct pin_rings *ratio, int ray, int steps) {
    double sum = 0;
    for (int s = 0; s < steps; s++) sum += fmax(0, 1 - (double)ratio->light[ray][s]); /* of NAN: 0 */
    return sum / steps;
}

/* The middle of the dark rays `around` a best one, by their first steps; NAN when none is dark. */
static double dark_middle(const struct pin_rings *ratio, int best, int around, int steps) {
    double sum = 0, turned = 0;
    for (int k = -around; k <= around; k++) {
        const double weight =
            fmax(0, darkness(ratio, (best + k + PIN_RAYS) % PIN_RAYS, steps) - least_dark / 2);
        sum += weight, turned += weight * k;
    }
    return sum > 0 ? best + turned / sum : (double)NAN;
}

static bool find_torch(const struct pin_rings *ratio, struct stereo_light *out) {
    int best = 0;
    double most = 0;
    for (int a = 0; a < PIN_RAYS; a++) {
        const double dark = darkness(ratio, a, PIN_STEPS / 16);
        if (dark > most) most = dark, best = a;
    }
    if (most < least_dark) return false;
    /* Near the foot a thick pin's shadow is dark over many rays: the middle of what is dark up to an end
     * tells a better ray, and that a better end. */
    double azimuth = dark_middle(ratio, best, FAN, PIN_STEPS / 16), end = 0;
    for (int turn = 0; turn < TURNS; turn++) {
        const int ray = (int)lround(azimuth) + PIN_RAYS;
        end = shadow_end(ratio, ray % PIN_RAYS);
        if (!(end > 4)) return false; /* the shadow leaves the picture */
        for (int k = -2; k <= 2; k++) end = fmax(end, shadow_end(ratio, (ray + k) % PIN_RAYS));
        azimuth = dark_middle(ratio, ray % PIN_RAYS, AROUND, (int)(.9 * end));
        if (isnan(azimuth)) return false;
    }
    const double length = nearest + (farthest - nearest) * end / (PIN_STEPS - 1);
    out->azimuth_deg = fmod(azimuth * 360. / PIN_RAYS + 180, 360);
    out->elevation_deg = atan(1 / length) * 180 / pi;
    return true;
}

bool pin_torch(struct pin_rings *const rings[], int n, int which, struct stereo_light *out) {
    if (n < STEREO_LEAST) return false;
    struct pin_rings *ratio = memory_need(1, sizeof *ratio);
    compare(rings, n, which, ratio);
    const bool found = find_torch(ratio, out);
    memory_free(ratio);
    return found;
}

/* ---- a ball ---- */

bool ball_torch(const struct picture *picture, const struct torch_mark *ball, struct stereo_light *out) {
    const int reach = (int)ceil(ball->size);
    double most = 0, sum = 0, x = 0, y = 0, spread = 0;
    for (int pass = 0; pass < 3; pass++)
        for (int j = -reach; j <= reach; j++)
            for (int i = -reach; i <= reach; i++) {
                if (hypot(i, j) > .98 * ball->size) continue;
                const double v = light_at(picture, ball->x + i, ball->y + j);
                if (isnan(v)) return false;
                if (pass == 0) most = fmax(most, v);
                if (pass == 1 && v > .85 * most) sum++, x += i, y += j;
                if (pass == 2 && v > .85 * most) spread += pow(i - x / sum, 2) + pow(j - y / sum, 2);
            }
    if (!(sum > 0) || sqrt(spread / sum) > .2 * ball->size) return false;
    const double nx = x / sum / ball->size, ny = y / sum / ball->size;
    const double nz = sqrt(fmax(0, 1 - nx * nx - ny * ny));
    const double l[3] = {2 * nz * nx, 2 * nz * ny, 2 * nz * nz - 1};
    if (!(l[2] > 0)) return false;
    out->azimuth_deg = fmod(atan2(-l[1], l[0]) * 180 / pi + 360, 360);
    out->elevation_deg = atan2(l[2], hypot(l[0], l[1])) * 180 / pi;
    return true;
}
