/* `russet reading`: repeats, in one file or over several, become one reading. */
#include "flow/lights.h"
#include "flow/place.h"
#include "formats/json_out.h"
#include <math.h>
#include <string.h>

extern operation_flow reading_flow;

struct task {
    const struct surroundings *around;
    const struct request *request;
    size_t place_count;
    struct place *place;
    size_t count; /* of all readings, place by place */
    struct reading *reading;
    struct named_light light;
};

static enum status open_places(struct task *task, struct fault *fault) {
    const size_t files = request_count(task->request, "FILE");
    size_t numbers;
    const double *lab = request_numbers(task->request, "--lab", &numbers);
    if (!files && !lab) return FAULT0(fault, READING_NOTHING);
    if (files && lab) return FAULT0(fault, READING_LAB_BESIDE);
    task->place = arena_need(task->around->arena, files + 1, sizeof *task->place);
    if (lab) {
        struct reading *reading = arena_need(task->around->arena, 1, sizeof *reading);
        task->place[task->place_count++] = (struct place){"--lab", "--lab", NULL, 1, reading};
        return place_from_lab(lab, numbers, reading, fault);
    }
    const enum geometry geometry = place_geometry(task->request);
    enum status status = STATUS_OK;
    for (size_t i = 0; i < files && status == STATUS_OK; i++)
        status = place_open(task->around, request_text_at(task->request, "FILE", i), geometry,
                            &task->place[task->place_count++], fault);
    return status;
}

static void gather(struct task *task) {
    for (size_t i = 0; i < task->place_count; i++) task->count += task->place[i].count;
    task->reading = arena_need(task->around->arena, task->count, sizeof *task->reading);
    size_t n = 0;
    for (size_t i = 0; i < task->place_count; i++)
        for (size_t k = 0; k < task->place[i].count; k++) task->reading[n++] = task->place[i].reading[k];
}

static enum status choose_light(struct task *task, struct fault *fault) {
    struct lights lights;
    const bool is_named = request_has(task->request, "--illuminant");
    const char *name = request_text(task->request, "--illuminant");
    const bool is_lamp = text_same_ignoring_case(name, "lamp");
    if (is_named && !is_lamp && request_has(task->request, "--lamp"))
        return FAULT(fault, LAMP_BESIDE_LIGHT, name);
    const enum status status = lights_read(task->around, task->request, lights_observer(task->request),
                                           &(const char *){name}, 1, "--illuminant", &lights, fault);
    /* A lamp that was given stands last. */
    if (status == STATUS_OK) task->light = lights.light[lights.count - 1];
    return status;
}

static bool is_d65_10(struct view view) {
    return view.light == LIGHT_D65 && view.observer == OBSERVER_10;
}

static const char *observer_text(struct view view) {
    return view.observer == OBSERVER_10 ? "10" : "2";
}

static enum status check_light(const struct task *task, struct fault *fault) {
    const struct view view = task->light.weights->view;
    for (size_t i = 0; i < task->count; i++)
        if (!task->reading[i].has_spectrum && !is_d65_10(view))
            return FAULT(fault, READING_LAB_VIEW, task->reading[i].id, task->light.name, observer_text(view));
    return STATUS_OK;
}

/* Which place the i-th reading came from. */
static const struct place *place_of(const struct task *task, size_t i) {
    const struct place *place = task->place;
    for (; i >= place->count; place++) i -= place->count;
    return place;
}

static json_t *rejected_of(const struct task *task, const struct repeats *repeats) {
    json_t *list = json_array();
    for (size_t i = 0; i < repeats->rejected_count; i++) {
        const struct repeat_rejected *one = &repeats->rejected[i];
        struct fault why;
        place_say_why(one, &why);
        json_t *entry = json_object();
        json_put_text(entry, "id", task->reading[one->index].id);
        if (task->place_count > 1) json_put_text(entry, "file", place_of(task, one->index)->text);
        json_put_number(entry, "de00", one->de00, DIGITS_LAB);
        json_put_text(entry, "why", why.text);
        json_array_append_new(list, entry);
    }
    return list;
}

