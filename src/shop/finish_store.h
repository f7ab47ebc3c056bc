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

/* The `most` nearest to a colour that are not farther than within_de00 and hold every word (as
 * finish_store_search; NULL: any), nearest first (colour/nearest.h); the key of each is its row's number. */
struct finish_near {
    struct lab target;
    const char *words;
    size_t most;
    double within_de00;
};
enum status finish_store_near(struct book *book, const struct finish_near *asked, struct arena *arena,
                              struct near_colour near[], size_t *count, struct fault *fault) MUST_USE;
/* By its row's number. */
enum status finish_store_at(struct book *book, long long row, struct arena *arena, struct finish_row *out,
                            struct fault *fault) MUST_USE;

#endif
