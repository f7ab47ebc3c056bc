/* Help, manual page and completion, all made from the table of operations. */
#include "cli/command_line.h"
#include "trade/piece.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *value_word(const struct argument *a) {
    switch (a->type) {
    case TYPE_FILE:
        return "FILE";
    case TYPE_NUMBER:
    case TYPE_COUNT:
        return "N";
    case TYPE_NUMBERS:
        return "N,N,...";
    case TYPE_IDS:
        return "ID,ID,...";
    case TYPE_PARTS:
        return strcmp(a->unit, "g") == 0 ? "TONER=G,..." : "TONER=N,...";
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

enum { HELP_WIDTH = 80, HELP_COLUMN = 26, CHOICES_MOST = 48 };

/* Each after a blank but the first. */
static void add_choices(const struct argument *a, struct text *out) {
    const char *choice = NULL;
    for (size_t n = 0; argument_next_choice(a, &choice, &n);) {
        text_add(out, choice == a->help ? "" : " ");
        text_add_bytes(out, choice, n);
    }
}

/* The values of a choice; where they are many they stand beside its meaning. */
static void add_value_word(const struct argument *a, struct text *out) {
    if (argument_choices_length(a) > CHOICES_MOST)
        text_add(out, "NAME");
    else if (a->type == TYPE_CHOICE)
        text_add_bytes(out, a->help, argument_choices_length(a));
    else
        text_add(out, value_word(a));
}

static void add_help(const struct argument *a, struct text *out) {
    const size_t n = argument_choices_length(a);
    if (n > CHOICES_MOST) add_choices(a, out);
    if (n > CHOICES_MOST) text_add(out, a->help[n] ? ": " : "");
    const char *rest = a->help + n;
    if (n && n <= CHOICES_MOST && !is_option(a)) { /* no value word stands beside its name */
        text_add_bytes(out, a->help, n);
        text_add(out, *rest ? ": " : "");
    }
    text_add(out, a->type != TYPE_CHOICE || !*rest ? rest : rest + 1 + (rest[1] == ' '));
}

static void add_synopsis_of(const struct argument *a, struct text *out) {
    text_add(out, is_needed(a) ? "" : "[");
    text_add(out, a->name);
    if (is_option(a) && a->type != TYPE_FLAG) {
        text_add(out, " ");
        add_value_word(a, out);
    }
    if (is_many(a)) text_add(out, " ...");
    if (!is_needed(a)) text_add(out, "]");
}

/* A bound as a person writes it: 0.00001 and 1000000, not 1e-05 and 1e+06. */
static void add_number(double value, struct text *out) {
    char digits[40];
    size_t n = (size_t)snprintf(digits, sizeof digits, "%.6f", value);
    while (digits[n - 1] == '0') digits[--n] = 0;
    if (digits[n - 1] == '.') digits[--n] = 0;
    text_add(out, digits);
}

/* What belongs to an argument beside its meaning: needed or not, how often, bounds with their unit, what is
 * taken when it is left out. */
static void add_bounds(const struct argument *a, struct text *out) {
    const bool number =
        a->type == TYPE_NUMBER || a->type == TYPE_COUNT || a->type == TYPE_NUMBERS || a->type == TYPE_PARTS;
    if (number && fabs(a->high) < 1e15) {
        const bool fraction = strcmp(a->unit, "fraction") == 0;
        text_add(out, fraction ? " (a fraction, " : " (");
        add_number(a->low, out);
        text_add(out, " to ");
        add_number(a->high, out);
        text_format(out, "%s%s)", a->unit[0] && !fraction ? " " : "", fraction ? "" : a->unit);
    }
    if (a->preset[0]) text_format(out, " [%s]", a->preset);
    if (is_needed(a)) text_add(out, is_option(a) ? "; needed" : "");
    if (is_many(a)) text_add(out, is_option(a) ? "; may be given more than once" : "; one or more");
}

/* Adds words from column `at` on, broken before HELP_WIDTH; further lines begin in column `indent`. A group
 * in square brackets whose words belong together is passed as one `s` without a break by `whole`. */
static size_t add_broken(const char *s, size_t at, size_t indent, bool whole, struct text *out) {
    while (*s) {
        const size_t n = whole ? strlen(s) : strcspn(s, " ");
        if (at > indent && at + 1 + n > HELP_WIDTH) {
            text_format(out, "\n%*s", (int)indent, "");
            at = indent;
        } else if (at > indent) {
            text_add(out, " ");
            at++;
        }
        text_add_bytes(out, s, n);
        at += n;
        s += n;
        while (*s == ' ') s++;
    }
    return at;
}

static void help_synopsis(const struct operation *operation, struct text *out) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    const size_t indent = strlen("russet ") + strlen(operation->verb) + 1;
    size_t at = indent;
    text_format(out, "russet %s ", operation->verb);
    for (int needed = 1; needed >= 0; needed--)
        for (size_t i = 0; i < count; i++) {
            if (is_needed(&a[i]) != (needed == 1)) continue;
            struct text one = {0};
            add_synopsis_of(&a[i], &one);
            at = add_broken(one.data, at, indent, true, out);
            text_free(&one);
        }
    at = add_broken("[--json]", at, indent, true, out);
    const bool own = operation->papers == (unsigned)PAPER_OWN;
    add_broken(own ? "--out FILE" : "[--out FILE]", at, indent, true, out);
    text_add(out, "\n\n");
}

