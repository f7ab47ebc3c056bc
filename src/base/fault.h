/* A fault is a sentence from the catalogue with its arguments: whoever detects it writes it, everyone above
 * only passes it on. The same struct serves for notes that ride along with a result.
 *
 *     if (film_um <= 0) return FAULT(fault, FILM_NOT_POSITIVE, NUMBER_TEXT(film_um));
 */
#ifndef RUSSET_BASE_FAULT_H
#define RUSSET_BASE_FAULT_H

#include "base/status.h"
#include <stddef.h>

enum word {
    WORD_NONE,
#define WORD(id, status, sentence) WORD_##id,
#include "words/all.def"
#undef WORD
    WORD_COUNT
};

struct fault {
    enum word word;
    enum status status;
    char text[1024]; /* the sentence, rendered, UTF-8, always terminated */
};

/* The catalogue. word_key: stable lower-case name with dashes ("file-is-directory"), written to key[n]. */
enum status word_status(enum word word);
const char *word_sentence(enum word word);
void word_key(enum word word, char *key, size_t n);

/* Fills *fault (may be NULL) and returns the word's status, so that a caller can return it at once.
 * args: texts for {1}, {2} ..., ended by NULL. Arguments longer than 300 bytes are cut. */
enum status fault_set(struct fault *fault, enum word word, const char *const args[]);

#define FAULT(fault, word, ...) fault_set(fault, WORD_##word, (const char *const[]){__VA_ARGS__, NULL})
#define FAULT0(fault, word) fault_set(fault, WORD_##word, (const char *const[]){NULL})

/* Numbers as arguments; the text lives until the end of the enclosing block. */
#define NUMBER_TEXT(x) number_text((char[40]){0}, (x))
#define COUNT_TEXT(n) count_text((char[24]){0}, (long long)(n))
const char *number_text(char out[40], double x); /* up to 6 significant digits, never locale-dependent */
const char *count_text(char out[24], long long n);

#endif
