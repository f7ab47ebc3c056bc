/* Reads a table of tests/data: lines of commas, '#' lines skipped; text columns are kept as NaN. */
#ifndef RUSSET_TESTS_CHECK_TABLE_H
#define RUSSET_TESTS_CHECK_TABLE_H

#include "check.h"

enum { TABLE_ROWS = 512, TABLE_COLUMNS = 16 };

struct check_table {
    int rows;
    double value[TABLE_ROWS][TABLE_COLUMNS];
    char text[TABLE_ROWS][TABLE_COLUMNS][32];
};

static inline void check_table_line(struct check_table *table, char *line) {
    const int row = table->rows++;
    char *rest = line;
    for (int column = 0; column < TABLE_COLUMNS; column++) {
        char *word = strsep(&rest, ",\r\n"), *end = NULL;
        if (!word) break;
        snprintf(table->text[row][column], sizeof table->text[row][column], "%s", word);
        table->value[row][column] = strtod(word, &end);
        if (end == word) table->value[row][column] = (double)NAN;
    }
}

/* name: relative to tests/data. Fails the test when the file is not there. */
static inline struct check_table *check_table_read(const char *name) {
    static struct check_table table;
    memset(&table, 0, sizeof table);
    char path[512], line[1024];
    snprintf(path, sizeof path, "%s/%s", TEST_DATA, name);
    FILE *file = fopen(path, "r");
    CHECK(file != NULL);
    while (file && table.rows < TABLE_ROWS && fgets(line, sizeof line, file))
        if (line[0] != '#') check_table_line(&table, line);
    if (file) fclose(file);
    CHECK(table.rows > 0);
    return &table;
}

#endif
