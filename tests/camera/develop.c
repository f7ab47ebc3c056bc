/* Sensor and camera: electrons (shot noise as a Gaussian), read noise, 12 bits, the camera's own matrix,
 * sRGB's curve (IEC 61966-2-1) with an S on top of it, v - c sin(2 pi v) / 2 pi, and baseline JPEG with
 * halved colour planes, as cameras write it. Noise is drawn row by row from the seed, so a picture is the
 * same every time. */
#include "camera/plate.h"
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

enum { LEVELS = 65536, BITS = 4095, BLOCK = 16 /* of JPEG with halved colour planes */ };

static unsigned long long next(unsigned long long *state) { /* splitmix64, from memory */
    unsigned long long z = *state += 0x9e3779b97f4a7c15ULL;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return z ^ (z >> 31);
}

/* Sum of 48 even chances and one uniform: sd sqrt(12 + 1/12), tails to 6.9 sd. */
static double normal(unsigned long long *state) {
    const unsigned long long r = next(state);
    return (__builtin_popcountll(r >> 16) - 24 + (double)(r & 0xffff) / 65535 - .5) / 3.4761;
}

static double unit(double v) {
    return v > 0 ? v < 1 ? v : 1 : 0;
}

/* One channel of one pixel: light to white-balanced value 0..1. */
static double sense(const struct sensor *sensor, double light, double gain, unsigned long long *state) {
    const double electrons = light > 0 ? light / gain * sensor->full_well : 0;
    const double sd = sqrt(electrons + sensor->read_noise * sensor->read_noise);
    const double counted = (electrons + sd * normal(state)) / sensor->full_well;
    return unit(gain * (int)(unit(counted) * BITS + .5) / BITS);
}

/* A piece of a row as the sensor gives it, from a multiple of BLOCK on; each block has its own noise, so that
 * a piece is the same as in the whole. */
static void sense_row(const struct plate *plate, const struct sensor *sensor, int y, int from, int to,
                      float *out) {
    unsigned long long state = 0;
    const double *g = plate->look.response.gain;
    const double least = fmin(g[0], fmin(g[1], g[2]));
    const float *light = plate->light + 3 * (size_t)y * (size_t)plate->scene.width;
    for (int x = from; x < to; x++) {
        if (x % BLOCK == 0)
            state = sensor->seed * 1000003ULL + (unsigned long long)y * 0x2545f4914f6cdd1dULL +
                    (unsigned long long)x * 0xd1342543de82ef95ULL + 1;
        for (int c = 0; c < 3; c++) {
            const double lit =
                ((double)light[3 * x + c] + plate->veil[c]) * sensor->exposure * sensor->balance[c];
            *out++ = (float)sense(sensor, lit, g[c] / least, &state);
        }
    }
}

void plate_raw(const struct plate *plate, const struct sensor *sensor, unsigned short *rgb) {
    const size_t width = 3 * (size_t)plate->scene.width;
    float *row = memory_need(width, sizeof *row);
    for (int y = 0; y < plate->scene.height; y++) {
        sense_row(plate, sensor, y, 0, plate->scene.width, row);
        for (size_t i = 0; i < width; i++)
            rgb[(size_t)y * width + i] = (unsigned short)lrint((double)row[i] * 65535);
    }
    memory_free(row);
}

static void curve_make(double s, unsigned char out[LEVELS]) {
    static const double PI = 3.14159265358979323846;
    for (int i = 0; i < LEVELS; i++) {
        const double lit = i / 65535.;
        const double v = lit <= .0031308 ? 12.92 * lit : 1.055 * pow(lit, 1 / 2.4) - .055;
        out[i] = (unsigned char)lrint(255 * (v - s * sin(2 * PI * v) / (2 * PI)));
    }
}

static void display_row(const struct plate *plate, const unsigned char curve[], const float *row, int pixels,
                        unsigned char *out) {
    const double(*m)[3] = (const double(*)[3])plate->look.response.matrix;
    for (int x = 0; x < pixels; x++, row += 3)
        for (int c = 0; c < 3; c++) {
            const double v = m[c][0] * (double)row[0] + m[c][1] * (double)row[1] + m[c][2] * (double)row[2];
            *out++ = curve[(int)(65535 * unit(v) + .5)];
        }
}

struct box {
    int x0, y0, x1, y1;
};

