/* Columns SAMPLE_ID, BACKING, FILM_UM, TOPCOAT and MIX_<toner>, any case but the toner's. Blank is an empty
 * cell; in CGATS "". no mass                    a bare backing: BACKING and FILM_UM blank (or "-") mass,
 * BACKING "-"          an opaque film: FILM_UM blank mass, BACKING an id        a film over that bare row;
 * FILM_UM in dry um, blank when nobody measured it */
#include "formats/drawdowns.h"
#include "formats/text_in.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { FILM_MOST_UM = 2000, MASS_MOST_G = 1000000, GLOSS_MOST_GU = 200 };

struct reader {
    const struct sample_file *file;
    struct arena *arena;
    struct drawdown_set *set;
    char (*toner)[TONER_ID_MAX];
    struct fault *fault;
};

static bool is_blank(const char *text) {
    return !text || *text == 0 || strcmp(text, "-") == 0;
}

static enum status read_field(const struct reader *r, const struct sample_field *field, double high,
                              const char *unit, double *out) {
    const size_t n = strlen(field->text);
    const bool number = text_to_number(field->text, n, '.', out) ||
                        (r->file->decimal_comma && text_to_number(field->text, n, ',', out));
    const char *line = COUNT_TEXT(field->line);
    if (!number)
        return FAULT(r->fault, VALUE_NOT_NUMBER, r->file->name, line, SHOWN_TEXT(field->name),
                     SHOWN_TEXT(field->text));
    if (!(*out >= 0 && *out <= high))
        return FAULT(r->fault, DRAWDOWN_VALUE_OUTSIDE, r->file->name, line, SHOWN_TEXT(field->name),
                     NUMBER_TEXT(*out), NUMBER_TEXT(high), unit);
    return STATUS_OK;
}

static const struct sample_field *find_field(const struct sample *sample, const char *name) {
    for (size_t i = 0; i < sample->field_count; i++)
        if (text_same_ignoring_case(sample->field[i].name, name)) return &sample->field[i];
    return NULL;
}

/* Toners
 * ------------------------------------------------------------------------------------------------------------------
 */

/* The id behind "MIX_", or NULL when the column is no toner. */
static const char *toner_of(const char *column) {
    char head[5] = {0};
    strncpy(head, column, 4);
    return text_same_ignoring_case(head, "MIX_") ? column + 4 : NULL;
}

static int find_toner(const struct reader *r, const char *id) {
    for (size_t i = 0; i < r->set->toner_count; i++)
        if (strcmp(r->toner[i], id) == 0) return (int)i;
    return -1;
}

static enum status add_toner(struct reader *r, const struct sample_field *field) {
    const char *id = toner_of(field->name), *file = r->file->name;
    const size_t n = strlen(id);
    if (find_toner(r, id) >= 0) return STATUS_OK;
    if (n == 0 || n >= TONER_ID_MAX || strspn(id, "abcdefghijklmnopqrstuvwxyz0123456789-") != n)
        return FAULT(r->fault, DRAWDOWN_TONER_ID, file, SHOWN_TEXT(field->name),
                     COUNT_TEXT(TONER_ID_MAX - 1));
    if (r->set->toner_count == SHELF_MOST)
        return FAULT(r->fault, DRAWDOWN_TONERS_MANY, file, COUNT_TEXT(SHELF_MOST));
    memcpy(r->toner[r->set->toner_count++], id, n + 1);
    return STATUS_OK;
}

static enum status find_toners(struct reader *r) {
    r->toner = arena_need(r->arena, SHELF_MOST, sizeof *r->toner);
    r->set->toner_id = (const char(*)[TONER_ID_MAX])r->toner;
    const struct sample_field *seen = NULL;
    for (size_t i = 0; i < r->file->count; i++) {
        const struct sample *s = &r->file->sample[i];
        /* Rows of one table share their columns. */
        if (seen && s->field_count && seen->name == s->field[0].name) continue;
        seen = s->field_count ? &s->field[0] : NULL;
        for (size_t k = 0; k < s->field_count; k++) {
            const enum status status = toner_of(s->field[k].name) ? add_toner(r, &s->field[k]) : STATUS_OK;
            if (status != STATUS_OK) return status;
        }
    }
    return r->set->toner_count ? STATUS_OK : FAULT(r->fault, DRAWDOWN_NO_TONER, r->file->name);
}

/* Rows
 * --------------------------------------------------------------------------------------------------------------------
 */

