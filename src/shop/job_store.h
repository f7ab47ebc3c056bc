/* Jobs with their pieces, materials and colours. Texts live in the arena that was given. */
#ifndef RUSSET_SHOP_JOB_STORE_H
#define RUSSET_SHOP_JOB_STORE_H

#include "shop/book.h"

struct job_row {
    char id[ID_LENGTH + 1];
    const char *origin;   /* the book that gave the number; NULL on adding is ours */
    long long number;     /* 0 on adding: the next one */
    const char *customer; /* NULL for none */
    const char *title, *words, *place;
    const char *state;     /* NULL on adding is "open" */
    const char *due_day;   /* YYYY-MM-DD or NULL */
    const char *return_of; /* the job that came back, or NULL */
    const char *return_cause;
    bool invented;     /* of the demo */
    const char *about; /* a JSON object; NULL is {} */
    const char *zone;  /* NULL on adding is the book's */
    long long created_ms, changed_ms;
};

/* Fills id, origin, number, zone and times where they are left out. With the pen. */
enum status job_store_add(struct book *book, struct job_row *job, struct fault *fault) MUST_USE;
/* All but id, origin, number, zone and created_ms. With the pen. */
enum status job_store_change(struct book *book, struct job_row *job, struct fault *fault) MUST_USE;
/* By number ("7"), id, or the beginning of an id (8 or more of its signs). A number is ours before another
 * book's. INPUT when there is none or more than one. */
enum status job_store_find(struct book *book, const char *text, struct arena *arena, struct job_row *out,
                           struct fault *fault) MUST_USE;

struct job_filter {
    const char *state, *customer, *due_until; /* NULL: any; state "bench": open or waiting */
    const char *words;                        /* in number, title or customer's name; NULL: any */
    size_t most, skip;                        /* a page of them; most 0: all */
};
/* Newest first. */
enum status job_store_list(struct book *book, struct job_filter filter, struct arena *arena,
                           struct job_row **out, size_t *count, struct fault *fault) MUST_USE;
/* The jobs that this one came back as, oldest first. */
enum status job_store_returns(struct book *book, const char *id, struct arena *arena, struct job_row **out,
                              size_t *count, struct fault *fault) MUST_USE;

struct piece_row {
    char id[ID_LENGTH + 1];
    const char *job, *name, *words, *about;
    long long created_ms, changed_ms;
};
struct material_row {
    char id[ID_LENGTH + 1];
    const char *piece, *kind, *words, *about;
    long long created_ms, changed_ms;
};
/* A colour of a job; role: body, second, thread, piping ... */
struct colour_row {
    char id[ID_LENGTH + 1];
    const char *job, *name, *role, *words, *about;
    long long created_ms, changed_ms;
};
/* The adds fill id and times; the changes take all but id, what it belongs to, and created_ms. */
enum status piece_store_add(struct book *book, struct piece_row *piece, struct fault *fault) MUST_USE;
enum status piece_store_change(struct book *book, struct piece_row *piece, struct fault *fault) MUST_USE;
enum status material_store_add(struct book *book, struct material_row *material,
                               struct fault *fault) MUST_USE;
enum status material_store_change(struct book *book, struct material_row *material,
                                  struct fault *fault) MUST_USE;
enum status colour_store_add(struct book *book, struct colour_row *colour, struct fault *fault) MUST_USE;
enum status colour_store_change(struct book *book, struct colour_row *colour, struct fault *fault) MUST_USE;
/* This colour goes on this piece too; twice is fine. */
enum status colour_store_goes_on(struct book *book, const char *colour, const char *piece,
                                 struct fault *fault) MUST_USE;
/* And does not after all; when it never did, that is fine too. */
enum status colour_store_comes_off(struct book *book, const char *colour, const char *piece,
                                   struct fault *fault) MUST_USE;

/* In the order they were added. */
enum status piece_store_list(struct book *book, const char *job, struct arena *arena, struct piece_row **out,
                             size_t *count, struct fault *fault) MUST_USE;
enum status material_store_list(struct book *book, const char *piece, struct arena *arena,
                                struct material_row **out, size_t *count, struct fault *fault) MUST_USE;
enum status colour_store_list(struct book *book, const char *job, struct arena *arena,
                              struct colour_row **out, size_t *count, struct fault *fault) MUST_USE;
/* The ids of the pieces that the colour goes on. */
enum status colour_store_pieces(struct book *book, const char *colour, struct arena *arena, const char ***out,
                                size_t *count, struct fault *fault) MUST_USE;
/* Of a job: by id, the beginning of an id, or name. */
enum status piece_store_find(struct book *book, const char *job, const char *text, struct arena *arena,
                             struct piece_row *out, struct fault *fault) MUST_USE;
enum status colour_store_find(struct book *book, const char *job, const char *text, struct arena *arena,
                              struct colour_row *out, struct fault *fault) MUST_USE;

#endif
