/* russet inspect: readings of the repair against the sound part, judged (trade/inspection.h) and logged. */
#include "colour/difference.h"
#include "flow/bill_put.h"
#include "flow/lights.h"
#include "flow/note.h"
#include "flow/place.h"
#include "flow/read_json.h"
#include "formats/json_out.h"
#include "shop/document.h"
#include "shop/entry_store.h"
#include "trade/inspection.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

extern operation_flow inspect_flow;

static const char *const grain_names[] = {"Sa_um", "Sq_um", "Sal_mm"};
enum { GRAINS = sizeof grain_names / sizeof grain_names[0] };

struct spot_pair {
    const char *name;
    struct reading sound, repair;
    double cov[3][3]; /* of the difference */
    double gloss_sound, gloss_repair;
};

struct inspect_request {
    struct inspection_case task;
    struct lights lights;
    size_t count;
    struct spot_pair *pair;
    struct inspection_spot *spot;
    struct grain_pair grain[GRAINS];
    bool lab_only;
    json_t *said; /* its notes go with the reply */
};

static bool was_left_out(const struct repeats *repeats, size_t k) {
    for (size_t i = 0; i < repeats->rejected_count; i++)
        if (repeats->rejected[i].index == k) return true;
    return false;
}

/* What is not sure about the mean: the camera's own covariance, the scatter of the repeats that made it over
 * their number, and never less than placing the instrument again gives. */
static void add_cov(const struct place *place, const struct repeats *repeats, double floor_u,
                    double cov[3][3]) {
    const struct reading *mean = &repeats->mean;
    for (int i = 0; i < 3; i++) cov[i][i] += floor_u * floor_u;
    if (mean->has_cov) {
        for (int i = 0; i < 3; i++)
            for (int j = 0; j < 3; j++) cov[i][j] += mean->lab_cov[i][j];
        return;
    }
    for (size_t k = 0; k < place->count && repeats->kept >= 3; k++) {
        const struct lab one = place->reading[k].lab;
        const double d[3] = {one.l - mean->lab.l, one.a - mean->lab.a, one.b - mean->lab.b};
        const double n = (double)repeats->kept;
        for (int i = 0; i < 3 && !was_left_out(repeats, k); i++)
            for (int j = 0; j < 3; j++) cov[i][j] += d[i] * d[j] / (n * (n - 1));
    }
}

static enum status read_place(const struct surroundings *around, const struct request *request,
                              const char *text, json_t *said, struct reading *mean, double cov[3][3],
                              struct fault *fault) {
    struct place place;
    struct repeats repeats;
    enum status status = place_open(around, text, place_geometry(request), &place, fault);
    if (status == STATUS_OK)
        status = repeats_mean(place.reading, place.count, around->arena, &repeats, fault);
    if (status != STATUS_OK) return status;
    *mean = repeats.mean;
    place_note_rejected(&place, &repeats, said);
    add_cov(&place, &repeats, request_number(request, "--u", .1), cov);
    return STATUS_OK;
}

static enum status read_gloss(const struct request *request, size_t i, struct spot_pair *pair,
                              struct fault *fault) {
    pair->gloss_sound = pair->gloss_repair = NAN;
    if (i >= request_count(request, "--gloss")) return STATUS_OK;
    size_t count;
    const double *gloss = request_numbers_at(request, "--gloss", i, &count);
    if (count != 2) return FAULT0(fault, INSPECT_GLOSS);
    pair->gloss_sound = gloss[0];
    pair->gloss_repair = gloss[1];
    return STATUS_OK;
}

static enum status read_pair(const struct surroundings *around, const struct request *request, size_t i,
                             struct spot_pair *pair, json_t *said, struct fault *fault) {
    char name[40];
    snprintf(name, sizeof name, "spot %zu", i + 1);
    const char *given = request_text_at(request, "--spot", i);
    pair->name = given ? given : arena_text(around->arena, name, strlen(name));
    enum status status = read_place(around, request, request_text_at(request, "--sound", i), said,
                                    &pair->sound, pair->cov, fault);
    if (status == STATUS_OK)
        status = read_place(around, request, request_text_at(request, "--repair", i), said, &pair->repair,
                            pair->cov, fault);
    if (status == STATUS_OK) status = read_gloss(request, i, pair, fault);
    if (status != STATUS_OK) return status;
    const enum geometry a = pair->sound.geometry, b = pair->repair.geometry;
    if (a != b && a != GEOMETRY_UNKNOWN && b != GEOMETRY_UNKNOWN)
        return FAULT(fault, INSPECT_GEOMETRY, pair->name, geometry_name(a), geometry_name(b));
    return STATUS_OK;
}