static enum status read_mix(const struct reader *r, const struct sample *sample, struct drawdown *row) {
    double *mass = arena_need(r->arena, r->set->toner_count, sizeof *mass), sum = 0;
    for (size_t k = 0; k < sample->field_count; k++) {
        const struct sample_field *field = &sample->field[k];
        const char *id = toner_of(field->name);
        if (!id || is_blank(field->text)) continue;
        double value;
        const enum status status = read_field(r, field, MASS_MOST_G, "g", &value);
        if (status != STATUS_OK) return status;
        mass[find_toner(r, id)] = value;
        sum += value;
    }
    row->mass_g = mass;
    row->is_bare = !(sum > 0);
    return STATUS_OK;
}

static enum status read_film(const struct reader *r, const struct sample *sample, struct drawdown *row) {
    const struct sample_field *field = find_field(sample, "FILM_UM");
    row->film_um = (double)NAN;
    if (!field || is_blank(field->text)) return STATUS_OK;
    double film;
    const enum status status = read_field(r, field, FILM_MOST_UM, "um", &film);
    if (status != STATUS_OK) return status;
    const char *line = COUNT_TEXT(field->line);
    if (row->is_bare && film == 0) return STATUS_OK;
    if (row->is_bare)
        return FAULT(r->fault, DRAWDOWN_BARE_FILM, r->file->name, line, row->id, NUMBER_TEXT(film));
    if (!(film > 0)) return FAULT(r->fault, DRAWDOWN_FILM_ZERO, r->file->name, line, row->id);
    row->film_um = film;
    return STATUS_OK;
}

static enum status read_topcoat(const struct reader *r, const struct sample *sample, struct drawdown *row) {
    const struct sample_field *field = find_field(sample, "TOPCOAT");
    row->topcoat_gu = (double)NAN;
    if (!field || is_blank(field->text)) return STATUS_OK;
    return read_field(r, field, GLOSS_MOST_GU, "GU", &row->topcoat_gu);
}

static enum status read_row(const struct reader *r, const struct sample *sample, struct drawdown *row) {
    const char *line = COUNT_TEXT(sample->line), *file = r->file->name;
    memcpy(row->id, sample->reading.id, sizeof row->id);
    row->line = sample->line;
    row->backing = DRAWDOWN_OPAQUE;
    row->reflectance = sample->reading.reflectance;
    const struct sample_field *id = find_field(sample, "SAMPLE_ID");
    if (!id || id->text[0] == 0) return FAULT(r->fault, DRAWDOWN_ID_MISSING, file, line);
    if (strlen(id->text) >= sizeof row->id)
        return FAULT(r->fault, DRAWDOWN_ID_LONG, file, line, SHOWN_TEXT(id->text));
    memcpy(row->id, id->text, strlen(id->text) + 1);
    if (!sample->reading.has_spectrum)
        return FAULT(r->fault, DRAWDOWN_NO_SPECTRUM, file, line, SHOWN_TEXT(row->id));
    if (sample->reading.geometry != r->set->geometry)
        return FAULT(r->fault, DRAWDOWN_GEOMETRY, file, line, SHOWN_TEXT(row->id),
                     geometry_name(sample->reading.geometry), geometry_name(r->set->geometry));
    enum status status = read_mix(r, sample, row);
    if (status == STATUS_OK) status = read_film(r, sample, row);
    return status == STATUS_OK ? read_topcoat(r, sample, row) : status;
}

/* Backings
 * ----------------------------------------------------------------------------------------------------------------
 */

static int by_id(const void *a, const void *b) {
    const struct drawdown *const *x = a, *const *y = b;
    const int order = strcmp((*x)->id, (*y)->id);
    return order ? order : ((*x)->line > (*y)->line) - ((*x)->line < (*y)->line);
}

/* order[count]: the rows sorted by id. */
static enum status sort_ids(const struct reader *r, const struct drawdown **order) {
    for (size_t i = 0; i < r->set->count; i++) order[i] = &r->set->row[i];
    qsort(order, r->set->count, sizeof *order, by_id);
    for (size_t i = 1; i < r->set->count; i++)
        if (strcmp(order[i - 1]->id, order[i]->id) == 0)
            return FAULT(r->fault, DRAWDOWN_ID_TWICE, r->file->name, COUNT_TEXT(order[i]->line),
                         SHOWN_TEXT(order[i]->id), COUNT_TEXT(order[i - 1]->line));
    return STATUS_OK;
}

