#include "formats/shots_file.h"
#include "formats/text_in.h"
#include <string.h>

enum { COLUMN_SAL = GUN_KNOBS, COLUMN_SA, COLUMNS };
static const struct {
    const char *name;
    double low, high;
} columns[COLUMNS] = {{"pressure_bar", .05, 20}, {"fluid_turns", .01, 50}, {"distance_mm", 10, 2000},
                      {"viscosity_s", 10, 1000}, {"coats", 1, 20},         {"Sal_mm", .001, 100},
                      {"Sa_um", .01, 10000}};
static const char flow_column[] = "flow_ml_min"; /* may stand for fluid_turns */

struct reader {
    const char *name;
    int line;
    char separator;
    int place[COLUMNS];
    double a_turn; /* what a turn is in the column that tells the fluid: 1, or ml/min */
};

static char *cut(char **rest, const char *at) {
    char *piece = *rest;
    if (!piece || !*at) return NULL;
    const size_t n = strcspn(piece, at);
    *rest = piece[n] ? piece + n + 1 : NULL;
    piece[n] = 0;
    return piece;
}

static char *next_cell(char **rest, char separator) {
    char *cell = cut(rest, (const char[]){separator, 0});
    if (!cell) return NULL;
    while (*cell == ' ') cell++;
    size_t n = strlen(cell);
    while (n > 0 && (cell[n - 1] == ' ' || cell[n - 1] == '\r')) cell[--n] = 0;
    return cell;
}

static void place_flow(struct reader *reader, int flow) {
    const bool by_flow = reader->place[GUN_TURNS] < 0 && flow >= 0;
    if (by_flow) reader->place[GUN_TURNS] = flow;
    reader->a_turn = by_flow ? GUN_ML_MIN_A_TURN : 1;
}

static enum status read_heading(struct reader *reader, char *line, struct fault *fault) {
    reader->separator = strchr(line, ';') ? ';' : strchr(line, '\t') ? '\t' : ',';
    for (int c = 0; c < COLUMNS; c++) reader->place[c] = -1;
    int at = 0, flow = -1;
    for (char *cell; (cell = next_cell(&line, reader->separator)); at++) {
        if (flow < 0 && text_same_ignoring_case(flow_column, cell)) flow = at;
        for (int c = 0; c < COLUMNS; c++)
            if (reader->place[c] < 0 && text_same_ignoring_case(columns[c].name, cell)) reader->place[c] = at;
    }
    place_flow(reader, flow);
    for (int c = 0; c < COLUMNS; c++)
        if (reader->place[c] < 0 && c != GUN_COATS)
            return FAULT(fault, SHOTS_NO_HEADING, reader->name, COUNT_TEXT(reader->line));
    return STATUS_OK;
}

static enum status read_cell(const struct reader *reader, int c, const char *cell, double *out,
                             struct fault *fault) {
    const size_t n = strlen(cell);
    const double unit = c == GUN_TURNS ? reader->a_turn : 1;
    const bool number =
        text_to_number(cell, n, '.', out) || (reader->separator != ',' && text_to_number(cell, n, ',', out));
    if (c == GUN_COATS && !*cell) return *out = 1, STATUS_OK;
    *out /= unit;
    if (number && *out >= columns[c].low && *out <= columns[c].high) return STATUS_OK;
    return FAULT(fault, SHOTS_NO_NUMBER, reader->name, COUNT_TEXT(reader->line),
                 unit > 1 ? flow_column : columns[c].name, SHOWN_TEXT(cell),
                 NUMBER_TEXT(unit * columns[c].low), NUMBER_TEXT(unit * columns[c].high));
}

/* is_read: false when the grain of the shot is still blank. */
static enum status read_row(const struct reader *reader, char *line, struct gun_shot *out, bool *is_read,
                            struct fault *fault) {
    const char *cells[COLUMNS] = {"", "", "", "", "", "", ""};
    double value[COLUMNS];
    int at = 0;
    for (char *cell; (cell = next_cell(&line, reader->separator)); at++)
        for (int c = 0; c < COLUMNS; c++)
            if (reader->place[c] == at) cells[c] = cell;
    *is_read = *cells[COLUMN_SAL] && *cells[COLUMN_SA];
    for (int c = 0; c < COLUMNS && *is_read; c++) {
        const enum status status = read_cell(reader, c, cells[c], &value[c], fault);
        if (status != STATUS_OK) return status;
    }
    if (!*is_read) return STATUS_OK;
    memcpy(out->setting.knob, value, sizeof out->setting.knob);
    out->sal_mm = value[COLUMN_SAL], out->sa_um = value[COLUMN_SA];
    return STATUS_OK;
}

enum status shots_read(const struct bytes *bytes, struct arena *arena, struct gun_shot shot[GUN_SHOTS_MOST],
                       int line[GUN_SHOTS_MOST], size_t *count, struct fault *fault) {
    struct text_in text;
    struct reader reader = {.name = bytes->name};
    bool heading = false, is_read = false;
    *count = 0;
    enum status status = text_in_decode(bytes, arena, &text, fault);
    if (status != STATUS_OK) return status;
    char *rest = text.data;
    for (char *row; (row = cut(&rest, "\n"));) {
        struct gun_shot one;
        reader.line++;
        if (row[strspn(row, " \t\r")] == 0 || *row == '#') continue;
        status = heading ? read_row(&reader, row, &one, &is_read, fault) : read_heading(&reader, row, fault);
        if (status != STATUS_OK) return status;
        if (heading && is_read && *count == GUN_SHOTS_MOST)
            return FAULT(fault, SHOTS_MANY, bytes->name, COUNT_TEXT(GUN_SHOTS_MOST));
        if (heading && is_read) line[*count] = reader.line, shot[(*count)++] = one;
        heading = true;
    }
    return heading ? STATUS_OK : FAULT(fault, SHOTS_NO_HEADING, bytes->name, COUNT_TEXT(reader.line));
}
