/* CGATS.17 / ISO 28178 exchange text: keyword lines, then BEGIN_DATA_FORMAT names END_DATA_FORMAT and
 * BEGIN_DATA sets END_DATA; again for a further table, which keeps what it does not say anew. '#' begins a
 * comment, strings stand in double quotes (a quote within is doubled). Read here: spectra, Lab, geometry,
 * light and observer; every other column stays a field as text.
 *
 * A set begins on a line of its own and may go on over more lines; so a value that is missing is named on its
 * own line and not where the count at last goes wrong. (Keyword names from CGATS.17's field list as public
 * readers carry it; WEIGHTING_FUNCTION, MEASUREMENT_GEOMETRY and MEASUREMENT_SOURCE from memory.) */
#include "formats/sample_columns.h"
#include "formats/sample_readers.h"
#include <string.h>

enum { TABLES_MOST = 256 };

struct token {
    char *text;
    int line;
    bool quoted, first; /* first on its line */
};

struct cgats {
    char *at;
    int line;
    bool line_begins;
    struct sample_build *build;
    struct arena *arena;
    struct sample_about about;
    struct sample_columns columns;
    bool has_columns, has_spectra;
    const char *specular;             /* said apart from the geometry */
    long long sets_said, fields_said; /* -1: not */
    size_t fields_left, tables;
    struct cell *cell;
    struct {
        size_t first, count;
    } lab_only[TABLES_MOST];
    size_t lab_only_count;
};

bool cgats_is(const struct text_in *text) {
    for (const char *at = text->data; (at = strstr(at, "BEGIN_DATA")) != NULL; at++) {
        const char *before = at;
        while (before > text->data && (before[-1] == ' ' || before[-1] == '\t')) before--;
        if (before == text->data || before[-1] == '\n' || before[-1] == '\r') return true;
    }
    return false;
}

/* Tokens
 * ------------------------------------------------------------------------------------------------------------------
 */

/* Steps over one end of line: LF, CR or CR LF. */
static void step_line(struct cgats *c, char was) {
    if (was == '\r' && *c->at == '\n') c->at++;
    c->line++;
    c->line_begins = true;
}

static void skip_space(struct cgats *c) {
    for (;;) {
        if (*c->at == '#') c->at += strcspn(c->at, "\r\n");
        if (*c->at == '\r' || *c->at == '\n') {
            const char was = *c->at++;
            step_line(c, was);
        } else if (*c->at == ' ' || *c->at == '\t' || *c->at == '\f' || *c->at == '\v') {
            c->at++;
        } else {
            return;
        }
    }
}

/* "a ""b""" -> a "b", in place. False when the quote does not close on its line. */
static bool take_quoted(struct cgats *c) {
    char *to = c->at;
    for (;;) {
        const char ch = *c->at;
        if (ch == 0 || ch == '\r' || ch == '\n') return false;
        c->at++;
        if (ch == '"' && *c->at != '"') break;
        if (ch == '"') c->at++;
        *to++ = ch;
    }
    *to = 0;
    return true;
}

/* The next token, text NULL at the end of the file. */
static enum status next_token(struct cgats *c, struct token *out, struct fault *fault) {
    skip_space(c);
    *out = (struct token){.line = c->line, .first = c->line_begins};
    c->line_begins = false;
    if (*c->at == 0) return STATUS_OK;
    out->text = c->at;
    if (*c->at == '"') {
        out->text = ++c->at;
        out->quoted = true;
        if (!take_quoted(c)) return FAULT(fault, QUOTE_OPEN, build_file(c->build), COUNT_TEXT(c->line));
        return STATUS_OK;
    }
    c->at += strcspn(c->at, " \t\r\n\f\v");
    const char was = *c->at;
    if (was == 0) return STATUS_OK;
    *c->at++ = 0;
    if (was == '\r' || was == '\n') step_line(c, was);
    return STATUS_OK;
}

static bool is_word(const struct token *token, const char *word) {
    return token->text && !token->quoted && text_same_ignoring_case(token->text, word);
}

/* Keywords
 * ----------------------------------------------------------------------------------------------------------------
 */

static const char *keep(struct cgats *c, const char *text, size_t n) {
    return arena_text(c->arena, text, n < 100 ? n : 100);
}

