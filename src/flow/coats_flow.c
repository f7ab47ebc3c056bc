#include "flow/film_request.h"
#include "flow/note.h"
#include "formats/json_out.h"
#include "trade/air.h"
#include "trade/coat_plan.h"
#include "trade/units.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

extern operation_flow coats_flow;

struct coats_request {
    struct film_request film;
    struct coat_case plan;
    double distance_mm, pressure_kpa; /* NAN: not said */
    bool has_air;
    struct air air;
    int start_min; /* of the day, -1: not said */
};

struct measure {
    const char *option;
    enum unit unit;
    double low, high;
    double *out;
};

/* Values with a unit of their choice; what is left out keeps its value. */
static enum status read_measures(const struct request *request, struct coats_request *coats,
                                 struct fault *fault) {
    struct gun *gun = &coats->plan.gun;
    const struct measure measures[] = {
        {"--flow", UNIT_ML_MIN, 0.1, 5000, &gun->flow_ml_min},
        {"--fan", UNIT_MM, 1, 1000, &gun->fan_mm},
        {"--speed", UNIT_M_S, 0.01, 5, &gun->speed_m_s},
        {"--distance", UNIT_MM, 1, 1000, &coats->distance_mm},
        {"--pressure", UNIT_KPA, 1, 1500, &coats->pressure_kpa},
    };
    for (size_t i = 0; i < sizeof measures / sizeof measures[0]; i++) {
        const struct measure *m = &measures[i];
        const char *text = request_text(request, m->option);
        const enum status status =
            text ? unit_read(m->option, text, m->unit, m->low, m->high, m->out, fault) : STATUS_OK;
        if (status != STATUS_OK) return status;
    }
    return STATUS_OK;
}

static bool is_clock(const char *text, int *minutes) {
    unsigned long long hour, minute;
    const char *colon = strchr(text, ':');
    const size_t n = colon ? (size_t)(colon - text) : 0;
    if (n < 1 || n > 2 || strlen(colon + 1) != 2) return false;
    const char digits[3] = {text[0], n == 2 ? text[1] : 0, 0};
    if (!text_to_count(digits, 23, &hour) || !text_to_count(colon + 1, 59, &minute)) return false;
    *minutes = (int)(60 * hour + minute);
    return true;
}

static enum status read_panel(const struct request *request, struct coats_request *coats,
                              struct fault *fault) {
    size_t count;
    const double *panel = request_numbers(request, "--panel-mm", &count);
    if (panel && count != 2) return FAULT0(fault, PANEL_NOT_TWO);
    coats->plan.wide_mm = panel ? panel[0] : (double)NAN;
    coats->plan.high_mm = panel ? panel[1] : (double)NAN;
    const char *start = request_text(request, "--start");
    coats->start_min = -1;
    if (start && !is_clock(start, &coats->start_min)) return FAULT(fault, START_NO_CLOCK, start);
    return STATUS_OK;
}

static enum status read_air(const struct request *request, struct coats_request *coats, struct fault *fault) {
    const int given =
        request_has(request, "--air-c") + request_has(request, "--rh") + request_has(request, "--surface-c");
    coats->plan.drying_index = 1;
    if (given == 0) return STATUS_OK;
    if (given != 3) return FAULT0(fault, AIR_NOT_WHOLE);
    const struct air_case in = {request_number(request, "--air-c", 0),
                                request_number(request, "--rh", 0),
                                request_number(request, "--surface-c", 0),
                                3,
                                (double)NAN,
                                (double)NAN,
                                (double)NAN};
    coats->has_air = true;
    const enum status status = air_judge(&in, &coats->air, fault);
    coats->plan.drying_index = status == STATUS_OK ? coats->air.drying_index : 1;
    return status;
}

static void fill_plan(const struct request *request, struct coats_request *coats) {
    const struct film_request *film = &coats->film;
    const struct application *usual = application_of(film->by);
    struct coat_case *plan = &coats->plan;
    plan->by = film->by;
    plan->area_m2 = film->amount.area_m2;
    plan->film_um = film->amount.film_um;
    plan->solids_volume = film->amount.solids_volume;
    plan->transfer = film->amount.transfer;
    plan->thinner = film->amount.thinner;
    plan->coats = film->amount.coats;
    plan->wet_um = request_number(request, "--wet-um", (double)NAN);
    plan->gun = (struct gun){usual->flow_ml_min, usual->fan_mm, request_number(request, "--overlap", 0.5),
                             (double)NAN};
    plan->film_um_to_hide = film->film_um_to_hide;
    plan->old_film_um = film->old_film_um;
    plan->flash_s = 60 * request_number(request, "--flash-min", 0);
    plan->pot_life_s = 60 * request_number(request, "--pot-life-min", (double)NAN);
    plan->mixed_ago_s = 60 * request_number(request, "--mixed-min-ago", 0);
    coats->distance_mm = coats->pressure_kpa = (double)NAN;
}

static enum status read_request(const struct surroundings *around, const struct request *request,
                                struct coats_request *out, struct fault *fault) {
    enum status status = film_request_read(around, request, &out->film, fault);
    if (status != STATUS_OK) return status;
    fill_plan(request, out);
    status = read_measures(request, out, fault);
    if (status == STATUS_OK) status = read_panel(request, out, fault);
    if (status == STATUS_OK) status = read_air(request, out, fault);
    return status;
}

static void put_clock(json_t *object, const char *key, int start_min, double after_s) {
    char text[12];
    const int minutes = (start_min + (int)(after_s / 60)) % (24 * 60);
    snprintf(text, sizeof text, "%02d:%02d", minutes / 60, minutes % 60);
    json_put_text(object, key, text);
}

