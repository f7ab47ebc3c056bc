/* A request: the values given for an operation's arguments, checked against the table. */
#include "base/text.h"
#include "flow/operation.h"
#include <assert.h>
#include <stdint.h>
#include <string.h>

struct given {
    const struct argument *argument;
    const char *text; /* as given; NULL for a flag */
    double number;
    size_t count;
    const double *numbers;
    const char *const *ids;
    const struct part_text *parts;
    struct given *next;
};

struct request {
    const struct operation *operation;
    struct arena *arena;
    struct given *first, **last;
};

struct request *request_new(const struct operation *operation, struct arena *arena) {
    struct request *request = arena_need(arena, 1, sizeof *request);
    request->operation = operation;
    request->arena = arena;
    request->last = &request->first;
    return request;
}

static enum status check_bounds(const struct argument *a, double value, const char *text,
                                struct fault *fault) {
    if (value >= a->low && value <= a->high) return STATUS_OK;
    if (strcmp(a->unit, "fraction") == 0)
        return FAULT(fault, ARGUMENT_NOT_FRACTION, a->name, text, NUMBER_TEXT(a->low), NUMBER_TEXT(a->high));
    return FAULT(fault, ARGUMENT_OUT_OF_BOUNDS, a->name, text, NUMBER_TEXT(a->low), NUMBER_TEXT(a->high),
                 a->unit[0] ? " " : "", a->unit);
}

static enum status read_number(struct given *given, const char *text, size_t n, double *out,
                               struct fault *fault) {
    if (!text_to_number(text, n, '.', out))
        return FAULT(fault, ARGUMENT_NOT_NUMBER, given->argument->name, text);
    return check_bounds(given->argument, *out, text, fault);
}

static size_t count_items(const char *text) {
    size_t n = 1;
    for (; *text; text++) n += *text == ',';
    return n;
}

static enum status read_numbers(struct given *given, const char *text, struct arena *arena,
                                struct fault *fault) {
    double *numbers = arena_need(arena, count_items(text), sizeof *numbers);
    for (const char *item = text; item;) {
        const char *comma = strchr(item, ',');
        const size_t n = comma ? (size_t)(comma - item) : strlen(item);
        const enum status status = read_number(given, item, n, &numbers[given->count++], fault);
        if (status != STATUS_OK)
            return FAULT(fault, ARGUMENT_NOT_NUMBERS, given->argument->name, text, fault->text);
        item = comma ? comma + 1 : NULL;
    }
    given->numbers = numbers;
    return STATUS_OK;
}

static enum status read_ids(struct given *given, const char *text, struct arena *arena, struct fault *fault) {
    const char **ids = arena_need(arena, count_items(text), sizeof *ids);
    for (const char *item = text; item;) {
        const char *comma = strchr(item, ',');
        const size_t n = comma ? (size_t)(comma - item) : strlen(item);
        if (n == 0) return FAULT(fault, ARGUMENT_EMPTY_ITEM, given->argument->name, text);
        ids[given->count++] = arena_text(arena, item, n);
        item = comma ? comma + 1 : NULL;
    }
    given->ids = ids;
    return STATUS_OK;
}

static enum status read_part(struct given *given, const char *item, size_t n, struct part_text *part,
                             struct arena *arena, struct fault *fault) {
    const char *equals = memchr(item, '=', n);
    if (!equals || equals == item)
        return FAULT(fault, ARGUMENT_NOT_PARTS, given->argument->name, arena_text(arena, item, n));
    part->id = arena_text(arena, item, (size_t)(equals - item));
    const char *number = arena_text(arena, equals + 1, n - (size_t)(equals - item) - 1);
    return read_number(given, number, strlen(number), &part->value, fault);
}

