/* The usual conditions of trial. What differs from picture to picture is spread evenly over its range by the
 * number of the picture, so that every slice of the trials has all of it.
 *
 *     card fills .62 .. .78 of the width; tilt 0..5, 14..20, 24..30 degrees towards all sides, roll to 12
 *     vignetting 3..15 %; the lamp changes by up to 6 % along each side of the card; veiling glare .5..3 % of
 * the mean a perfect diffuser at .78 .. .90 of burnt out; white balance off by up to 4 %; S of the curve .1
 * .. .45 leather: grain .04..0.12 (rms slope), specular residue .05..0.2 %, glints; the card's patches .08 %
 *     sensors 8000 electrons (phones) and 25000, read noise 4 and 6 (from memory, binned to 3 megapixels) */
#include "camera/render.h"
#include <math.h>

static double spread(int picture, int what, double low, double high) {
    static const double root[16] = {1.4142136, 1.7320508, 2.2360680, 2.6457513, 3.3166248, 3.6055513,
                                    4.1231056, 4.3588989, 4.7958315, 5.3851648, 5.5677644, 6.0827625,
                                    6.4031242, 6.5574385, 6.8556546, 7.2801099};
    const double at = (picture + 1) * root[what];
    return low + (high - low) * (at - floor(at));
}

static void set_pose(struct scene *s, int n, int tilt) {
    static const double low[TILTS] = {0, 14, 24}, high[TILTS] = {5, 20, 30};
    s->width = 2016, s->height = 1512;
    s->filled = spread(n, 0, .62, .78);
    s->tilt_deg = spread(n, 1, low[tilt], high[tilt]);
    s->towards_deg = spread(n, 2, 0, 360);
    s->turn_deg = spread(n, 3, -12, 12);
    s->shift_x = spread(n, 4, -.02, .02), s->shift_y = spread(n, 5, -.02, .02);
    s->distortion = spread(n, 6, -.001, .001);
}

static void set_light(struct scene *s, int n) {
    s->vignetting = spread(n, 7, .03, .15);
    s->fall_x = spread(n, 8, -.06, .06), s->fall_y = spread(n, 9, -.06, .06);
    s->glare = spread(n, 10, .005, .03);
    s->blur_px = .6;
    s->sensor.exposure = spread(n, 11, .78, .9);
    s->sensor.curve = spread(n, 12, .1, .45);
    for (int c = 0; c < 3; c++) s->sensor.balance[c] = c == 1 ? 1 : spread(n, 13 + c / 2, .96, 1.04);
    const bool small = s->camera % 2 == 1;
    s->sensor.full_well = small ? 8000 : 25000, s->sensor.read_noise = small ? 4 : 6;
    s->sensor.quality = 90;
    s->sensor.seed = (unsigned long long)n + 1;
}

void scene_preset(struct scene *s, const struct photo_card *card, int camera, enum lamp lamp, int tilt) {
    const int n = (camera * LAMPS + (int)lamp) * TILTS + tilt;
    *s = (struct scene){
        .card = card, .camera = camera, .lamp = lamp, .grey_y = card->surround_y, .patch_shine = .0008};
    for (int i = 0; i < card->patches; i++) s->patch[i] = card->patch[i].reflectance;
    grey_ink(.25, &s->ground.colour);
    s->ground.grain = .08, s->ground.shine = .001, s->ground.glints = .05;
    s->window = s->ground;
    s->window.grain = spread(n, 15, .04, .12);
    s->window.shine = spread(n, 3, .0005, .002);
    set_pose(s, n, tilt);
    set_light(s, n);
}

void scene_large(struct scene *scene) {
    scene->width = 4032, scene->height = 3024;
    scene->blur_px = .9;
    scene->sensor.full_well /= 4;
}