static enum status read_pairs(const struct surroundings *around, const struct request *request,
                              struct inspect_request *in, struct fault *fault) {
    in->count = request_count(request, "--sound");
    if (in->count != request_count(request, "--repair") || in->count > INSPECTION_SPOTS_MOST)
        return FAULT(fault, INSPECT_PAIRS, COUNT_TEXT((long long)in->count),
                     COUNT_TEXT((long long)request_count(request, "--repair")),
                     COUNT_TEXT(INSPECTION_SPOTS_MOST));
    in->pair = arena_need(around->arena, in->count, sizeof *in->pair);
    in->spot = arena_need(around->arena, in->count, sizeof *in->spot);
    for (size_t i = 0; i < in->count; i++) {
        const enum status status = read_pair(around, request, i, &in->pair[i], in->said, fault);
        if (status != STATUS_OK) return status;
        in->lab_only = in->lab_only || !in->pair[i].sound.has_spectrum || !in->pair[i].repair.has_spectrum;
    }
    return STATUS_OK;
}

static void fill_spot(const struct inspect_request *in, const struct request *request, size_t s) {
    const struct spot_pair *pair = &in->pair[s];
    struct inspection_spot *spot = &in->spot[s];
    spot->light_count = in->lab_only ? 1 : in->lights.count;
    for (size_t i = 0; i < spot->light_count; i++) {
        struct lab_pair *one = &spot->light[i];
        memcpy(one->cov, pair->cov, sizeof one->cov);
        one->sound = in->lab_only ? pair->sound.lab
                                  : lab_of_spectrum(&pair->sound.reflectance, in->lights.light[i].weights);
        one->repair = in->lab_only ? pair->repair.lab
                                   : lab_of_spectrum(&pair->repair.reflectance, in->lights.light[i].weights);
    }
    spot->gloss_difference_gu = pair->gloss_repair - pair->gloss_sound;
    spot->gloss_u = request_number(request, "--gloss-u", .15);
}

static enum status read_lights(const struct surroundings *around, const struct request *request,
                               struct inspect_request *in, struct fault *fault) {
    size_t count;
    const char *const *name = request_ids(request, "--illuminants", &count);
    return lights_read(around, request, lights_observer(request), name, count, "--illuminants", &in->lights,
                       fault);
}

/* Each of the three that both files have; u of the ratio from their 95 % half-widths. */
static enum status read_grain(const struct surroundings *around, const struct request *request,
                              struct inspect_request *in, struct fault *fault) {
    json_t *sound = NULL, *repair = NULL;
    if (!request_has(request, "--grain-sound") || !request_has(request, "--grain-repair")) return STATUS_OK;
    enum status status = read_json(around, request_text(request, "--grain-sound"), "grain", &sound, fault);
    if (status == STATUS_OK)
        status = read_json(around, request_text(request, "--grain-repair"), "grain", &repair, fault);
    for (int g = 0; g < GRAINS && status == STATUS_OK; g++) {
        char key[32];
        snprintf(key, sizeof key, "%s_u95", grain_names[g]);
        const double a = json_number_value(json_object_get(sound, grain_names[g])),
                     b = json_number_value(json_object_get(repair, grain_names[g])),
                     ua = json_number_value(json_object_get(sound, key)) / 1.96,
                     ub = json_number_value(json_object_get(repair, key)) / 1.96;
        if (!(a > 0 && b > 0)) status = FAULT(fault, INSPECT_GRAIN, grain_names[g]);
        in->grain[in->task.grain_count++] = (struct grain_pair){a, b, b / a * hypot(ua / a, ub / b)};
    }
    json_decref(sound);
    json_decref(repair);
    return status;
}

