/* Which format is it? '<' begins XML, '{' or '[' JSON; a line that begins with BEGIN_DATA makes CGATS;
 * everything else is CSV. */
#include "formats/sample_file.h"
#include "formats/lamp_file.h"
#include "formats/sample_readers.h"
#include <string.h>

static enum status read_by_content(const struct bytes *bytes, struct sample_build *build, struct arena *arena,
                                   const char **format, struct fault *fault) {
    struct text_in text;
    const enum status status = text_in_decode(bytes, arena, &text, fault);
    if (status != STATUS_OK) return status;
    const char first = text.data[strspn(text.data, " \t\r\n")];
    if (first == 0) return FAULT(fault, FILE_EMPTY, bytes->name);
    if (first == '<') return *format = "CxF3", cxf3_read(build, &text, arena, fault);
    if (first == '{' || first == '[') return *format = "JSON", sample_json_read(build, bytes, arena, fault);
    if (cgats_is(&text)) return *format = "CGATS", cgats_read(build, &text, arena, fault);
    return *format = "CSV", sample_csv_read(build, &text, arena, fault);
}

enum status lamp_file_read(const struct bytes *bytes, struct arena *arena, struct sampled *out,
                           struct fault *fault) {
    const char *format = "text";
    struct sample_file file;
    struct sampled lamp;
    struct sample_build *build = build_start(bytes->name, GEOMETRY_UNKNOWN, arena, &file);
    build_lamp(build, &lamp);
    const enum status status = read_by_content(bytes, build, arena, &format, fault);
    if (status != STATUS_OK) return status;
    if (lamp.count == 0) return FAULT(fault, LAMP_NONE, bytes->name, format);
    *out = lamp;
    return STATUS_OK;
}

enum status sample_file_read(const struct bytes *bytes, enum geometry geometry, struct arena *arena,
                             struct sample_file *out, struct fault *fault) {
    const char *format = "text";
    struct sample_file file;
    struct sample_build *build = build_start(bytes->name, geometry, arena, &file);
    enum status status = read_by_content(bytes, build, arena, &format, fault);
    if (status == STATUS_OK) status = build_finish(build, format, fault);
    if (status == STATUS_OK) *out = file;
    return status;
}

const char *sample_field_text(const struct sample *sample, const char *name) {
    for (size_t i = 0; i < sample->field_count; i++)
        if (text_same_ignoring_case(sample->field[i].name, name)) return sample->field[i].text;
    return NULL;
}

/* Ids longer than a reading's id are cut there; the field has the whole. */
static bool has_id(const struct sample *sample, const char *id) {
    const char *whole = sample_field_text(sample, "SAMPLE_ID");
    return strcmp(sample->reading.id, id) == 0 || (whole && strcmp(whole, id) == 0);
}

/* What a sample may be called beside its id: the name in CGATS and CSV, the Id of a named object in CxF3. */
static bool has_other_name(const struct sample *sample, const char *id) {
    const char *name = sample_field_text(sample, "SAMPLE_NAME"),
               *object = sample_field_text(sample, "OBJECT_ID");
    return (name && strcmp(name, id) == 0) || (object && strcmp(object, id) == 0);
}

static bool is_same_colour(const struct reading *a, const struct reading *b) {
    if (a->has_spectrum != b->has_spectrum) return false;
    if (a->has_spectrum) return memcmp(&a->reflectance, &b->reflectance, sizeof a->reflectance) == 0;
    return a->lab.l == b->lab.l && a->lab.a == b->lab.a && a->lab.b == b->lab.b;
}

/* Repeats carry one id: it is told once. */
static bool is_told(const struct sample_file *file, size_t i) {
    for (size_t k = 0; k < i; k++)
        if (strcmp(file->sample[k].reading.id, file->sample[i].reading.id) == 0) return true;
    return false;
}

static enum status refuse_unknown(const struct sample_file *file, const char *id, struct fault *fault) {
    enum { TOLD_MOST = 12, LOOKED_AT_MOST = 1000 };
    struct text ids = {0};
    size_t told = 0, more = 0;
    for (size_t i = 0; i < file->count && i < LOOKED_AT_MOST; i++) {
        if (is_told(file, i)) continue;
        if (told < TOLD_MOST)
            text_format(&ids, "%s%s", told++ ? ", " : "", SHOWN_TEXT(file->sample[i].reading.id));
        else
            more++;
    }
    if (more > 0) text_format(&ids, " and %zu more", more);
    const enum status status = FAULT(fault, SAMPLE_UNKNOWN, file->name, SHOWN_TEXT(id), ids.data);
    text_free(&ids);
    return status;
}

struct search {
    const struct sample *found, *other; /* the first, and the first with other values */
    long long times;
};

static struct search search_for(const struct sample_file *file, const char *id,
                                bool is_called(const struct sample *, const char *)) {
    struct search s = {0};
    for (size_t i = 0; i < file->count; i++) {
        const struct sample *sample = &file->sample[i];
        if (!is_called(sample, id)) continue;
        s.times++;
        if (!s.found)
            s.found = sample;
        else if (!s.other && !is_same_colour(&sample->reading, &s.found->reading))
            s.other = sample;
    }
    return s;
}

enum status sample_file_find(const struct sample_file *file, const char *id, const struct sample **out,
                             struct fault *fault) {
    struct search s = search_for(file, id, has_id);
    if (!s.found) s = search_for(file, id, has_other_name);
    if (!s.found) return refuse_unknown(file, id, fault);
    if (s.other)
        return FAULT(fault, SAMPLE_AMBIGUOUS, file->name, SHOWN_TEXT(id), COUNT_TEXT(s.times),
                     COUNT_TEXT(s.found->line), COUNT_TEXT(s.other->line));
    *out = s.found;
    return STATUS_OK;
}
