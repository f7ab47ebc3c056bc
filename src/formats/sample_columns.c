/* Headings of spectral columns as CGATS.17 / ISO 28178 and common programs spell them (docs/formats.md lists
 * them). The pair SPECTRAL_NM, SPECTRAL_PCT (or SPECTRAL_DEC), repeated, is CGATS.17's own way: each row
 * names its wavelengths. */
#include "formats/sample_columns.h"
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    const char *prefix;
    enum scale_said scale;
} band_prefix[] = {{"SPECTRAL_NM_", SCALE_UNSAID},
                   {"SPECTRAL_NM", SCALE_UNSAID},
                   {"SPECTRAL_PCT_", SCALE_PERCENT},
                   {"SPECTRAL_PCT", SCALE_PERCENT},
                   {"SPECTRAL_DEC_", SCALE_FRACTION},
                   {"SPECTRAL_DEC", SCALE_FRACTION},
                   {"SPECTRAL_", SCALE_UNSAID},
                   {"SPEC_", SCALE_UNSAID},
                   {"SPEC", SCALE_UNSAID},
                   {"NM_", SCALE_UNSAID},
                   {"NM", SCALE_UNSAID},
                   {"R_", SCALE_UNSAID},
                   {"R", SCALE_UNSAID}};

static bool starts_ignoring_case(const char *s, const char *prefix) {
    while (*prefix && toupper((unsigned char)*s) == *prefix) s++, prefix++;
    return *prefix == 0;
}

/* "400", "400.0", "400nm", "400 nm". */
static bool is_wavelength(const char *s, double *nm) {
    size_t n = strlen(s);
    if (n > 2 && text_same_ignoring_case(s + n - 2, "nm")) n -= 2;
    while (n > 0 && s[n - 1] == ' ') n--;
    return n > 0 && isdigit((unsigned char)s[0]) && text_to_number(s, n, '.', nm) && *nm >= 100 &&
           *nm < 10000;
}

bool column_is_band(const char *name, bool bare, double *nm, enum scale_said *scale) {
    *scale = SCALE_UNSAID;
    for (size_t i = 0; i < sizeof band_prefix / sizeof band_prefix[0]; i++) {
        if (!starts_ignoring_case(name, band_prefix[i].prefix)) continue;
        *scale = band_prefix[i].scale;
        if (is_wavelength(name + strlen(band_prefix[i].prefix), nm)) return true;
    }
    return bare && is_wavelength(name, nm);
}

static enum column_kind kind_of(struct column *column, bool bare, enum scale_said *scale) {
    *scale = SCALE_UNSAID;
    if (text_same_ignoring_case(column->name, "SPECTRAL_NM")) return COLUMN_PAIR_NM;
    const bool percent = text_same_ignoring_case(column->name, "SPECTRAL_PCT");
    if (percent || text_same_ignoring_case(column->name, "SPECTRAL_DEC")) {
        *scale = percent ? SCALE_PERCENT : SCALE_FRACTION;
        return COLUMN_PAIR_VALUE;
    }
    return column_is_band(column->name, bare, &column->nm, scale) ? COLUMN_BAND : COLUMN_FIELD;
}

static int compare_names(const char *a, const char *b) {
    while (*a && tolower((unsigned char)*a) == tolower((unsigned char)*b)) a++, b++;
    return tolower((unsigned char)*a) - tolower((unsigned char)*b);
}

static int by_name(const void *a, const void *b) {
    const struct column *const *x = a, *const *y = b;
    const int order = compare_names((*x)->name, (*y)->name);
    return order ? order : (*x < *y ? -1 : 1);
}

/* Two columns of one name: which one counts would be a guess. Columns without a name are nobody's. */
static enum status check_twice(const char *file, const struct sample_columns *columns, struct fault *fault) {
    const struct column **order = memory_need(columns->count, sizeof *order);
    size_t n = 0;
    for (size_t i = 0; i < columns->count; i++)
        if (columns->column[i].name[0] && columns->column[i].kind <= COLUMN_BAND)
            order[n++] = &columns->column[i];
    qsort(order, n, sizeof *order, by_name);
    enum status status = STATUS_OK;
    for (size_t i = 1; i < n && status == STATUS_OK; i++)
        if (compare_names(order[i - 1]->name, order[i]->name) == 0)
            status = FAULT(fault, COLUMN_TWICE, file, COUNT_TEXT(order[i]->line), SHOWN_TEXT(order[i]->name));
    memory_free(order);
    return status;
}

static int find_column(const struct sample_columns *columns, const char *const names[]) {
    for (size_t k = 0; names[k]; k++)
        for (size_t i = 0; i < columns->count; i++)
            if (columns->column[i].kind == COLUMN_FIELD &&
                text_same_ignoring_case(columns->column[i].name, names[k]))
                return (int)i;
    return -1;
}

