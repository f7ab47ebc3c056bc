#include "trade/coat_plan.h"
#include <math.h>
#include <string.h>

/* ml/min over (m/s mm) in um: 1e-6/60 m3/s, over 1e-3 m, times 1e6. */
static const double ml_min_per_m_s_mm = 1000.0 / 60.0;
static const double least_drying = 0.1;

double gun_wet_um(double flow_ml_min, double transfer, double speed_m_s, double fan_mm, double overlap) {
    return ml_min_per_m_s_mm * flow_ml_min * transfer / (speed_m_s * fan_mm * (1 - overlap));
}

double gun_speed_m_s(double flow_ml_min, double transfer, double wet_um, double fan_mm, double overlap) {
    return gun_wet_um(flow_ml_min, transfer, wet_um, fan_mm, overlap); /* speed and film change places */
}

struct bound {
    const char *what;
    double value, low, high;
    bool may_be_nan;
};

static enum status check(const struct coat_case *in, struct fault *fault) {
    const bool sprays = application_of(in->by)->sprays;
    const struct gun *gun = &in->gun;
    const struct bound bounds[] = {
        {"panel width mm", in->wide_mm, 1, 1e5, true},
        {"panel height mm", in->high_mm, 1, 1e5, true},
        {"flow ml/min", sprays ? gun->flow_ml_min : 1, 0.1, 5000, false},
        {"fan mm", sprays ? gun->fan_mm : 1, 1, 1000, false},
        {"overlap", sprays ? gun->overlap : 0, 0, 0.9, false},
        {"gun speed m/s", sprays ? gun->speed_m_s : (double)NAN, 0.01, 5, true},
        {"film to hide um", in->film_um_to_hide, 0, HUGE_VAL, true},
        {"old film um", in->old_film_um, 0, 5000, false},
        {"flash-off s", in->flash_s, 0, 1e6, false},
        {"drying index", in->drying_index, 0, 100, false},
        {"pot life s", in->pot_life_s, 60, 1e7, true},
        {"time since the crosslinker s", in->mixed_ago_s, 0, 1e7, false},
    };
    for (size_t i = 0; i < sizeof bounds / sizeof bounds[0]; i++) {
        const struct bound *b = &bounds[i];
        const bool within = isnan(b->value) ? b->may_be_nan : b->value >= b->low && b->value <= b->high;
        if (!within)
            return FAULT(fault, AMOUNT_OUT_OF_BOUNDS, b->what, NUMBER_TEXT(b->value), NUMBER_TEXT(b->low),
                         NUMBER_TEXT(b->high));
    }
    return in->drying_index >= least_drying ? STATUS_OK
                                            : FAULT(fault, COATS_DO_NOT_DRY, NUMBER_TEXT(in->drying_index));
}

/* The most wet film of one coat: as said, as the gun lays at its speed, or the application's own. */
static double wet_of(const struct coat_case *in) {
    const struct gun *gun = &in->gun;
    if (!isnan(in->wet_um)) return in->wet_um;
    if (application_of(in->by)->sprays && !isnan(gun->speed_m_s))
        return gun_wet_um(gun->flow_ml_min, in->transfer, gun->speed_m_s, gun->fan_mm, gun->overlap);
    return application_of(in->by)->wet_um;
}

/* Film and coats are those of the amount: one rule for both. */
static enum status find_film(const struct coat_case *in, struct coat_plan *plan, struct fault *fault) {
    const bool speed_said = application_of(in->by)->sprays && !isnan(in->gun.speed_m_s);
    const struct amount_case as = {.area_m2 = in->area_m2,
                                   .film_um = in->film_um,
                                   .solids_volume = in->solids_volume,
                                   .transfer = in->transfer,
                                   .thinner = in->thinner,
                                   .coats = in->coats,
                                   .wet_um = in->coats && !speed_said && isnan(in->wet_um) ? (double)NAN
                                                                                           : wet_of(in),
                                   .coat_um = 6,
                                   .density_g_ml = 1,
                                   .thinner_density_g_ml = 1};
    struct amount amount;
    const enum status status = amount_reckon(&as, &amount, fault);
    if (status != STATUS_OK) return status;
    plan->count = amount.coats;
    plan->solids_volume = amount.solids_volume;
    /* A gun whose speed is said lays what it lays: whole coats, even when they pass the film that was asked
     * for. */
    plan->wet_um = speed_said ? wet_of(in) : amount.wet_um;
    plan->dry_um = plan->wet_um * plan->solids_volume;
    plan->film_um = plan->dry_um * (double)plan->count;
    plan->total_film_um = plan->film_um + in->old_film_um;
    plan->too_thick = plan->total_film_um > LEATHER_COATING_MOST_UM;
    plan->coat_ml = in->area_m2 * plan->wet_um / in->transfer;
    return STATUS_OK;
}

