/* Raw files by LibRaw: the sensor's own numbers, black subtracted, nothing else done to them (no white
 * balance, no matrix, no curve beyond the linearisation that the file itself prescribes).
 *
 *     value = 65535 (n - black) / (white - black), cut at 0 and 65535
 *
 * A colour filter array is not demosaicked: each cell of the pattern becomes one pixel, a channel the mean of
 * its sensels in the cell (Bayer: 2 x 2, so half the size; X-Trans: 3 x 3, a third). A channel is burnt out
 * when one of its sensels is within 1 % of white, and is then 65535. DNG of three values a pixel is taken as
 * it is, with a note: the camera has worked on it. Sensors of other colours, turned or oblong ones are
 * refused. */
#include "decode/decode.h"
#include "surface/picture.h"
#include <libraw/libraw.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

struct raw {
    libraw_data_t *lr;
    bool data_error;
    int cell;         /* sensels along a side of the cell; 1: three values a pixel */
    int colour[6][6]; /* of the sensel at (row % 6, column % 6): 0..2 */
    double black[6][6], scale[6][6];
    double burnt[6][6]; /* in sensor numbers */
    uint16_t *row;
    struct file_light light;
};

static void on_data_error(void *user, const char *file, const int offset) {
    struct raw *raw = user;
    (void)file, (void)offset;
    raw->data_error = true;
}

static enum wire_refusal refusal_of(int error) {
    if (error == LIBRAW_UNSUFFICIENT_MEMORY || error == LIBRAW_TOO_BIG) return WIRE_REFUSED_MEMORY;
    if (error == LIBRAW_FILE_UNSUPPORTED || error == LIBRAW_NOT_IMPLEMENTED || error == LIBRAW_NO_THUMBNAIL)
        return WIRE_REFUSED_RAW_UNKNOWN;
    return WIRE_REFUSED_DAMAGED;
}

/* Red, green and blue in every cell, and the same cell everywhere (twice over, to see that it repeats). */
static bool find_pattern(struct raw *raw) {
    const int cell = raw->cell, turn = cell == 2 ? 2 : 6;
    int seen[3] = {0, 0, 0};
    for (int row = 0; row < 12; row++)
        for (int column = 0; column < 12; column++) {
            const int c = libraw_COLOR(raw->lr, row, column), colour = c == 3 ? 1 : c;
            if (colour < 0 || colour > 2) return false;
            if (row < 6 && column < 6) raw->colour[row][column] = colour;
            if (colour != raw->colour[row % turn][column % turn]) return false;
            if (row < cell && column < cell) seen[colour]++;
        }
    return seen[0] > 0 && seen[1] > 0 && seen[2] > 0;
}

static enum wire_refusal find_cell(struct raw *raw) {
    const libraw_iparams_t *kind = &raw->lr->idata;
    const bool three = raw->lr->rawdata.color3_image || raw->lr->rawdata.color4_image;
    if (raw->lr->rawdata.float_image || raw->lr->rawdata.float3_image || raw->lr->rawdata.float4_image)
        return WIRE_REFUSED_SAMPLES;
    if (kind->colors == 1) return WIRE_REFUSED_GREY;
    if (kind->colors != 3 || strncmp(kind->cdesc, "RGB", 3) != 0 || raw->lr->rawdata.ioparams.fuji_width ||
        fabs(raw->lr->sizes.pixel_aspect - 1) > .01)
        return WIRE_REFUSED_RAW_PATTERN;
    raw->cell = three ? 1 : kind->filters == LIBRAW_XTRANS ? 3 : 2;
    if (three) return WIRE_REFUSED_NOTHING;
    if (!raw->lr->rawdata.raw_image || kind->filters < 2) return WIRE_REFUSED_RAW_PATTERN;
    return find_pattern(raw) ? WIRE_REFUSED_NOTHING : WIRE_REFUSED_RAW_PATTERN;
}

