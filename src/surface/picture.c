#include "surface/picture.h"
#include <assert.h>

bool picture_inside(const struct picture *picture, double x, double y, double radius) {
    return x - radius >= 0 && y - radius >= 0 && x + radius <= picture->width &&
           y + radius <= picture->height && radius >= 0;
}

const uint16_t *picture_at(const struct picture *picture, int x, int y) {
    assert(x >= 0 && y >= 0 && x < picture->width && y < picture->height);
    return picture->rgb + 3 * ((size_t)y * (size_t)picture->width + (size_t)x);
}