static json_t *coat_object(const struct coats_request *in, const struct coat_plan *plan, size_t i) {
    const struct coat *coat = &plan->coat[i];
    json_t *object = json_object();
    json_put_count(object, "coat", (long long)i + 1);
    json_put_number(object, "start_s", coat->start_s, 0);
    if (in->start_min >= 0) put_clock(object, "start", in->start_min, coat->start_s);
    json_put_number(object, "spray_s", coat->spray_s, 0);
    json_put_number(object, "flash_s", coat->flash_s, 0);
    json_put_number(object, "film_um", coat->film_um, 2);
    json_put_flag(object, "hides", coat->hides);
    if (plan->pots) json_put_count(object, "pot", coat->pot);
    return object;
}

static void put_gun(json_t *reply, const struct coats_request *in, const struct coat_plan *plan) {
    if (!application_of(in->plan.by)->sprays) return;
    const struct application *usual = application_of(in->plan.by);
    json_t *gun = json_object();
    json_put_number(gun, "flow_ml_min", in->plan.gun.flow_ml_min, 2);
    json_put_number(gun, "fan_mm", in->plan.gun.fan_mm, 1);
    json_put_number(gun, "overlap", in->plan.gun.overlap, 3);
    json_put_number(gun, "speed_m_s", plan->speed_m_s, 4);
    json_put_number(gun, "step_mm", plan->step_mm, 1);
    json_put_count(gun, "strokes", plan->strokes);
    json_put_number(gun, "stroke_s", plan->stroke_s, 2);
    json_put(gun, "distance_mm",
             json_numbers((const double[]){usual->distance_low_mm, usual->distance_high_mm}, 2, 0));
    if (!isnan(in->pressure_kpa)) json_put_number(gun, "pressure_kpa", in->pressure_kpa, 2);
    json_put(reply, "gun", gun);
}

/* Hands move .3 to .8 m/s evenly (common practice). */
static void note_gun(json_t *reply, const struct coats_request *in, const struct coat_plan *plan) {
    const struct application *usual = application_of(in->plan.by);
    if (!usual->sprays) return;
    if (plan->speed_m_s > 0.8) NOTE(reply, GUN_TOO_FAST, NUMBER_TEXT(round(100 * plan->speed_m_s) / 100));
    if (plan->speed_m_s < 0.3) NOTE(reply, GUN_TOO_SLOW, NUMBER_TEXT(round(100 * plan->speed_m_s) / 100));
    if (in->distance_mm < usual->distance_low_mm || in->distance_mm > usual->distance_high_mm)
        NOTE(reply, GUN_DISTANCE, NUMBER_TEXT(in->distance_mm), NUMBER_TEXT(usual->distance_low_mm),
             NUMBER_TEXT(usual->distance_high_mm), usual->name);
    if (in->pressure_kpa > 300) NOTE(reply, GUN_PRESSURE, NUMBER_TEXT(round(in->pressure_kpa)));
}

static void note_pots(json_t *reply, const struct coats_request *in, const struct coat_plan *plan) {
    if (!plan->pots) return;
    if (plan->pots > 1)
        NOTE(reply, POTS_SEVERAL, COUNT_TEXT(plan->pots), NUMBER_TEXT(in->plan.pot_life_s / 60));
    NOTE(reply, POT_NEVER_SEALED, NULL);
}

static void put_air(json_t *reply, const struct coats_request *in) {
    if (!in->has_air) return;
    json_t *air = json_object();
    json_put_flag(air, "go", in->air.go);
    json_put_number(air, "margin_k", in->air.margin_k, 2);
    json_put_number(air, "drying_index", in->air.drying_index, 3);
    json_put(reply, "air", air);
    if (!in->air.go) NOTE(reply, COATS_WAIT, NUMBER_TEXT(round(10 * in->air.margin_k) / 10));
}

static void put_plan(json_t *reply, const struct coats_request *in, const struct coat_plan *plan) {
    json_t *coats = json_array();
    for (size_t i = 0; i < plan->count; i++) json_array_append_new(coats, coat_object(in, plan, i));
    json_put_number(reply, "coat_ml", plan->coat_ml, 2);
    json_put(reply, "plan", coats);
    put_gun(reply, in, plan);
    put_air(reply, in);
    json_put_number(reply, "total_s", plan->total_s, 0);
    if (plan->pots) {
        json_put_count(reply, "pots", plan->pots);
        json_put_number(reply, "pot_life_s", in->plan.pot_life_s, 0);
        const double left_s = fmax(in->plan.pot_life_s - in->plan.mixed_ago_s, 0);
        if (in->start_min >= 0) put_clock(reply, "first_pot_ends", in->start_min, left_s);
    }
    note_gun(reply, in, plan);
    note_pots(reply, in, plan);
}

/* The amount is reckoned for the film that the plan lays. */
static enum status reckon(struct coats_request *in, struct coat_plan *plan, struct amount *amount,
                          struct fault *fault) {
    enum status status = coat_plan_make(&in->plan, plan, fault);
    if (status != STATUS_OK) return status;
    struct amount_case as = in->film.amount;
    as.coats = (unsigned)plan->count;
    as.wet_um = plan->wet_um;
    return amount_reckon(&as, amount, fault);
}

enum status coats_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                       struct fault *fault) {
    struct coats_request in = {0};
    struct coat_plan plan;
    struct amount amount;
    enum status status = read_request(around, request, &in, fault);
    if (status == STATUS_OK) status = reckon(&in, &plan, &amount, fault);
    if (status != STATUS_OK) return status;
    json_t *object = json_start("coats");
    json_put_text(object, "title", request_text(request, "--title"));
    film_request_put(object, &in.film, &amount);
    put_plan(object, &in, &plan);
    *reply = object;
    return in.has_air && !in.air.go ? STATUS_NO : STATUS_OK;
}