static void help_row(const char *head, const char *meaning, struct text *out) {
    size_t at = strlen(head) + 2;
    text_format(out, "  %s", head);
    if (at + 1 > HELP_COLUMN) {
        text_add(out, "\n");
        at = 0;
    }
    text_format(out, "%*s", (int)(HELP_COLUMN - at), "");
    add_broken(meaning, HELP_COLUMN, HELP_COLUMN, false, out);
    text_add(out, "\n");
}

static void help_argument(const struct argument *a, struct text *out) {
    struct text head = {0}, meaning = {0};
    text_add(&head, a->name);
    if (is_option(a) && a->type != TYPE_FLAG) {
        text_add(&head, " ");
        add_value_word(a, &head);
    }
    add_help(a, &meaning);
    add_bounds(a, &meaning);
    help_row(head.data, meaning.data, out);
    text_free(&head);
    text_free(&meaning);
}

void help_operation(const struct operation *operation, struct text *out) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    const unsigned papers = (unsigned)operation->papers;
    add_broken(operation->summary, 0, 0, false, out);
    text_add(out, "\n\n");
    help_synopsis(operation, out);
    for (size_t i = 0; i < count; i++) help_argument(&a[i], out);
    help_row("--json", "print one JSON object instead of text", out);
    if (papers == (unsigned)PAPER_OWN) {
        help_row("--out FILE", "the file that is written; needed", out);
        return;
    }
    struct text kinds = {0};
    text_format(&kinds, "also write the result to FILE: .json%s%s%s",
                papers & (unsigned)PAPER_PDF ? ", .pdf" : "", papers & (unsigned)PAPER_SVG ? ", .svg" : "",
                papers & (unsigned)PAPER_PNG ? ", .png" : "");
    help_row("--out FILE", kinds.data, out);
    text_free(&kinds);
}

static const char lead[] =
    "russet: the bench of a person who puts the finish back on leather, vinyl and\nplastic.\n";
static const char exits[] =
    "0 done, 1 the answer is no, 2 wrong usage, 3 bad input, 4 the machine failed, 130 stopped by Ctrl-C.";

static bool is_in_group(const char *verb, const char *group) {
    return !group || (strncmp(verb, group, strlen(group)) == 0 && verb[strlen(group)] == ' ');
}

