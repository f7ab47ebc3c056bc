/* The same surfaces by the general library for surface data that Debian packs as libgwyddion (its C
 * interface, no window): moments, area, slopes and autocorrelation of random and regular heights against
 * areal.h. */
#include "random_field.h"
#include "surface/areal.h"
#include <libprocess/gwyprocess.h>

enum { N = 500, REACH = 160 };
static const double step = .02; /* fine against the grain: its slopes are one-sided differences */

struct peer {
    double sa, sq, ssk, sku, sz, sdr, sdq, sal, str;
};

static GwyDataField *field_of(const struct relief *r) {
    GwyDataField *field =
        gwy_data_field_new(r->width, r->height, r->width * r->step_mm, r->height * r->step_mm, FALSE);
    memcpy(gwy_data_field_get_data(field), r->z_mm, (size_t)r->width * (size_t)r->height * sizeof *r->z_mm);
    gwy_data_field_add(field, -gwy_data_field_get_avg(field));
    return field;
}

/* Its autocorrelation, walked along rays with bilinear steps of a twentieth of a pixel. */
static double peer_reach(GwyDataField *acf, double angle) {
    const int middle = gwy_data_field_get_xres(acf) / 2;
    const double top = gwy_data_field_get_val(acf, middle, middle);
    for (double r = 0; r < REACH - 2; r += .05) {
        const double x = middle + r * cos(angle), y = middle + r * sin(angle);
        const int i = (int)floor(x), j = (int)floor(y);
        const double u = x - i, v = y - j;
        const double here = (1 - v) * ((1 - u) * gwy_data_field_get_val(acf, i, j) +
                                       u * gwy_data_field_get_val(acf, i + 1, j)) +
                            v * ((1 - u) * gwy_data_field_get_val(acf, i, j + 1) +
                                 u * gwy_data_field_get_val(acf, i + 1, j + 1));
        if (here <= .2 * top) return r;
    }
    return REACH;
}

static void peer_ways(GwyDataField *field, struct peer *out) {
    GwyDataField *acf = gwy_data_field_new(1, 1, 1, 1, FALSE);
    gwy_data_field_area_2dacf(field, acf, 0, 0, N, N, REACH, REACH);
    double least = REACH, most = 0;
    for (int i = 0; i < 360; i++) {
        const double reach = peer_reach(acf, i * 3.14159265358979323846 / 360);
        least = fmin(least, reach), most = fmax(most, reach);
    }
    out->sal = least * step, out->str = least / most;
    g_object_unref(acf);
}

static void peer_measure(const struct relief *r, struct peer *out) {
    GwyDataField *field = field_of(r);
    double low, high, side = N * step;
    gwy_data_field_get_stats(field, NULL, &out->sa, &out->sq, &out->ssk, &out->sku);
    gwy_data_field_get_min_max(field, &low, &high);
    out->sku += 3, out->sz = high - low; /* its kurtosis is the excess */
    out->sdr = gwy_data_field_get_surface_area(field) / (side * side) - 1;
    out->sdq = gwy_data_field_area_get_surface_slope_mask(field, NULL, GWY_MASK_IGNORE, 0, 0, N, N);
    peer_ways(field, out);
    g_object_unref(field);
}

static void agree(const char *what, double *z) {
    struct relief r = {N, N, step, z};
    struct areal own;
    struct peer peer;
    areal_measure(&r, NULL, &own);
    peer_measure(&r, &peer);
    const double *v = own.value;
    CHECK_NEAR(v[AREAL_SA], peer.sa, 1e-10 * peer.sa);
    CHECK_NEAR(v[AREAL_SQ], peer.sq, 1e-10 * peer.sq);
    CHECK_NEAR(v[AREAL_SSK], peer.ssk, 1e-9);
    CHECK_NEAR(v[AREAL_SKU], peer.sku, 1e-9);
    CHECK_NEAR(v[AREAL_SZ], peer.sz, 1e-10 * peer.sz);
    CHECK_NEAR(v[AREAL_SDQ], peer.sdq, .002 * peer.sdq);
    CHECK_NEAR(v[AREAL_SDR], peer.sdr, .01 * peer.sdr) /* its area is of triangles */;
    CHECK_NEAR(v[AREAL_SAL], peer.sal, .003 * peer.sal);
    CHECK_NEAR(v[AREAL_STR], peer.str, .003 * peer.str);
    printf("  figure: %s: Sdq %+.3f %%, Sdr %+.3f %%, Sal %+.3f %%, Str %+.3f %% off libgwyddion's\n", what,
           100 * (v[AREAL_SDQ] / peer.sdq - 1), 100 * (v[AREAL_SDR] / peer.sdr - 1),
           100 * (v[AREAL_SAL] / peer.sal - 1), 100 * (v[AREAL_STR] / peer.str - 1));
}

static void random_surfaces(void) {
    static const double way[3][2] = {{.6, .6}, {.9, .45}, {.8, .5}};
    for (int i = 0; i < 3; i++) {
        double *z = random_field(N, step, .02, way[i][0], way[i][1], 11 + (unsigned long long)i);
        for (int k = 0; k < N * N; k++) z[k] += 3; /* the mean is nothing to it */
        agree(i ? "random field with a lay" : "random field", z);
        free(z);
    }
}

/* Hills cut off as a sander does: skewed. */
static void a_sanded_surface(void) {
    double *z = random_field(N, step, .02, .6, .6, 21);
    for (int k = 0; k < N * N; k++) z[k] = fmin(z[k], .004);
    agree("sanded field", z);
    free(z);
}

static void crossed_waves(void) {
    double *z = calloc(N * N, sizeof *z);
    for (int k = 0; k < N * N && z; k++)
        z[k] = .05 * sin(.124 * (k % N)) * sin(.108 * (double)(k / N)); /* 51 and 58 pixels long */
    agree("crossed waves", z);
    free(z);
}

int main(void) {
    gwy_process_type_init();
    RUN(random_surfaces);
    RUN(a_sanded_surface);
    RUN(crossed_waves);
    return check_done();
}
