/* Turns the CIE's tables (CSV files in data/cie: wavelength and one to three columns on a regular grid) into
 * constants.
 *
 *     make_tables FOLDER OUT.c
 */
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_ROWS = 1024, MOST_COLUMNS = 3, MOST_FILES = 64 };

/* "illum_LED-B3.csv" -> "illum_LED_B3", fit for C. */
static const char *identifier(const char *file) {
    static char id[256];
    size_t i = 0;
    for (; file[i] && file[i] != '.' && i + 1 < sizeof id; i++) id[i] = file[i] == '-' ? '_' : file[i];
    id[i] = 0;
    return id;
}

static int compare_names(const void *a, const void *b) {
    return strcmp(a, b);
}

/* Columns behind the wavelength; 0 for a line that holds no numbers. */
static int read_line(char *line, double value[1 + MOST_COLUMNS]) {
    int n = 0;
    for (char *word = strtok(line, ",\r\n"); word && n <= MOST_COLUMNS; word = strtok(NULL, ",\r\n")) {
        char *end = NULL;
        value[n] = strtod(word, &end);
        if (end == word) return 0;
        n++;
    }
    return n - 1;
}

static int convert(const char *folder, const char *file, FILE *out) {
    char path[4096], line[512];
    snprintf(path, sizeof path, "%s/%s", folder, file);
    FILE *in = fopen(path, "r");
    if (!in) return fprintf(stderr, "make_tables: cannot read %s\n", path), 1;
    double value[1 + MOST_COLUMNS], first = 0, last = 0;
    int rows = 0, columns = 0;
    fprintf(out, "static const double table_%s[] = {\n", identifier(file));
    while (fgets(line, sizeof line, in)) {
        const int n = read_line(line, value);
        if (n < 1) continue;
        if (rows++ == 0) first = value[0], columns = n;
        last = value[0];
        for (int i = 1; i <= n; i++) fprintf(out, "%.17g, ", value[i]);
        fputc('\n', out);
    }
    fclose(in);
    if (rows < 2) return fprintf(stderr, "make_tables: %s holds no table\n", path), 1;
    fprintf(out, "};\n#define ROW_%s {\"%.*s\", %.17g, %.17g, %d, %d, table_%s},\n", identifier(file),
            (int)strcspn(file, "."), file, first, (last - first) / (rows - 1), rows, columns,
            identifier(file));
    return 0;
}

int main(int argc, char **argv) {
    static char name[MOST_FILES][256];
    size_t n = 0;
    DIR *folder = argc == 3 ? opendir(argv[1]) : NULL;
    if (!folder) return fprintf(stderr, "make_tables FOLDER OUT.c\n"), 2;
    for (const struct dirent *e; (e = readdir(folder)) && n < MOST_FILES;)
        if (strstr(e->d_name, ".csv")) snprintf(name[n++], sizeof name[0], "%s", e->d_name);
    closedir(folder);
    qsort(name, n, sizeof name[0], compare_names);
    FILE *out = fopen(argv[2], "w");
    if (!out) return fprintf(stderr, "make_tables: cannot write %s\n", argv[2]), 1;
    fputs("/* Made by tools/make_tables.c from data/cie; do not edit. */\n#include \"colour/cie_table.h\"\n",
          out);
    for (size_t i = 0; i < n; i++)
        if (convert(argv[1], name[i], out)) return 1;
    fputs("const struct cie_table cie_tables[] = {\n", out);
    for (size_t i = 0; i < n; i++) fprintf(out, "    ROW_%s\n", identifier(name[i]));
    fputs("    {0},\n};\n", out);
    return fclose(out) == 0 ? 0 : 1;
}
