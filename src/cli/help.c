/* Help, manual page and completion, all made from the table of operations. */
#include "cli/command_line.h"
#include <math.h>
#include <string.h>

static const char *value_word(const struct argument *a) {
    switch (a->type) {
    case TYPE_FILE:
        return "FILE";
    case TYPE_NUMBER:
        return a->unit[0] ? a->unit : "NUMBER";
    case TYPE_COUNT:
        return "COUNT";
    case TYPE_NUMBERS:
        return "N,N,...";
    case TYPE_IDS:
        return "ID,ID,...";
    case TYPE_PARTS:
        return "TONER=G,...";
    case TYPE_TEXT:
    case TYPE_CHOICE:
        return "TEXT";
    case TYPE_FLAG:
        break;
    }
    return "";
}

static bool is_option(const struct argument *a) {
    return a->name[0] == '-';
}

static bool is_needed(const struct argument *a) {
    return a->count == COUNT_ONE || a->count == COUNT_SOME;
}

static bool is_many(const struct argument *a) {
    return a->count == COUNT_SOME || a->count == COUNT_ANY;
}

/* The values of a choice stand before the first colon of its help. */
static void add_value_word(const struct argument *a, struct text *out) {
    if (a->type == TYPE_CHOICE)
        text_add_bytes(out, a->help, strcspn(a->help, ":"));
    else
        text_add(out, value_word(a));
}

static const char *help_of(const struct argument *a) {
    if (a->type != TYPE_CHOICE) return a->help;
    const char *colon = strchr(a->help, ':');
    return colon ? colon + 1 + (colon[1] == ' ') : a->help;
}

static void add_synopsis_of(const struct argument *a, struct text *out) {
    text_add(out, is_needed(a) ? " " : " [");
    text_add(out, a->name);
    if (is_option(a) && a->type != TYPE_FLAG) {
        text_add(out, " ");
        add_value_word(a, out);
    }
    if (is_many(a)) text_add(out, " ...");
    if (!is_needed(a)) text_add(out, "]");
}

static void add_bounds(const struct argument *a, struct text *out) {
    const bool number =
        a->type == TYPE_NUMBER || a->type == TYPE_COUNT || a->type == TYPE_NUMBERS || a->type == TYPE_PARTS;
    if (number && fabs(a->high) < 1e15)
        text_format(out, " (%g to %g%s%s)", a->low, a->high, a->unit[0] ? " " : "", a->unit);
    if (a->preset[0]) text_format(out, " [%s]", a->preset);
}

void help_operation(const struct operation *operation, struct text *out) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    text_format(out, "%s\n\nrusset %s", operation->summary, operation->verb);
    for (size_t i = 0; i < count; i++) add_synopsis_of(&a[i], out);
    text_add(out, " [--json] [--out FILE]\n\n");
    for (size_t i = 0; i < count; i++) {
        struct text head = {0};
        text_format(&head, "  %s ", a[i].name);
        if (is_option(&a[i])) add_value_word(&a[i], &head);
        text_format(out, "%-30s %s", head.data, help_of(&a[i]));
        add_bounds(&a[i], out);
        text_add(out, "\n");
        text_free(&head);
    }
    text_format(out, "%-30s %s\n", "  --json ", "print one JSON object instead of text");
    text_format(out, "%-30s %s%s%s%s\n", "  --out FILE", "also write the result to FILE (.json",
                operation->papers & (unsigned)PAPER_PDF ? ", .pdf" : "",
                operation->papers & (unsigned)PAPER_SVG ? ", .svg" : "",
                operation->papers & (unsigned)PAPER_PNG ? ", .png)" : ")");
}

static const char lead[] =
    "russet: the bench of a person who puts the finish back on leather, vinyl and plastic.\n";
static const char exits[] = "0 done, 1 the answer is no, 2 wrong usage, 3 bad input, 4 the machine failed.";

void help_all(struct text *out) {
    size_t count;
    const struct operation *o = operations_all(&count);
    text_format(out, "%s\nrusset VERB ... [--json] [--out FILE]\n\n", lead);
    for (size_t i = 0; i < count; i++) text_format(out, "  %-16s %s\n", o[i].verb, o[i].summary);
    text_format(out,
                "\nrusset VERB --help tells the rest; `man russet` holds all of it. A file named - is "
                "standard input.\n"
                "Exit codes: %s\n",
                exits);
}

