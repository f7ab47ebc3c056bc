/* Reads a command line, runs its operation, prints the reply. */
#ifndef RUSSET_CLI_COMMAND_LINE_H
#define RUSSET_CLI_COMMAND_LINE_H

#include "flow/operation.h"

/* The exit code. serve: what `russet serve` runs. */
int command_line_run(int argc, char **argv, serve_hook *serve);

/* Words -> request. words begins behind the verb. */
struct command {
    const struct operation *operation;
    const char *group; /* the first word of several verbs, when its help is asked */
    struct request *request;
    bool json, help, timing;
    const char *out;
};
enum status command_parse(int argc, char **argv, struct arena *arena, struct command *out,
                          struct fault *fault) MUST_USE;

/* Help (text for a terminal), manual page (mdoc) and bash completion, all from the table. */
/* group: of one first word alone ("job"), or NULL for all. */
void help_all(const char *group, struct text *out);
void help_operation(const struct operation *operation, struct text *out);
void help_manual(struct text *out);
void help_completion(struct text *out);
/* The types of the page's requests. */
void page_types(struct text *out);

#endif
