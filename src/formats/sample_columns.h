/* Only for the readers of this folder: the columns of a table (CGATS or CSV) by their headings, and its rows
 * as samples. */
#ifndef RUSSET_FORMATS_SAMPLE_COLUMNS_H
#define RUSSET_FORMATS_SAMPLE_COLUMNS_H

#include "formats/sample_build.h"

enum column_kind { COLUMN_FIELD, COLUMN_BAND, COLUMN_PAIR_NM, COLUMN_PAIR_VALUE };

struct column {
    const char *name;
    enum column_kind kind;
    double nm; /* of a band */
    int line;
};

struct cell {
    const char *text;
    int line;
};

struct sample_columns {
    struct column *column;
    size_t count, bands, pairs, fields;
    int id;     /* column of the sample's id, or -1 */
    int lab[3]; /* columns of L, a, b, or -1 */
    enum scale_said scale;
    enum decimal decimal;
};

/* "SPECTRAL_NM400", "NM_400", "SPEC_400", "R400" ... any case; bare: "400" and "400nm" too. */
bool column_is_band(const char *name, bool bare, double *nm, enum scale_said *scale);
/* heading[count] -> columns; refuses a heading that is there twice. */
enum status columns_read(const struct sample_build *build, const struct cell *heading, size_t count,
                         bool bare, enum decimal decimal, struct arena *arena, struct sample_columns *out,
                         struct fault *fault) MUST_USE;
/* Has the table anything that is a colour? */
bool columns_have_colour(const struct sample_columns *columns);
/* cell[columns->count] as one more sample. fields_left: how many fields the file may still have. */
enum status columns_row(struct sample_build *build, const struct sample_columns *columns,
                        const struct cell *cell, struct arena *arena, size_t *fields_left,
                        struct fault *fault) MUST_USE;

#endif
