/* Words of the command line -> a checked request. "--name value" and "--name=value" are the same; "--" ends
 * the options. */
#include "cli/command_line.h"
#include <stdint.h>
#include <string.h>

/* Optimal string alignment distance, for "the nearest is". */
static size_t distance(const char *a, const char *b) {
    size_t row[64], n = strlen(b);
    if (n > 62) n = 62;
    for (size_t j = 0; j <= n; j++) row[j] = j;
    for (size_t i = 0; a[i]; i++) {
        size_t diagonal = row[0];
        row[0] = i + 1;
        for (size_t j = 1; j <= n; j++) {
            const size_t swap = diagonal + (a[i] != b[j - 1]);
            diagonal = row[j];
            const size_t step = (row[j] < row[j - 1] ? row[j] : row[j - 1]) + 1;
            row[j] = swap < step ? swap : step;
        }
    }
    return row[n];
}

/* Verbs of two words are compared with the first two words. */
static const char *nearest_verb(const char *one, const char *two) {
    size_t count, best = SIZE_MAX;
    const struct operation *o = operations_all(&count);
    const char *name = "match";
    for (size_t i = 0; i < count; i++) {
        const size_t d = distance(strchr(o[i].verb, ' ') ? two : one, o[i].verb);
        if (d < best) best = d, name = o[i].verb;
    }
    return name;
}

static const char *nearest_option(const struct operation *operation, const char *word) {
    size_t count, best = SIZE_MAX;
    const struct argument *a = operation_arguments(operation, &count);
    const char *name = "--json";
    for (size_t i = 0; i < count; i++)
        if (a[i].name[0] == '-' && distance(word, a[i].name) < best)
            best = distance(word, a[i].name), name = a[i].name;
    return name;
}

static const struct argument *find_option(const struct operation *operation, const char *word, size_t n) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    for (size_t i = 0; i < count; i++)
        if (a[i].name[0] == '-' && strlen(a[i].name) == n && strncmp(a[i].name, word, n) == 0) return &a[i];
    return NULL;
}

static bool takes_many(const struct argument *a) {
    return a->count == COUNT_SOME || a->count == COUNT_ANY;
}

/* "The nearest is" helps only when it is near: two slips, or a third of the word. */
static bool is_near(const char *word, const char *nearest) {
    const size_t allowed = strlen(word) / 3;
    return distance(word, nearest) <= (allowed > 2 ? allowed : 2);
}

static enum status unknown_option(const struct operation *operation, const char *name, struct fault *fault) {
    const char *nearest = nearest_option(operation, name);
    if (strcmp(name, "--lab") == 0 && find_option(operation, "--target", 8))
        return FAULT(fault, OPTION_LAB_IS_PLACE, operation->verb);
    if (!is_near(name, nearest)) return FAULT(fault, OPTION_UNKNOWN_FAR, operation->verb, name);
    return FAULT(fault, OPTION_UNKNOWN, operation->verb, name, nearest);
}

static struct text joined_words(const char *first, const char *second) {
    struct text two = {0};
    text_format(&two, "%s %s", first, second);
    return two;
}

/* A verb of two words wins over one of one word. Returns how many words it took. */
static int find_verb(int argc, char **argv, struct arena *arena, const struct operation **operation) {
    if (argc > 2) {
        struct text two = joined_words(argv[1], argv[2]);
        *operation = operation_find(arena_text(arena, two.data, two.length));
        text_free(&two);
        if (*operation) return 2;
    }
    *operation = argc > 1 ? operation_find(argv[1]) : NULL;
    return 1;
}

/* The position that takes the next bare word: the first one not filled, or the last when it takes many. */
static const struct argument *find_position(const struct operation *operation,
                                            const struct request *request) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    for (size_t i = 0; i < count; i++) {
        if (a[i].name[0] != '-' && (takes_many(&a[i]) || !request_has(request, a[i].name))) return &a[i];
    }
    return NULL;
}

struct words {
    int argc, at;
    char **argv;
    const struct argument *open; /* the option before, when it takes many files: a shell writes --log a-*.json
                                    as one word and more */
};

/* The value behind an option: after '=' or the next word. A colour stands in a file's place as --lab=L,a,b,
 * in one word or in two. */
static enum status take_value(struct words *words, const char *name, const char *equals, struct arena *arena,
                              const char **value, struct fault *fault) {
    *value = equals ? equals + 1 : NULL;
    if (!equals && words->at + 1 >= words->argc) return FAULT(fault, OPTION_NEEDS_VALUE, name);
    if (!equals) *value = words->argv[++words->at];
    if (strcmp(*value, "--lab") != 0 || words->at + 1 >= words->argc) return STATUS_OK;
    struct text joined = {0};
    text_format(&joined, "--lab=%s", words->argv[++words->at]);
    *value = arena_text(arena, joined.data, joined.length);
    text_free(&joined);
    return STATUS_OK;
}