/* mdoc: a line must not begin with a dot or a quote, and a backslash is special. */
static void add_mdoc(struct text *out, const char *s) {
    for (bool start = true; *s; s++, start = false) {
        if (start && (*s == '.' || *s == '\'')) text_add(out, "\\&");
        if (*s == '\\')
            text_add(out, "\\e");
        else if (*s == '-')
            text_add(out, "\\-");
        else
            text_add_bytes(out, s, 1);
    }
}

static void manual_operation(const struct operation *operation, struct text *out) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    text_format(out, ".Ss russet %s\n", operation->verb);
    add_mdoc(out, operation->summary);
    text_add(out, "\n.Bl -tag -width Ds\n");
    for (size_t i = 0; i < count; i++) {
        text_add(out, ".It Cm ");
        add_mdoc(out, a[i].name);
        text_add(out, " Ar ");
        struct text word = {0};
        text_add(&word, "");
        if (is_option(&a[i])) add_value_word(&a[i], &word);
        add_mdoc(out, word.data);
        text_add(out, "\n");
        add_mdoc(out, help_of(&a[i]));
        text_free(&word);
        struct text bounds = {0};
        text_add(&bounds, "");
        add_bounds(&a[i], &bounds);
        add_mdoc(out, bounds.data);
        text_add(out, is_needed(&a[i]) ? " Needed." : "");
        text_add(out, is_many(&a[i]) ? " May be repeated.\n" : "\n");
        text_free(&bounds);
    }
    text_add(out, ".El\n");
}

void help_manual(struct text *out) {
    size_t count;
    const struct operation *o = operations_all(&count);
    text_add(out, ".Dd November 25, 2026\n.Dt RUSSET 1\n.Os\n.Sh NAME\n.Nm russet\n.Nd colour and finish of "
                  "leather, vinyl "
                  "and plastic from measured toners\n.Sh SYNOPSIS\n.Nm\n.Ar verb\n.Op Ar arguments\n.Op Fl "
                  "Fl json\n.Op Fl "
                  "Fl out Ar file\n.Sh DESCRIPTION\n");
    add_mdoc(out, lead);
    text_add(out, "Every verb prints text for people or, with\n.Fl Fl json ,\none JSON object; with\n.Fl Fl "
                  "out\nthe result is also "
                  "written to a file, all or nothing.\nThe file name - is standard input, and FILE#ID picks "
                  "one sample of a file.\n.Sh VERBS\n");
    for (size_t i = 0; i < count; i++) manual_operation(&o[i], out);
    text_format(out, ".Sh EXIT STATUS\n%s\n", exits);
    text_add(out, ".Sh CAUTIONS\nThe product's safety data sheet, the vehicle maker's manual, local codes "
                  "and licensed practice always come "
                  "before anything that russet says.\n");
}

void help_completion(struct text *out) {
    size_t count, n;
    const struct operation *o = operations_all(&count);
    text_add(out, "# bash completion for russet; made by `russet --completion`\n_russet() {\n    local "
                  "words=\"\" current=\"${COMP_WORDS[COMP_CWORD]}\"\n"
                  "    case \"${COMP_WORDS[1]} ${COMP_WORDS[2]}\" in\n");
    for (size_t i = 0; i < count; i++) {
        const struct argument *a = operation_arguments(&o[i], &n);
        text_format(out, "    \"%s%s\"*) words=\"--json --out --help", o[i].verb,
                    strchr(o[i].verb, ' ') ? "" : " ");
        for (size_t k = 0; k < n; k++)
            if (is_option(&a[k])) text_format(out, " %s", a[k].name);
        text_add(out, "\" ;;\n");
    }
    text_add(out, "    esac\n    if [ \"$COMP_CWORD\" -eq 1 ]; then words=\"");
    for (size_t i = 0; i < count; i++)
        text_format(out, "%s%.*s", i ? " " : "", (int)strcspn(o[i].verb, " "), o[i].verb);
    text_add(out, "\"\n    elif [ \"$COMP_CWORD\" -eq 2 ]; then\n        case \"${COMP_WORDS[1]}\" in\n");
    for (size_t i = 0; i < count; i++) {
        const char *space = strchr(o[i].verb, ' ');
        if (space)
            text_format(out, "        %.*s) words=\"$words %s\" ;;\n", (int)(space - o[i].verb), o[i].verb,
                        space + 1);
    }
    text_add(out, "        esac\n    fi\n    case \"$current\" in\n    -*|\"\") mapfile -t COMPREPLY < "
                  "<(compgen -W \"$words\" -- \"$current\") ;;\n"
                  "    *) mapfile -t COMPREPLY < <(compgen -W \"$words\" -- \"$current\"; compgen -f -- "
                  "\"$current\") ;;\n    esac\n}\ncomplete -F _russet russet\n");
}
