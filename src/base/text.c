#include "base/text.h"
#include "base/memory.h"
#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void text_free(struct text *text) {
    memory_free(text->data);
    *text = (struct text){0};
}

static void make_room(struct text *text, size_t more) {
    if (text->length + more + 1 <= text->capacity) return;
    size_t capacity = text->capacity ? text->capacity * 2 : 256;
    if (capacity < text->length + more + 1) capacity = text->length + more + 1;
    text->data = memory_grow(text->data, capacity, 1);
    text->capacity = capacity;
}

void text_add_bytes(struct text *text, const void *bytes, size_t n) {
    make_room(text, n);
    if (n) memcpy(text->data + text->length, bytes, n);
    text->length += n;
    text->data[text->length] = 0;
}

void text_add(struct text *text, const char *s) {
    text_add_bytes(text, s, strlen(s));
}

void text_format(struct text *text, const char *format, ...) {
    va_list args, again;
    va_start(args, format);
    va_copy(again, args);
    const int n = vsnprintf(NULL, 0, format, args);
    va_end(args);
    if (n >= 0) { /* also nothing leaves a text that ends, as text_add does */
        make_room(text, (size_t)n);
        vsnprintf(text->data + text->length, (size_t)n + 1, format, again);
        text->length += (size_t)n;
    }
    va_end(again);
}

/* Only digits, one sign, one decimal mark, one exponent: what strtod would also take (hex, inf, nan, spaces)
 * is not a number here. The program never leaves the C locale for numbers, so strtod reads '.'. */
bool text_to_number(const char *s, size_t n, char decimal, double *out) {
    char copy[128];
    if (n == 0 || n >= sizeof copy) return false;
    for (size_t i = 0; i < n; i++) {
        const char c = s[i];
        const bool allowed =
            isdigit((unsigned char)c) || c == '+' || c == '-' || c == 'e' || c == 'E' || c == decimal;
        if (!allowed) return false;
        copy[i] = c == decimal ? '.' : c;
    }
    copy[n] = 0;
    char *end = NULL;
    errno = 0;
    const double value = strtod(copy, &end);
    if (end != copy + n || !isfinite(value)) return false;
    *out = value;
    return true;
}

bool text_to_count(const char *s, unsigned long long limit, unsigned long long *out) {
    if (!*s) return false;
    unsigned long long value = 0;
    for (; *s; s++) {
        if (!isdigit((unsigned char)*s)) return false;
        const unsigned digit = (unsigned)(*s - '0');
        if (digit > limit || value > (limit - digit) / 10) return false;
        value = value * 10 + digit;
    }
    *out = value;
    return true;
}

bool text_same(const char *a, const char *b) {
    return a == b || (a && b && strcmp(a, b) == 0);
}

bool text_same_ignoring_case(const char *a, const char *b) {
    while (*a && tolower((unsigned char)*a) == tolower((unsigned char)*b)) a++, b++;
    return *a == 0 && *b == 0;
}

bool text_starts(const char *s, const char *prefix) {
    return strncmp(s, prefix, strlen(prefix)) == 0;
}

bool text_ends_ignoring_case(const char *s, const char *suffix) {
    const size_t n = strlen(s), m = strlen(suffix);
    return n >= m && text_same_ignoring_case(s + n - m, suffix);
}

static size_t utf8_length(unsigned char lead) {
    if (lead < 0x80) return 1;
    if (lead >= 0xC2 && lead <= 0xDF) return 2;
    if (lead >= 0xE0 && lead <= 0xEF) return 3;
    if (lead >= 0xF0 && lead <= 0xF4) return 4;
    return 0;
}

/* The second byte has a narrower range behind E0, ED, F0 and F4 (RFC 3629 section 4). */
static bool second_byte_fits(unsigned char lead, unsigned char second) {
    const unsigned char low = lead == 0xE0 ? 0xA0 : lead == 0xF0 ? 0x90 : 0x80;
    const unsigned char high = lead == 0xED ? 0x9F : lead == 0xF4 ? 0x8F : 0xBF;
    return second >= low && second <= high;
}

bool text_is_utf8(const char *s, size_t n) {
    const unsigned char *u = (const unsigned char *)s;
    for (size_t i = 0; i < n;) {
        const size_t length = utf8_length(u[i]);
        if (length == 0 || i + length > n) return false;
        if (length > 1 && !second_byte_fits(u[i], u[i + 1])) return false;
        for (size_t k = 2; k < length; k++)
            if ((u[i + k] & 0xC0) != 0x80) return false;
        i += length;
    }
    return true;
}

void text_tame(char *s, size_t n, const char *keep) {
    for (size_t i = 0; i < n; i++) {
        const unsigned char c = (unsigned char)s[i];
        const bool c1 = c == 0xC2 && i + 1 < n && ((unsigned char)s[i + 1] & 0xE0) == 0x80;
        if (c1) s[i] = s[i + 1] = '?';
        if ((c < 0x20 || c == 0x7F) && !(c && strchr(keep, c))) s[i] = '?';
    }
}

void text_add_column(struct text *text, const char *s, size_t characters) {
    size_t count = 0, n = 0;
    while (s[n] && (count < characters || ((unsigned char)s[n] & 0xC0) == 0x80))
        count += ((unsigned char)s[n++] & 0xC0) != 0x80;
    text_add_bytes(text, s, n);
    for (; count < characters; count++) text_add(text, " ");
}
