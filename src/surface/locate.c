/* Finding the card, see locate.h. libapriltag (Olson 2011; Wang & Olson 2016) reads the tags on the green
 * channel, averaged over squares of pixels to about `working_px` across; this file is the only one that knows
 * that library. It runs on one thread: the same picture gives the same card. */
#include "surface/locate.h"
#include "base/memory.h"
#include "surface/locate_edge.h"
#include <apriltag/apriltag.h>
#include <apriltag/tag36h11.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const int working_px = 1100;       /* longer side of the picture that tags are sought on, at first */
static const double share_least = 1. / 3; /* of the frame */
static const double edge_most_mm = 1.2;   /* blur that patches of 9 mm bear */
static const double whole_least = .75;    /* of a tag's edges */
static const double near_share = .008;    /* of the card's length: a lens may bend so much */
static const double off_share = .0004, off_least_px = .6; /* what a corner may lie off in the end */
static const double corner_px = .1, bend_sd = .03; /* a corner's error; what lenses bend at their corner */

static double longer(double a, double b) {
    return a > b ? a : b;
}

/* ---- seeking ---- */

static int shrink_for(const struct picture *picture, int wanted) {
    const int side = picture->width > picture->height ? picture->width : picture->height;
    const int shrink = (side + wanted / 2) / wanted;
    return shrink < 1 ? 1 : shrink;
}

/* The brightest light of the reduced picture but for one in five hundred, for the 8 bits of the library. */
static unsigned white_level(const uint16_t *green, size_t n) {
    unsigned count[256] = {0};
    for (size_t i = 0; i < n; i++) count[green[i] >> 8]++;
    size_t above = 0;
    for (int i = 255; i > 0; i--) {
        above += count[i];
        if (above * 500 > n) return ((unsigned)i + 1) << 8;
    }
    return 1 << 8;
}

static void shrink_row(const struct picture *picture, int shrink, int y, int width, uint16_t *out) {
    const size_t row = 3 * (size_t)picture->width;
    const unsigned long long area = (unsigned long long)shrink * (unsigned long long)shrink;
    for (int x = 0; x < width; x++) {
        const uint16_t *corner =
            picture->rgb + (size_t)y * (size_t)shrink * row + 3 * (size_t)(x * shrink) + 1;
        unsigned long long sum = 0;
        for (int i = 0; i < shrink; i++)
            for (int k = 0; k < shrink; k++) sum += corner[(size_t)i * row + 3 * (size_t)k];
        out[x] = (uint16_t)(sum / area);
    }
}

/* The reduced picture in 8 bits; free it with memory_free. */
static uint8_t *shrunk(const struct picture *picture, int shrink, int width, int height) {
    const size_t n = (size_t)width * (size_t)height;
    uint16_t *green = memory_need(n, sizeof *green);
    uint8_t *out = memory_need(n, 1);
    for (int y = 0; y < height; y++) shrink_row(picture, shrink, y, width, green + (size_t)y * (size_t)width);
    const unsigned white = white_level(green, n);
    for (size_t i = 0; i < n; i++) {
        const unsigned value = 255u * green[i] / white;
        out[i] = (uint8_t)(value > 255 ? 255 : value);
    }
    memory_free(green);
    return out;
}

/* The library's corners are of the reduced picture, its origin a corner too; they run the other way round. */
static void take(const apriltag_detection_t *found, int shrink, struct located_tag *out) {
    *out = (struct located_tag){.id = found->id};
    for (int i = 0; i < 4; i++)
        out->corner[i] = (struct point){found->p[3 - i][0] * shrink, found->p[3 - i][1] * shrink};
}

static int by_place(const void *a, const void *b) {
    const struct located_tag *x = a, *y = b;
    if (x->id != y->id) return x->id < y->id ? -1 : 1;
    if (x->corner[0].x != y->corner[0].x) return x->corner[0].x < y->corner[0].x ? -1 : 1;
    return (x->corner[0].y > y->corner[0].y) - (x->corner[0].y < y->corner[0].y);
}