/* "... Illumination=D50 ObserverAngle=2 ...": the word behind name=. */
static const char *find_setting(struct cgats *c, const char *text, const char *name) {
    const size_t n = strlen(name);
    for (const char *at = text; *at; at++) {
        size_t i = 0;
        while (i < n && at[i] && (at[i] | 0x20) == (name[i] | 0x20)) i++;
        if (i == n) return keep(c, at + n, strcspn(at + n, " ,;\t"));
    }
    return NULL;
}

static void weighting(struct cgats *c, const char *value) {
    const char *comma = strchr(value, ',');
    if (!comma) return;
    const char *rest = comma + 1 + strspn(comma + 1, " ");
    if (build_starts(value, "ILLUMINANT")) c->about.light = keep(c, rest, strlen(rest));
    if (build_starts(value, "OBSERVER")) c->about.observer = keep(c, rest, strlen(rest));
}

static void measurement_source(struct cgats *c, const char *value) {
    const char *light = find_setting(c, value, "Illumination="),
               *observer = find_setting(c, value, "ObserverAngle=");
    if (light) c->about.light = light;
    if (observer) c->about.observer = observer;
}

static void note_geometry(struct cgats *c, const char *value) {
    const enum geometry geometry = build_geometry(value);
    struct fault note;
    if (geometry != GEOMETRY_UNKNOWN) {
        c->about.geometry = geometry;
    } else {
        FAULT(&note, GEOMETRY_NOT_KNOWN, build_file(c->build), SHOWN_TEXT(value));
        build_note(c->build, &note);
    }
}

static void note_grid(struct cgats *c, const char *key, double number) {
    if (text_same_ignoring_case(key, "SPECTRAL_START_NM")) c->about.start_nm = number;
    if (text_same_ignoring_case(key, "SPECTRAL_END_NM")) c->about.end_nm = number;
    if (text_same_ignoring_case(key, "SPECTRAL_BANDS") && number >= 0 && number <= COLUMNS_MOST)
        c->about.bands = (size_t)number;
    if (text_same_ignoring_case(key, "NUMBER_OF_SETS") && number >= 0 && number < 1e9)
        c->sets_said = (long long)number;
    if (text_same_ignoring_case(key, "NUMBER_OF_FIELDS") && number >= 0 && number < 1e9)
        c->fields_said = (long long)number;
    if (!text_same_ignoring_case(key, "SPECTRAL_NORM")) return;
    c->about.scale = number == 100 ? SCALE_PERCENT : number == 1 ? SCALE_FRACTION : SCALE_UNSAID;
    c->about.scale_by = number == 100 ? "SPECTRAL_NORM 100" : "SPECTRAL_NORM 1";
}

static void keyword(struct cgats *c, const char *key, const char *value) {
    double number;
    if (build_same_any(key, "MEASUREMENT_GEOMETRY", "GEOMETRY", "INSTRUMENT_GEOMETRY"))
        note_geometry(c, value);
    else if (build_same_any(key, "SPECULAR", "SPECULAR_COMPONENT"))
        c->specular = keep(c, value, strlen(value));
    else if (build_same_any(key, "INSTRUMENTATION") && c->about.geometry == GEOMETRY_UNKNOWN)
        c->about.geometry = build_geometry(value);
    else if (build_same_any(key, "ILLUMINATION_NAME", "ILLUMINANT", "ILLUMINATION"))
        c->about.light = keep(c, value, strlen(value));
    else if (build_same_any(key, "OBSERVER_ANGLE", "OBSERVER", "OBSERVERANGLE"))
        c->about.observer = keep(c, value, strlen(value));
    else if (build_same_any(key, "WEIGHTING_FUNCTION"))
        weighting(c, value);
    else if (build_same_any(key, "MEASUREMENT_SOURCE"))
        measurement_source(c, value);
    else if (text_to_number(value, strlen(value), '.', &number))
        note_grid(c, key, number);
}

/* SCI or SCE said apart ("SPECULAR" "EXCLUDED") decides for a sphere. */
static void settle_geometry(struct cgats *c) {
    if (!c->specular || c->about.geometry == GEOMETRY_45_0) return;
    if (build_holds(c->specular, "excl") || build_holds(c->specular, "sce"))
        c->about.geometry = GEOMETRY_SCE;
    else if (build_holds(c->specular, "incl") || build_holds(c->specular, "sci"))
        c->about.geometry = GEOMETRY_SCI;
}