static void find_special(struct sample_columns *c, bool bare) {
    static const char *const id[] = {"SAMPLE_ID", "SAMPLEID", "SAMPLE ID", "SAMPLE_NAME", "SAMPLE NAME",
                                     "ID",        "SAMPLE",   "NAME",      NULL};
    static const char *const l[] = {"LAB_L", "L*", "L", "CIE L*", NULL};
    static const char *const a[] = {"LAB_A", "a*", "a", "CIE a*", NULL};
    static const char *const b[] = {"LAB_B", "b*", "b", "CIE b*", NULL};
    c->id = find_column(c, id);
    if (c->id < 0 && bare && c->count && c->column[0].kind == COLUMN_FIELD) c->id = 0;
    c->lab[0] = find_column(c, l);
    c->lab[1] = find_column(c, a);
    c->lab[2] = find_column(c, b);
    if (c->id >= 0 && (c->id == c->lab[0] || c->id == c->lab[1] || c->id == c->lab[2])) c->id = -1;
}

enum status columns_read(const struct sample_build *build, const struct cell *heading, size_t count,
                         bool bare, enum decimal decimal, struct arena *arena, struct sample_columns *out,
                         struct fault *fault) {
    *out = (struct sample_columns){.count = count, .decimal = decimal};
    out->column = arena_need(arena, count, sizeof *out->column);
    for (size_t i = 0; i < count; i++) {
        struct column *column = &out->column[i];
        *column = (struct column){.name = heading[i].text, .line = heading[i].line};
        enum scale_said scale;
        column->kind = kind_of(column, bare, &scale);
        out->bands += column->kind == COLUMN_BAND;
        out->pairs += column->kind == COLUMN_PAIR_VALUE;
        out->fields += column->kind == COLUMN_FIELD;
        if (column->kind != COLUMN_FIELD && scale != SCALE_UNSAID) out->scale = scale;
    }
    find_special(out, bare);
    return check_twice(build_file(build), out, fault);
}

bool columns_have_colour(const struct sample_columns *c) {
    return c->bands > 0 || c->pairs > 0 || (c->lab[0] >= 0 && c->lab[1] >= 0 && c->lab[2] >= 0);
}

static enum status row_lab(struct sample_build *build, const struct sample_columns *c,
                           const struct cell *cell, struct sample *sample, struct fault *fault) {
    double lab[3];
    for (int i = 0; i < 3; i++) {
        const struct cell *at = &cell[c->lab[i]];
        const enum status status =
            build_number(build, at->text, c->decimal, at->line, c->column[c->lab[i]].name, &lab[i], fault);
        if (status != STATUS_OK) return status;
    }
    return build_lab(build, sample, lab, cell[c->lab[0]].line, fault);
}

static bool is_blank(const struct sample_columns *c, const struct cell *cell) {
    for (size_t i = 0; i < c->count; i++)
        if (c->column[i].kind != COLUMN_FIELD && cell[i].text[0]) return false;
    return true;
}

/* The wavelength and the value of column i; a pair's value stands behind its wavelength. */
static enum status read_band(const struct sample_build *build, const struct sample_columns *c,
                             const struct cell *cell, size_t i, double *pair_nm, struct band_value *out,
                             struct fault *fault) {
    const struct column *column = &c->column[i];
    double number;
    const enum status status =
        build_number(build, cell[i].text, c->decimal, cell[i].line, column->name, &number, fault);
    if (status != STATUS_OK) return status;
    if (column->kind == COLUMN_PAIR_NM) *pair_nm = number;
    *out = (struct band_value){column->kind == COLUMN_BAND ? column->nm : *pair_nm, number, cell[i].line,
                               column->name};
    return STATUS_OK;
}

static enum status row_spectrum(struct sample_build *build, const struct sample_columns *c,
                                const struct cell *cell, struct sample *sample, struct fault *fault) {
    struct band_value value[COLUMNS_MOST];
    size_t n = 0;
    double pair_nm = 0;
    for (size_t i = 0; i < c->count; i++) {
        if (c->column[i].kind == COLUMN_FIELD) continue;
        const enum status status = read_band(build, c, cell, i, &pair_nm, &value[n], fault);
        if (status != STATUS_OK) return status;
        n += c->column[i].kind != COLUMN_PAIR_NM;
    }
    return build_spectrum(build, sample, value, n, fault);
}

static void row_fields(const struct sample_columns *c, const struct cell *cell, struct arena *arena,
                       struct sample *sample) {
    struct sample_field *field = arena_need(arena, c->fields, sizeof *field);
    size_t n = 0;
    for (size_t i = 0; i < c->count; i++)
        if (c->column[i].kind == COLUMN_FIELD)
            field[n++] = (struct sample_field){c->column[i].name, cell[i].text, cell[i].line};
    sample->field = field;
    sample->field_count = n;
}

enum status columns_row(struct sample_build *build, const struct sample_columns *c, const struct cell *cell,
                        struct arena *arena, size_t *fields_left, struct fault *fault) {
    struct sample *sample;
    const char *id = c->id >= 0 ? cell[c->id].text : NULL;
    if (c->fields > *fields_left)
        return FAULT(fault, FIELDS_TOO_MANY, build_file(build), COUNT_TEXT(cell[0].line),
                     COUNT_TEXT(FIELDS_MOST));
    *fields_left -= c->fields;
    enum status status = build_sample(build, id, cell[0].line, &sample, fault);
    if (status != STATUS_OK) return status;
    row_fields(c, cell, arena, sample);
    const bool blank = is_blank(c, cell);
    if (!blank) return row_spectrum(build, c, cell, sample, fault);
    if (c->lab[0] >= 0 && c->lab[1] >= 0 && c->lab[2] >= 0) return row_lab(build, c, cell, sample, fault);
    return STATUS_OK;
}