void help_all(const char *group, struct text *out) {
    size_t count;
    const struct operation *o = operations_all(&count);
    text_format(out, "%s\nrusset %s ... [--json] [--out FILE]\n\n", lead, group ? group : "VERB");
    for (size_t i = 0; i < count; i++) {
        if (!is_in_group(o[i].verb, group)) continue;
        const size_t length = strlen(o[i].verb);
        text_format(out, length > 14 ? "  %s  " : "  %-15s", o[i].verb);
        add_broken(o[i].summary, length > 14 ? length + 4 : 17, 17, false, out);
        text_add(out, "\n");
    }
    if (group) {
        text_format(out, "\nrusset %s ... --help tells the rest of each.\n", group);
        return;
    }
    text_add(out, "\nrusset VERB --help tells the rest; `man russet` holds all of it.\n"
                  "A file named - is standard input; FILE#ID is one sample of a file.\n"
                  "Exit codes:");
    add_broken(exits, strlen("Exit codes:"), 0, false, out);
    text_add(out, "\n");
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
        if (is_option(&a[i]) && a[i].type != TYPE_FLAG) {
            struct text word = {0};
            add_value_word(&a[i], &word);
            text_add(out, " Ar ");
            add_mdoc(out, word.data);
            text_free(&word);
        }
        struct text meaning = {0};
        add_help(&a[i], &meaning);
        add_bounds(&a[i], &meaning);
        text_add(out, "\n");
        add_mdoc(out, meaning.data);
        text_add(out, "\n");
        text_free(&meaning);
    }
    text_add(out, ".El\n");
}

static const char manual_places[] =
    ".Sh ENVIRONMENT\n.Bl -tag -width Ds\n"
    ".It Ev RUSSET_SHOP\nThe shop's folder, where a verb is not told one with\n.Fl Fl shop .\n"
    ".It Ev RUSSET_THREADS\nHow many threads reckon (1 to 16); the results are the same.\n"
    ".It Ev SOURCE_DATE_EPOCH\nThe time that papers and records bear, in seconds since 1970, so that the "
    "same\n"
    "command makes the same bytes.\n"
    ".It Ev TZ\nThe time zone, where the shop has none of its own.\n.El\n"
    ".Sh FILES\n.Bl -tag -width Ds\n"
    ".It Pa ~/.local/share/russet\nThe shop where nothing else is said: the book and the photographs.\n.El\n";

/* A day at the bench; the words of each are checked by tests/cli/options. */
static const char *const manual_day[] = {
    "Once: the shelf, learnt from drawdowns, and the shop's book.",
    "russet toners fit drawdowns.csv --about about.json --out toners.json",
    "russet shop init && russet shelf keep toners.json",
    "russet shelf receive white --lot W-1 --g 500",
    "The job: what was seen, what it costs.",
    "russet job new --title 'Sofa' --customer 'demo customer' --piece 'right arm' --colour white",
    "russet job log 1 --step look --photo before.jpg --note 'scratched by a cat'",
    "russet plan --craft furniture --place cushion --material semi-aniline --damage cut --fire none --out "
    "plan.json",
    "russet job log 1 plan.json --piece 'right arm'",
    "russet shop pricing --currency EUR --hour 30 --margin 40 && russet quote 1 --out quote.pdf && russet "
    "quote 1 --accept",
    "The colour: a file that the instrument wrote, or --lab=L,a,b in its place.",
    "russet reading spot.cxf --out spot.json && russet job log 1 spot.json --colour white",
    "How much, and which recipe, on a scale of 0.1 g:",
    "russet amount --area-m2 .2 --film-um 30 --solids-volume .32 --by mini-gun",
    "russet match --toners toners.json --target spot.json --backing filler.csv --film-um 30 --batch-g 60 "
    "--scale-step .1 --out match.json",
    "russet pour --recipe match.json#1 --batch-g 60 --scale-step .1 --out sheet.pdf",
    "russet pour --recipe match.json#1 --batch-g 60 --scale-step .1 --all-poured --out pour.json && russet "
    "job log 1 pour.json --colour white",
    "The card, dry and coated: what to add; then what was added, into the pot that job show names.",
    "russet adjust --toners toners.json --recipe pour.json --measured card.csv --target spot.json --backing "
    "filler.csv --film-um 30 --scale-step .1 --taken-g 3 --out adjust.json",
    "russet job log 1 adjust.json --pot POT",
    "Coats, sheen without a gloss meter, check, handover:",
    "russet coats --area-m2 .2 --film-um 30 --solids-volume .32 --by mini-gun --recipe match.json#1 --out "
    "coats.json && russet job log 1 coats.json",
    "russet sheen --by-eye; russet sheen --by-eye --nearest 4 --out sheen.json && russet job log 1 "
    "sheen.json",
    "russet inspect 1 --sound spot.cxf --repair repair.cxf --piece 'right arm' --colour white",
    "russet handover 1 --out record.pdf && russet invoice 1 --out invoice.pdf",
    "Months later:",
    "russet finish find --near spot.cxf",
    "russet finish show 'Sofa, white' --out again.json && russet pour --recipe again.json --batch-g 25",
};