/* The rest of a keyword's line as one text; *next is the first token of a later line. */
static enum status take_value(struct cgats *c, char value[256], struct token *next, struct fault *fault) {
    size_t n = 0;
    enum status status;
    while ((status = next_token(c, next, fault)) == STATUS_OK && next->text && !next->first) {
        const size_t more = strlen(next->text);
        if (n + more + 2 >= 256) continue;
        if (n) value[n++] = ' ';
        memcpy(value + n, next->text, more);
        n += more;
    }
    value[n] = 0;
    return status;
}

/* Tables
 * ------------------------------------------------------------------------------------------------------------------
 */

static enum status data_format(struct cgats *c, int began, struct fault *fault) {
    size_t n = 0;
    for (;;) {
        struct token token;
        const enum status status = next_token(c, &token, fault);
        if (status != STATUS_OK) return status;
        if (!token.text)
            return FAULT(fault, CGATS_NOT_ENDED, build_file(c->build), "BEGIN_DATA_FORMAT", COUNT_TEXT(began),
                         "END_DATA_FORMAT");
        if (is_word(&token, "END_DATA_FORMAT")) break;
        if (n == COLUMNS_MOST)
            return FAULT(fault, COLUMNS_TOO_MANY, build_file(c->build), COUNT_TEXT(token.line),
                         COUNT_TEXT(COLUMNS_MOST));
        c->cell[n++] = (struct cell){token.text, token.line};
    }
    if (n == 0) return FAULT(fault, CGATS_FORMAT_EMPTY, build_file(c->build), COUNT_TEXT(began));
    c->has_columns = true;
    return columns_read(c->build, c->cell, n, false, DECIMAL_POINT, c->arena, &c->columns, fault);
}

static enum status wrong_count(struct cgats *c, int line, size_t n, struct fault *fault) {
    return FAULT(fault, CGATS_SET_LENGTH, build_file(c->build), COUNT_TEXT(line), COUNT_TEXT((long long)n),
                 COUNT_TEXT((long long)c->columns.count));
}

static size_t count_rest_of_line(struct cgats *c) {
    struct token token;
    size_t n = 0;
    while (next_token(c, &token, NULL) == STATUS_OK && token.text && !token.first) n++;
    return n;
}

/* More on the line where the set is full: either its first line was too short, or this one is too long. */
static enum status check_set_ends(struct cgats *c, size_t on_first_line, struct fault *fault) {
    skip_space(c);
    if (*c->at == 0 || c->line_begins || build_starts(c->at, "END_DATA")) return STATUS_OK;
    if (on_first_line == c->columns.count) on_first_line += count_rest_of_line(c);
    return wrong_count(c, c->cell[0].line, on_first_line, fault);
}

/* One set into c->cell. *ended: END_DATA came instead. */
static enum status take_set(struct cgats *c, int began, bool *ended, struct fault *fault) {
    size_t on_first_line = 0;
    for (size_t n = 0; n < c->columns.count; n++) {
        struct token token;
        const enum status status = next_token(c, &token, fault);
        if (status != STATUS_OK) return status;
        if (!token.text)
            return FAULT(fault, CGATS_NOT_ENDED, build_file(c->build), "BEGIN_DATA", COUNT_TEXT(began),
                         "END_DATA");
        *ended = is_word(&token, "END_DATA");
        if (*ended) return n == 0 ? STATUS_OK : wrong_count(c, c->cell[0].line, on_first_line, fault);
        c->cell[n] = (struct cell){token.text, token.line};
        on_first_line += token.line == c->cell[0].line;
    }
    return check_set_ends(c, on_first_line, fault);
}

static enum status read_sets(struct cgats *c, int began, size_t *sets, struct fault *fault) {
    const bool wanted = columns_have_colour(&c->columns);
    for (*sets = 0;; ++*sets) {
        bool ended = false;
        enum status status = take_set(c, began, &ended, fault);
        if (status != STATUS_OK || ended) return status;
        if (!wanted) continue;
        status = columns_row(c->build, &c->columns, c->cell, c->arena, &c->fields_left, fault);
        if (status != STATUS_OK) return status;
    }
}