/* The flags that every verb has. */
static bool *shared_flag(struct command *command, const char *name) {
    if (strcmp(name, "--json") == 0) return &command->json;
    if (strcmp(name, "--timing") == 0) return &command->timing;
    if (strcmp(name, "--help") == 0 || strcmp(name, "-h") == 0) return &command->help;
    return NULL;
}

static enum status take_out(struct words *words, const char *equals, struct command *command,
                            struct arena *arena, struct fault *fault) {
    if (command->out) return FAULT(fault, ARGUMENT_TWICE, "--out");
    const enum status status = take_value(words, "--out", equals, arena, &command->out, fault);
    if (status != STATUS_OK) return status;
    return command->out[0] ? STATUS_OK : FAULT(fault, ARGUMENT_EMPTY, "--out");
}

static enum status take_option(struct words *words, struct command *command, struct arena *arena,
                               struct fault *fault) {
    const char *word = words->argv[words->at], *equals = strchr(word, '=');
    const size_t n = equals ? (size_t)(equals - word) : strlen(word);
    const char *name = arena_text(arena, word, n);
    bool *flag = shared_flag(command, name);
    if (flag && equals) return FAULT(fault, ARGUMENT_FLAG_VALUE, name, equals + 1);
    if (flag) return *flag = true, STATUS_OK;
    if (strcmp(name, "--out") == 0) return take_out(words, equals, command, arena, fault);
    const struct argument *argument = find_option(command->operation, word, n);
    if (!argument) return unknown_option(command->operation, name, fault);
    words->open = argument->type == TYPE_FILE && takes_many(argument) ? argument : NULL;
    const char *value = equals ? equals + 1 : NULL;
    if (argument->type != TYPE_FLAG) {
        const enum status status = take_value(words, name, equals, arena, &value, fault);
        if (status != STATUS_OK) return status;
    }
    return request_add(command->request, argument, value, fault);
}

static enum status take_position(struct words *words, struct command *command, struct fault *fault) {
    const char *word = words->argv[words->at];
    const struct argument *argument = find_position(command->operation, command->request);
    if (!argument) argument = words->open;
    if (!argument) return FAULT(fault, POSITION_TOO_MANY, command->operation->verb, word);
    return request_add(command->request, argument, word, fault);
}

/* "-" is standard input, "-#ID" a sample of it, and -5 or -.5 a number. */
static bool is_option(const char *word) {
    return word[0] == '-' && word[1] != 0 && !strchr("#.0123456789", word[1]);
}

static bool asks_help(const char *word) {
    return strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0 || strcmp(word, "help") == 0;
}

/* "job": the first word of verbs of two. */
static bool is_group(const char *word) {
    size_t count;
    const struct operation *o = operations_all(&count);
    for (size_t i = 0; i < count; i++)
        if (strncmp(o[i].verb, word, strlen(word)) == 0 && o[i].verb[strlen(word)] == ' ') return true;
    return false;
}

enum status command_parse(int argc, char **argv, struct arena *arena, struct command *out,
                          struct fault *fault) {
    out->help = argc < 2 || asks_help(argv[1]);
    if (out->help && argc < 3) return STATUS_OK;
    const bool about = out->help; /* "russet help match" */
    if (about) argv++, argc--;
    const int taken = find_verb(argc, argv, arena, &out->operation);
    if (about && out->operation) return STATUS_OK;
    if (!out->operation && is_group(argv[1])) {
        out->group = argv[1];
        out->help = about || argc == 2 || asks_help(argv[2]);
        return out->help ? STATUS_OK : FAULT(fault, VERB_OF_GROUP, argv[2], argv[1]);
    }
    if (!out->operation && argv[1][0] == '-') return FAULT(fault, VERB_FIRST, argv[1]);
    if (!out->operation) {
        out->help = false;
        const struct text two = joined_words(argv[1], argc > 2 ? argv[2] : "");
        const char *nearest = nearest_verb(argv[1], two.data);
        const bool near = is_near(argv[1], nearest) || is_near(two.data, nearest);
        const enum status status =
            near ? FAULT(fault, VERB_UNKNOWN, argv[1], nearest) : FAULT(fault, VERB_UNKNOWN_FAR, argv[1]);
        memory_free(two.data);
        return status;
    }
    out->request = request_new(out->operation, arena);
    bool options = true;
    struct words words = {argc, taken + 1, argv, NULL};
    for (; words.at < argc; words.at++) {
        const char *word = argv[words.at];
        enum status status = STATUS_OK;
        if (options && strcmp(word, "--") == 0)
            options = false;
        else if (options && is_option(word))
            status = take_option(&words, out, arena, fault);
        else
            status = take_position(&words, out, fault);
        if (status != STATUS_OK) return status;
    }
    return out->help ? STATUS_OK : request_check(out->request, fault);
}