/* Black is said for all, for each colour, and for a pattern of places; they add. */
static double black_at(const libraw_colordata_t *color, int row, int column, int c) {
    double black = color->black + color->cblack[c];
    const unsigned rows = color->cblack[4], columns = color->cblack[5];
    if (rows > 0 && columns > 0 && (unsigned long long)rows * columns <= LIBRAW_CBLACK_SIZE - 6)
        black += color->cblack[6 + (unsigned)row % rows * columns + (unsigned)column % columns];
    return black;
}

static enum wire_refusal find_levels(struct raw *raw) {
    const libraw_colordata_t *color = &raw->lr->color;
    for (int row = 0; row < 6; row++)
        for (int column = 0; column < 6; column++) {
            const int c = raw->cell == 1 ? column % 3 : libraw_COLOR(raw->lr, row, column);
            double white = color->maximum;
            if (color->linear_max[c] > 0 && (double)color->linear_max[c] < white)
                white = (double)color->linear_max[c];
            const double black =
                raw->cell == 1 ? color->black + color->cblack[c] : black_at(color, row, column, c);
            if (!(white - black >= 64)) return WIRE_REFUSED_DAMAGED;
            raw->black[row][column] = black;
            raw->scale[row][column] = 65535 / (white - black);
            raw->burnt[row][column] = black + .99 * (white - black);
        }
    return WIRE_REFUSED_NOTHING;
}

/* For looking: the camera's matrix behind the white that it chose. */
static void find_look(struct raw *raw) {
    const libraw_colordata_t *color = &raw->lr->color;
    const float *mul = color->cam_mul[0] > 0 && color->cam_mul[1] > 0 && color->cam_mul[2] > 0
                           ? color->cam_mul
                           : color->pre_mul;
    const bool known = mul[0] > 0 && mul[1] > 0 && mul[2] > 0 && fabs((double)color->rgb_cam[0][0]) > 1e-6;
    for (int row = 0; row < 3; row++)
        for (int c = 0; c < 3; c++) {
            const double m = (double)color->rgb_cam[row][c] * (double)mul[c] / (double)mul[1];
            raw->light.to_srgb[3 * row + c] = known && fabs(m) < 1e3 ? m : row == c;
        }
}

static void fill_light(struct raw *raw) {
    light_of_srgb(&raw->light, true, 1);
    raw->light.raw = true;
    raw->light.clip = 64880; /* .99 of 65535 */
    raw->light.reduced = raw->cell;
    if (raw->cell == 1) raw->light.note = WIRE_NOTE_RAW_LINEAR;
    find_look(raw);
}

static uint16_t to_word(double v) {
    return (uint16_t)(v > 0 ? v < 65535 ? v + .5 : 65535 : 0);
}

/* One row of cells; row and columns count in the visible part of the sensor. */
static void mean_cells(struct raw *raw, int row, int count) {
    const libraw_image_sizes_t *s = &raw->lr->sizes;
    const int cell = raw->cell;
    const size_t pitch = s->raw_pitch / sizeof(ushort);
    for (int i = 0; i < count; i++) {
        double sum[3] = {0, 0, 0};
        int n[3] = {0, 0, 0};
        bool burnt[3] = {false, false, false};
        for (int y = 0; y < cell; y++) {
            const int r = (row * cell + y) % 6;
            const ushort *at = raw->lr->rawdata.raw_image + (size_t)(s->top_margin + row * cell + y) * pitch +
                               s->left_margin + i * cell;
            for (int x = 0; x < cell; x++) {
                const int k = (i * cell + x) % 6, c = raw->colour[r][k];
                sum[c] += (at[x] - raw->black[r][k]) * raw->scale[r][k];
                burnt[c] |= at[x] >= raw->burnt[r][k];
                n[c]++;
            }
        }
        for (int c = 0; c < 3; c++) raw->row[3 * i + c] = burnt[c] ? 65535 : to_word(sum[c] / n[c]);
    }
}

