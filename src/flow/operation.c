#include "flow/operation.h"
#include "colour/light.h"
#include "trade/job_step.h"
#include <string.h>

#define PDF ((unsigned)PAPER_PDF)
#define SVG ((unsigned)PAPER_SVG)
#define PNG ((unsigned)PAPER_PNG)
#define NONE ((unsigned)PAPER_NONE)
#define OWN ((unsigned)PAPER_OWN)

/* Declare what the table names: symbol_flow, symbol_say and the drawing functions. */
#define OPERATION(symbol, verb, papers, draw, summary) \
    extern operation_flow symbol##_flow;               \
    extern operation_say symbol##_say;
#define ARGUMENT(...)
#include "flow/operations.def"
#undef OPERATION
#undef ARGUMENT
#include "flow/papers.h"

static const struct argument arguments[] = {
#define OPERATION(...)
#define ARGUMENT(symbol, name, type, count, unit, low, high, preset, help) \
    {#symbol, name, unit, preset, help, TYPE_##type, COUNT_##count, low, high},
#include "flow/operations.def"
#undef OPERATION
#undef ARGUMENT
    {0},
};

static const struct operation operations[] = {
#define OPERATION(symbol, verb, papers, draw, summary) \
    {#symbol, verb, summary, papers, symbol##_flow, symbol##_say, draw},
#define ARGUMENT(...)
#include "flow/operations.def"
#undef OPERATION
#undef ARGUMENT
    {0},
};

const struct operation *operations_all(size_t *count) {
    *count = sizeof operations / sizeof operations[0] - 1;
    return operations;
}

const struct argument *operation_arguments(const struct operation *operation, size_t *count) {
    const struct argument *first = arguments;
    while (first->operation && strcmp(first->operation, operation->name) != 0) first++;
    *count = 0;
    while (first[*count].operation && strcmp(first[*count].operation, operation->name) == 0) ++*count;
    return first;
}

const struct operation *operation_find(const char *verb) {
    for (const struct operation *o = operations; o->name; o++)
        if (strcmp(o->verb, verb) == 0) return o;
    return NULL;
}

size_t argument_choices_length(const struct argument *argument) {
    return argument->type == TYPE_CHOICE ? strcspn(argument->help, ":") : 0;
}

bool argument_next_choice(const struct argument *argument, const char **at, size_t *length) {
    const char *end = argument->help + argument_choices_length(argument);
    const char *next = *at ? *at + *length + 1 : argument->help;
    if (next >= end) return false;
    *at = next;
    *length = strcspn(next, "|:");
    return true;
}