static void manual_examples(struct text *out) {
    bool inside = false;
    text_add(out, ".Sh EXAMPLES\n.nh\nA job from the first look to the handover.\n");
    for (size_t i = 0; i < sizeof manual_day / sizeof *manual_day; i++) {
        const bool command = strncmp(manual_day[i], "russet ", 7) == 0;
        if (command != inside) text_add(out, command ? ".Bd -ragged -offset indent\n" : ".Ed\n.Pp\n");
        inside = command;
        add_mdoc(out, manual_day[i]);
        text_add(out, command ? "\n.br\n" : "\n");
    }
    text_add(out, ".Ed\n");
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
    text_add(out, manual_places);
    text_format(out, ".Sh EXIT STATUS\n%s\n", exits);
    manual_examples(out);
    text_add(
        out,
        ".Sh SEE ALSO\nIn\n.Pa /usr/share/doc/russet :\nREADME.md, and in docs a page per topic: "
        "formats.md (what the files look like), same-day.md (without an instrument), trade.md, shop.md.\n");
    text_add(out, ".Sh CAUTIONS\nThe product's safety data sheet, the vehicle maker's manual, local codes "
                  "and licensed practice always come "
                  "before anything that russet says.\n");
}

/* Names that a text or a list is read by (trade/piece.h), as bash shall offer them. */
struct vocabulary {
    const char *option;
    int count;
    const char *(*symbol)(int i);
};
static const char *craft_at(int i) {
    return craft_symbol((enum craft)i);
}
static const char *place_at(int i) {
    return place_of_work_symbol((enum place_of_work)i);
}
static const char *material_at(int i) {
    return material_symbol((enum material)i);
}
static const char *damage_at(int i) {
    return damage_symbol((enum damage)i);
}
static const struct vocabulary vocabularies[] = {{"--craft", CRAFT_COUNT, craft_at},
                                                 {"--place", PLACE_COUNT, place_at},
                                                 {"--material", MATERIAL_COUNT, material_at},
                                                 {"--damage", DAMAGE_COUNT, damage_at}};

/* Those of `plan`; elsewhere --place and --material are free words. */
static void add_vocabulary(const struct operation *operation, const struct argument *a, struct text *out) {
    if (strcmp(operation->verb, "plan") != 0) return;
    for (size_t i = 0; i < sizeof vocabularies / sizeof *vocabularies; i++)
        for (int k = 0; strcmp(vocabularies[i].option, a->name) == 0 && k < vocabularies[i].count; k++)
            text_format(out, " %s", vocabularies[i].symbol(k));
}

