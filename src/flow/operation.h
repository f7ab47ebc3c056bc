/* Operations as data, the request that was made of one, and the surroundings it runs in. */
#ifndef RUSSET_FLOW_OPERATION_H
#define RUSSET_FLOW_OPERATION_H

#include "base/work.h"
#include "device/disk.h"
#include "device/id_source.h"
#include "device/wall_clock.h"
#include "flow/serve_flow.h"
#include <jansson.h>

enum argument_type {
    TYPE_FLAG,
    TYPE_TEXT,
    TYPE_FILE,
    TYPE_NUMBER,
    TYPE_COUNT,   /* a whole number */
    TYPE_NUMBERS, /* 1,2,3 */
    TYPE_IDS,     /* a,b,c */
    TYPE_PARTS,   /* id=number,id=number */
    TYPE_CHOICE
};
enum argument_count { COUNT_ONE, COUNT_MAYBE, COUNT_SOME, COUNT_ANY };
/* PAPER_OWN: --out is needed and the flow writes it itself, to around->out. */
enum paper { PAPER_NONE = 0, PAPER_PDF = 1, PAPER_SVG = 2, PAPER_PNG = 4, PAPER_OWN = 8 };

struct argument {
    const char *operation; /* the symbol of its operation */
    const char *name, *unit, *preset, *help;
    enum argument_type type;
    enum argument_count count;
    double low, high;
};

/* The program that decodes photographs, and the seconds it has for a small one (0: the usual). */
struct picture_decoder {
    const char *program;
    double seconds;
};

/* What an operation runs in; everything that it takes from the world comes through here. */
struct surroundings {
    const struct disk *disk;
    struct work *work;
    struct arena *arena;
    const struct picture_decoder *decoder; /* NULL: the own one, beside the program; tests have others */
    struct wall_clock clock;               /* the time of day, for what is kept */
    struct id_source ids;                  /* new keys; copied into the book that makes them */
    const char *out;              /* --out, for an operation that writes that file by itself (PAPER_OWN) */
    const char *shop_dir;         /* the shop, where it is not the request's to say; NULL: it is */
    const struct disk *shop_disk; /* what the shop's own files are reached by; NULL: disk */
    const char *asked;            /* key of the request, so that it is carried out once; NULL: none */
    serve_hook *serve;            /* NULL where no server is */
};

struct request;
typedef enum status operation_flow(const struct surroundings *around, const struct request *request,
                                   json_t **reply, struct fault *fault);
typedef void operation_say(const json_t *reply, struct text *out);
typedef enum status operation_paper(const json_t *reply, enum paper paper, struct text *out,
                                    struct fault *fault);

struct operation {
    const char *name, *verb, *summary;
    unsigned papers; /* a set of enum paper */
    operation_flow *flow;
    operation_say *say;
    operation_paper *draw; /* NULL when papers is 0 */
};

const struct operation *operations_all(size_t *count);
const struct argument *operation_arguments(const struct operation *operation, size_t *count);
/* The values of a choice stand before the first colon of its help, parted by '|'. How long that is; 0 for
 * what is no choice. */
size_t argument_choices_length(const struct argument *argument);
/* The next of them: *at is NULL before the first, then the value, *length bytes of it. false: no more. */
bool argument_next_choice(const struct argument *argument, const char **at, size_t *length);
/* The operation of "toners fit"; words of a verb are joined by one space. */
const struct operation *operation_find(const char *verb);

/* A number of a list "id=number". */
struct part_text {
    const char *id;
    double value;
};

/* A checked request: every value is inside its bounds and of its type. Made by request_add and request_check.
 */
struct request *request_new(const struct operation *operation, struct arena *arena);
/* value NULL for a flag. USAGE with a sentence when the type or the bounds do not fit. */
enum status request_add(struct request *request, const struct argument *argument, const char *value,
                        struct fault *fault) MUST_USE;
enum status request_check(const struct request *request,
                          struct fault *fault) MUST_USE; /* what is needed is there */

/* Typed access by the argument's name; asking for a name that the operation does not have is asserted.
 * Presets count as given for the values, not for request_has. */
bool request_has(const struct request *request, const char *name);
bool request_flag(const struct request *request, const char *name);
size_t request_count(const struct request *request, const char *name);
const char *request_text(const struct request *request, const char *name); /* NULL when left out */
const char *request_text_at(const struct request *request, const char *name, size_t i);
double request_number(const struct request *request, const char *name, double otherwise);
const double *request_numbers(const struct request *request, const char *name, size_t *count);
/* The i-th of several lists. */
const double *request_numbers_at(const struct request *request, const char *name, size_t i, size_t *count);
/* Where on the line the i-th value of that name stood among all that was given (0, 1 ...); SIZE_MAX when
 * there is none. */
size_t request_order(const struct request *request, const char *name, size_t i);
const char *const *request_ids(const struct request *request, const char *name, size_t *count);
const struct part_text *request_parts(const struct request *request, const char *name, size_t *count);

#endif
