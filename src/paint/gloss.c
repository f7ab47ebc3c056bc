#include "paint/gloss.h"
#include "paint/surface.h"

static const double black_glass = 1.567;

double gloss_degrees(enum gloss_angle angle) {
    return angle == GLOSS_20 ? 20 : angle == GLOSS_60 ? 60 : 85;
}

double gloss_of_smooth(double index, enum gloss_angle angle) {
    return 100 * fresnel_at(index, gloss_degrees(angle)) / fresnel_at(black_glass, gloss_degrees(angle));
}

enum gloss_angle gloss_angle_for(double gu60) {
    return gu60 > 70 ? GLOSS_20 : gu60 < 10 ? GLOSS_85 : GLOSS_60;
}
