#include "surface/chroma.h"
#include <math.h>

struct chroma chroma_of(const double mean[3]) {
    struct chroma out = {{1. / 3, 1. / 3, 1. / 3}, 0};
    const double grey = (mean[0] + mean[1] + mean[2]) / 3;
    double square = 0, all = 0, axis[3];
    for (int c = 0; c < 3; c++) {
        axis[c] = mean[c] - grey;
        square += axis[c] * axis[c], all += mean[c] * mean[c];
    }
    if (!(all > 0)) return out;
    out.strength = sqrt(square / all);
    if (out.strength < CHROMA_STRONG) return out;
    for (int c = 0; c < 3; c++) out.weight[c] = grey * axis[c] / square; /* axis . mean = square */
    return out;
}
