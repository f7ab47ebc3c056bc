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

/* Ids longer than a reading's id are cut there; the field has the whole. OBJECT_ID: CxF3, beside the name. */
static bool has_id(const struct sample *sample, const char *id) {
    const char *whole = sample_field_text(sample, "SAMPLE_ID"),
               *object = sample_field_text(sample, "OBJECT_ID");
    return strcmp(sample->reading.id, id) == 0 || (whole && strcmp(whole, id) == 0) ||
           (object && strcmp(object, id) == 0);
}

static bool is_same_colour(const struct reading *a, const struct reading *b) {
    if (a->has_spectrum != b->has_spectrum) return false;
    if (a->has_spectrum) return memcmp(&a->reflectance, &b->reflectance, sizeof a->reflectance) == 0;
    return a->lab.l == b->lab.l && a->lab.a == b->lab.a && a->lab.b == b->lab.b;
}

static enum status refuse_unknown(const struct sample_file *file, const char *id, struct fault *fault) {
    struct text ids = {0};
    for (size_t i = 0; i < file->count && i < 12; i++)
        text_format(&ids, "%s%s", i ? ", " : "", SHOWN_TEXT(file->sample[i].reading.id));
    if (file->count > 12) text_format(&ids, " and %zu more", file->count - 12);
    const enum status status = FAULT(fault, SAMPLE_UNKNOWN, file->name, SHOWN_TEXT(id), ids.data);
    text_free(&ids);
    return status;
}

enum status sample_file_find(const struct sample_file *file, const char *id, const struct sample **out,
                             struct fault *fault) {
    const struct sample *found = NULL, *other = NULL;
    long long times = 0;
    for (size_t i = 0; i < file->count; i++) {
        const struct sample *s = &file->sample[i];
        if (!has_id(s, id)) continue;
        times++;
        if (!found)
            found = s;
        else if (!other && !is_same_colour(&s->reading, &found->reading))
            other = s;
    }
    if (!found) return refuse_unknown(file, id, fault);
    if (other)
        return FAULT(fault, SAMPLE_AMBIGUOUS, file->name, SHOWN_TEXT(id), COUNT_TEXT(times),
                     COUNT_TEXT(found->line), COUNT_TEXT(other->line));
    *out = found;
    return STATUS_OK;
}
