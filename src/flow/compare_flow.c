/* `russet compare`: a sample against a reference, light by light. The reference light of the metamerism index
 * is D65 (CIE 15:2018 prefers it), and the grey scales are told under D65/10, whatever lights are compared.
 */
#include "colour/grey_scale.h"
#include "colour/metamerism.h"
#include "flow/lights.h"
#include "flow/place.h"
#include "formats/json_out.h"
#include "surface/camera_doubt.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

extern operation_flow compare_flow;

static const double seen_de00 = .8; /* a difference within this is not seen: ours, as in an inspection */
static const double far_de76 = 5;   /* the index is meant for colours that nearly match: ours */

struct pair {
    struct reading reading[2]; /* the reference, the sample */
    const char *place[2];      /* as given */
    bool has_spectra;
    struct lights lights;
    struct view reference; /* D65 under the observer that was asked for */
};

/* The colours in the order of the line. */
struct places {
    size_t count;
    const char *text[3];
};

static const char *lab_text(const struct request *request, size_t i, struct arena *arena) {
    const char *given = request_text_at(request, "--lab", i);
    const size_t n = strlen(given) + 7;
    char *text = arena_need(arena, n, 1);
    snprintf(text, n, "--lab=%s", given);
    return text;
}

static void put_place(struct places *places, size_t order[3], const char *text, size_t at) {
    size_t i = places->count < 3 ? places->count++ : 2;
    for (; i > 0 && order[i - 1] > at; i--) {
        order[i] = order[i - 1];
        places->text[i] = places->text[i - 1];
    }
    order[i] = at;
    places->text[i] = text;
}

static enum status find_places(const struct surroundings *around, const struct request *request,
                               struct places *out, struct fault *fault) {
    static const char *const names[] = {"A", "B"};
    const size_t labs = request_count(request, "--lab");
    size_t order[3];
    *out = (struct places){0};
    for (size_t i = 0; i < 2; i++)
        if (request_has(request, names[i]))
            put_place(out, order, request_text(request, names[i]), request_order(request, names[i], 0));
    const size_t total = out->count + labs;
    if (total != 2)
        return FAULT(fault, COMPARE_NEEDS_TWO, total == 1 ? "one is" : total ? "more are" : "none is");
    for (size_t i = 0; i < labs; i++)
        put_place(out, order, lab_text(request, i, around->arena), request_order(request, "--lab", i));
    return STATUS_OK;
}

static enum status check_geometry(const struct pair *pair, json_t *reply, struct fault *fault) {
    const struct reading *r = pair->reading;
    if (r[0].geometry == r[1].geometry) return STATUS_OK;
    for (int i = 0; i < 2; i++) {
        if (r[i].geometry != GEOMETRY_UNKNOWN) continue;
        struct fault note;
        FAULT(&note, COMPARE_GEOMETRY_UNSAID, r[i].id, geometry_name(r[1 - i].geometry));
        if (r[i].has_spectrum) json_add_note(reply, &note); /* a bare Lab value has no geometry to say */
        return STATUS_OK;
    }
    return FAULT(fault, COMPARE_GEOMETRY, geometry_name(r[0].geometry), geometry_name(r[1].geometry));
}

static enum status check_view(const struct pair *pair, const struct request *request, struct fault *fault) {
    const bool is_other = pair->reference.observer != OBSERVER_10;
    for (int i = 0; i < 2; i++)
        if (is_other && !pair->reading[i].has_spectrum)
            return FAULT(fault, READING_LAB_VIEW, pair->reading[i].id, "D65",
                         request_text(request, "--observer"));
    return STATUS_OK;
}

static enum status read_lights(const struct surroundings *around, const struct request *request,
                               struct pair *pair, struct fault *fault) {
    size_t count;
    const char *const *name = request_ids(request, "--illuminants", &count);
    pair->reference = (struct view){LIGHT_D65, lights_observer(request)};
    return lights_read(around, request, pair->reference.observer, name, count, "--illuminants", &pair->lights,
                       fault);
}