static enum status read_parts(struct given *given, const char *text, struct arena *arena,
                              struct fault *fault) {
    struct part_text *parts = arena_need(arena, count_items(text), sizeof *parts);
    for (const char *item = text; item;) {
        const char *comma = strchr(item, ',');
        const size_t n = comma ? (size_t)(comma - item) : strlen(item);
        const enum status status = read_part(given, item, n, &parts[given->count], arena, fault);
        if (status != STATUS_OK) return status;
        for (size_t i = 0; i < given->count; i++)
            if (strcmp(parts[i].id, parts[given->count].id) == 0)
                return FAULT(fault, ARGUMENT_PART_TWICE, given->argument->name, parts[i].id);
        given->count++;
        item = comma ? comma + 1 : NULL;
    }
    given->parts = parts;
    return STATUS_OK;
}

static bool is_choice(const struct argument *a, const char *text) {
    const char *choice = NULL;
    for (size_t n = 0; argument_next_choice(a, &choice, &n);)
        if (n == strlen(text) && memcmp(choice, text, n) == 0) return true;
    return false;
}

static enum status read_choice(const struct argument *a, const char *text, struct arena *arena,
                               struct fault *fault) {
    if (is_choice(a, text)) return STATUS_OK;
    return FAULT(fault, ARGUMENT_NOT_CHOICE, a->name, text,
                 arena_text(arena, a->help, argument_choices_length(a)));
}

static enum status read_count(struct given *given, const char *text, struct fault *fault) {
    unsigned long long n;
    if (!text_to_count(text, 1000000000ULL, &n))
        return FAULT(fault, ARGUMENT_NOT_COUNT, given->argument->name, text);
    given->number = (double)n;
    return check_bounds(given->argument, given->number, text, fault);
}

static enum status check_text(const struct argument *a, const char *value, struct fault *fault) {
    if (!*value) return FAULT(fault, ARGUMENT_EMPTY, a->name);
    if (!text_is_utf8(value, strlen(value))) return FAULT(fault, ARGUMENT_NOT_UTF8, a->name);
    return value[strspn(value, " \t\r\n")] ? STATUS_OK : FAULT(fault, ARGUMENT_BLANK, a->name);
}

static enum status read_value(struct given *given, const char *value, struct arena *arena,
                              struct fault *fault) {
    switch (given->argument->type) {
    case TYPE_NUMBER:
        return read_number(given, value, strlen(value), &given->number, fault);
    case TYPE_COUNT:
        return read_count(given, value, fault);
    case TYPE_NUMBERS:
        return read_numbers(given, value, arena, fault);
    case TYPE_IDS:
        return read_ids(given, value, arena, fault);
    case TYPE_PARTS:
        return read_parts(given, value, arena, fault);
    case TYPE_CHOICE:
        return read_choice(given->argument, value, arena, fault);
    case TYPE_TEXT:
        return check_text(given->argument, value, fault);
    case TYPE_FILE:
        return *value ? STATUS_OK : FAULT(fault, ARGUMENT_EMPTY, given->argument->name);
    case TYPE_FLAG:
        break;
    }
    return STATUS_OK;
}

static struct given *find(const struct request *request, const char *name) {
    for (struct given *g = request->first; g; g = g->next)
        if (strcmp(g->argument->name, name) == 0) return g;
    return NULL;
}

static const struct given *find_at(const struct request *request, const char *name, size_t i) {
    for (const struct given *g = request->first; g; g = g->next)
        if (strcmp(g->argument->name, name) == 0 && i-- == 0) return g;
    return NULL;
}

enum status request_add(struct request *request, const struct argument *argument, const char *value,
                        struct fault *fault) {
    if (argument->type == TYPE_FLAG && value) return FAULT(fault, ARGUMENT_FLAG_VALUE, argument->name, value);
    const bool once = argument->count == COUNT_ONE || argument->count == COUNT_MAYBE;
    if (once && find(request, argument->name)) return FAULT(fault, ARGUMENT_TWICE, argument->name);
    struct given *given = arena_need(request->arena, 1, sizeof *given);
    given->argument = argument;
    given->text = value;
    struct fault own;
    const enum status status = argument->type == TYPE_FLAG
                                   ? STATUS_OK
                                   : read_value(given, value, request->arena, fault ? fault : &own);
    if (status != STATUS_OK) return status;
    *request->last = given;
    request->last = &given->next;
    return STATUS_OK;
}