static void take_threes(struct raw *raw, int row, int count) {
    const libraw_image_sizes_t *s = &raw->lr->sizes;
    const bool four = !raw->lr->rawdata.color3_image;
    const size_t width = four ? 4 : 3;
    const ushort *from = four ? &raw->lr->rawdata.color4_image[0][0] : &raw->lr->rawdata.color3_image[0][0];
    const ushort *at =
        from + (size_t)(s->top_margin + row) * (s->raw_pitch / sizeof(ushort)) + s->left_margin * width;
    for (int i = 0; i < count; i++, at += width)
        for (int c = 0; c < 3; c++)
            raw->row[3 * i + c] =
                at[c] >= raw->burnt[0][c] ? 65535 : to_word((at[c] - raw->black[0][c]) * raw->scale[0][c]);
}

static enum wire_refusal send_rows(struct raw *raw, struct sink *sink, int width, int height) {
    raw->row = calloc((size_t)width, 3 * sizeof *raw->row);
    if (!raw->row) return WIRE_REFUSED_MEMORY;
    for (int y = 0; y < height; y++) {
        if (raw->cell == 1)
            take_threes(raw, y, width);
        else
            mean_cells(raw, y, width);
        if (!sink_rows16(sink, 1, raw->row, 0, 3, NULL)) return WIRE_REFUSED_MEMORY;
    }
    return WIRE_REFUSED_NOTHING;
}

/* LibRaw counts turns in bits (1 mirror columns, 2 mirror rows, 4 swap both); EXIF in a list. */
static int exif_orientation(int flip) {
    static const int exif[8] = {1, 2, 4, 3, 5, 8, 6, 7};
    return flip >= 0 && flip < 8 ? exif[flip] : 1;
}

static bool sizes_are_sound(const libraw_image_sizes_t *s, int cell) {
    return s->width >= cell && s->height >= cell && s->left_margin + s->width <= s->raw_width &&
           s->top_margin + s->height <= s->raw_height &&
           s->raw_pitch >= (unsigned)s->raw_width * sizeof(ushort) * (cell == 1 ? 3 : 1);
}

static enum wire_refusal decode(struct raw *raw, const unsigned char *data, size_t size, struct sink *sink) {
    union {
        const void *in;
        void *out;
    } buffer = {data}; /* LibRaw only reads there */
    int error = libraw_open_buffer(raw->lr, buffer.out, size);
    if (error != LIBRAW_SUCCESS)
        return error == LIBRAW_IO_ERROR ? WIRE_REFUSED_RAW_UNKNOWN : refusal_of(error);
    const libraw_image_sizes_t *s = &raw->lr->sizes;
    if ((long long)s->raw_width * s->raw_height > PICTURE_MOST_MEGAPIXELS * 1100000LL) {
        sink->head.width = s->raw_width;
        sink->head.height = s->raw_height;
        return WIRE_REFUSED_TOO_LARGE;
    }
    error = libraw_unpack(raw->lr);
    if (error != LIBRAW_SUCCESS) return refusal_of(error);
    if (raw->data_error) return WIRE_REFUSED_DAMAGED;
    enum wire_refusal refusal = find_cell(raw);
    if (refusal == WIRE_REFUSED_NOTHING) refusal = find_levels(raw);
    if (refusal == WIRE_REFUSED_NOTHING && !sizes_are_sound(s, raw->cell)) refusal = WIRE_REFUSED_DAMAGED;
    if (refusal != WIRE_REFUSED_NOTHING) return refusal;
    fill_light(raw);
    const int width = s->width / raw->cell, height = s->height / raw->cell;
    refusal = sink_begin(sink, width, height, exif_orientation(s->flip), 16, &raw->light);
    return refusal == WIRE_REFUSED_NOTHING ? send_rows(raw, sink, width, height) : refusal;
}

enum wire_refusal decode_raw(const unsigned char *data, size_t size, struct sink *sink) {
    struct raw raw = {.lr = libraw_init(0)};
    if (!raw.lr) return WIRE_REFUSED_MEMORY;
    libraw_set_dataerror_handler(raw.lr, on_data_error, &raw);
    const enum wire_refusal refusal = decode(&raw, data, size, sink);
    libraw_close(raw.lr);
    free(raw.row);
    light_end(&raw.light);
    return refusal;
}
