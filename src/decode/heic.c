/* HEIC (ISO/IEC 23008-12, HEVC) by libheif: the primary picture, its own turns and mirrors applied by libheif
 * (EXIF orientation repeats them and is not looked at). The curve: an ICC profile, else the code points of
 * ITU-T H.273 (`nclx`): BT.709 and its kin by the inverse of their camera curve, 2.2, linear, sRGB; curves
 * for bright screens (PQ, HLG) are refused. */
#include "decode/decode.h"
#include <libheif/heif.h>
#include <stdlib.h>
#include <string.h>

struct heic {
    struct heif_context *context;
    struct heif_image_handle *handle;
    struct heif_image *image;
    struct heif_color_profile_nclx *nclx;
    unsigned char *icc;
    uint16_t *row;
    struct file_light light;
};

static enum wire_refusal refusal_of(struct heif_error error) {
    if (error.code == heif_error_Memory_allocation_error) return WIRE_REFUSED_MEMORY;
    if (error.code == heif_error_Unsupported_filetype || error.code == heif_error_Unsupported_feature)
        return WIRE_REFUSED_SAMPLES;
    return WIRE_REFUSED_DAMAGED;
}

static bool failed(struct heif_error error) {
    return error.code != heif_error_Ok;
}

static enum wire_refusal light_of_nclx(struct heic *h, double clip) {
    switch ((int)h->nclx->transfer_characteristics) {
    case heif_transfer_characteristic_ITU_R_BT_709_5:
    case heif_transfer_characteristic_ITU_R_BT_601_6:
    case heif_transfer_characteristic_ITU_R_BT_2020_2_10bit:
    case heif_transfer_characteristic_ITU_R_BT_2020_2_12bit:
        light_of_bt709(&h->light, clip);
        break;
    case heif_transfer_characteristic_ITU_R_BT_470_6_System_M:
        light_of_gamma(&h->light, 2.2, clip);
        break;
    case heif_transfer_characteristic_linear:
        light_of_gamma(&h->light, 1, clip);
        break;
    case heif_transfer_characteristic_ITU_R_BT_2100_0_PQ:
    case heif_transfer_characteristic_ITU_R_BT_2100_0_HLG:
        return WIRE_REFUSED_BRIGHT_CURVE;
    case heif_transfer_characteristic_IEC_61966_2_1:
        light_of_srgb(&h->light, true, clip);
        break;
    default:
        light_of_srgb(&h->light, false, clip);
        break;
    }
    if (h->nclx->color_primaries == heif_color_primaries_SMPTE_EG_432_1) light_with_p3(&h->light);
    return WIRE_REFUSED_NOTHING;
}

static enum wire_refusal find_light(struct heic *h) {
    const double clip = 253 / 255.;
    const size_t size = heif_image_handle_get_raw_color_profile_size(h->handle);
    if (size > 0 && size < 16 << 20) {
        h->icc = malloc(size);
        if (!h->icc) return WIRE_REFUSED_MEMORY;
        if (failed(heif_image_handle_get_raw_color_profile(h->handle, h->icc))) return WIRE_REFUSED_DAMAGED;
        light_of_profile(&h->light, h->icc, size, clip);
    } else if (!failed(heif_image_handle_get_nclx_color_profile(h->handle, &h->nclx))) {
        return light_of_nclx(h, clip);
    } else {
        light_of_srgb(&h->light, false, clip);
    }
    return WIRE_REFUSED_NOTHING;
}

/* Ten and twelve bits are stretched to sixteen: the greatest stays the greatest. */
static bool send_deep_row(struct heic *h, struct sink *sink, const uint8_t *from, size_t width, int depth) {
    const uint32_t most = (1U << depth) - 1;
    for (size_t i = 0; i < 3 * width; i++) {
        const uint32_t v = (uint32_t)from[2 * i] | (uint32_t)from[2 * i + 1] << 8;
        h->row[i] = (uint16_t)(((v < most ? v : most) * 65535U + most / 2) / most);
    }
    return sink_rows16(sink, 1, h->row, 0, 3, &h->light);
}

static enum wire_refusal send_image(struct heic *h, struct sink *sink, int width, int height, int depth) {
    int stride = 0;
    const uint8_t *at = heif_image_get_plane_readonly(h->image, heif_channel_interleaved, &stride);
    if (!at || stride < 3 * width * (depth > 8 ? 2 : 1) ||
        heif_image_get_width(h->image, heif_channel_interleaved) != width ||
        heif_image_get_height(h->image, heif_channel_interleaved) != height)
        return WIRE_REFUSED_DAMAGED;
    if (depth == 8)
        return sink_rows8(sink, height, at, (size_t)stride, 3) ? WIRE_REFUSED_NOTHING : WIRE_REFUSED_MEMORY;
    h->row = calloc((size_t)width, 3 * sizeof *h->row);
    if (!h->row) return WIRE_REFUSED_MEMORY;
    for (int y = 0; y < height; y++, at += stride)
        if (!send_deep_row(h, sink, at, (size_t)width, depth)) return WIRE_REFUSED_MEMORY;
    return WIRE_REFUSED_NOTHING;
}

static enum wire_refusal decode_image(struct heic *h, struct sink *sink) {
    const int width = heif_image_handle_get_width(h->handle),
              height = heif_image_handle_get_height(h->handle);
    const int depth = heif_image_handle_get_luma_bits_per_pixel(h->handle);
    if (depth != 8 && depth != 10 && depth != 12) return WIRE_REFUSED_SAMPLES;
    enum wire_refusal refusal = find_light(h);
    if (refusal != WIRE_REFUSED_NOTHING) return refusal;
    if (depth > 8) light_widen(&h->light);
    refusal = sink_begin(sink, width, height, 1, depth > 8 ? 16 : 8, &h->light);
    if (refusal != WIRE_REFUSED_NOTHING) return refusal;
    const struct heif_error error =
        heif_decode_image(h->handle, &h->image, heif_colorspace_RGB,
                          depth > 8 ? heif_chroma_interleaved_RRGGBB_LE : heif_chroma_interleaved_RGB, NULL);
    return failed(error) ? refusal_of(error) : send_image(h, sink, width, height, depth);
}

static enum wire_refusal decode(struct heic *h, const unsigned char *data, size_t size, struct sink *sink) {
    h->context = heif_context_alloc();
    if (!h->context) return WIRE_REFUSED_MEMORY;
    heif_context_set_max_decoding_threads(h->context, 0);
    heif_context_set_maximum_image_size_limit(h->context, 65535);
    struct heif_error error = heif_context_read_from_memory_without_copy(h->context, data, size, NULL);
    if (!failed(error)) error = heif_context_get_primary_image_handle(h->context, &h->handle);
    return failed(error) ? refusal_of(error) : decode_image(h, sink);
}

void decode_heic_prepare(void) {
    (void)heif_init(NULL);
}

enum wire_refusal decode_heic(const unsigned char *data, size_t size, struct sink *sink) {
    if (!heif_have_decoder_for_format(heif_compression_HEVC)) return WIRE_REFUSED_NO_LOADER;
    struct heic h = {0};
    const enum wire_refusal refusal = decode(&h, data, size, sink);
    heif_image_release(h.image);
    heif_image_handle_release(h.handle);
    heif_nclx_color_profile_free(h.nclx);
    heif_context_free(h.context);
    free(h.icc);
    free(h.row);
    light_end(&h.light);
    return refusal;
}
