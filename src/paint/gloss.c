#include "paint/gloss.h"
#include <math.h>

static const double black_glass = 1.567;

double gloss_degrees(enum gloss_angle angle) {
    return angle == GLOSS_20 ? 20 : angle == GLOSS_60 ? 60 : 85;
}

double gloss_fresnel(double index, double degrees) {
    const double in = degrees * 3.14159265358979323846 / 180;
    const double c = cos(in), s = sin(in) / index, t = sqrt(1 - s * s);
    const double rs = (c - index * t) / (c + index * t), rp = (index * c - t) / (index * c + t);
    return (rs * rs + rp * rp) / 2;
}

double gloss_of_smooth(double index, enum gloss_angle angle) {
    return 100 * gloss_fresnel(index, gloss_degrees(angle)) /
           gloss_fresnel(black_glass, gloss_degrees(angle));
}

enum gloss_angle gloss_angle_for(double gu60) {
    return gu60 > 70 ? GLOSS_20 : gu60 < 10 ? GLOSS_85 : GLOSS_60;
}