/* "-" and "-#ID" are standard input, which ends when it was read. */
static enum status check_inputs(const struct request *request, struct fault *fault) {
    size_t inputs = 0;
    for (const struct given *g = request->first; g; g = g->next) {
        const bool place = g->argument->type == TYPE_FILE || g->argument->type == TYPE_TEXT;
        if (place && g->text[0] == '-' && (g->text[1] == 0 || g->text[1] == '#')) inputs++;
        if (inputs > 1) return FAULT(fault, INPUT_ONCE, g->argument->name);
    }
    return STATUS_OK;
}

enum status request_check(const struct request *request, struct fault *fault) {
    size_t count;
    const struct argument *a = operation_arguments(request->operation, &count);
    for (size_t i = 0; i < count; i++) {
        const bool needed = a[i].count == COUNT_ONE || a[i].count == COUNT_SOME;
        if (needed && !find(request, a[i].name))
            return FAULT(fault, ARGUMENT_MISSING, request->operation->verb, a[i].name, a[i].help);
    }
    return check_inputs(request, fault);
}

/* The given value, or the preset read as if it had been given; NULL when there is neither. */
static const struct given *value_of(const struct request *request, const char *name) {
    const struct given *given = find(request, name);
    if (given) return given;
    size_t count;
    const struct argument *a = operation_arguments(request->operation, &count);
    size_t i = 0;
    while (i < count && strcmp(a[i].name, name) != 0) i++;
    assert(i < count && "the operation has no argument of that name");
    if (!*a[i].preset) return NULL;
    struct given *preset = arena_need(request->arena, 1, sizeof *preset);
    preset->argument = &a[i];
    preset->text = a[i].preset;
    struct fault fault;
    const enum status status = read_value(preset, preset->text, request->arena, &fault);
    assert(status == STATUS_OK && "a preset must be a valid value");
    return status == STATUS_OK ? preset : NULL;
}

bool request_has(const struct request *request, const char *name) {
    return find(request, name) != NULL;
}

bool request_flag(const struct request *request, const char *name) {
    return find(request, name) != NULL;
}

size_t request_count(const struct request *request, const char *name) {
    size_t n = 0;
    for (const struct given *g = request->first; g; g = g->next) n += strcmp(g->argument->name, name) == 0;
    return n;
}

const char *request_text(const struct request *request, const char *name) {
    const struct given *given = value_of(request, name);
    return given ? given->text : NULL;
}

const char *request_text_at(const struct request *request, const char *name, size_t i) {
    const struct given *given = find_at(request, name, i);
    return given ? given->text : NULL;
}

double request_number(const struct request *request, const char *name, double otherwise) {
    const struct given *given = value_of(request, name);
    return given ? given->number : otherwise;
}

const double *request_numbers(const struct request *request, const char *name, size_t *count) {
    const struct given *given = value_of(request, name);
    *count = given ? given->count : 0;
    return given ? given->numbers : NULL;
}

const double *request_numbers_at(const struct request *request, const char *name, size_t i, size_t *count) {
    const struct given *given = find_at(request, name, i);
    *count = given ? given->count : 0;
    return given ? given->numbers : NULL;
}

size_t request_order(const struct request *request, const char *name, size_t i) {
    const struct given *const wanted = find_at(request, name, i);
    size_t order = 0;
    for (const struct given *g = request->first; g && g != wanted; g = g->next) order++;
    return wanted ? order : SIZE_MAX;
}

const char *const *request_ids(const struct request *request, const char *name, size_t *count) {
    const struct given *given = value_of(request, name);
    *count = given ? given->count : 0;
    return given ? given->ids : NULL;
}

const struct part_text *request_parts(const struct request *request, const char *name, size_t *count) {
    const struct given *given = value_of(request, name);
    *count = given ? given->count : 0;
    return given ? given->parts : NULL;
}
