/* Taking a person's traces out of texts and documents. Pure. */
#ifndef RUSSET_SHOP_FORGET_H
#define RUSSET_SHOP_FORGET_H

#include "base/memory.h"
#include <jansson.h>
#include <stdbool.h>

enum { TRACES_MOST = 48 };

/* Kept folded (shop/fold.h), and so found in either case, with and without marks, with other blanks between
 * and with signs that Unicode holds for the same; "Müller" also as "Mueller". */
struct traces {
    const char *pseudonym;
    size_t count, words, numbers;   /* exact[0..count) ... */
    const char *exact[TRACES_MOST]; /* wherever they stand */
    const char *word[TRACES_MOST];  /* single words of the name: only in free text, only as whole words */
    const char
        *number[TRACES_MOST]; /* the digits of a telephone, and the last nine of them, whatever parts them */
};

/* address may have several lines. Texts shorter than three bytes are no trace. */
void traces_make(struct traces *traces, struct arena *arena, const char *pseudonym, const char *name,
                 const char *telephone, const char *email, const char *address);
/* Those that are one of a kind (a blank, a digit or '@' in them, or at least 8 letters): fit to be looked for
 * in rows that have nothing to do with the customer. */
void traces_keep_distinct(struct traces *traces);

/* The text without the traces; the same pointer when there was none. */
const char *traces_out_of_text(const struct traces *traces, const char *text, bool free_text,
                               struct arena *arena);
/* A quick look at a document's text: false only when none of the exact traces can be in it. */
bool traces_may_stand_in(const struct traces *traces, const char *json);
/* True when something was changed; then a "digest" was made anew. own: a document of the customer's own job:
 * "customer" becomes the pseudonym, free text under note, words, signature and the like is emptied. */
bool traces_out_of_document(const struct traces *traces, json_t *document, bool own, struct arena *arena);

#endif