static int seek(const struct picture *picture, int shrink, struct located_tag out[LOCATED_MOST]) {
    const int width = picture->width / shrink, height = picture->height / shrink;
    if (width < 16 || height < 16) return 0;
    uint8_t *pixels = shrunk(picture, shrink, width, height);
    image_u8_t image = {.width = width, .height = height, .stride = width, .buf = pixels};
    apriltag_detector_t *detector = apriltag_detector_create();
    apriltag_family_t *family = tag36h11_create();
    apriltag_detector_add_family_bits(detector, family, 1);
    detector->nthreads = 1;
    detector->quad_decimate = 1;
    detector->refine_edges = true;
    zarray_t *found = apriltag_detector_detect(detector, &image);
    int count = 0;
    for (int i = 0; i < zarray_size(found) && count < LOCATED_MOST; i++) {
        apriltag_detection_t *one;
        zarray_get(found, i, &one);
        take(one, shrink, &out[count++]);
    }
    apriltag_detections_destroy(found);
    apriltag_detector_destroy(detector);
    tag36h11_destroy(family);
    memory_free(pixels);
    qsort(out, (size_t)count, sizeof *out, by_place);
    return count;
}

/* ---- judging each tag ---- */

static const struct photo_tag *tag_of(const struct photo_card *card, int id) {
    for (int i = 0; i < card->tags; i++)
        if (card->tag[i].id == id) return &card->tag[i];
    return NULL;
}

static bool at_border(const struct picture *picture, const struct located_tag *tag, double room) {
    for (int i = 0; i < 4; i++)
        if (!picture_inside(picture, tag->corner[i].x, tag->corner[i].y, room)) return true;
    return false;
}

/* Measures the tag's edges on the whole picture; *edge_px is left alone when the tag is not used. */
static void judge(const struct picture *picture, const struct photo_card *card, int shrink,
                  struct located_tag *tag, double *edge_px) {
    struct edge_quality quality;
    tag->fate = TAG_USED;
    if (!tag_of(card, tag->id)) {
        tag->fate = TAG_OF_NO_CARD;
        return;
    }
    if (at_border(picture, tag, shrink + 2)) {
        tag->fate = TAG_AT_BORDER;
        return;
    }
    if (!edge_refine(picture, tag->corner, shrink + 2, &quality) || quality.whole < whole_least)
        tag->fate = TAG_COVERED;
    else
        *edge_px = quality.edge_px;
}

/* ---- which of them are on one plane ---- */

static size_t gather(const struct photo_card *card, const struct located *found, const bool in[],
                     struct point from[], struct point to[]) {
    size_t n = 0;
    for (int i = 0; i < found->tags; i++) {
        if (!in[i]) continue;
        const struct photo_tag *tag = tag_of(card, found->tag[i].id);
        for (int k = 0; k < 4; k++) {
            from[n] = (struct point){tag->corner_mm[k][0], tag->corner_mm[k][1]};
            to[n++] = found->tag[i].corner[k];
        }
    }
    return n;
}

/* ---- the lens ---- */

static struct point straightened(const struct located *lens, struct point px) {
    const double x = px.x - lens->middle_px[0], y = px.y - lens->middle_px[1];
    const double f = 1 + lens->bend * (x * x + y * y) / (lens->radius_px * lens->radius_px);
    return (struct point){lens->middle_px[0] + f * x, lens->middle_px[1] + f * y};
}

/* The inverse by fixed point: the bend is a few per cent. */
static struct point bent(const struct located *lens, struct point ideal) {
    const double x = ideal.x - lens->middle_px[0], y = ideal.y - lens->middle_px[1];
    const double r2 = (x * x + y * y) / (lens->radius_px * lens->radius_px);
    double f = 1;
    for (int i = 0; i < 12 && lens->bend != 0; i++) f = 1 / (1 + lens->bend * f * f * r2);
    return (struct point){lens->middle_px[0] + f * x, lens->middle_px[1] + f * y};
}

struct point located_to_pixel(const struct located *located, struct point mm) {
    return bent(located, homography_apply(&located->plane, mm));
}

struct point located_to_card(const struct located *located, struct point px) {
    return homography_apply(&located->plane_back, straightened(located, px));
}

static void lens_none(const struct picture *picture, struct located *out) {
    out->bend = 0;
    out->middle_px[0] = picture->width / 2., out->middle_px[1] = picture->height / 2.;
    out->radius_px = hypot(out->middle_px[0], out->middle_px[1]);
}

/* Largest distance of the tag's corners from where the card says. */
static double misfit(const struct photo_card *card, const struct located *plane,
                     const struct located_tag *tag) {
    const struct photo_tag *on_card = tag_of(card, tag->id);
    double worst = 0;
    for (int k = 0; k < 4; k++) {
        const struct point at =
            located_to_pixel(plane, (struct point){on_card->corner_mm[k][0], on_card->corner_mm[k][1]});
        const double off = hypot(at.x - tag->corner[k].x, at.y - tag->corner[k].y);
        worst = isnan(off) ? HUGE_VAL : longer(worst, off);
    }
    return worst;
}