static void note_counts(struct cgats *c, int began, size_t sets) {
    struct fault note;
    if (c->sets_said >= 0 && c->sets_said != (long long)sets) {
        FAULT(&note, CGATS_SETS_DIFFER, build_file(c->build), COUNT_TEXT(began), COUNT_TEXT(c->sets_said),
              COUNT_TEXT((long long)sets));
        build_note(c->build, &note);
    }
    if (c->fields_said >= 0 && c->fields_said != (long long)c->columns.count) {
        FAULT(&note, CGATS_FIELDS_DIFFER, build_file(c->build), COUNT_TEXT(c->fields_said),
              COUNT_TEXT((long long)c->columns.count));
        build_note(c->build, &note);
    }
    c->sets_said = c->fields_said = -1;
}

static void remember_table(struct cgats *c, size_t first) {
    struct fault note;
    const bool spectral = c->columns.bands + c->columns.pairs > 0;
    c->has_spectra = c->has_spectra || spectral;
    if (!columns_have_colour(&c->columns)) {
        FAULT(&note, TABLE_WITHOUT_COLOUR, build_file(c->build), COUNT_TEXT(c->columns.column[0].line));
        build_note(c->build, &note);
    } else if (!spectral) {
        c->lab_only[c->lab_only_count].first = first;
        c->lab_only[c->lab_only_count++].count = build_count(c->build) - first;
    }
}

static enum status data(struct cgats *c, int began, struct fault *fault) {
    if (!c->has_columns) return FAULT(fault, CGATS_FORMAT_MISSING, build_file(c->build), COUNT_TEXT(began));
    if (c->tables++ == TABLES_MOST)
        return FAULT(fault, TABLES_TOO_MANY, build_file(c->build), COUNT_TEXT(began),
                     COUNT_TEXT(TABLES_MOST));
    settle_geometry(c);
    struct sample_about about = c->about;
    if (c->columns.scale != SCALE_UNSAID) {
        about.scale = c->columns.scale;
        about.scale_by = about.scale == SCALE_PERCENT ? "SPECTRAL_PCT" : "SPECTRAL_DEC";
    }
    const size_t first = build_count(c->build);
    size_t sets;
    build_group(c->build, &about);
    enum status status = read_sets(c, began, &sets, fault);
    if (status == STATUS_OK) status = build_group_end(c->build, fault);
    if (status != STATUS_OK) return status;
    note_counts(c, began, sets);
    remember_table(c, first);
    return STATUS_OK;
}

/* A table of Lab values beside tables of spectra says again what the spectra say. */
static void drop_lab_tables(struct cgats *c) {
    if (!c->has_spectra || c->lab_only_count == 0) return;
    struct fault note;
    for (size_t i = c->lab_only_count; i-- > 0;)
        build_drop(c->build, c->lab_only[i].first, c->lab_only[i].count);
    FAULT(&note, LAB_TABLE_LEFT_OUT, build_file(c->build));
    build_note(c->build, &note);
}

enum status cgats_read(struct sample_build *build, struct text_in *text, struct arena *arena,
                       struct fault *fault) {
    struct cgats *c = arena_need(arena, 1, sizeof *c);
    *c = (struct cgats){.at = text->data, .line = 1, .line_begins = true, .build = build, .arena = arena};
    c->fields_left = FIELDS_MOST;
    c->sets_said = c->fields_said = -1;
    c->cell = arena_need(arena, COLUMNS_MOST, sizeof *c->cell);
    struct token token;
    enum status status = next_token(c, &token, fault);
    while (status == STATUS_OK && token.text) {
        if (is_word(&token, "BEGIN_DATA_FORMAT") || is_word(&token, "BEGIN_DATA")) {
            status = is_word(&token, "BEGIN_DATA") ? data(c, token.line, fault)
                                                   : data_format(c, token.line, fault);
            if (status == STATUS_OK) status = next_token(c, &token, fault);
            continue;
        }
        char value[256];
        const char *key = token.text;
        status = take_value(c, value, &token, fault);
        if (status == STATUS_OK) keyword(c, key, value);
    }
    if (status == STATUS_OK) drop_lab_tables(c);
    return status;
}
