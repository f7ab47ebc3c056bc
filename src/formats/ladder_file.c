#include "formats/ladder_file.h"
#include "formats/text_in.h"
#include <math.h>
#include <string.h>

enum column { COLUMN_MATTE, COLUMN_20, COLUMN_60, COLUMN_85, COLUMN_COATS, COLUMN_COUNT };
static const struct {
    const char *name;
    double low, high;
} columns[COLUMN_COUNT] = {
    {"matte_fraction", 0, 1}, {"gu20", 0, 150}, {"gu60", 0, 150}, {"gu85", 0, 150}, {"coats", 1, 20}};

struct reader {
    const char *name;
    int line;
    char separator;
    int place[COLUMN_COUNT]; /* of each column among the cells, -1 when not there */
};

/* Cuts the next line off *rest and terminates it; NULL at the end. */
static char *next_line(char **rest) {
    char *line = *rest;
    if (!line || !*line) return NULL;
    char *end = line + strcspn(line, "\r\n");
    const bool pair = end[0] == '\r' && end[1] == '\n';
    *rest = *end ? end + 1 + pair : end;
    *end = 0;
    return line;
}

static bool is_space(char c) {
    return c == ' ' || c == '\t';
}

/* Without the spaces and one pair of quotes around it. */
static char *trimmed(char *cell) {
    size_t n = strlen(cell);
    while (n > 0 && is_space(cell[n - 1])) n--;
    cell[n] = 0;
    while (is_space(*cell)) cell++, n--;
    if (n < 2 || cell[0] != '"' || cell[n - 1] != '"') return cell;
    cell[n - 1] = 0;
    return cell + 1;
}

static char *next_cell(char **rest, char separator) {
    char *cell = *rest;
    if (!cell) return NULL;
    char *end = strchr(cell, separator);
    *rest = end ? end + 1 : NULL;
    if (end) *end = 0;
    return trimmed(cell);
}

static bool is_passed_over(const char *line) {
    const char *s = line;
    while (is_space(*s)) s++;
    return *s == 0 || *s == '#';
}

static int find_column(const char *name) {
    for (int c = 0; c < COLUMN_COUNT; c++)
        if (text_same_ignoring_case(columns[c].name, name)) return c;
    return -1;
}

static enum status read_heading(struct reader *reader, char *line, struct fault *fault) {
    for (int c = 0; c < COLUMN_COUNT; c++) reader->place[c] = -1;
    reader->separator = strchr(line, ';') ? ';' : strchr(line, '\t') ? '\t' : ',';
    int at = 0;
    for (char *cell; (cell = next_cell(&line, reader->separator)); at++) {
        const int c = find_column(cell);
        if (c < 0) continue;
        if (reader->place[c] >= 0)
            return FAULT(fault, LADDER_COLUMN_TWICE, reader->name, COUNT_TEXT(reader->line), columns[c].name);
        reader->place[c] = at;
    }
    const int *place = reader->place;
    const bool has_gloss = place[COLUMN_20] >= 0 || place[COLUMN_60] >= 0 || place[COLUMN_85] >= 0;
    if (place[COLUMN_MATTE] >= 0 && has_gloss) return STATUS_OK;
    return FAULT(fault, LADDER_NO_HEADING, reader->name, COUNT_TEXT(reader->line));
}

static enum status read_cell(const struct reader *reader, int c, const char *cell, double *out,
                             struct fault *fault) {
    const size_t n = strlen(cell);
    const bool comma = reader->separator != ',';
    if (!text_to_number(cell, n, '.', out) && !(comma && text_to_number(cell, n, ',', out)))
        return FAULT(fault, LADDER_NO_NUMBER, reader->name, COUNT_TEXT(reader->line), columns[c].name,
                     SHOWN_TEXT(cell));
    if (*out >= columns[c].low && *out <= columns[c].high && (c != COLUMN_COATS || *out == floor(*out)))
        return STATUS_OK;
    return FAULT(fault, LADDER_OUT_OF_BOUNDS, reader->name, COUNT_TEXT(reader->line), columns[c].name,
                 SHOWN_TEXT(cell), NUMBER_TEXT(columns[c].low), NUMBER_TEXT(columns[c].high));
}

static enum status read_cells(const struct reader *reader, char *line, double value[COLUMN_COUNT],
                              struct fault *fault) {
    int at = 0;
    for (char *cell; (cell = next_cell(&line, reader->separator)); at++)
        for (int c = 0; c < COLUMN_COUNT; c++) {
            if (reader->place[c] != at || *cell == 0) continue;
            const enum status status = read_cell(reader, c, cell, &value[c], fault);
            if (status != STATUS_OK) return status;
        }
    return STATUS_OK;
}

static enum status read_row(const struct reader *reader, char *line, struct sheen_row *row,
                            struct fault *fault) {
    double value[COLUMN_COUNT] = {(double)NAN, (double)NAN, (double)NAN, (double)NAN, (double)NAN};
    const enum status status = read_cells(reader, line, value, fault);
    if (status != STATUS_OK) return status;
    if (isnan(value[COLUMN_MATTE]))
        return FAULT(fault, LADDER_NO_NUMBER, reader->name, COUNT_TEXT(reader->line),
                     columns[COLUMN_MATTE].name, "");
    if (isnan(value[COLUMN_20]) && isnan(value[COLUMN_60]) && isnan(value[COLUMN_85]))
        return FAULT(fault, LADDER_NO_GLOSS, reader->name, COUNT_TEXT(reader->line));
    *row = (struct sheen_row){value[COLUMN_MATTE],
                              {value[COLUMN_20], value[COLUMN_60], value[COLUMN_85]},
                              value[COLUMN_COATS],
                              reader->line};
    return STATUS_OK;
}

enum status ladder_read(const struct bytes *bytes, struct arena *arena, struct sheen_ladder *out,
                        struct fault *fault) {
    struct text_in text;
    enum status status = text_in_decode(bytes, arena, &text, fault);
    if (status != STATUS_OK) return status;
    struct sheen_row *row = arena_need(arena, SHEEN_ROWS_MOST, sizeof *row);
    struct reader reader = {.name = bytes->name};
    size_t count = 0;
    bool heading = false;
    char *rest = text.data;
    for (char *line; (line = next_line(&rest));) {
        reader.line++;
        if (is_passed_over(line)) continue;
        if (heading && count == SHEEN_ROWS_MOST)
            return FAULT(fault, LADDER_TOO_MANY, bytes->name, COUNT_TEXT(reader.line),
                         COUNT_TEXT(SHEEN_ROWS_MOST));
        status = heading ? read_row(&reader, line, &row[count], fault) : read_heading(&reader, line, fault);
        if (status != STATUS_OK) return status;
        count += heading;
        heading = true;
    }
    if (!heading) return FAULT(fault, LADDER_NO_HEADING, bytes->name, COUNT_TEXT(reader.line));
    *out = (struct sheen_ladder){bytes->name, count, row};
    return STATUS_OK;
}
