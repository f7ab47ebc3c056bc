/* Sampling: every cell is cut into k x k, k the pixels that it is wide, each read bilinearly; the way from
 * mm to pixels is computed at every eighth of these and taken as straight between (a homography bends by
 * far less than a hundredth of a pixel over eight of them). */
#include "surface/rectify.h"
#include "base/memory.h"
#include <math.h>
#include <string.h>

enum { STRIDE = 8, ROWS_PER_CHUNK = 32 };

bool polygon_holds(const struct polygon *polygon, struct point at) {
    bool in = false;
    for (int i = 0, k = polygon->corners - 1; i < polygon->corners; k = i++) {
        const struct point a = polygon->corner[i], b = polygon->corner[k];
        if ((a.y > at.y) != (b.y > at.y) && at.x < (b.x - a.x) * (at.y - a.y) / (b.y - a.y) + a.x) in = !in;
    }
    return in;
}

double polygon_area(const struct polygon *polygon) {
    double twice = 0;
    for (int i = 0, k = polygon->corners - 1; i < polygon->corners; k = i++)
        twice += polygon->corner[k].x * polygon->corner[i].y - polygon->corner[i].x * polygon->corner[k].y;
    return fabs(twice) / 2;
}

struct point view_to_pixel(const struct plane_view *view, struct point mm) {
    if (view->located) return located_to_pixel(view->located, mm);
    return (struct point){mm.x / view->mm_per_px, mm.y / view->mm_per_px};
}

struct point view_to_mm(const struct plane_view *view, struct point px) {
    if (view->located) return located_to_card(view->located, px);
    return (struct point){px.x * view->mm_per_px, px.y * view->mm_per_px};
}

struct box {
    struct point low, high;
};

static struct box box_of(const struct polygon *polygon) {
    struct box box = {polygon->corner[0], polygon->corner[0]};
    for (int i = 1; i < polygon->corners; i++) {
        box.low.x = fmin(box.low.x, polygon->corner[i].x), box.low.y = fmin(box.low.y, polygon->corner[i].y);
        box.high.x = fmax(box.high.x, polygon->corner[i].x);
        box.high.y = fmax(box.high.y, polygon->corner[i].y);
    }
    return box;
}

/* Millimetres of one pixel about there. */
static double pixel_mm(const struct plane_view *view, struct point px) {
    const struct point a = view_to_mm(view, px), b = view_to_mm(view, (struct point){px.x + 1, px.y}),
                       c = view_to_mm(view, (struct point){px.x, px.y + 1});
    return sqrt(fabs((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)));
}

bool grid_over(const struct polygon *px, const struct plane_view *view, struct panel_grid *out,
               struct polygon *out_mm) {
    const struct box seen = box_of(px);
    out_mm->corners = px->corners;
    for (int i = 0; i < px->corners; i++) out_mm->corner[i] = view_to_mm(view, px->corner[i]);
    const struct box box = box_of(out_mm);
    const double pixel =
        pixel_mm(view, (struct point){.5 * (seen.low.x + seen.high.x), .5 * (seen.low.y + seen.high.y)});
    const double w = box.high.x - box.low.x, h = box.high.y - box.low.y;
    if (!(pixel > 0) || !(w > 0) || !(h > 0) || !isfinite(w * h)) return false;
    double whole = fmax(1, floor(GRID_FINEST_MM / pixel + 1e-6));
    whole = fmax(whole, ceil(sqrt(w * h / GRID_MOST_CELLS) / pixel - 1e-6));
    out->cell_mm = whole * pixel;
    out->origin_mm = box.low;
    const double columns = ceil(w / out->cell_mm - 1e-6), rows = ceil(h / out->cell_mm - 1e-6);
    if (!(columns >= 1) || !(rows >= 1) || !(columns * rows <= 2. * GRID_MOST_CELLS)) return false;
    out->width = (int)columns, out->height = (int)rows;
    return true;
}

