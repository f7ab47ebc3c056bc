/* Puts the numbered SQL files into a C file: make_schema OUT.c 001.sql 002.sql ... (in that order). */
#include <stdio.h>

static int put_file(FILE *out, int version, const char *name) {
    FILE *in = fopen(name, "rb");
    int c, n = 0;
    if (!in) return perror(name), 1;
    fprintf(out, "static const char step_%d[] = {", version);
    while ((c = getc(in)) != EOF) fprintf(out, "%s%d,", n++ % 24 ? "" : "\n", c < 128 ? c : '?');
    fprintf(out, "0};\n");
    fclose(in);
    return 0;
}

int main(int argc, char **argv) {
    FILE *out = argc > 2 ? fopen(argv[1], "w") : NULL;
    if (!out) return fprintf(stderr, "make_schema: give a file to write and the SQL files\n"), 2;
    fprintf(out, "/* Made by tools/make_schema from src/shop/schema. */\n#include \"shop/schema.h\"\n"
                 "#include \"shop/book.h\"\n#include <assert.h>\n");
    for (int i = 2; i < argc; i++)
        if (put_file(out, i - 1, argv[i]) != 0) return 1;
    fprintf(out, "_Static_assert(BOOK_SCHEMA == %d, \"one file for each version\");\n", argc - 2);
    fprintf(out, "const char *schema_step(int version) {\n    static const char *const steps[] = {");
    for (int i = 2; i < argc; i++) fprintf(out, "step_%d, ", i - 1);
    fprintf(out,
            "};\n    assert(version >= 1 && version <= BOOK_SCHEMA);\n    return steps[version - 1];\n}\n");
    return fclose(out) != 0;
}
