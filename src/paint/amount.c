#include "paint/amount.h"
#include <math.h>
#include <string.h>

/* Common practice throughout, editable by option; the gun's transfer is the least that HVLP means (65 %,
 * SCAQMD), its distance 150..250 mm (published). */
static const struct application applications[BY_COUNT] = {
    [BY_SPONGE] = {"sponge", 0.95, 30, 10, false, 0, 0, 0, 0},
    [BY_BRUSH] = {"brush", 0.95, 50, 5, false, 0, 0, 0, 0},
    [BY_AIRBRUSH] = {"airbrush", 0.50, 12, 4, true, 50, 100, 30, 8},
    [BY_MINI_GUN] = {"mini-gun", 0.60, 20, 15, true, 100, 180, 120, 60},
    [BY_GUN] = {"gun", 0.65, 25, 30, true, 150, 250, 200, 100},
};

const struct application *application_of(enum applied_by by) {
    return &applications[by];
}

bool application_from_name(const char *name, enum applied_by *out) {
    for (int by = 0; by < BY_COUNT; by++)
        if (strcmp(applications[by].name, name) == 0) return *out = (enum applied_by)by, true;
    return false;
}

/* value, low (open when `above`), high */
static enum status check_one(const char *what, double value, double low, double high, struct fault *fault) {
    if (value >= low && value <= high) return STATUS_OK;
    return FAULT(fault, AMOUNT_OUT_OF_BOUNDS, what, NUMBER_TEXT(value), NUMBER_TEXT(low), NUMBER_TEXT(high));
}

struct bound {
    const char *what;
    double value, low, high;
};

static enum status check(const struct amount_case *in, struct fault *fault) {
    const struct fade *fade = &in->fade;
    const struct bound bounds[] = {
        {"area m2", in->area_m2, 1e-6, 1e4},
        {"dry film um", in->film_um, 0.1, 2000},
        {"solids by volume", in->solids_volume, 0.005, 1},
        {"transfer", in->transfer, 0.01, 1},
        {"spare", in->spare, 0, 5},
        {"thinner", in->thinner, 0, 5},
        {"coats", in->coats, 0, AMOUNT_COATS_MOST},
        {"wet film um", isnan(in->wet_um) ? 1 : in->wet_um, 0.1, 5000},
        {"dry film of a coat um", in->coat_um, 0.1, 2000},
        {"loss ml", in->loss_ml, 0, 1e4},
        {"density g/ml", in->density_g_ml, 0.3, 3},
        {"thinner's density g/ml", in->thinner_density_g_ml, 0.3, 3},
        {"fade length mm", fade->length_mm, 0, 1e6},
        {"fade width mm", fade->width_mm, 0, 1e4},
        {"blend coats", fade->blend_coats, 0, 20},
        {"blend thinner", fade->blend_thinner, 0, 20},
        {"blend wet film um", fade->blend_wet_um, 0, 5000},
    };
    for (size_t i = 0; i < sizeof bounds / sizeof bounds[0]; i++) {
        const enum status status =
            check_one(bounds[i].what, bounds[i].value, bounds[i].low, bounds[i].high, fault);
        if (status != STATUS_OK) return status;
    }
    return STATUS_OK;
}

/* Coats that reach the film when one is at most dry_um; a trace over a whole number is no further coat. */
static double coats_for(double film_um, double dry_um) {
    return fmax(1, ceil(film_um / dry_um * (1 - 1e-9)));
}

static enum status find_coats(const struct amount_case *in, struct amount *out, struct fault *fault) {
    const bool wet_said = !isnan(in->wet_um);
    const double dry_um = wet_said ? in->wet_um * out->solids_volume : in->coat_um;
    const double coats = in->coats ? in->coats : coats_for(in->film_um, dry_um);
    if (coats > AMOUNT_COATS_MOST)
        return FAULT(fault, AMOUNT_TOO_MANY_COATS, NUMBER_TEXT(coats), NUMBER_TEXT(dry_um),
                     COUNT_TEXT(AMOUNT_COATS_MOST));
    out->coats = (unsigned)coats;
    out->film_um = in->coats && wet_said ? coats * dry_um : in->film_um;
    out->film_differs = fabs(out->film_um - in->film_um) > 0.02 * in->film_um;
    out->dry_um = out->film_um / coats;
    out->wet_um = out->dry_um / out->solids_volume;
    return STATUS_OK;
}

/* Full film on the area, half of it on the fade, the blend coats on the fade; um on m2 is ml. */
static void find_volumes(const struct amount_case *in, struct amount *out) {
    const struct fade *fade = &in->fade;
    const double laid_ml_m2 = out->film_um / out->solids_volume / in->transfer;
    out->fade_area_m2 = fade->length_mm * fade->width_mm * 1e-6;
    out->film_ml = in->area_m2 * laid_ml_m2;
    out->fade_ml = out->fade_area_m2 * laid_ml_m2 / 2;
    out->blend_ml = out->fade_area_m2 * fade->blend_coats * fade->blend_wet_um / in->transfer;
    out->spare_ml = in->spare * (out->film_ml + out->fade_ml + out->blend_ml);
    out->loss_ml = in->loss_ml;
    out->total_ml = out->film_ml + out->fade_ml + out->blend_ml + out->spare_ml + out->loss_ml;
}

/* The blend coats are the mix thinned once more; what is lost in the tools is counted as the mix. */
static void find_parts(const struct amount_case *in, struct amount *out) {
    const double blend_ml = out->blend_ml * (1 + in->spare);
    const double blend_mix_ml = blend_ml / (1 + in->fade.blend_thinner);
    const double mix_ml = out->total_ml - blend_ml + blend_mix_ml;
    out->paint_ml = mix_ml / (1 + in->thinner);
    out->thinner_ml = out->total_ml - out->paint_ml;
    if (out->thinner_ml < 1e-12 * out->total_ml) out->thinner_ml = 0;
    out->paint_g = out->paint_ml * in->density_g_ml;
    out->thinner_g = out->thinner_ml * in->thinner_density_g_ml;
}

enum status amount_reckon(const struct amount_case *in, struct amount *out, struct fault *fault) {
    struct amount amount = {0};
    enum status status = check(in, fault);
    if (status != STATUS_OK) return status;
    amount.solids_volume = in->solids_volume / (1 + in->thinner);
    status = find_coats(in, &amount, fault);
    if (status != STATUS_OK) return status;
    amount.coverage_m2_l = 1000 * in->solids_volume / amount.film_um;
    find_volumes(in, &amount);
    find_parts(in, &amount);
    *out = amount;
    return STATUS_OK;
}

double fade_hidden_mm(const struct fade *fade, double film_um, double film_um_to_hide) {
    if (isnan(film_um_to_hide)) return (double)NAN;
    if (!(film_um_to_hide < film_um)) return 0;
    return fade->width_mm * (1 - film_um_to_hide / film_um);
}
