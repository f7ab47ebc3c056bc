#include "flow/picture_small.h"
#include <math.h>

static unsigned char encoded(double linear) {
    const double x = linear <= 0 ? 0 : linear >= 1 ? 1 : linear;
    const double y = x <= 0.0031308 ? 12.92 * x : 1.055 * pow(x, 1 / 2.4) - 0.055;
    return (unsigned char)(255 * y + .5);
}

static void mean_of(const struct picture *picture, int x0, int y0, int step, double rgb[3]) {
    double sum[3] = {0, 0, 0}, count = 0;
    for (int y = y0; y < y0 + step && y < picture->height; y++)
        for (int x = x0; x < x0 + step && x < picture->width; x++, count++) {
            const uint16_t *at = picture_at(picture, x, y);
            for (int c = 0; c < 3; c++) sum[c] += at[c];
        }
    for (int c = 0; c < 3; c++) rgb[c] = sum[c] / count / 65535;
}

void picture_small(const struct picture *picture, int most, struct arena *arena, struct page_picture *out) {
    const int longer = picture->width > picture->height ? picture->width : picture->height;
    const int step = longer > most ? (longer + most - 1) / most : 1;
    const int width = (picture->width + step - 1) / step, height = (picture->height + step - 1) / step;
    unsigned char *rgb = arena_need(arena, (size_t)width * (size_t)height, 3), *to = rgb;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++, to += 3) {
            double light[3];
            mean_of(picture, x * step, y * step, step, light);
            for (int c = 0; c < 3; c++)
                to[c] = encoded(picture->to_srgb[3 * c] * light[0] + picture->to_srgb[3 * c + 1] * light[1] +
                                picture->to_srgb[3 * c + 2] * light[2]);
        }
    *out = (struct page_picture){width, height, rgb};
}
