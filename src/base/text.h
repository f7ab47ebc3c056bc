/* Text: a growing buffer, and numbers that no locale can bend. */
#ifndef RUSSET_BASE_TEXT_H
#define RUSSET_BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>

/* A buffer that grows; data is always terminated once anything was added. Zero-initialise, text_free at the
 * end. */
struct text {
    char *data;
    size_t length, capacity;
};

void text_free(struct text *text);
void text_add(struct text *text, const char *s);
void text_add_bytes(struct text *text, const void *bytes, size_t n);
void text_format(struct text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Bytes that someone else owns, with the name to use in messages. */
struct bytes {
    const unsigned char *data;
    size_t size;
    const char *name;
};

/* The whole of s[0..n) as one decimal number ("12", "-0.5", "1e-3"); decimal is '.' or ','. False for empty
 * text, hexadecimal, inf, nan, trailing characters and anything that overflows a double. */
bool text_to_number(const char *s, size_t n, char decimal, double *out) __attribute__((warn_unused_result));
/* The whole of s as a whole number 0..limit. */
bool text_to_count(const char *s, unsigned long long limit, unsigned long long *out)
    __attribute__((warn_unused_result));

/* Also NULL is the same as NULL, and as nothing else. */
bool text_same(const char *a, const char *b);
bool text_same_ignoring_case(const char *a, const char *b); /* ASCII only */
bool text_starts(const char *s, const char *prefix);
bool text_ends_ignoring_case(const char *s, const char *suffix);

/* True when s[0..n) is valid UTF-8 (RFC 3629, no overlong forms, no surrogates). */
bool text_is_utf8(const char *s, size_t n);

/* Cut to so many characters of UTF-8 (never inside one), and with blanks up to that many. */
void text_add_column(struct text *text, const char *s, size_t characters);

/* Puts "?" for every control character (C0, DEL, and C1 as UTF-8) but those in keep: what came with a file
 * must not command a terminal. */
void text_tame(char *s, size_t n, const char *keep);

#endif
