/* Readings as CSV (RFC 4180 quoting), in either orientation:
 *     wavelength,seat left,seat right        SAMPLE_ID,FILM_UM,400,410, ... 700
 *     400,0.0512,0.0530                      A1,30,0.0512,0.0533, ...
 *     410,0.0533,0.0541                      A2,31,0.0530,0.0541, ...
 * A row with six or more headings of wavelengths (400, 400nm, nm400, SPEC_400 ...) is the heading of the
 * right form, a heading with L, a and b too; otherwise every row begins with its wavelength, and a heading is
 * optional. The separator is the tab, semicolon or comma (in this order) that the first row has outside
 * quotes, or blanks when it has none of them; a decimal comma is read only beside tab and semicolon. Lines
 * before the heading that begin with '#' are comments; "%" or "percent" in the heading's value columns tells
 * the scale. */
#include "formats/sample_columns.h"
#include "formats/sample_readers.h"
#include <stdio.h>
#include <string.h>

struct csv {
    char *at;
    int line;
    char separator;
    enum decimal decimal;
    struct sample_build *build;
    struct arena *arena;
    struct cell *cell; /* of the row last read */
    size_t count;
};

static const char *skip_quoted(const char *at) {
    for (at++; *at && *at != '"'; at++)
        ;
    return at;
}

static char find_separator(const char *at) {
    bool tab = false, semicolon = false, comma = false, space = false;
    for (; *at && *at != '\r' && *at != '\n'; at++) {
        if (*at == '"') at = skip_quoted(at);
        if (*at == 0) break;
        tab = tab || *at == '\t';
        semicolon = semicolon || *at == ';';
        comma = comma || *at == ',';
        space = space || *at == ' ';
    }
    return tab ? '\t' : semicolon ? ';' : space && !comma ? ' ' : ',';
}

static void skip_line(struct csv *c) {
    c->at += strcspn(c->at, "\r\n");
}

static void step_line(struct csv *c) {
    if (c->at[0] == '\r' && c->at[1] == '\n') c->at++;
    c->at++;
    c->line++;
}

/* "a ""b""" -> a "b" in place; line ends within quotes count. */
static enum status take_quoted(struct csv *c, struct cell *cell, struct fault *fault) {
    char *to = ++c->at;
    cell->text = to;
    for (;;) {
        const char ch = *c->at;
        if (ch == 0) return FAULT(fault, QUOTE_OPEN, build_file(c->build), COUNT_TEXT(cell->line));
        if (ch == '"' && c->at[1] != '"') break;
        if (ch == '\n' || (ch == '\r' && c->at[1] != '\n')) c->line++;
        c->at += ch == '"' ? 2 : 1;
        *to++ = ch;
    }
    *to = 0;
    c->at++;
    c->at += strspn(c->at, " ");
    if (*c->at == 0 || *c->at == c->separator || *c->at == '\r' || *c->at == '\n') return STATUS_OK;
    return FAULT(fault, QUOTE_INSIDE, build_file(c->build), COUNT_TEXT(c->line));
}

static void take_plain(struct csv *c, struct cell *cell) {
    char *begin = c->at + strspn(c->at, c->separator == '\t' ? " " : " \t");
    const char stops[] = {c->separator, '\r', '\n', 0};
    c->at = begin + strcspn(begin, stops);
    char *end = c->at;
    while (end > begin && (end[-1] == ' ' || end[-1] == '\t')) end--;
    cell->text = begin;
    /* The end mark may be the separator itself: it is written once it has been looked at. */
    if (end < c->at) *end = 0;
}

/* One row, the position at its first cell. */
static enum status take_row(struct csv *c, struct fault *fault) {
    for (c->count = 0;;) {
        if (c->count == COLUMNS_MOST)
            return FAULT(fault, COLUMNS_TOO_MANY, build_file(c->build), COUNT_TEXT(c->line),
                         COUNT_TEXT(COLUMNS_MOST));
        struct cell *cell = &c->cell[c->count++];
        cell->line = c->line;
        char *const begin = c->at + strspn(c->at, " ");
        if (*begin == '"') {
            c->at = begin;
            const enum status status = take_quoted(c, cell, fault);
            if (status != STATUS_OK) return status;
        } else {
            take_plain(c, cell);
        }
        const char end = *c->at;
        if (end != c->separator) {
            char *const mark = c->at;
            if (end) step_line(c);
            *mark = 0;
            return STATUS_OK;
        }
        *c->at++ = 0;
    }
}

static bool is_blank_row(const struct csv *c) {
    for (size_t i = 0; i < c->count; i++)
        if (c->cell[i].text[0]) return false;
    return true;
}

/* The next row that holds anything; *more false at the end. */
static enum status next_row(struct csv *c, bool *more, struct fault *fault) {
    for (*more = false; *c->at;) {
        const enum status status = take_row(c, fault);
        if (status != STATUS_OK) return status;
        if (is_blank_row(c)) continue;
        *more = true;
        return STATUS_OK;
    }
    return STATUS_OK;
}