static enum status read_pair(const struct surroundings *around, const struct request *request,
                             struct pair *pair, json_t *reply, struct fault *fault) {
    struct places places;
    enum status status = find_places(around, request, &places, fault);
    if (status == STATUS_OK) status = read_lights(around, request, pair, fault);
    for (int i = 0; i < 2 && status == STATUS_OK; i++) {
        pair->place[i] = places.text[i];
        status = place_read_noted(around, places.text[i], place_geometry(request), reply, &pair->reading[i],
                                  fault);
    }
    pair->has_spectra = pair->reading[0].has_spectrum && pair->reading[1].has_spectrum;
    if (status == STATUS_OK) status = check_geometry(pair, reply, fault);
    return status == STATUS_OK ? check_view(pair, request, fault) : status;
}

static json_t *colour_of(const struct reading *reading, const char *place) {
    json_t *out = json_object();
    json_put_text(out, "place", place);
    json_put_text(out, "id", reading->id);
    json_put_text(out, "geometry", geometry_name(reading->geometry));
    json_put(out, "lab", json_lab(reading->lab));
    return out;
}

static json_t *difference_json(struct lab reference, struct lab sample) {
    const struct difference d = difference_of(reference, sample);
    json_t *out = json_object();
    json_put_number(out, "de00", d.de00, DIGITS_LAB);
    json_put_number(out, "de76", d.de76, DIGITS_LAB);
    json_put_number(out, "cmc21", d.cmc21, DIGITS_LAB);
    json_put_number(out, "dL", d.dl, DIGITS_LAB);
    json_put_number(out, "da", d.da, DIGITS_LAB);
    json_put_number(out, "db", d.db, DIGITS_LAB);
    json_put_number(out, "dC", d.dc, DIGITS_LAB);
    json_put_number(out, "dH", d.dh, DIGITS_LAB);
    return out;
}

static json_t *differences_of(const struct pair *pair) {
    const struct reading *r = pair->reading;
    json_t *out = json_object();
    if (!pair->has_spectra) {
        json_put(out, "lab", difference_json(r[0].lab, r[1].lab));
        return out;
    }
    for (size_t i = 0; i < pair->lights.count; i++) {
        const struct named_light *light = &pair->lights.light[i];
        json_put(out, light->name,
                 difference_json(lab_of_spectrum(&r[0].reflectance, light->weights),
                                 lab_of_spectrum(&r[1].reflectance, light->weights)));
    }
    return out;
}

/* The index under every light but the reference; null where it has no factor. */
static json_t *metamerism_of(const struct pair *pair, bool *has_factor) {
    const struct weights *reference = weights_of(pair->reference);
    json_t *out = json_object();
    for (size_t i = 0; i < pair->lights.count; i++) {
        const struct named_light *light = &pair->lights.light[i];
        double index;
        if (light->weights->view.light == LIGHT_D65) continue;
        *has_factor = metamerism_index(&pair->reading[0].reflectance, &pair->reading[1].reflectance,
                                       reference, light->weights, &index);
        json_put(out, light->name, *has_factor ? json_number(index, DIGITS_LAB) : json_null());
    }
    return out;
}

static json_t *grey_scale_of(const struct pair *pair) {
    const struct grey_rating change = grey_scale_change(pair->reading[0].lab, pair->reading[1].lab);
    const struct grey_rating staining = grey_scale_staining(pair->reading[0].lab, pair->reading[1].lab);
    json_t *out = json_object();
    json_put_number(out, "change", change.grade, DIGITS_LAB);
    json_put_number(out, "staining", staining.grade, DIGITS_LAB);
    json_put_text(out, "change_class", change.class_name);
    json_put_text(out, "staining_class", staining.class_name);
    return out;
}

static void note_lab_only(const struct pair *pair, json_t *reply) {
    const struct reading *r = pair->reading;
    char who[140];
    if (r[0].has_spectrum || r[1].has_spectrum)
        snprintf(who, sizeof who, "\"%s\"", r[r[0].has_spectrum].id);
    else
        snprintf(who, sizeof who, "both");
    struct fault note;
    FAULT(&note, COMPARE_LAB_ONLY, who);
    json_add_note(reply, &note);
}

