/* The parts of the sheen flow: the ladder, the strip that is chosen by eye, and what a sheen does to its
 * place. */
#ifndef RUSSET_FLOW_SHEEN_PARTS_H
#define RUSSET_FLOW_SHEEN_PARTS_H

#include "flow/operation.h"
#include "paint/sheen.h"

/* The ladder of --ladder, its curve at --angle and --coats, corrected by --measured. */
enum status sheen_read(const struct surroundings *around, const struct request *request,
                       struct sheen_ladder *ladder, struct sheen_curve *curve, struct fault *fault) MUST_USE;
void sheen_put_mix(json_t *reply, const struct request *request, double matte);
/* A strip, or the mix between two of its dabs. */
enum status sheen_by_eye(const struct surroundings *around, const struct request *request, json_t *reply,
                         struct fault *fault) MUST_USE;
/* Warnings of --place; gu60 NAN when not known. */
void sheen_put_place(json_t *reply, const struct request *request, double gu60);

/* The colour under a sheen of gu60, when --recipe or --colour asks for it. */
enum status sheen_put_shift(const struct surroundings *around, const struct request *request, json_t *reply,
                            double gu60, struct fault *fault) MUST_USE;

void sheen_note(json_t *reply, enum word word, const char *const args[]);
#define SHEEN_NOTE(reply, word, ...) sheen_note(reply, WORD_##word, (const char *const[]){__VA_ARGS__, NULL})

#endif
