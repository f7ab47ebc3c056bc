/* The photographs of `photo grain`, one after the other in memory; what stays of each is a plane of light of
 * the patch, evened out. Without a card they lie as the camera saw them; with one each is laid on the card's
 * millimetres by its own tags, so the camera may be held in the hand. Pins and balls beside the grain tell
 * the torches that lights.json leaves open. */
#ifndef RUSSET_FLOW_GRAIN_PHOTOS_H
#define RUSSET_FLOW_GRAIN_PHOTOS_H

#include "flow/picture_flow.h"
#include "formats/json_out.h"
#include "surface/chroma.h"
#include "surface/rectify.h"
#include "surface/torch_mark.h"
#include <math.h>

struct grain_job {
    const struct surroundings *around;
    const struct request *request;
    struct fault *fault;
    json_t *reply;
    struct stereo_task task;
    struct torch_mark mark[STEREO_MOST]; /* of the torches that lights.json leaves to a pin or a ball */
    struct pin_rings *rings[STEREO_MOST];
    float *plane[STEREO_MOST];
    struct photo_card *card; /* NULL: --mm-per-px */
    struct panel_grid grid;  /* with a card */
    struct chroma chroma;    /* of the first photograph's patch */
    int whole_w, whole_h, x0, y0;
    double s_mm, l_mm, common; /* common: error of all slopes together, relative (stereo_aim) */
    double askew;              /* of those of one way against the other; 0: the torches were mended */
};

static inline const char *grain_rounded(char out[40], double value, double unit) {
    return number_text(out, round(value / unit) * unit);
}
#define ROUNDED(x, unit) grain_rounded((char[40]){0}, (x), (unit))

const char *grain_photo_name(const struct grain_job *job, int i);
/* Fills task (size, step, planes, and the torches that marks tell), card grid, chroma. */
enum status grain_photos_take(struct grain_job *job) MUST_USE;
void grain_photos_drop(struct grain_job *job);

#endif