static json_t *files_of(const struct task *task) {
    json_t *list = json_array();
    for (size_t i = 0; i < task->place_count; i++) {
        const struct place *place = &task->place[i];
        if (!place->file) continue;
        json_t *entry = json_object();
        json_put_text(entry, "file", place->text[0] == '-' ? place->name : place->text);
        json_put_text(entry, "format", place->file->format);
        json_put_text(entry, "scale", place->file->scale);
        json_put_count(entry, "samples", (long long)place->count);
        json_array_append_new(list, entry);
    }
    return list;
}

static void put_covariance(const struct task *task, const struct reading *mean, json_t *out) {
    if (!mean->has_cov) return;
    struct fault note;
    if (!is_d65_10(task->light.weights->view)) {
        FAULT0(&note, READING_COV_VIEW);
        json_add_note(out, &note);
        return;
    }
    json_t *rows = json_array();
    for (int i = 0; i < 3; i++)
        json_array_append_new(rows, json_numbers(mean->lab_cov[i], 3, DIGITS_FRACTION));
    json_put(out, "lab_cov", rows);
}

static void add_notes(const struct task *task, const struct repeats *repeats, json_t *out) {
    for (size_t i = 0; i < task->place_count; i++) place_add_notes(&task->place[i], out);
    struct fault note = {0};
    if (request_has(task->request, "--seams-mm")) return; /* places, not repeats */
    /* A reading of our own may be a mean already. */
    const struct sample_file *file = task->place[0].file;
    if (task->count == 1 && file && strcmp(file->format, "JSON") != 0) FAULT0(&note, REPEATS_ONE);
    const bool is_wide = repeats->mean_de00 > repeats_wide_de00;
    if (task->count == 2 && is_wide) {
        const double apart = difference_de00(task->reading[0].lab, task->reading[1].lab);
        FAULT(&note, REPEATS_TWO, NUMBER_TEXT(round(100 * apart) / 100));
    }
    if (task->count > 2 && is_wide)
        FAULT(&note, REPEATS_SCATTER, NUMBER_TEXT(round(100 * repeats->mean_de00) / 100));
    if (note.word != WORD_NONE) json_add_note(out, &note);
}

static json_t *reply_of(const struct task *task, struct repeats *repeats) {
    struct reading *mean = &repeats->mean;
    if (task->count > 1) place_name_after_file(task->place[0].name, mean->id);
    const struct weights *weights = task->light.weights;
    json_t *out = json_start("reading");
    json_put_text(out, "id", mean->id);
    json_put_text(out, "geometry", geometry_name(mean->geometry));
    json_put(out, "reflectance", mean->has_spectrum ? json_spectrum(&mean->reflectance) : json_null());
    const struct lab lab = mean->has_spectrum ? lab_of_spectrum(&mean->reflectance, weights) : mean->lab;
    const struct xyz xyz = xyz_of_lab(lab, weights);
    json_put(out, "lab", json_lab(lab));
    json_put(out, "xyz", json_numbers((const double[]){xyz.x, xyz.y, xyz.z}, 3, DIGITS_LAB));
    json_put_text(out, "illuminant", task->light.name);
    json_put_count(out, "observer", weights->view.observer == OBSERVER_10 ? 10 : 2);
    json_put_count(out, "repeats", (long long)task->count);
    json_t *repeat = json_object();
    json_put_number(repeat, "mean", repeats->mean_de00, DIGITS_LAB);
    json_put_number(repeat, "max", repeats->max_de00, DIGITS_LAB);
    json_put(out, "repeat_de00", repeat);
    json_put(out, "rejected", rejected_of(task, repeats));
    put_covariance(task, mean, out);
    if (mean->has_band) json_put(out, "reflectance_band", json_spectrum(&mean->band));
    json_put(out, "files", files_of(task));
    add_notes(task, repeats, out);
    return out;
}

