/* Light on the sensor, box by box: each box is made sharp with a margin, blurred, and put into the plate.
 * A pixel on an edge is the mean of 6 x 6 points, one of leather of 2 x 2. */
#include "camera/plate.h"
#include <math.h>
#include <string.h>

enum { EDGE_POINTS = 6, LEATHER_POINTS = 2, MARGIN = 4, MARGIN_MOST = 30, STRIP = 64 };

struct box {
    int x0, y0, x1, y1;
};

/* The card under a pixel: its middle and how it runs along x and y. */
struct foot {
    double at[2], by_x[2], by_y[2];
};

/* The card under a row of pixels and the next one. */
static void row_of_card(const struct pose *pose, double x, double y, int width, double (*mm)[2]) {
    for (int i = 0; i < width; i++) pose_card(pose, x + i, y, mm[i]);
}

static void foot_of(const double (*row)[2], const double (*below)[2], int i, struct foot *out) {
    for (int k = 0; k < 2; k++) {
        out->at[k] = row[i][k];
        out->by_x[k] = row[i + 1][k] - row[i][k], out->by_y[k] = below[i][k] - row[i][k];
    }
}

static void mean_of_points(const struct look *look, const struct foot *foot, int points, int label,
                           float out[3]) {
    float sum[3] = {0};
    for (int j = 0; j < points; j++)
        for (int i = 0; i < points; i++) {
            const double u = (i + .5) / points - .5, v = (j + .5) / points - .5;
            const double mm[2] = {foot->at[0] + u * foot->by_x[0] + v * foot->by_y[0],
                                  foot->at[1] + u * foot->by_x[1] + v * foot->by_y[1]};
            float light[3];
            look_light(look, mm, label == LOOK_MIXED ? look_at(look, mm) : label, light);
            for (int c = 0; c < 3; c++) sum[c] += light[c];
        }
    for (int c = 0; c < 3; c++) out[c] = sum[c] / (float)(points * points);
}

/* The label of a whole pixel, LOOK_MIXED when an edge passes: nothing on a card is finer than a pixel. */
static int label_of(const struct look *look, const struct foot *foot) {
    int label = look_cell(look, foot->at);
    if (label == LOOK_MIXED) label = look_at(look, foot->at);
    for (int k = 0; k < 4; k++) {
        const double u = k & 1 ? .5 : -.5, v = k & 2 ? .5 : -.5;
        const double mm[2] = {foot->at[0] + u * foot->by_x[0] + v * foot->by_y[0],
                              foot->at[1] + u * foot->by_x[1] + v * foot->by_y[1]};
        int corner = look_cell(look, mm);
        if (corner == LOOK_MIXED) corner = look_at(look, mm);
        if (corner != label) return LOOK_MIXED;
    }
    return label;
}

static void pixel(const struct look *look, const struct foot *foot, float out[3]) {
    const int label = label_of(look, foot);
    if (label == LOOK_MIXED)
        mean_of_points(look, foot, EDGE_POINTS, label, out);
    else if (label == LOOK_GROUND) /* nobody measures it */
        mean_of_points(look, foot, 1, label, out);
    else if (look_is_leather(look, label))
        mean_of_points(look, foot, LEATHER_POINTS, label, out);
    else
        memcpy(out, look->colour[label], sizeof(float[3]));
}

double plate_level(const struct scene *s, const struct pose *pose, double x, double y, const double mm[2]) {
    const double dx = x - pose->centre[0], dy = y - pose->centre[1];
    const double r2 = (dx * dx + dy * dy) / (pose->corner_px * pose->corner_px);
    const double u = mm[0] / s->card->size_mm[0] - .5, v = mm[1] / s->card->size_mm[1] - .5;
    const double fall = fmin(fmax(s->fall_x * u + s->fall_y * v, -1.2), 1.2);
    const double bulge = .15 * (fabs(s->fall_x) + fabs(s->fall_y)) * fmin(u * u + v * v, 1);
    return (1 - s->vignetting * r2) * exp(fall - bulge);
}

/* How far blur reaches. */
static int margin_of(double sd) {
    const int reach = (int)ceil(3 * sd);
    return reach < MARGIN ? MARGIN : reach > MARGIN_MOST ? MARGIN_MOST : reach;
}

/* Lines of `run` values that follow each other, step apart; the outermost margin stays as it is. */
static void blur_lines(const float *in, float *out, int count, size_t step, size_t run, const float kernel[],
                       int margin) {
    for (int i = margin; i < count - margin; i++)
        for (size_t v = 0; v < run; v++) {
            const float *at = in + (size_t)i * step + v;
            float sum = kernel[0] * *at;
            for (size_t k = 1; k <= (size_t)margin; k++) sum += kernel[k] * (*(at - k * step) + at[k * step]);
            out[(size_t)i * step + v] = sum;
        }
}

