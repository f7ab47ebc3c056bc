#include "shop/fold.h"
#include "base/text.h"
#include <glib.h>
#include <stdbool.h>
#include <string.h>

static bool is_ascii(const char *text, size_t n) {
    for (size_t i = 0; i < n; i++)
        if ((unsigned char)text[i] >= 0x80) return false;
    return true;
}

static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* "é" is "e" and a mark: the mark goes. */
static void take_marks(char *text) {
    char *to = text;
    for (const char *at = text; *at;) {
        const char *next = at + g_utf8_skip[(unsigned char)*at]; /* its macro casts const away */
        if (!g_unichar_ismark(g_utf8_get_char(at))) {
            memmove(to, at, (size_t)(next - at));
            to += next - at;
        }
        at = next;
    }
    *to = 0;
}

/* By GLib; NULL when it is no UTF-8. To be freed with g_free. */
static char *fold_unicode(const char *text, size_t n) {
    char *apart = g_utf8_normalize(text, (gssize)n, G_NORMALIZE_ALL);
    if (!apart) return NULL;
    take_marks(apart);
    char *folded = g_utf8_casefold(apart, -1), *again = g_utf8_normalize(folded, -1, G_NORMALIZE_ALL);
    g_free(apart);
    g_free(folded);
    if (again) take_marks(again);
    return again;
}

const char *fold_words(const char *text, struct arena *arena) {
    const size_t n = text ? strlen(text) : 0;
    char *folded = n && !is_ascii(text, n) ? fold_unicode(text, n) : NULL;
    char *copy = arena_text(arena, folded ? folded : text ? text : "", folded ? strlen(folded) : n);
    if (!folded)
        for (char *at = copy; *at; at++) *at = lower(*at);
    g_free(folded);
    return copy;
}

static void make_room(struct folded *out, size_t more) {
    if (out->length + more < out->room) return;
    out->room = 2 * out->room + more + 64;
    out->text = memory_grow(out->text, out->room, 1);
    out->from = memory_grow(out->from, out->room, sizeof *out->from);
}

static void put(struct folded *out, char c, size_t from) {
    const bool blank = c == ' ' || (c >= '\t' && c <= '\r');
    if (blank && out->length && out->text[out->length - 1] == ' ') return;
    make_room(out, 1);
    out->text[out->length] = blank ? ' ' : lower(c);
    out->from[out->length++] = from;
}

/* One sign by itself: neither casefolding nor taking apart looks at its neighbours once the marks are gone.
 * Signs that only steer the layout (soft hyphen, joiners; Unicode's Cf) are none. */
static void put_sign(struct folded *out, const char *sign, size_t n, size_t from) {
    if (g_unichar_type(g_utf8_get_char(sign)) == G_UNICODE_FORMAT) return;
    char *folded = fold_unicode(sign, n);
    for (const char *at = folded; at && *at; at++) put(out, *at, from);
    g_free(folded);
}

void fold_tracked(const char *text, struct folded *out) {
    const size_t n = strlen(text);
    const bool utf8 = text_is_utf8(text, n);
    *out = (struct folded){0};
    make_room(out, n + 1);
    for (size_t at = 0; at < n;) {
        const size_t size = utf8 ? (size_t)g_utf8_skip[(unsigned char)text[at]] : 1;
        if (size > 1)
            put_sign(out, text + at, size, at);
        else
            put(out, text[at], at);
        at += size;
    }
    make_room(out, 1);
    out->text[out->length] = 0;
    out->from[out->length] = n;
}

void folded_free(struct folded *folded) {
    memory_free(folded->text);
    memory_free(folded->from);
    *folded = (struct folded){0};
}

/* A million finishes are gone through: most of them are ASCII and cost no copy. */
static bool ascii_has(const char *text, size_t n, const char *folded, size_t m) {
    for (size_t i = 0; i + m <= n; i++) {
        size_t k = 0;
        while (k < m && lower(text[i + k]) == folded[k]) k++;
        if (k == m) return true;
    }
    return false;
}

static void has_words(sqlite3_context *context, int count, sqlite3_value **value) {
    const char *text = (const char *)sqlite3_value_text(value[0]),
               *folded = (const char *)sqlite3_value_text(value[1]);
    (void)count;
    if (!text || !folded) return sqlite3_result_int(context, 0);
    const size_t n = strlen(text);
    char *unicode = is_ascii(text, n) ? NULL : fold_unicode(text, n);
    sqlite3_result_int(context, unicode ? strstr(unicode, folded) != NULL
                                        : ascii_has(text, n, folded, strlen(folded)));
    g_free(unicode);
}

int fold_install(sqlite3 *database) {
    return sqlite3_create_function_v2(database, "has_words", 2,
                                      SQLITE_UTF8 | SQLITE_DETERMINISTIC | SQLITE_DIRECTONLY, NULL, has_words,
                                      NULL, NULL, NULL);
}
