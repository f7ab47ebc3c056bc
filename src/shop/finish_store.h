/* The book of finishes. Texts live in the arena that was given. */
#ifndef RUSSET_SHOP_FINISH_STORE_H
#define RUSSET_SHOP_FINISH_STORE_H

#include "colour/lab.h"
#include "colour/nearest.h"
#include "shop/book.h"

struct finish_row {
    char id[ID_LENGTH + 1];
    const char *job, *entry; /* NULL for none */
    const char *name, *words;
    bool has_lab;
    struct lab lab;          /* D65, 10 degrees */
    const char *reflectance; /* a JSON list of 31 numbers, or NULL */
    const char *document;    /* the recipe */
    bool invented;
    long long created_ms, changed_ms;
};
enum status finish_store_add(struct book *book, struct finish_row *finish, struct fault *fault) MUST_USE;
enum status finish_store_change(struct book *book, struct finish_row *finish, struct fault *fault) MUST_USE;
/* By id, the beginning of an id, or name. */
enum status finish_store_find(struct book *book, const char *text, struct arena *arena,
                              struct finish_row *out, struct fault *fault) MUST_USE;
/* The one that the pour logged as this entry left. */
enum status finish_store_of_entry(struct book *book, const char *entry, struct arena *arena,
                                  struct finish_row *out, bool *found, struct fault *fault) MUST_USE;
/* Newest first. */
enum status finish_store_of_job(struct book *book, const char *job, struct arena *arena,
                                struct finish_row **out, size_t *count, struct fault *fault) MUST_USE;
/* How many have this name. */
enum status finish_store_named(struct book *book, const char *name, size_t *count,
                               struct fault *fault) MUST_USE;
/* Those in whose name or words every word of `words` stands (ASCII letters of either case), newest first, at
 * most `most`. NULL or "" finds all. */
enum status finish_store_search(struct book *book, const char *words, size_t most, struct arena *arena,
                                struct finish_row **out, size_t *count, struct fault *fault) MUST_USE;

/* All that have a colour in that box, for a finder that holds them in memory (colour/nearest.h): lab[i] is of
 * the row with the number row[i]. The caller frees both lists with memory_free. */
struct finish_points {
    struct lab *lab;
    long long *row;
    size_t count;
};
enum status finish_store_points(struct book *book, const struct lab_box *box, struct finish_points *out,
                                struct fault *fault) MUST_USE;
enum status finish_store_at(struct book *book, long long row, struct arena *arena, struct finish_row *out,
                            struct fault *fault) MUST_USE;

#endif