static void blur(float *rgb, int width, int height, double sd) {
    const int margin = margin_of(sd);
    float kernel[MARGIN_MOST + 1], sum = 0;
    const size_t row = 3 * (size_t)width;
    for (int k = 0; k <= margin; k++) {
        kernel[k] = sd > 0 ? (float)exp(-k * k / (2 * sd * sd)) : k == 0;
        sum += k == 0 ? kernel[k] : 2 * kernel[k];
    }
    for (int k = 0; k <= margin; k++) kernel[k] /= sum;
    float *space = memory_need(row * (size_t)height, sizeof *space);
    memcpy(space, rgb, row * (size_t)height * sizeof *space);
    for (int y = 0; y < height; y++)
        blur_lines(rgb + row * (size_t)y, space + row * (size_t)y, width, 3, 3, kernel, margin);
    blur_lines(space, rgb, height, row, row, kernel, margin);
    memory_free(space);
}

static void expose_box(struct plate *plate, struct box box) {
    const int margin = margin_of(plate->scene.blur_px);
    const int width = box.x1 - box.x0 + 2 * margin, height = box.y1 - box.y0 + 2 * margin;
    float *sharp = memory_need(3 * (size_t)width * (size_t)height, sizeof *sharp), *at = sharp;
    double(*row)[2] = memory_need((size_t)width + 1, sizeof *row),
    (*below)[2] = memory_need((size_t)width + 1, sizeof *below);
    const double left = box.x0 - margin + .5, top = box.y0 - margin + .5;
    row_of_card(&plate->pose, left, top, width + 1, below);
    for (int j = 0; j < height; j++) {
        double(*over)[2] = row;
        row = below, below = over;
        row_of_card(&plate->pose, left, top + j + 1, width + 1, below);
        for (int i = 0; i < width; i++, at += 3) {
            const double x = left + i, y = top + j;
            struct foot foot;
            foot_of((const double(*)[2])row, (const double(*)[2])below, i, &foot);
            pixel(&plate->look, &foot, at);
            const float lit = (float)plate_level(&plate->scene, &plate->pose, x, y, foot.at);
            for (int c = 0; c < 3; c++) at[c] *= lit;
        }
    }
    memory_free(row), memory_free(below);
    blur(sharp, width, height, plate->scene.blur_px);
    for (int y = box.y0; y < box.y1; y++)
        memcpy(plate->light + 3 * ((size_t)y * (size_t)plate->scene.width + (size_t)box.x0),
               sharp + 3 * ((size_t)(y - box.y0 + margin) * (size_t)width + (size_t)margin),
               3 * sizeof(float) * (size_t)(box.x1 - box.x0));
    memory_free(sharp);
}

static void add_veil(struct plate *plate) {
    const size_t pixels = (size_t)plate->scene.width * (size_t)plate->scene.height;
    double sum[3] = {0};
    for (size_t i = 0; i < pixels; i++)
        for (size_t c = 0; c < 3; c++) sum[c] += (double)plate->light[3 * i + c];
    for (int c = 0; c < 3; c++) plate->veil[c] = plate->scene.glare * sum[c] / (double)pixels;
}

struct plate *plate_expose(const struct scene *scene) {
    struct plate *plate = memory_need(1, sizeof *plate);
    plate->scene = *scene;
    pose_make(&plate->pose, &plate->scene);
    look_make(&plate->look, &plate->scene);
    plate->light = memory_need(3 * (size_t)scene->width * (size_t)scene->height, sizeof *plate->light);
    for (int y = 0; y < scene->height; y += STRIP)
        expose_box(plate,
                   (struct box){0, y, scene->width, y + STRIP < scene->height ? y + STRIP : scene->height});
    add_veil(plate);
    return plate;
}

static int inside(double at, int most) {
    return at < 0 ? 0 : at > most ? most : (int)at;
}

void plate_refill(struct plate *plate, const struct leather *leather) {
    const struct photo_card *card = plate->scene.card;
    const int margin = margin_of(plate->scene.blur_px);
    struct box box = {plate->scene.width, plate->scene.height, 0, 0};
    for (int k = 0; k < 4; k++) {
        const double half = card->window_mm / 2;
        const double mm[2] = {card->window_center_mm[0] + (k & 1 ? half : -half),
                              card->window_center_mm[1] + (k & 2 ? half : -half)};
        double px[2];
        plate_place(plate, mm, px);
        const int x0 = inside(px[0] - margin - 1, plate->scene.width),
                  y0 = inside(px[1] - margin - 1, plate->scene.height);
        const int x1 = inside(px[0] + margin + 2, plate->scene.width),
                  y1 = inside(px[1] + margin + 2, plate->scene.height);
        if (x0 < box.x0) box.x0 = x0;
        if (y0 < box.y0) box.y0 = y0;
        if (x1 > box.x1) box.x1 = x1;
        if (y1 > box.y1) box.y1 = y1;
    }
    plate->scene.window = *leather;
    look_refill(&plate->look, leather);
    if (box.x0 < box.x1 && box.y0 < box.y1) expose_box(plate, box);
    memcpy(plate->window_box, &box, sizeof plate->window_box);
}

void plate_free(struct plate *plate) {
    if (!plate) return;
    look_free(&plate->look);
    memory_free(plate->light);
    memory_free(plate);
}

void plate_place(const struct plate *plate, const double mm[2], double px[2]) {
    pose_picture(&plate->pose, mm, px);
}

int plate_width(const struct plate *plate) {
    return plate->scene.width;
}
int plate_height(const struct plate *plate) {
    return plate->scene.height;
}
