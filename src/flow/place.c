#include "flow/place.h"
#include "formats/json_out.h"
#include <stdio.h>
#include <string.h>

static const char lab_option[] = "--lab=";

enum geometry place_geometry(const struct request *request) {
    enum geometry geometry;
    const char *name = request_text(request, "--geometry");
    return name && geometry_from_name(name, &geometry) ? geometry : GEOMETRY_UNKNOWN;
}

static bool is_there(const char *path) {
    return strcmp(path, "-") == 0 || disk_has(path);
}

/* The file and the sample id of FILE#ID; id NULL for the whole file. Ids and names may hold a '#' themselves:
 * the longest file that is there counts. */
static const char *split(const char *text, struct arena *arena, const char **id) {
    *id = NULL;
    const char *last = strrchr(text, '#');
    if (!last || last == text || disk_has(text)) return text;
    for (const char *mark = last; mark > text; mark--) {
        if (*mark != '#') continue;
        const char *file = arena_text(arena, text, (size_t)(mark - text));
        *id = mark + 1;
        if (is_there(file)) return file;
    }
    *id = last + 1;
    return arena_text(arena, text, (size_t)(last - text));
}

/* A name for the mean of several: the file's, without folder and ending. */
void place_name_after_file(const char *path, char id[64]) {
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    const char *dot = strrchr(name, '.');
    const int length = dot && dot > name ? (int)(dot - name) : (int)strlen(name);
    snprintf(id, 64, "%.*s", length < 63 ? length : 63, name);
    while (!text_is_utf8(id, strlen(id)) && *id) id[strlen(id) - 1] = 0;
}

static enum status open_lab(const struct surroundings *around, const char *text, struct place *out,
                            struct fault *fault) {
    const char *list = text + strlen(lab_option);
    double lab[4];
    size_t n = 0;
    for (const char *item = list; item && n < 4; n++) {
        const size_t length = strcspn(item, ",");
        if (!text_to_number(item, length, '.', &lab[n])) return FAULT(fault, LAB_NOT_THREE, list);
        item = item[length] ? item + length + 1 : NULL;
    }
    struct reading *reading = arena_need(around->arena, 1, sizeof *reading);
    const enum status status = place_from_lab(lab, n, reading, fault);
    if (status == STATUS_OK) *out = (struct place){text, "--lab", NULL, 1, reading};
    return status;
}

enum status place_from_lab(const double *lab, size_t count, struct reading *out, struct fault *fault) {
    if (count != 3) return FAULT(fault, LAB_COUNT, COUNT_TEXT(count));
    if (!(lab[0] >= 0 && lab[0] <= 130 && lab[1] >= -200 && lab[1] <= 200 && lab[2] >= -200 && lab[2] <= 200))
        return FAULT(fault, LAB_NO_COLOUR, NUMBER_TEXT(lab[0]), NUMBER_TEXT(lab[1]), NUMBER_TEXT(lab[2]));
    *out = (struct reading){.id = "lab", .lab = {lab[0], lab[1], lab[2], {LIGHT_D65, OBSERVER_10}}};
    return STATUS_OK;
}

/* Every sample of the file as a row of readings; one that is named in the file keeps its name, the mean is
 * named after the file. */
static void take_all(const struct surroundings *around, const struct sample_file *file, struct place *out) {
    struct reading *reading = arena_need(around->arena, file->count, sizeof *reading);
    for (size_t i = 0; i < file->count; i++) reading[i] = file->sample[i].reading;
    out->reading = reading;
    out->count = file->count;
}

enum status place_open(const struct surroundings *around, const char *text, enum geometry geometry,
                       struct place *out, struct fault *fault) {
    if (text_starts(text, lab_option)) return open_lab(around, text, out, fault);
    const char *id;
    const char *path = split(text, around->arena, &id);
    struct bytes bytes;
    struct sample_file *file = arena_need(around->arena, 1, sizeof *file);
    const struct sample *sample = NULL;
    enum status status = disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, fault);
    if (status == STATUS_OK) status = sample_file_read(&bytes, geometry, around->arena, file, fault);
    if (status == STATUS_OK && id) status = sample_file_find(file, id, &sample, fault);
    if (status != STATUS_OK) return status;
    *out = (struct place){text, file->name, file, 1, sample ? &sample->reading : NULL};
    if (!sample) take_all(around, file, out);
    return STATUS_OK;
}

void place_add_notes(const struct place *place, json_t *reply) {
    for (size_t i = 0; place->file && i < place->file->note_count; i++)
        json_add_note(reply, &place->file->note[i]);
}

void place_say_why(const struct repeat_rejected *rejected, struct fault *why) {
    char by[40];
    snprintf(by, sizeof by, "%.2f", rejected->by);
    enum word word = WORD_REPEAT_OTHER_COLOUR;
    if (rejected->why == REPEAT_LIGHTER) word = WORD_REPEAT_LIGHTER;
    if (rejected->why == REPEAT_DARKER) word = WORD_REPEAT_DARKER;
    const enum status status = fault_set(why, word, (const char *const[]){by, NULL});
    (void)status; /* a note */
}

void place_note_rejected(const struct place *place, const struct repeats *repeats, json_t *reply) {
    for (size_t i = 0; i < repeats->rejected_count; i++) {
        struct fault why, note;
        place_say_why(&repeats->rejected[i], &why);
        FAULT(&note, REPEAT_LEFT_OUT, place->name, place->reading[repeats->rejected[i].index].id, why.text);
        json_add_note(reply, &note);
    }
}

enum status place_read_noted(const struct surroundings *around, const char *text, enum geometry geometry,
                             json_t *reply, struct reading *out, struct fault *fault) {
    struct place place;
    struct repeats repeats;
    struct fault why;
    enum status status = place_open(around, text, geometry, &place, fault);
    if (status != STATUS_OK) return status;
    status = repeats_mean(place.reading, place.count, around->arena, &repeats, &why);
    if (status != STATUS_OK) return FAULT(fault, IN_FILE, place.name, why.text);
    if (reply) {
        place_add_notes(&place, reply);
        place_note_rejected(&place, &repeats, reply);
    }
    *out = repeats.mean;
    if (place.count > 1) place_name_after_file(place.name, out->id);
    return STATUS_OK;
}

enum status place_read(const struct surroundings *around, const char *text, enum geometry geometry,
                       struct reading *out, struct fault *fault) {
    return place_read_noted(around, text, geometry, NULL, out, fault);
}