static unsigned char *jpeg_of(const struct plate *plate, const struct sensor *sensor, struct box box,
                              size_t *bytes) {
    const size_t width = 3 * (size_t)(box.x1 - box.x0);
    struct jpeg_compress_struct file;
    struct jpeg_error_mgr errors;
    unsigned char *made = NULL;
    unsigned long size = 0;
    unsigned char *curve = memory_need(LEVELS, 1), *line = memory_need(width, 1);
    float *row = memory_need(width, sizeof *row);
    curve_make(sensor->curve, curve);
    file.err = jpeg_std_error(&errors);
    jpeg_create_compress(&file);
    jpeg_mem_dest(&file, &made, &size);
    file.image_width = (JDIMENSION)(box.x1 - box.x0), file.image_height = (JDIMENSION)(box.y1 - box.y0);
    file.input_components = 3, file.in_color_space = JCS_RGB;
    jpeg_set_defaults(&file);
    jpeg_set_quality(&file, sensor->quality, TRUE);
    jpeg_start_compress(&file, TRUE);
    for (int y = box.y0; y < box.y1; y++) {
        sense_row(plate, sensor, y, box.x0, box.x1, row);
        display_row(plate, curve, row, box.x1 - box.x0, line);
        jpeg_write_scanlines(&file, &line, 1);
    }
    jpeg_finish_compress(&file);
    jpeg_destroy_compress(&file);
    unsigned char *out = memory_need(size, 1); /* libjpeg's own memory is not ours to hand on */
    memcpy(out, made, size);
    free(made);
    memory_free(curve), memory_free(line), memory_free(row);
    *bytes = size;
    return out;
}

unsigned char *plate_jpeg(const struct plate *plate, const struct sensor *sensor, size_t *bytes) {
    return jpeg_of(plate, sensor, (struct box){0, 0, plate->scene.width, plate->scene.height}, bytes);
}

static unsigned short linear_of(int v8) {
    const double v = v8 / 255.;
    return (unsigned short)lrint(65535 * (v <= .04045 ? v / 12.92 : pow((v + .055) / 1.055, 2.4)));
}

static void read_jpeg(const unsigned char *bytes, size_t size, unsigned short *rgb) {
    struct jpeg_decompress_struct file;
    struct jpeg_error_mgr errors;
    unsigned short linear[256];
    for (int i = 0; i < 256; i++) linear[i] = linear_of(i);
    file.err = jpeg_std_error(&errors);
    jpeg_create_decompress(&file);
    jpeg_mem_src(&file, bytes, size);
    jpeg_read_header(&file, TRUE);
    jpeg_start_decompress(&file);
    const size_t width = 3 * (size_t)file.output_width;
    unsigned char *line = memory_need(width, 1);
    while (file.output_scanline < file.output_height) {
        jpeg_read_scanlines(&file, &line, 1);
        for (size_t i = 0; i < width; i++) *rgb++ = linear[line[i]];
    }
    jpeg_finish_decompress(&file);
    jpeg_destroy_decompress(&file);
    memory_free(line);
}

struct picture plate_develop(const struct plate *plate, const struct sensor *sensor, struct arena *arena) {
    const int width = plate->scene.width, height = plate->scene.height;
    struct picture out = {
        .width = width, .height = height, .reduced = 1, .to_srgb = {1, 0, 0, 0, 1, 0, 0, 0, 1}};
    out.rgb = arena_need(arena, 3 * (size_t)width * (size_t)height, sizeof *out.rgb);
    out.raw = sensor->quality == 0, out.curve_known = out.raw;
    out.clip = out.raw ? 65535 : linear_of(254);
    if (out.raw) {
        plate_raw(plate, sensor, out.rgb);
        return out;
    }
    size_t bytes;
    unsigned char *jpeg = plate_jpeg(plate, sensor, &bytes);
    read_jpeg(jpeg, bytes, out.rgb);
    memory_free(jpeg);
    return out;
}

static int within(int at, int most) {
    return at < 0 ? 0 : at > most ? most : at;
}

/* The blocks that hold a box and `more` pixels around them. */
static struct box blocks_of(const struct plate *plate, int more) {
    const int *b = plate->window_box;
    return (struct box){within(b[0] / BLOCK * BLOCK - more, plate->scene.width),
                        within(b[1] / BLOCK * BLOCK - more, plate->scene.height),
                        within((b[2] + BLOCK - 1) / BLOCK * BLOCK + more, plate->scene.width),
                        within((b[3] + BLOCK - 1) / BLOCK * BLOCK + more, plate->scene.height)};
}

/* Colour planes are smoothed over the edges of blocks when they are doubled: a few pixels beyond belong to
 * it. */
void plate_again(const struct plate *plate, const struct sensor *sensor, struct picture *picture) {
    const struct box piece = blocks_of(plate, BLOCK), wanted = blocks_of(plate, BLOCK / 4);
    const size_t width = 3 * (size_t)(piece.x1 - piece.x0);
    unsigned short *rgb = memory_need(width * (size_t)(piece.y1 - piece.y0), sizeof *rgb);
    size_t bytes;
    assert(!picture->raw);
    unsigned char *jpeg = jpeg_of(plate, sensor, piece, &bytes);
    read_jpeg(jpeg, bytes, rgb);
    for (int y = wanted.y0; y < wanted.y1; y++)
        memcpy(picture->rgb + 3 * ((size_t)y * (size_t)picture->width + (size_t)wanted.x0),
               rgb + (size_t)(y - piece.y0) * width + 3 * (size_t)(wanted.x0 - piece.x0),
               3 * sizeof *rgb * (size_t)(wanted.x1 - wanted.x0));
    memory_free(jpeg), memory_free(rgb);
}
