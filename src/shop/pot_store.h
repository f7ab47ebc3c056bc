/* Pots as they were made, what was weighed into them, what happened to them, and the coats that came out of
 * them. All of it is a log. Masses are whole milligrams. Texts live in the arena that was given. */
#ifndef RUSSET_SHOP_POT_STORE_H
#define RUSSET_SHOP_POT_STORE_H

#include "shop/book.h"

struct pot_row {
    char id[ID_LENGTH + 1];
    const char *job, *colour, *entry; /* NULL for none */
    const char *name;
    const char *document; /* the recipe or pour that it was made by */
    long long at_ms;
    const char *zone; /* NULL on adding is the book's */
    /* Of the events so far; not read when adding. */
    bool crosslinked; /* and so never put back */
    long long crosslinked_ms;
    double life_min; /* of the crosslinked pot, by its sheet; NAN when nobody said */
    bool put_back, emptied;
    const char *taken_back; /* the entry that put its pour right, whose pot stands in its place; NULL: none */
    long long poured_mg, taken_mg;
    const char *colour_name; /* NULL for none */
    int twins;               /* older pots of its job with its name and colour */
};
enum status pot_store_add(struct book *book, struct pot_row *pot, struct fault *fault) MUST_USE;
/* By key or the beginning of one. */
enum status pot_store_get(struct book *book, const char *id, struct arena *arena, struct pot_row *out,
                          struct fault *fault) MUST_USE;
/* The pot that this entry made; *found tells whether there is one. */
enum status pot_store_of_entry(struct book *book, const char *entry, struct arena *arena, struct pot_row *out,
                               bool *found, struct fault *fault) MUST_USE;
/* Of a job; NULL: those that stand on the shelf (put back and not emptied since). */
enum status pot_store_list(struct book *book, const char *job, struct arena *arena, struct pot_row **out,
                           size_t *count, struct fault *fault) MUST_USE;

/* kind: crosslinked, taken, put-back, emptied, note. A crosslinked pot is never put back: INPUT, by the book
 * itself. */
struct pot_event {
    char id[ID_LENGTH + 1];
    const char *pot, *kind, *words;
    long long mg;    /* of `taken` */
    double life_min; /* of `crosslinked`; NAN when nobody said */
    long long at_ms;
    const char *zone;
};
enum status pot_store_log(struct book *book, struct pot_event *event, struct fault *fault) MUST_USE;
enum status pot_store_events(struct book *book, const char *pot, struct arena *arena, struct pot_event **out,
                             size_t *count, struct fault *fault) MUST_USE;

/* The stock gets back what was poured out of it into that pot, by moves of their own; *mg says how much. */
enum status pot_store_take_back(struct book *book, const char *pot, long long *mg,
                                struct fault *fault) MUST_USE;

/* What came into a standing pot with an entry that was logged after its first pour (a correction): which pot,
 * and how much. *pot is NULL when nothing did. */
enum status pot_store_added(struct book *book, const char *entry, struct arena *arena, const char **pot,
                            long long *mg, struct fault *fault) MUST_USE;
/* The stock gets that back. Once the entry is replaced, it is no part of the pot any more. */
enum status pot_store_take_back_added(struct book *book, const char *entry, const char *pot,
                                      struct fault *fault) MUST_USE;

/* One toner weighed in. With a lot, the stock falls by as much. */
struct pour_row {
    char id[ID_LENGTH + 1];
    const char *pot, *toner, *lot; /* lot NULL when nobody said which */
    const char *entry;             /* that it came with; NULL in a book from before this was kept */
    long long mg, at_ms;
    const char *zone;
};
enum status pot_store_pour(struct book *book, struct pour_row *pour, struct fault *fault) MUST_USE;
/* Without what came with an entry that was put right since. */
enum status pot_store_pours(struct book *book, const char *pot, struct arena *arena, struct pour_row **out,
                            size_t *count, struct fault *fault) MUST_USE;

struct coat_row {
    char id[ID_LENGTH + 1];
    const char *job, *piece, *colour, *pot, *entry; /* all but job may be NULL */
    double wet_um, film_um;                         /* NAN when nobody measured */
    const char *document;
    long long at_ms;
    const char *zone;
};
enum status pot_store_coat(struct book *book, struct coat_row *coat, struct fault *fault) MUST_USE;
enum status pot_store_coats(struct book *book, const char *job, struct arena *arena, struct coat_row **out,
                            size_t *count, struct fault *fault) MUST_USE;

#endif