static void skip_comments(struct csv *c) {
    for (;;) {
        const size_t blank = strspn(c->at, " \t");
        const char ch = c->at[blank];
        if (ch == '#')
            skip_line(c);
        else if (ch == '\r' || ch == '\n')
            c->at += blank;
        else
            return;
        if (*c->at) step_line(c);
    }
}

/* One sample per row
 * ------------------------------------------------------------------------------------------------------ */

/* Blank cells behind the last heading are only trailing separators. */
static enum status fit_row(struct csv *c, size_t columns, struct fault *fault) {
    while (c->count > columns && c->cell[c->count - 1].text[0] == 0) c->count--;
    if (c->count == columns) return STATUS_OK;
    return FAULT(fault, CSV_ROW_LENGTH, build_file(c->build), COUNT_TEXT(c->cell[0].line),
                 COUNT_TEXT((long long)c->count), COUNT_TEXT((long long)columns));
}

static enum scale_said scale_in_words(const char *heading) {
    if (build_holds(heading, "%") || build_holds(heading, "percent") || build_holds(heading, "per cent"))
        return SCALE_PERCENT;
    return build_holds(heading, "fraction") ? SCALE_FRACTION : SCALE_UNSAID;
}

static enum status read_rows(struct csv *c, const struct sample_columns *columns, struct fault *fault) {
    size_t fields_left = FIELDS_MOST;
    for (;;) {
        bool more;
        enum status status = next_row(c, &more, fault);
        if (status != STATUS_OK || !more) return status;
        status = fit_row(c, columns->count, fault);
        if (status != STATUS_OK) return status;
        status = columns_row(c->build, columns, c->cell, c->arena, &fields_left, fault);
        if (status != STATUS_OK) return status;
    }
}

static enum status read_by_row(struct csv *c, struct fault *fault) {
    struct sample_columns columns;
    while (c->count > 1 && c->cell[c->count - 1].text[0] == 0) c->count--;
    enum status status =
        columns_read(c->build, c->cell, c->count, true, c->decimal, c->arena, &columns, fault);
    if (status != STATUS_OK) return status;
    const struct sample_about about = {
        .silent_means_d65_10 = true, .scale = columns.scale, .scale_by = "by the headings"};
    build_group(c->build, &about);
    status = read_rows(c, &columns, fault);
    return status == STATUS_OK ? build_group_end(c->build, fault) : status;
}

static bool is_heading_of_rows(const struct csv *c) {
    size_t bands = 0, l = 0, a = 0, b = 0;
    for (size_t i = 0; i < c->count; i++) {
        double nm;
        enum scale_said scale;
        const char *name = c->cell[i].text;
        bands += column_is_band(name, true, &nm, &scale);
        l += build_same_any(name, "L*", "L", "LAB_L");
        a += build_same_any(name, "a*", "a", "LAB_A");
        b += build_same_any(name, "b*", "b", "LAB_B");
    }
    return bands >= BANDS_FEWEST || (l && a && b);
}

/* One wavelength per row
 * -------------------------------------------------------------------------------------------------- */

struct curves {
    size_t columns, rows; /* columns of values */
    const char **name;
    struct band_value *value; /* rows x columns, row by row */
    size_t capacity;
};

static enum status add_curve_row(struct csv *c, struct curves *v, struct fault *fault) {
    double nm;
    enum status status = fit_row(c, v->columns + 1, fault);
    if (status != STATUS_OK) return status;
    enum scale_said scale;
    if (!column_is_band(c->cell[0].text, true, &nm, &scale)) /* "400 nm" is one too */
        status =
            build_number(c->build, c->cell[0].text, c->decimal, c->cell[0].line, "wavelength", &nm, fault);
    if (status != STATUS_OK) return status;
    if (v->rows == COLUMNS_MOST)
        return FAULT(fault, CSV_ROWS_TOO_MANY, build_file(c->build), COUNT_TEXT(c->cell[0].line),
                     COUNT_TEXT(COLUMNS_MOST));
    if (v->rows == v->capacity) {
        v->capacity = v->capacity ? v->capacity * 2 : 64;
        v->value = memory_grow(v->value, v->capacity * v->columns, sizeof *v->value);
    }
    for (size_t i = 0; i < v->columns; i++) {
        struct band_value *value = &v->value[v->rows * v->columns + i];
        *value = (struct band_value){.nm = nm, .line = c->cell[0].line, .column = v->name[i]};
        status = build_number(c->build, c->cell[i + 1].text, c->decimal, c->cell[0].line, v->name[i],
                              &value->value, fault);
        if (status != STATUS_OK) return status;
    }
    v->rows++;
    return STATUS_OK;
}

