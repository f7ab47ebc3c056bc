/* The table of operations as types of the page's language (TypeScript 5): which arguments an operation takes,
 * and of what kind, so that a page that asks for what is not there does not build. `russet --page-types`
 * prints it; tests/web/run compares it with web/src/api/operations.ts. */
#include "cli/command_line.h"
#include "flow/operation.h"
#include <string.h>

static void add_choices(const struct argument *a, struct text *out) {
    const char *choice = NULL;
    for (size_t n = 0; argument_next_choice(a, &choice, &n);)
        text_format(out, "%s\"%.*s\"", choice == a->help ? "" : " | ", (int)n, choice);
}

static void add_value(const struct argument *a, struct text *out) {
    const bool many = a->count == COUNT_SOME || a->count == COUNT_ANY;
    if (a->type == TYPE_FLAG)
        text_add(out, "boolean");
    else if (a->type == TYPE_CHOICE && !many)
        add_choices(a, out);
    else
        text_add(out, many ? "Many" : "One");
}

static void add_operation(const struct operation *operation, struct text *out) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    text_format(out, "    \"%s\": {", operation->verb);
    for (size_t i = 0; i < count; i++) {
        const bool needed = a[i].count == COUNT_ONE || a[i].count == COUNT_SOME;
        text_format(out, "\n        \"%s\"%s: ", a[i].name, needed ? "" : "?");
        add_value(&a[i], out);
        text_add(out, " | Left;");
    }
    text_add(out, count ? "\n    };\n" : "};\n");
}

void page_types(struct text *out) {
    size_t count;
    const struct operation *o = operations_all(&count);
    text_add(
        out,
        "// Made by `russet --page-types` from the table of operations; do not edit. ./test compares.\n\n"
        "type One = string | number;\n"
        "type Many = One | One[];\n"
        "/** Of an empty field; where the operation needs it, the program says so in a sentence. */\n"
        "type Left = null | undefined;\n\n"
        "/** What each operation of `russet --help` takes. */\n"
        "export interface Asked {\n");
    for (size_t i = 0; i < count; i++) add_operation(&o[i], out);
    text_add(out, "}\n\nexport type Verb = keyof Asked;\n");
}