static void set_tolerances(const struct request *request, struct inspection_case *task) {
    const char *edge = request_text(request, "--edge");
    const double usual = strcmp(edge, "within") == 0 ? tolerance_within_panel()
                         : strcmp(edge, "fade") == 0 ? tolerance_with_fade()
                                                     : tolerance_to_edge();
    task->de00 = request_number(request, "--tolerance", usual);
    task->de00_other = request_number(request, "--tolerance-others", 1.5 * task->de00);
    task->gloss_gu = request_number(request, "--gloss-tolerance", .5);
    task->grain = request_number(request, "--grain-tolerance", .25);
}

static enum status read_request(const struct surroundings *around, const struct request *request,
                                struct inspect_request *in, struct fault *fault) {
    enum status status = read_pairs(around, request, in, fault);
    if (status == STATUS_OK) status = read_lights(around, request, in, fault);
    if (status == STATUS_OK) status = read_grain(around, request, in, fault);
    if (status != STATUS_OK) return status;
    set_tolerances(request, &in->task);
    for (size_t s = 0; s < in->count; s++) {
        fill_spot(in, request, s);
        const struct lab_pair *first = &in->spot[s].light[0];
        if (first->sound.view.light != first->repair.view.light ||
            first->sound.view.observer != first->repair.view.observer)
            return FAULT(fault, INSPECT_VIEW, in->pair[s].name);
    }
    in->task.spot_count = in->count;
    in->task.spot = in->spot;
    in->task.grains = in->grain;
    return STATUS_OK;
}

static json_t *judged_object(const struct judged *j, const char *key) {
    json_t *object = json_object();
    json_put_number(object, key, j->value, DIGITS_LAB);
    json_put_number(object, "low", j->low, DIGITS_LAB);
    json_put_number(object, "high", j->high, DIGITS_LAB);
    json_put_number(object, "tolerance", j->tolerance, DIGITS_LAB);
    json_put_number(object, "inside", j->inside, 4);
    json_put_text(object, "verdict", verdict_symbol(j->verdict));
    return object;
}

/* How the eye will take it, by the first light (ours, editable). */
static enum word plain_word(double de00) {
    return de00 <= tolerance_within_panel() ? WORD_MATCH_NOT_SEEN
           : de00 <= tolerance_to_edge()    ? WORD_MATCH_AT_EDGE
           : de00 <= tolerance_with_fade()  ? WORD_MATCH_IN_FADE
                                            : WORD_MATCH_SEEN;
}

static json_t *spot_object(const struct inspect_request *in, const struct inspection *out, size_t s) {
    const struct spot_pair *pair = &in->pair[s];
    json_t *object = json_object(), *lights = json_object();
    json_put_text(object, "spot", pair->name);
    json_put(object, "sound_lab", json_lab(in->spot[s].light[0].sound));
    json_put(object, "repair_lab", json_lab(in->spot[s].light[0].repair));
    for (size_t i = 0; i < in->spot[s].light_count; i++)
        json_put(lights, in->lab_only ? "lab" : in->lights.light[i].name,
                 judged_object(&out->colour[s][i], "de00"));
    json_put(object, "lights", lights);
    json_put_text(object, "text", word_sentence(plain_word(out->colour[s][0].value)));
    if (!isnan(out->gloss[s].value)) {
        json_t *gloss = judged_object(&out->gloss[s], "difference_gu");
        json_put_number(gloss, "sound_gu", pair->gloss_sound, 3);
        json_put_number(gloss, "repair_gu", pair->gloss_repair, 3);
        json_put(object, "gloss", gloss);
    }
    return object;
}

/* Which way the repair is off, by the largest part of the worst spot's difference. */
static void note_direction(const struct inspect_request *in, const struct inspection *out, json_t *reply) {
    const struct lab_pair *pair = &in->spot[out->worst_spot].light[0];
    const struct difference d = difference_of(pair->sound, pair->repair);
    const double l = fabs(d.dl), a = fabs(d.da), b = fabs(d.db);
    const char *way = l >= a && l >= b ? (d.dl > 0 ? "lighter" : "darker")
                      : a >= b         ? (d.da > 0 ? "redder" : "greener")
                                       : (d.db > 0 ? "yellower" : "bluer");
    note_add(reply, out->verdict == VERDICT_FAIL ? WORD_INSPECT_FAILED : WORD_INSPECT_CANNOT_TELL,
             (const char *const[]){in->pair[out->worst_spot].name, way, NULL});
}