static void find_strokes(const struct coat_case *in, struct coat_plan *plan) {
    const struct gun *gun = &in->gun;
    plan->speed_m_s = plan->step_mm = plan->stroke_s = (double)NAN;
    if (!application_of(in->by)->sprays) return;
    const double side_mm = 1000 * sqrt(in->area_m2);
    const double wide_mm = isnan(in->wide_mm) ? side_mm : in->wide_mm;
    const double high_mm = isnan(in->high_mm) ? 1e6 * in->area_m2 / wide_mm : in->high_mm;
    plan->speed_m_s = gun_speed_m_s(gun->flow_ml_min, in->transfer, plan->wet_um, gun->fan_mm, gun->overlap);
    plan->step_mm = gun->fan_mm * (1 - gun->overlap);
    plan->strokes = (unsigned)fmin(ceil(high_mm / plan->step_mm * (1 - 1e-9)), 1e6);
    plan->stroke_s = wide_mm / 1000 / plan->speed_m_s;
}

/* The trigger's time for what is sprayed; by hand half a minute for a tenth of a square metre (common
 * practice). */
static double coat_seconds(const struct coat_case *in, const struct coat_plan *plan) {
    if (application_of(in->by)->sprays) return 60 * plan->coat_ml / in->gun.flow_ml_min;
    return 300 * in->area_m2;
}

/* Rounded up to half a minute: nobody waits by the second. */
static double wait_seconds(const struct coat_case *in) {
    return 30 * ceil(in->flash_s / in->drying_index / 30 * (1 - 1e-9));
}

static enum status lay_out(const struct coat_case *in, struct coat_plan *plan, struct fault *fault) {
    const double spray_s = coat_seconds(in, plan), flash_s = wait_seconds(in);
    const bool has_pot = !isnan(in->pot_life_s);
    double now_s = 0, pot_ends_s = has_pot ? in->pot_life_s - in->mixed_ago_s : HUGE_VAL;
    unsigned pot = has_pot;
    if (has_pot && spray_s > in->pot_life_s)
        return FAULT(fault, COATS_POT_TOO_SHORT, NUMBER_TEXT(round(spray_s / 60)),
                     NUMBER_TEXT(in->pot_life_s / 60));
    for (size_t i = 0; i < plan->count; i++) {
        const double film_um = plan->dry_um * (double)(i + 1);
        if (now_s + spray_s > pot_ends_s) pot++, pot_ends_s = now_s + in->pot_life_s;
        const bool hides = film_um >= in->film_um_to_hide * (1 - 1e-9); /* never with NAN */
        if (hides && !plan->hides_at) plan->hides_at = (unsigned)(i + 1);
        plan->coat[i] = (struct coat){now_s, spray_s, i + 1 < plan->count ? flash_s : 0, film_um, hides, pot};
        now_s += spray_s + plan->coat[i].flash_s;
    }
    plan->pots = pot;
    plan->total_s = now_s;
    return STATUS_OK;
}

enum status coat_plan_make(const struct coat_case *in, struct coat_plan *out, struct fault *fault) {
    struct coat_plan plan = {0};
    enum status status = check(in, fault);
    if (status == STATUS_OK) status = find_film(in, &plan, fault);
    if (status != STATUS_OK) return status;
    find_strokes(in, &plan);
    status = lay_out(in, &plan, fault);
    if (status == STATUS_OK) *out = plan;
    return status;
}
