#include "flow/dab_camera.h"
#include "formats/photo_spots.h"
#include "surface/camera_fit.h"
#include <math.h>

static const double counts_de = .6; /* as camera_solve.c weighs a doubtful patch */

bool dab_camera_make(const struct prior_result *result, size_t films, struct weights *out) {
    const struct weights *camera = &result->camera;
    const struct xyz white = camera->white;
    const double hold[3][3] = {{white.x, 0, 0}, {0, white.y, 0}, {0, 0, white.z}};
    struct fit_sample sample[FIT_SAMPLES_MOST];
    struct camera_map map;
    size_t n = 0;
    for (size_t f = 0; f < films && n < FIT_SAMPLES_MOST; f++) {
        const struct prior_row *row = &result->row[f];
        const struct xyz seen = xyz_of_lab(row->seen, camera);
        const double sd = photo_dab_sd(row->lab, row->de00);
        sample[n++] = (struct fit_sample){.light = {seen.x / white.x, seen.y / white.y, seen.z / white.z},
                                          .lab = row->lab,
                                          .weight = 1 / (1 + pow(sd / counts_de, 2))};
    }
    if (!map_fit(MODEL_MATRIX, 3, sample, n, hold, FIT_LOOSE, NULL, &map)) return false;
    *out = *camera;
    for (int b = 0; b < BANDS; b++) {
        const double light[3] = {camera->x[b] / white.x, camera->y[b] / white.y, camera->z[b] / white.z};
        double *to[3] = {&out->x[b], &out->y[b], &out->z[b]};
        for (int k = 0; k < 3; k++)
            *to[k] = map.to_xyz[k][0] * light[0] + map.to_xyz[k][1] * light[1] + map.to_xyz[k][2] * light[2];
    }
    return true;
}