static void put_all(const struct inspect_request *in, const struct inspection *out, json_t *reply) {
    json_t *spots = json_array(), *grade = json_object(), *grain = json_object();
    for (size_t s = 0; s < in->count; s++) json_array_append_new(spots, spot_object(in, out, s));
    json_put_text(reply, "verdict", verdict_symbol(out->verdict));
    json_put_text(reply, "text",
                  word_sentence(out->verdict == VERDICT_PASS   ? WORD_INSPECT_PASS
                                : out->verdict == VERDICT_FAIL ? WORD_INSPECT_FAIL
                                                               : WORD_INSPECT_UNSURE));
    json_put(reply, "spots", spots);
    json_put_text(reply, "worst_spot", in->pair[out->worst_spot].name);
    json_put_number(reply, "mean_de00", out->mean_de00, DIGITS_LAB);
    json_put_number(grade, "change", out->grade.grade, DIGITS_LAB);
    json_put_text(grade, "change_class", out->grade.class_name);
    json_put(reply, "grey_scale", grade);
    for (size_t g = 0; g < in->task.grain_count; g++)
        json_put(grain, grain_names[g], judged_object(&out->grain[g], "part"));
    if (in->task.grain_count)
        json_put(reply, "grain", grain);
    else
        json_decref(grain);
    if (in->lab_only) NOTE0(reply, INSPECT_LAB_ONLY);
    if (out->verdict != VERDICT_PASS) note_direction(in, out, reply);
}

static bool names_a_spot(const struct inspect_request *in, const char *piece) {
    for (size_t s = 0; s < in->count; s++)
        if (strcasestr(in->pair[s].name, piece)) return true;
    return false;
}

/* Of several pieces none was named: flow/job_checks.h has what such a check proves. */
static enum status ask_which(struct job_desk *desk, const struct request *request,
                             const struct inspect_request *in, struct arena *arena, json_t *reply,
                             struct fault *fault) {
    struct piece_row *piece;
    size_t count = 0;
    bool named = request_has(request, "--piece") || request_has(request, "--colour");
    const enum status status = piece_store_list(desk->book, desk->job.id, arena, &piece, &count, fault);
    for (size_t i = 0; i < count; i++) named = named || names_a_spot(in, piece[i].name);
    if (status == STATUS_OK && !named && count > 1)
        NOTE(reply, INSPECT_WHICH_PIECE, COUNT_TEXT(desk->job.number));
    return status;
}

static enum status log_it(const struct surroundings *around, const struct request *request,
                          const struct inspect_request *in, json_t *reply, struct fault *fault) {
    struct job_desk desk;
    enum status status = job_desk_open(around, request, &desk, fault);
    if (status != STATUS_OK) return status;
    struct piece_row piece;
    struct colour_row colour;
    const char *of = request_text(request, "--piece"), *tone = request_text(request, "--colour");
    if (of) status = piece_store_find(desk.book, desk.job.id, of, around->arena, &piece, fault);
    if (status == STATUS_OK && tone)
        status = colour_store_find(desk.book, desk.job.id, tone, around->arena, &colour, fault);
    if (status != STATUS_OK) return job_desk_close(&desk, status, fault);
    struct entry_row entry = {.job = desk.job.id,
                              .piece = of ? piece.id : NULL,
                              .colour = tone ? colour.id : NULL,
                              .step = JOB_CHECK,
                              .kind = "inspection",
                              .words = "",
                              .document = document_text(reply, around->arena)};
    status = entry_store_add(desk.book, &entry, fault);
    if (status == STATUS_OK) status = ask_which(&desk, request, in, around->arena, reply, fault);
    return job_desk_close(&desk, status, fault);
}

enum status inspect_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                         struct fault *fault) {
    struct inspect_request *in = arena_need(around->arena, 1, sizeof *in);
    struct inspection *out = arena_need(around->arena, 1, sizeof *out);
    json_t *object = in->said = json_start("inspection");
    enum status status = read_request(around, request, in, fault);
    if (status != STATUS_OK) return json_decref(object), status;
    inspect(&in->task, out);
    put_all(in, out, object);
    status = log_it(around, request, in, object, fault);
    if (status != STATUS_OK) {
        json_decref(object);
        return status;
    }
    *reply = object;
    return out->verdict == VERDICT_PASS ? STATUS_OK : STATUS_NO;
}
