/* JPEG (ISO/IEC 10918-1) by libjpeg-turbo, row by row; the profile from APP2 (ICC.1:2010, B.4), the
 * orientation from APP1 (EXIF). A file that ends early or whose data break off is refused: the decoder would
 * make up the rest. The slow, exact transform is used: the same values on every machine. */
#include "decode/decode.h"
#include "decode/exif.h"
#include "surface/picture.h"
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

#include <jerror.h>

enum { MOST_SCANS = 200 };

struct jpeg {
    struct jpeg_decompress_struct info;
    struct jpeg_error_mgr errors;
    struct jpeg_progress_mgr progress;
    jmp_buf away;
    enum wire_refusal refusal;
    unsigned char *icc;
    struct file_light light;
};

static void leave(j_common_ptr info) {
    struct jpeg *j = info->client_data;
    const int code = info->err->msg_code;
    j->refusal = code == JERR_OUT_OF_MEMORY   ? WIRE_REFUSED_MEMORY
                 : code == JERR_BAD_PRECISION ? WIRE_REFUSED_SAMPLES
                                              : WIRE_REFUSED_DAMAGED;
    longjmp(j->away, 1);
}

/* Remarks are harmless, but for those after which the decoder invents what is missing. */
static void remark(j_common_ptr info, int level) {
    if (level >= 0) return;
    switch (info->err->msg_code) {
    case JWRN_HIT_MARKER:
    case JWRN_HUFF_BAD_CODE:
    case JWRN_JPEG_EOF:
    case JWRN_MUST_RESYNC:
    case JWRN_NOT_SEQUENTIAL:
    case JWRN_BOGUS_PROGRESSION:
    case JWRN_ARITH_BAD_CODE:
        leave(info);
        break;
    default:
        break;
    }
}

/* A small file may ask for the whole picture to be gone over again and again. */
static void count_scans(j_common_ptr info) {
    const struct jpeg_decompress_struct *d = (const struct jpeg_decompress_struct *)(const void *)info;
    if (d->input_scan_number > MOST_SCANS) leave(info);
}

static void find_exif(const struct jpeg *j, struct exif *exif) {
    exif_read(NULL, 0, exif);
    for (jpeg_saved_marker_ptr m = j->info.marker_list; m; m = m->next)
        if (m->marker == JPEG_APP0 + 1 && m->data_length > 6 && memcmp(m->data, "Exif\0", 6) == 0) {
            exif_read(m->data + 6, m->data_length - 6, exif);
            return;
        }
}

static void find_light(struct jpeg *j, const struct exif *exif) {
    const double clip = 253 / 255.; /* the ringing of the transform keeps burnt areas a little below 255 */
    unsigned size = 0;
    if (jpeg_read_icc_profile(&j->info, &j->icc, &size) && size > 0)
        light_of_profile(&j->light, j->icc, size, clip);
    else if (exif->says_adobe)
        light_of_gamma(&j->light, 563 / 256., clip);
    else
        light_of_srgb(&j->light, exif->says_srgb, clip);
}

static enum wire_refusal check_colours(const struct jpeg *j) {
    if (j->info.num_components == 1) return WIRE_REFUSED_GREY;
    if (j->info.num_components != 3) return WIRE_REFUSED_INKS;
    return WIRE_REFUSED_NOTHING;
}

/* Straight into the slots; false: nobody takes them any more. */
static bool read_rows(struct jpeg *j, struct sink *sink) {
    const size_t stride = 3 * (size_t)j->info.output_width;
    while (j->info.output_scanline < j->info.output_height) {
        int room;
        JSAMPLE *slot = sink_room(sink, &room);
        if (!slot) return false;
        int rows = 0;
        while (rows < room) {
            JSAMPROW row = slot + (size_t)rows * stride;
            rows += (int)jpeg_read_scanlines(&j->info, &row, 1);
        }
        if (!sink_send(sink, rows)) return false;
    }
    return true;
}

static void decode(struct jpeg *j, const unsigned char *data, size_t size, struct sink *sink) {
    jpeg_mem_src(&j->info, data, size);
    jpeg_save_markers(&j->info, JPEG_APP0 + 1, 0xffff);
    jpeg_save_markers(&j->info, JPEG_APP0 + 2, 0xffff);
    jpeg_read_header(&j->info, TRUE);
    j->refusal = check_colours(j);
    if (j->refusal != WIRE_REFUSED_NOTHING) return;
    struct exif exif;
    find_exif(j, &exif);
    find_light(j, &exif);
    j->refusal = sink_begin(sink, j->info.image_width, j->info.image_height, exif.orientation, 8, &j->light);
    if (j->refusal != WIRE_REFUSED_NOTHING) return;
    j->info.out_color_space = JCS_RGB;
    j->info.dct_method = JDCT_ISLOW;
    jpeg_start_decompress(&j->info);
    j->refusal = WIRE_REFUSED_MEMORY;
    if (!read_rows(j, sink)) return;
    jpeg_finish_decompress(&j->info);
    j->refusal = WIRE_REFUSED_NOTHING;
}

enum wire_refusal decode_jpeg(const unsigned char *data, size_t size, struct sink *sink) {
    struct jpeg *j = calloc(1, sizeof *j);
    if (!j) return WIRE_REFUSED_MEMORY;
    j->info.err = jpeg_std_error(&j->errors);
    j->errors.error_exit = leave;
    j->errors.emit_message = remark;
    j->info.client_data = j;
    if (setjmp(j->away) == 0) {
        jpeg_create_decompress(&j->info);
        j->progress.progress_monitor = count_scans;
        j->info.progress = &j->progress;
        decode(j, data, size, sink);
    }
    const enum wire_refusal refusal = j->refusal;
    jpeg_destroy_decompress(&j->info);
    free(j->icc);
    light_end(&j->light);
    free(j);
    return refusal;
}