/* Alike in one light and not in another: said of the worst, in words. */
static void note_parting(json_t *reply) {
    json_t *const list = json_object_get(reply, "differences");
    void *at = json_object_iter(list);
    const double first = json_number_value(json_object_get(json_object_iter_value(at), "de00"));
    const char *const like = json_object_iter_key(at), *worst_light = like;
    double worst = first;
    for (; at; at = json_object_iter_next(list, at)) {
        const double de00 = json_number_value(json_object_get(json_object_iter_value(at), "de00"));
        if (de00 > worst) worst = de00, worst_light = json_object_iter_key(at);
    }
    struct fault note;
    if (worst <= seen_de00 || worst < first + .3) return;
    FAULT(&note, COMPARE_PARTS, like, NUMBER_TEXT(round(100 * first) / 100), worst_light,
          NUMBER_TEXT(round(100 * worst) / 100));
    json_add_note(reply, &note);
}

static void note_metamerism(const struct pair *pair, bool has_factor, json_t *reply) {
    const double apart = difference_de76(pair->reading[0].lab, pair->reading[1].lab);
    struct fault note = {0};
    if (apart > far_de76) FAULT(&note, COMPARE_FAR, NUMBER_TEXT(round(10 * apart) / 10));
    if (!has_factor) FAULT0(&note, COMPARE_NO_FACTOR);
    if (note.word != WORD_NONE) json_add_note(reply, &note);
    note_parting(reply);
}

/* What a photograph's uncertainty leaves of the verdict: is the difference seen at all? null: both are sure.
 */
static json_t *certainty_of(const struct pair *pair, json_t *reply) {
    const struct reading *r = pair->reading;
    if (!r[0].has_cov && !r[1].has_cov) return json_null();
    double cov[3][3];
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            cov[i][k] = (r[0].has_cov ? r[0].lab_cov[i][k] : 0) + (r[1].has_cov ? r[1].lab_cov[i][k] : 0);
    const double de00 = difference_de00(r[0].lab, r[1].lab), u95 = doubt_u95(r[0].lab, cov);
    const char *verdict = de00 + u95 <= seen_de00  ? "not seen"
                          : de00 - u95 > seen_de00 ? "seen"
                                                   : "cannot tell";
    json_t *out = json_object();
    json_put_number(out, "u95_de00", u95, DIGITS_LAB);
    json_put_text(out, "verdict", verdict);
    struct fault note;
    FAULT(&note, COMPARE_CERTAINTY, NUMBER_TEXT(round(10 * de00) / 10), NUMBER_TEXT(round(10 * u95) / 10),
          verdict);
    json_add_note(reply, &note);
    return out;
}

/* noted: what was noted while reading; notes stand last. */
static void put_all(const struct pair *pair, const json_t *noted, json_t *reply) {
    bool has_factor = true;
    json_put(reply, "reference", colour_of(&pair->reading[0], pair->place[0]));
    json_put(reply, "sample", colour_of(&pair->reading[1], pair->place[1]));
    json_put_count(reply, "observer", pair->reference.observer == OBSERVER_10 ? 10 : 2);
    json_put(reply, "differences", differences_of(pair));
    json_put(reply, "metamerism", pair->has_spectra ? metamerism_of(pair, &has_factor) : json_null());
    json_put_text(reply, "metamerism_from", pair->has_spectra ? "D65" : NULL);
    json_put(reply, "grey_scale", grey_scale_of(pair));
    json_t *notes = json_object_get(noted, "notes");
    if (notes) json_put(reply, "notes", json_incref(notes));
    json_t *certainty = certainty_of(pair, reply);
    if (json_is_null(certainty))
        json_decref(certainty);
    else
        json_put(reply, "certainty", certainty);
    if (pair->has_spectra)
        note_metamerism(pair, has_factor, reply);
    else
        note_lab_only(pair, reply);
}

enum status compare_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                         struct fault *fault) {
    struct pair pair = {0};
    json_t *noted = json_object();
    const enum status status = read_pair(around, request, &pair, noted, fault);
    if (status == STATUS_OK) {
        *reply = json_start("comparison");
        put_all(&pair, noted, *reply);
    }
    json_decref(noted);
    return status;
}