static int by_value(const double *crossing, int n, double *sorted) {
    for (int i = 0; i < n; i++) {
        int k = i;
        for (; k > 0 && sorted[k - 1] > crossing[i]; k--) sorted[k] = sorted[k - 1];
        sorted[k] = crossing[i];
    }
    return n;
}

static int crossings(const struct polygon *polygon, double y, double sorted[POLYGON_MOST]) {
    double crossing[POLYGON_MOST];
    int n = 0;
    for (int i = 0, k = polygon->corners - 1; i < polygon->corners; k = i++) {
        const struct point a = polygon->corner[i], b = polygon->corner[k];
        if ((a.y > y) != (b.y > y)) crossing[n++] = (b.x - a.x) * (y - a.y) / (b.y - a.y) + a.x;
    }
    return by_value(crossing, n, sorted);
}

void grid_fill(const struct panel_grid *grid, const struct polygon *mm, uint8_t *cells) {
    memset(cells, 0, (size_t)grid->width * (size_t)grid->height);
    for (int y = 0; y < grid->height; y++) {
        double at[POLYGON_MOST];
        const int n = crossings(mm, grid->origin_mm.y + (y + .5) * grid->cell_mm, at);
        for (int i = 0; i + 1 < n; i += 2) {
            const double from = ceil((at[i] - grid->origin_mm.x) / grid->cell_mm - .5),
                         to = ceil((at[i + 1] - grid->origin_mm.x) / grid->cell_mm - .5);
            for (int x = (int)fmax(0, from); x < fmin(grid->width, to); x++)
                cells[(size_t)y * (size_t)grid->width + (size_t)x] = 1;
        }
    }
}

struct rectifying {
    const struct picture *picture;
    const struct plane_view *view;
    const struct panel_grid *grid;
    float *const *rgb;
    uint8_t *inside;
    int cut;    /* samples along a cell's side */
    bool plain; /* cells are whole pixels, from row `top` on */
    int top;
    double to[3][3]; /* linear sRGB of the picture's values */
};

static bool bilinear(const struct picture *picture, struct point at, double out[3]) {
    if (!picture_inside(picture, at.x, at.y, 0)) return false;
    const double x = fmax(0, at.x - .5), y = fmax(0, at.y - .5);
    const int x0 = (int)fmin(x, picture->width - 1), y0 = (int)fmin(y, picture->height - 1);
    const int x1 = x0 + 1 < picture->width ? x0 + 1 : x0, y1 = y0 + 1 < picture->height ? y0 + 1 : y0;
    const double fx = x - x0, fy = y - y0;
    const uint16_t *a = picture_at(picture, x0, y0), *b = picture_at(picture, x1, y0),
                   *c = picture_at(picture, x0, y1), *d = picture_at(picture, x1, y1);
    for (int i = 0; i < 3; i++)
        out[i] += (1 - fy) * ((1 - fx) * a[i] + fx * b[i]) + fy * ((1 - fx) * c[i] + fx * d[i]);
    return true;
}

static struct point sample_place(const struct rectifying *job, int x, double y_mm) {
    const double x_mm = job->grid->origin_mm.x + (x + .5) / job->cut * job->grid->cell_mm;
    return view_to_pixel(job->view, (struct point){x_mm, y_mm});
}

/* Adds one line of samples to a row's sums; a cell with a sample outside is marked. */
static void add_line(const struct rectifying *job, double y_mm, double (*sum)[3], uint8_t *inside) {
    const int samples = job->grid->width * job->cut;
    struct point from = sample_place(job, 0, y_mm);
    for (int x0 = 0; x0 < samples; x0 += STRIDE) {
        const struct point to = sample_place(job, x0 + STRIDE, y_mm);
        const double dx = (to.x - from.x) / STRIDE, dy = (to.y - from.y) / STRIDE;
        for (int i = 0; i < STRIDE && x0 + i < samples; i++) {
            const int cell = (x0 + i) / job->cut;
            if (!bilinear(job->picture, (struct point){from.x + dx * i, from.y + dy * i}, sum[cell]))
                inside[cell] = 0;
        }
        from = to;
    }
}

