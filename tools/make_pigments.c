/* Turns the table of measured pigments (data/pigments/two-constant-acrylics.csv: two rows a pigment, K and S,
 * columns by wavelength) into constants, 400..700 nm by 10.
 *
 *     make_pigments TABLE.csv OUT.c
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_FIELDS = 80, BANDS = 31 };

static int split(char *line, char *field[MOST_FIELDS]) {
    int n = 0;
    for (char *word = strtok(line, ",\r\n"); word && n < MOST_FIELDS; word = strtok(NULL, ",\r\n"))
        field[n++] = word;
    return n;
}

static void put_curve(FILE *out, char *field[], int first, const char *end) {
    fprintf(out, "{");
    for (int b = 0; b < BANDS; b++) fprintf(out, "%.9g, ", strtod(field[first + b], NULL));
    fprintf(out, "}%s", end);
}

int main(int count, char **word) {
    if (count != 3) return fprintf(stderr, "make_pigments TABLE.csv OUT.c\n"), 2;
    FILE *in = fopen(word[1], "r"), *out = fopen(word[2], "w");
    if (!in || !out) return fprintf(stderr, "make_pigments: cannot open %s\n", in ? word[2] : word[1]), 1;
    static char line[16384];
    int first = -1, rows = 0;
    fprintf(out, "#include \"paint/pigment_row.h\"\n\nconst struct pigment_row pigment_rows[] = {\n");
    while (fgets(line, sizeof line, in)) {
        char *field[MOST_FIELDS];
        if (line[0] == '#') continue;
        const int n = split(line, field);
        for (int i = 3; i < n && first < 0; i++)
            if (strcmp(field[i], "400") == 0) first = i;
        if (n < 4 || strcmp(field[0], "pigment") == 0) continue;
        if (first < 0 || n < first + BANDS) return fprintf(stderr, "make_pigments: a row is short\n"), 1;
        if (field[2][0] == 'K') fprintf(out, "{\"%s\", \"%s\", ", field[0], field[1]);
        put_curve(out, field, first, field[2][0] == 'K' ? ", " : "},\n");
        rows++;
    }
    fprintf(out, "};\nconst int pigment_row_count = %d;\n", rows / 2);
    fclose(in);
    return fclose(out) == 0 && rows > 0 && rows % 2 == 0 ? 0 : 1;
}