/* ---- places around a repair, each as heavy as the seam that it borders ---- */

/* Each file's own repeats become one; what was left out of them is a note. */
static enum status mean_of_places(struct task *task, struct reading mean[], json_t *out,
                                  struct fault *fault) {
    enum status status = STATUS_OK;
    for (size_t i = 0; i < task->place_count && status == STATUS_OK; i++) {
        struct repeats repeats;
        status =
            repeats_mean(task->place[i].reading, task->place[i].count, task->around->arena, &repeats, fault);
        if (status != STATUS_OK) break;
        place_note_rejected(&task->place[i], &repeats, out);
        mean[i] = repeats.mean;
        if (!mean[i].has_spectrum) status = FAULT(fault, SEAMS_NEED_SPECTRA, task->place[i].name);
        if (status == STATUS_OK && mean[i].geometry != mean[0].geometry)
            status = FAULT(fault, SEAMS_OTHER_GEOMETRY, task->place[i].name, geometry_name(mean[i].geometry),
                           geometry_name(mean[0].geometry));
    }
    return status;
}

/* sum(w R)/sum(w), band by band: what borders the repair, as light mixes. */
static void weigh(struct task *task, const struct reading mean[], const double seam_mm[], double sum,
                  struct repeats *out) {
    const struct weights *day = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    *out = (struct repeats){.mean = mean[0], .kept = task->place_count};
    for (size_t b = 0; b < BANDS; b++) {
        double r = 0;
        for (size_t i = 0; i < task->place_count; i++) r += seam_mm[i] * mean[i].reflectance.band[b];
        out->mean.reflectance.band[b] = r / sum;
    }
    out->mean.lab = lab_of_spectrum(&out->mean.reflectance, day);
    out->mean.has_cov = out->mean.has_band = false;
    for (size_t i = 0; i < task->place_count; i++) {
        const double off = difference_de00(lab_of_spectrum(&mean[i].reflectance, day), out->mean.lab);
        out->mean_de00 += off / (double)task->place_count;
        out->max_de00 = fmax(out->max_de00, off);
    }
}

static enum status weighted(struct task *task, json_t **reply, struct fault *fault) {
    size_t count;
    const double *seam_mm = request_numbers(task->request, "--seams-mm", &count);
    double sum = 0;
    for (size_t i = 0; i < count; i++) sum += seam_mm[i];
    if (count != request_count(task->request, "FILE") || !(sum > 0))
        return FAULT(fault, SEAMS_UNLIKE_FILES, COUNT_TEXT(count),
                     COUNT_TEXT(request_count(task->request, "FILE")));
    struct reading *mean = arena_need(task->around->arena, task->place_count, sizeof *mean);
    struct repeats repeats;
    json_t *told = json_object();
    enum status status = mean_of_places(task, mean, told, fault);
    if (status == STATUS_OK) {
        weigh(task, mean, seam_mm, sum, &repeats);
        *reply = reply_of(task, &repeats);
        json_put(*reply, "seams_mm", json_numbers(seam_mm, count, 2));
        json_t *notes = json_object_get(told, "notes");
        if (notes && json_object_get(*reply, "notes"))
            json_array_extend(json_object_get(*reply, "notes"), notes);
        else if (notes)
            json_put(*reply, "notes", json_incref(notes));
    }
    json_decref(told);
    return status;
}

enum status reading_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                         struct fault *fault) {
    struct task task = {.around = around, .request = request};
    struct repeats repeats;
    enum status status = choose_light(&task, fault);
    if (status == STATUS_OK) status = open_places(&task, fault);
    if (status != STATUS_OK) return status;
    gather(&task);
    status = check_light(&task, fault);
    if (status == STATUS_OK && request_has(request, "--seams-mm")) return weighted(&task, reply, fault);
    if (status == STATUS_OK) status = repeats_mean(task.reading, task.count, around->arena, &repeats, fault);
    if (status == STATUS_OK) *reply = reply_of(&task, &repeats);
    return status;
}