static double square_off(const struct located *lens, const struct point from[], const struct point to[],
                         size_t n) {
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        const struct point at = located_to_pixel(lens, from[i]);
        sum += pow(at.x - to[i].x, 2) + pow(at.y - to[i].y, 2);
    }
    return sum;
}

/* Plane of the points behind a lens of that bend; returns what is to be minimised: squared distances in units
 * of a corner's error, and how unlikely such a bend is. */
static double plane_behind(struct located *lens, double bend, const struct point from[],
                           const struct point to[], size_t n) {
    struct point ideal[4 * LOCATED_MOST] = {{0}};
    lens->bend = bend;
    for (size_t i = 0; i < n; i++) ideal[i] = straightened(lens, to[i]);
    if (!homography_fit(from, ideal, n, &lens->plane)) return HUGE_VAL;
    return square_off(lens, from, to, n) / (corner_px * corner_px) + pow(bend / bend_sd, 2);
}

/* Golden section over the bend (one valley: the squares are nearly a parabola of it). */
static void fit_lens(struct located *lens, const struct point from[], const struct point to[], size_t n) {
    const double golden = .6180339887498949;
    double low = -.12, high = .12, a = high - golden * (high - low), b = low + golden * (high - low);
    double at_a = plane_behind(lens, a, from, to, n), at_b = plane_behind(lens, b, from, to, n);
    for (int i = 0; i < 26; i++) {
        if (at_a < at_b) {
            high = b, b = a, at_b = at_a, a = high - golden * (high - low);
            at_a = plane_behind(lens, a, from, to, n);
        } else {
            low = a, a = b, at_a = at_b, b = low + golden * (high - low);
            at_b = plane_behind(lens, b, from, to, n);
        }
    }
    (void)plane_behind(lens, .5 * (low + high), from, to, n);
}

static double card_length_px(const struct photo_card *card, const struct homography *plane) {
    const double w = card->size_mm[0], h = card->size_mm[1];
    const struct point mm[5] = {{0, 0}, {w, 0}, {w, h}, {0, h}, {0, 0}};
    double length = 0;
    for (int i = 0; i < 4; i++) {
        const struct point a = homography_apply(plane, mm[i]), b = homography_apply(plane, mm[i + 1]);
        length = longer(length, hypot(b.x - a.x, b.y - a.y));
    }
    return length;
}

struct agreement {
    bool in[LOCATED_MOST];
    int count;
    double off_px; /* of the tags in it, the largest */
};

/* The plane (and the lens) of some of the tags. */
static bool fit_in(const struct photo_card *card, struct located *found, const bool in[], bool with_lens) {
    struct point from[4 * LOCATED_MOST], to[4 * LOCATED_MOST];
    const size_t n = gather(card, found, in, from, to);
    found->bend = 0;
    if (n < 8 || !homography_fit(from, to, n, &found->plane)) return false;
    if (with_lens) fit_lens(found, from, to, n);
    return true;
}

/* Tags that lie near the plane of tags a and b; of each id the first. */
static bool agree_with(const struct photo_card *card, struct located *found, int a, int b,
                       struct agreement *out) {
    bool in[LOCATED_MOST] = {0};
    in[a] = in[b] = true;
    *out = (struct agreement){0};
    if (found->tag[a].id == found->tag[b].id || !fit_in(card, found, in, false)) return false;
    const double limit = longer(1, near_share * card_length_px(card, &found->plane));
    for (int i = 0; i < found->tags; i++) {
        if (found->tag[i].fate != TAG_USED) continue;
        const double off = misfit(card, found, &found->tag[i]);
        bool twin = off > limit || (found->tag[i].id == found->tag[a].id && i != a) ||
                    (found->tag[i].id == found->tag[b].id && i != b);
        for (int k = 0; k < i; k++) twin |= out->in[k] && found->tag[k].id == found->tag[i].id;
        if (twin) continue;
        out->in[i] = true;
        out->count++;
        out->off_px = longer(out->off_px, off);
    }
    return out->in[a] && out->in[b];
}

static double worst_in(const struct photo_card *card, const struct located *found, const bool in[]) {
    double worst = 0;
    for (int i = 0; i < found->tags; i++)
        if (in[i]) worst = longer(worst, misfit(card, found, &found->tag[i]));
    return worst;
}