/* What follows an option: its choices, a file, or something that cannot be completed. */
static void completion_values(const struct operation *operation, struct text *out) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    text_add(out, "        case \"$before\" in\n        --out");
    for (size_t i = 0; i < count; i++)
        if (is_option(&a[i]) && a[i].type == TYPE_FILE) text_format(out, "|%s", a[i].name);
    text_add(out, ") words=\"\" files=1 ;;\n");
    for (size_t i = 0; i < count; i++) {
        if (!is_option(&a[i]) || a[i].type == TYPE_FLAG || a[i].type == TYPE_FILE) continue;
        text_format(out, "        %s) files=\"\" words=\"", a[i].name);
        if (a[i].type == TYPE_CHOICE) text_add(out, " "), add_choices(&a[i], out);
        add_vocabulary(operation, &a[i], out);
        text_add(out, a[i].type == TYPE_IDS ? "\" list=1 ;;\n" : "\" ;;\n");
    }
    text_add(out, "        esac ;;\n");
}

static void completion_verb(const struct operation *operation, struct text *out) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    text_format(out, "    \"%s%s\"*)\n        words=\"--json --out --help", operation->verb,
                strchr(operation->verb, ' ') ? "" : " ");
    for (size_t k = 0; k < count; k++)
        if (is_option(&a[k]))
            text_format(out, " %s", a[k].name);
        else if (a[k].type == TYPE_CHOICE)
            text_add(out, " "), add_choices(&a[k], out);
    text_add(out, "\"\n");
    completion_values(operation, out);
}

/* Where the verb stands: the first words of all verbs, each once; or, with `family`, the second words of that
 * family. */
static void completion_words(const char *family, struct text *out) {
    size_t count;
    const struct operation *o = operations_all(&count);
    for (size_t i = 0; i < count; i++) {
        const size_t n = strcspn(o[i].verb, " ");
        bool seen = false;
        for (size_t k = 0; k < i; k++) seen = seen || strncmp(o[k].verb, o[i].verb, n + 1) == 0;
        if (!family && !seen) text_format(out, " %.*s", (int)n, o[i].verb);
        if (family && o[i].verb[n] && strncmp(family, o[i].verb, n + 1) == 0)
            text_format(out, " %s", o[i].verb + n + 1);
    }
}

static void completion_families(struct text *out) {
    size_t count;
    const struct operation *o = operations_all(&count);
    for (size_t i = 0; i < count; i++) {
        const size_t n = strcspn(o[i].verb, " ");
        bool seen = !o[i].verb[n];
        for (size_t k = 0; k < i; k++) seen = seen || strncmp(o[k].verb, o[i].verb, n + 1) == 0;
        if (seen) continue;
        text_format(out, "    \"2 %.*s\") files=\"\" words=\"--help", (int)n, o[i].verb);
        completion_words(o[i].verb, out);
        text_add(out, "\" ;;\n");
    }
}

void help_completion(struct text *out) {
    size_t count;
    const struct operation *o = operations_all(&count);
    text_add(out, "# bash completion for russet; made by `russet --completion`\n_russet() {\n"
                  "    local words=\"\" files=1 list=\"\" begun=\"\" current=\"${COMP_WORDS[COMP_CWORD]}\" "
                  "before=\"${COMP_WORDS[COMP_CWORD-1]}\"\n"
                  "    case \"${COMP_WORDS[1]} ${COMP_WORDS[2]}\" in\n");
    for (size_t i = 0; i < count; i++) completion_verb(&o[i], out);
    text_add(out, "    esac\n    case \"$COMP_CWORD ${COMP_WORDS[1]}\" in\n");
    completion_families(out);
    text_add(out, "    1*) files=\"\" words=\"--help --version");
    completion_words(NULL, out);
    text_add(out,
             "\" ;;\n    esac\n"
             /* of a list the names behind the last comma */
             "    case \"$list$current\" in 1*,*) begun=\"${current%,*},\" ;; esac\n"
             "    mapfile -t COMPREPLY < <(\n"
             "        compgen -P \"$begun\" -W \"$words\" -- \"${current#\"$begun\"}\"\n"
             "        case \"$files$current\" in 1-?*) ;; 1*) compgen -f -- \"$current\" ;; esac\n    )\n"
             "}\ncomplete -F _russet russet\n");
}