/* Whole pixels without a card: the means of cut x cut of them, as the general way would give. */
static bool is_plain(const struct rectifying *job) {
    const struct panel_grid *grid = job->grid;
    const double px = job->view->mm_per_px, x = grid->origin_mm.x / px, y = grid->origin_mm.y / px,
                 cut = grid->cell_mm / px;
    return !job->view->located && fabs(cut - job->cut) < 1e-6 && fabs(x - round(x)) < 1e-6 &&
           fabs(y - round(y)) < 1e-6 && x > -.5 && y > -.5;
}

static void add_plain_line(const struct rectifying *job, int row, double (*sum)[3], uint8_t *inside) {
    const struct picture *picture = job->picture;
    const int first = (int)round(job->grid->origin_mm.x / job->view->mm_per_px);
    for (int x = 0; x < job->grid->width; x++) {
        const int left = first + x * job->cut;
        if (row >= picture->height || left + job->cut > picture->width) {
            inside[x] = 0;
            continue;
        }
        const uint16_t *at = picture_at(picture, left, row);
        unsigned long r = 0, g = 0, b = 0;
        for (int i = 0; i < job->cut; i++, at += 3) r += at[0], g += at[1], b += at[2];
        sum[x][0] += (double)r, sum[x][1] += (double)g, sum[x][2] += (double)b;
    }
}

static void rectify_rows(void *context, size_t chunk) {
    const struct rectifying *job = context;
    const size_t width = (size_t)job->grid->width;
    double(*sum)[3] = memory_need(width, sizeof *sum);
    const double scale = 1 / (65535. * job->cut * job->cut);
    for (int y = (int)chunk * ROWS_PER_CHUNK; y < job->grid->height && y < ((int)chunk + 1) * ROWS_PER_CHUNK;
         y++) {
        memset(sum, 0, width * sizeof *sum);
        for (int k = 0; k < job->cut; k++)
            if (job->plain)
                add_plain_line(job, job->top + y * job->cut + k, sum, job->inside + (size_t)y * width);
            else
                add_line(job, job->grid->origin_mm.y + (y + (k + .5) / job->cut) * job->grid->cell_mm, sum,
                         job->inside + (size_t)y * width);
        for (size_t x = 0; x < width; x++)
            for (int c = 0; c < 3; c++)
                job->rgb[c][(size_t)y * width + x] =
                    (float)(scale * (job->to[c][0] * sum[x][0] + job->to[c][1] * sum[x][1] +
                                     job->to[c][2] * sum[x][2]));
    }
    memory_free(sum);
}

void rectify_picture(const struct picture *picture, const struct plane_view *view,
                     const struct panel_grid *grid, struct work *work, float *const rgb[3], uint8_t *inside) {
    struct rectifying job = {.picture = picture, .view = view, .grid = grid, .rgb = rgb, .inside = inside};
    const struct point middle =
        view_to_pixel(view, (struct point){grid->origin_mm.x + .5 * grid->width * grid->cell_mm,
                                           grid->origin_mm.y + .5 * grid->height * grid->cell_mm});
    const double pixel = pixel_mm(view, middle);
    job.cut = pixel > 0 ? (int)fmin(16, fmax(1, round(grid->cell_mm / pixel))) : 1;
    job.plain = is_plain(&job);
    if (job.plain) job.top = (int)round(grid->origin_mm.y / view->mm_per_px);
    bool given = false;
    for (int i = 0; i < 9; i++) given |= picture->to_srgb[i] != 0;
    for (int i = 0; i < 9; i++) job.to[i / 3][i % 3] = given ? picture->to_srgb[i] : i % 4 == 0;
    work_run(work, ((size_t)grid->height + ROWS_PER_CHUNK - 1) / ROWS_PER_CHUNK, rectify_rows, &job);
}