/* The tag without which the rest fits best; -1 when there are only two. */
static int worst_tag(const struct photo_card *card, struct located *found, struct agreement *set) {
    int leave = -1;
    double best = HUGE_VAL;
    for (int i = 0; i < found->tags && set->count > 2; i++) {
        if (!set->in[i]) continue;
        set->in[i] = false;
        const double worst = fit_in(card, found, set->in, true) ? worst_in(card, found, set->in) : HUGE_VAL;
        if (worst < best) best = worst, leave = i;
        set->in[i] = true;
    }
    return leave;
}

/* Leaves tags out, one by one, until the rest fits. */
static bool prune(const struct photo_card *card, struct located *found, struct agreement *set) {
    while (set->count >= 2 && fit_in(card, found, set->in, true)) {
        const double limit = longer(off_least_px, off_share * card_length_px(card, &found->plane));
        if (worst_in(card, found, set->in) <= limit) return true;
        const int leave = worst_tag(card, found, set);
        if (leave < 0) return false;
        set->in[leave] = false;
        set->count--;
    }
    return false;
}

/* Every pair of tags is tried (random samples are not needed for so few): the plane that most tags lie on. */
static bool consensus(const struct photo_card *card, struct located *found) {
    struct agreement best = {0}, one;
    for (int a = 0; a < found->tags; a++)
        for (int b = a + 1; b < found->tags; b++) {
            if (found->tag[a].fate != TAG_USED || found->tag[b].fate != TAG_USED) continue;
            if (!agree_with(card, found, a, b, &one)) continue;
            if (one.count > best.count || (one.count == best.count && one.off_px < best.off_px)) best = one;
        }
    if (!prune(card, found, &best)) return false;
    found->tags_used = best.count;
    for (int i = 0; i < found->tags; i++)
        if (found->tag[i].fate == TAG_USED && !best.in[i]) found->tag[i].fate = TAG_MISPLACED;
    return true;
}

static double rms_of(const struct photo_card *card, const struct located *found) {
    double sum = 0;
    int n = 0;
    for (int i = 0; i < found->tags; i++) {
        if (found->tag[i].fate != TAG_USED) continue;
        const struct photo_tag *tag = tag_of(card, found->tag[i].id);
        for (int k = 0; k < 4; k++, n++) {
            const struct point at =
                located_to_pixel(found, (struct point){tag->corner_mm[k][0], tag->corner_mm[k][1]});
            sum += pow(at.x - found->tag[i].corner[k].x, 2) + pow(at.y - found->tag[i].corner[k].y, 2);
        }
    }
    return n ? sqrt(sum / n) : 0;
}

/* ---- the whole ---- */

/* Size in the frame, and the plane turned round. A card that is seen from behind, or over the horizon, is
 * none. */
static enum status complete(const struct picture *picture, const struct photo_card *card, struct located *out,
                            struct fault *fault) {
    const struct point middle = {card->size_mm[0] / 2, card->size_mm[1] / 2};
    double slope[2][2];
    homography_slope(&out->plane, middle, slope);
    const double area = slope[0][0] * slope[1][1] - slope[0][1] * slope[1][0];
    if (!(area > 0) || !homography_inverse(&out->plane, &out->plane_back))
        return FAULT0(fault, CARD_NO_PLANE);
    out->px_per_mm = sqrt(area);
    out->share = card_length_px(card, &out->plane) / longer(picture->width, picture->height);
    if (!(out->share >= share_least))
        return FAULT(fault, CARD_TOO_SMALL, COUNT_TEXT((long long)lround(100 * out->share)));
    return STATUS_OK;
}

static const char *fate_text(enum tag_fate fate) {
    static const char *const text[] = {"whole", "cut by the border", "covered or blurred",
                                       "not where the card says", "of another card"};
    return text[fate];
}

static enum status too_few(const struct located *found, struct fault *fault) {
    char what[300];
    size_t n = 0;
    for (int i = 0; i < found->tags && n + 60 < sizeof what; i++)
        n += (size_t)snprintf(what + n, sizeof what - n, "%stag %d %s", i ? ", " : "", found->tag[i].id,
                              fate_text(found->tag[i].fate));
    if (n == 0) return FAULT0(fault, CARD_NO_TAG);
    return FAULT(fault, CARD_FEW_TAGS, what);
}