static enum status curves_to_samples(struct csv *c, const struct curves *v, int line, struct fault *fault) {
    struct band_value *one = arena_need(c->arena, v->rows + 1, sizeof *one);
    for (size_t i = 0; i < v->columns; i++) {
        struct sample *sample;
        enum status status = build_sample(c->build, v->name[i], line, &sample, fault);
        if (status != STATUS_OK) return status;
        for (size_t r = 0; r < v->rows; r++) one[r] = v->value[r * v->columns + i];
        status = build_spectrum(c->build, sample, one, v->rows, fault);
        if (status != STATUS_OK) return status;
    }
    return build_group_end(c->build, fault);
}

/* Names of the value columns: from the heading, else "value", "value 2" ... */
static void name_curves(struct csv *c, struct curves *v, bool has_heading, struct sample_about *about) {
    v->columns = c->count - 1;
    v->name = arena_need(c->arena, v->columns + 1, sizeof *v->name);
    for (size_t i = 0; i < v->columns; i++) {
        char name[32];
        snprintf(name, sizeof name, "value %zu", i + 1);
        const char *heading = has_heading ? c->cell[i + 1].text : "";
        v->name[i] = *heading ? heading : arena_text(c->arena, name, strlen(name));
        if (scale_in_words(heading) != SCALE_UNSAID) about->scale = scale_in_words(heading);
    }
}

static enum status read_curves(struct csv *c, struct curves *v, bool has_heading, struct fault *fault) {
    bool more = true;
    enum status status = STATUS_OK;
    if (has_heading) status = next_row(c, &more, fault);
    while (status == STATUS_OK && more) {
        status = add_curve_row(c, v, fault);
        if (status == STATUS_OK) status = next_row(c, &more, fault);
    }
    return status;
}

/* Does the row at the position begin with a wavelength? Then what stands above it is its heading, in whatever
 * language. */
static bool wavelength_follows(const struct csv *c) {
    char first[24];
    double nm;
    enum scale_said scale;
    const char *begin = c->at + strspn(c->at, " \t\r\n");
    const char stops[] = {c->separator, '\r', '\n', 0};
    size_t n = strcspn(begin, stops);
    if (n >= sizeof first || begin[n] != c->separator) return false;
    memcpy(first, begin, n);
    while (n && first[n - 1] == ' ') n--;
    first[n] = 0;
    return column_is_band(first, true, &nm, &scale);
}

static enum status read_by_wavelength(struct csv *c, struct fault *fault) {
    double nm;
    const int line = c->cell[0].line;
    const char *first = c->cell[0].text;
    const bool number = text_to_number(first, strlen(first), '.', &nm) ||
                        (c->decimal == DECIMAL_EITHER && text_to_number(first, strlen(first), ',', &nm));
    const bool heading = !number;
    if (heading && !build_starts(first, "wave") && !build_same_any(first, "nm", "lambda", "wl") &&
        !build_holds(first, "nm") && !wavelength_follows(c))
        return FAULT(fault, FORMAT_NOT_KNOWN, build_file(c->build), COUNT_TEXT(line), SHOWN_TEXT(first));
    while (c->count > 2 && c->cell[c->count - 1].text[0] == 0) c->count--;
    if (c->count < 2)
        return FAULT(fault, FORMAT_NOT_KNOWN, build_file(c->build), COUNT_TEXT(line), SHOWN_TEXT(first));
    struct sample_about about = {.silent_means_d65_10 = true, .scale_by = "by the heading"};
    struct curves v = {0};
    name_curves(c, &v, heading, &about);
    build_group(c->build, &about);
    enum status status = read_curves(c, &v, heading, fault);
    if (status == STATUS_OK) status = curves_to_samples(c, &v, line, fault);
    memory_free(v.value);
    return status;
}

/* "sep=;" as the first line, as spreadsheets write it: that separator, or 0. */
static char take_declared(struct csv *c) {
    const char separator = build_starts(c->at, "sep=") ? c->at[4] : 0;
    if (separator != '\t' && separator != ';' && separator != ',') return 0;
    if (c->at[5] != '\r' && c->at[5] != '\n') return 0;
    c->at += 5;
    step_line(c);
    skip_comments(c);
    return separator;
}

enum status sample_csv_read(struct sample_build *build, struct text_in *text, struct arena *arena,
                            struct fault *fault) {
    struct csv c = {.at = text->data, .line = 1, .build = build, .arena = arena};
    c.cell = arena_need(arena, COLUMNS_MOST, sizeof *c.cell);
    skip_comments(&c);
    c.separator = take_declared(&c);
    if (!c.separator) c.separator = find_separator(c.at);
    c.decimal = c.separator == '\t' || c.separator == ';' ? DECIMAL_EITHER : DECIMAL_POINT;
    if (c.decimal == DECIMAL_EITHER) build_decimal_comma(build);
    bool more;
    const enum status status = next_row(&c, &more, fault);
    if (status != STATUS_OK) return status;
    if (!more) return FAULT(fault, FILE_EMPTY, build_file(build));
    return is_heading_of_rows(&c) ? read_by_row(&c, fault) : read_by_wavelength(&c, fault);
}