static const struct drawdown *find_row(const struct drawdown **order, size_t count, const char *id) {
    size_t low = 0, high = count;
    while (low < high) {
        const size_t middle = (low + high) / 2;
        const int to = strcmp(order[middle]->id, id);
        if (to == 0) return order[middle];
        if (to < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return NULL;
}

static enum status set_backing(const struct reader *r, const struct drawdown **order,
                               const struct sample *sample, struct drawdown *row) {
    const struct sample_field *field = find_field(sample, "BACKING");
    const char *text = field ? field->text : "", *file = r->file->name, *line = COUNT_TEXT(row->line),
               *id = SHOWN_TEXT(row->id);
    if (row->is_bare)
        return is_blank(text) ? STATUS_OK
                              : FAULT(r->fault, DRAWDOWN_BARE_BACKING, file, line, id, SHOWN_TEXT(text));
    if (*text == 0) return FAULT(r->fault, DRAWDOWN_BACKING_MISSING, file, line, id);
    if (strcmp(text, "-") == 0)
        return isnan(row->film_um)
                   ? STATUS_OK
                   : FAULT(r->fault, DRAWDOWN_OPAQUE_FILM, file, line, id, NUMBER_TEXT(row->film_um));
    const struct drawdown *backing = find_row(order, r->set->count, text);
    if (!backing) return FAULT(r->fault, DRAWDOWN_BACKING_UNKNOWN, file, line, id, SHOWN_TEXT(text));
    if (!backing->is_bare)
        return FAULT(r->fault, DRAWDOWN_BACKING_NOT_BARE, file, line, id, SHOWN_TEXT(text),
                     COUNT_TEXT(backing->line));
    row->backing = (int)(backing - r->set->row);
    return STATUS_OK;
}

static enum status set_backings(const struct reader *r) {
    const struct drawdown **order = memory_need(r->set->count, sizeof *order);
    enum status status = sort_ids(r, order);
    for (size_t i = 0; i < r->set->count && status == STATUS_OK; i++)
        status = set_backing(r, order, &r->file->sample[i], &r->set->row[i]);
    memory_free(order);
    return status;
}

/* Columns that nobody asks for, named once: a slip in a heading must not pass in silence. */
static void note_unused(const struct reader *r, struct drawdown_file *out) {
    static const char *const known[] = {"SAMPLE_ID", "SAMPLE_NAME", "BACKING", "FILM_UM", "TOPCOAT"};
    const struct sample *s = &r->file->sample[0];
    struct text names = {0};
    for (size_t i = 0; i < s->field_count; i++) {
        bool used = toner_of(s->field[i].name) != NULL || s->field[i].name[0] == 0;
        for (size_t k = 0; k < sizeof known / sizeof known[0]; k++)
            used = used || text_same_ignoring_case(s->field[i].name, known[k]);
        if (!used) text_format(&names, "%s%s", names.length ? ", " : "", SHOWN_TEXT(s->field[i].name));
    }
    struct fault *note = arena_need(r->arena, r->file->note_count + 1, sizeof *note);
    for (size_t i = 0; i < r->file->note_count; i++) note[i] = r->file->note[i];
    out->note = note;
    out->note_count = r->file->note_count;
    if (names.length) FAULT(&note[out->note_count++], DRAWDOWN_UNUSED, r->file->name, names.data);
    text_free(&names);
}

static enum status read_rows(struct reader *r) {
    struct drawdown_set *set = r->set;
    size_t films = 0;
    set->count = r->file->count;
    set->geometry = r->file->sample[0].reading.geometry;
    set->row = arena_need(r->arena, set->count, sizeof *set->row);
    for (size_t i = 0; i < set->count; i++) {
        const enum status status = read_row(r, &r->file->sample[i], &set->row[i]);
        if (status != STATUS_OK) return status;
        films += !set->row[i].is_bare;
    }
    return films ? set_backings(r) : FAULT(r->fault, DRAWDOWN_NO_FILM, r->file->name);
}

enum status drawdowns_read(const struct bytes *bytes, enum geometry geometry, struct arena *arena,
                           struct drawdown_file *out, struct fault *fault) {
    struct sample_file file;
    struct drawdown_file result = {0};
    enum status status = sample_file_read(bytes, geometry, arena, &file, fault);
    /* a single reading of russet's own would do elsewhere, not here */
    if (status != STATUS_OK && fault &&
        (fault->word == WORD_JSON_KIND_OTHER || fault->word == WORD_JSON_KIND_MISSING))
        return FAULT(fault, DRAWDOWNS_NOT_JSON, bytes->name);
    if (status != STATUS_OK) return status;
    if (file.count > DRAWDOWNS_MOST)
        return FAULT(fault, DRAWDOWN_TOO_MANY, file.name, COUNT_TEXT(DRAWDOWNS_MOST));
    struct reader r = {&file, arena, &result.set, NULL, fault};
    status = find_toners(&r);
    if (status == STATUS_OK) status = read_rows(&r);
    if (status != STATUS_OK) return status;
    note_unused(&r, &result);
    result.format = file.format;
    result.scale = file.scale;
    *out = result;
    return STATUS_OK;
}