/* No card, and nothing that is even a tenth of white: the 99.5th percentile of green, every 16th pixel. */
static bool is_dark(const struct picture *picture, struct fault *fault) {
    static const double dark = .03, wanted = .7;
    enum { LEVELS = 1024, STEP = 16 };
    size_t count[LEVELS] = {0}, all = 0, above = 0;
    for (int y = STEP / 2; y < picture->height; y += STEP)
        for (int x = STEP / 2; x < picture->width; x += STEP, all++)
            count[picture->rgb[3 * ((size_t)y * (size_t)picture->width + (size_t)x) + 1] * LEVELS / 65536]++;
    int top = LEVELS - 1;
    while (top > 0 && (above += count[top]) * 200 < all) top--;
    const double light = (top + .5) / LEVELS;
    if (!(light < dark)) return false;
    (void)FAULT(fault, PHOTO_DARK, NUMBER_TEXT(round(1000 * light) / 10),
                COUNT_TEXT(lround(log2(wanted / light))));
    return true;
}

/* Tags whose edges were seen but do not fit each other: is it blur? The scale is the tag's own. */
static bool is_blurred(const struct photo_card *card, const struct located *found, double edge_px,
                       struct fault *fault) {
    if (isnan(edge_px)) return false;
    for (int i = 0; i < found->tags; i++) {
        const struct photo_tag *tag = tag_of(card, found->tag[i].id);
        if (!tag || found->tag[i].fate != TAG_USED) continue;
        const struct point *c = found->tag[i].corner;
        const double side_mm =
            hypot(tag->corner_mm[1][0] - tag->corner_mm[0][0], tag->corner_mm[1][1] - tag->corner_mm[0][1]);
        const double edge_mm = edge_px * side_mm / hypot(c[1].x - c[0].x, c[1].y - c[0].y);
        if (!(edge_mm > edge_most_mm)) continue;
        (void)FAULT(fault, CARD_BLURRED, NUMBER_TEXT(round(10 * edge_mm) / 10));
        return true;
    }
    return false;
}

static bool seek_and_judge(const struct picture *picture, const struct photo_card *card, int shrink,
                           struct located *out, double *edge_px) {
    double edge[LOCATED_MOST];
    int edges = 0;
    *out = (struct located){0};
    lens_none(picture, out);
    out->tags = seek(picture, shrink, out->tag);
    for (int i = 0; i < out->tags; i++) {
        edge[edges] = NAN;
        judge(picture, card, shrink, &out->tag[i], &edge[edges]);
        if (!isnan(edge[edges])) edges++;
    }
    /* The middle one, or the wider of two. */
    for (int i = 0; i < edges; i++)
        for (int k = i; k > 0 && edge[k] < edge[k - 1]; k--) {
            const double swap = edge[k];
            edge[k] = edge[k - 1], edge[k - 1] = swap;
        }
    *edge_px = edges ? edge[edges / 2] : (double)NAN;
    return consensus(card, out);
}

enum status locate_card(const struct picture *picture, const struct photo_card *card, struct located *out,
                        struct fault *fault) {
    double edge_px = NAN;
    bool found = false;
    const int first = shrink_for(picture, working_px);
    for (int shrink = first, last = 0; shrink >= 1 && !found && last != shrink; shrink = (shrink + 1) / 2) {
        found = seek_and_judge(picture, card, shrink, out, &edge_px);
        last = shrink;
        if (shrink == 1) break;
    }
    if (!found && (is_dark(picture, fault) || is_blurred(card, out, edge_px, fault))) return STATUS_INPUT;
    if (!found) return too_few(out, fault);
    out->rms_px = rms_of(card, out);
    const enum status status = complete(picture, card, out, fault);
    if (status != STATUS_OK) return status;
    out->edge_mm = edge_px / out->px_per_mm;
    if (!(out->edge_mm <= edge_most_mm))
        return FAULT(fault, CARD_BLURRED, NUMBER_TEXT(round(10 * out->edge_mm) / 10));
    return STATUS_OK;
}

enum status locate_by_corners(const struct picture *picture, const struct photo_card *card,
                              const struct point corner[4], struct located *out, struct fault *fault) {
    const double w = card->size_mm[0], h = card->size_mm[1];
    const struct point mm[4] = {{0, 0}, {w, 0}, {w, h}, {0, h}};
    *out = (struct located){.by_hand = true, .edge_mm = (double)NAN};
    lens_none(picture, out);
    for (int i = 0; i < 4; i++) {
        if (!picture_inside(picture, corner[i].x, corner[i].y, 0))
            return FAULT(fault, CARD_CORNER_OUTSIDE, COUNT_TEXT(i + 1));
        const struct point a = corner[i], b = corner[(i + 1) % 4], c = corner[(i + 2) % 4];
        if (!((b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x) > 0))
            return FAULT0(fault, CARD_CORNERS_ORDER);
    }
    if (!homography_fit(mm, corner, 4, &out->plane)) return FAULT0(fault, CARD_CORNERS_ORDER);
    return complete(picture, card, out, fault);
}
