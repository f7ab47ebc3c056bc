/* Unicode forms by RFC 3629 (UTF-8) and RFC 2781 (UTF-16). A lone surrogate becomes U+FFFD: it can only stand
 * in a name. */
#include "formats/text_in.h"
#include <string.h>

static size_t put_utf8(char *out, unsigned c) {
    if (c < 0x80) return out[0] = (char)c, 1;
    size_t n = c < 0x800 ? 2 : c < 0x10000 ? 3 : 4;
    for (size_t i = n; i-- > 1; c >>= 6) out[i] = (char)(0x80 | (c & 0x3F));
    out[0] = (char)(c | (n == 2 ? 0xC0U : n == 3 ? 0xE0U : 0xF0U));
    return n;
}

static unsigned unit_at(const unsigned char *d, size_t i, bool big) {
    return big ? (unsigned)d[i] << 8 | d[i + 1] : (unsigned)d[i + 1] << 8 | d[i];
}

static void decode_utf16(const unsigned char *d, size_t size, bool big, struct text_in *out) {
    for (size_t i = 0; i + 1 < size; i += 2) {
        unsigned c = unit_at(d, i, big);
        const bool leads = c >= 0xD800 && c < 0xDC00 && i + 3 < size;
        const unsigned next = leads ? unit_at(d, i + 2, big) : 0;
        if (next >= 0xDC00 && next < 0xE000) {
            c = 0x10000 + ((c - 0xD800) << 10) + (next - 0xDC00);
            i += 2;
        }
        if (c >= 0xD800 && c < 0xE000) c = 0xFFFD;
        out->size += put_utf8(out->data + out->size, c);
    }
}

static void decode_latin1(const unsigned char *d, size_t size, struct text_in *out) {
    for (size_t i = 0; i < size; i++) out->size += put_utf8(out->data + out->size, d[i]);
}

static void copy_utf8(const unsigned char *d, size_t size, struct arena *arena, struct text_in *out) {
    out->data = arena_text(arena, (const char *)d, size);
    out->size = size;
}

static enum status check_no_zero(const struct bytes *bytes, const struct text_in *text, struct fault *fault) {
    const char *zero = memchr(text->data, 0, text->size);
    if (!zero) return STATUS_OK;
    return FAULT(fault, FILE_NOT_TEXT, bytes->name, COUNT_TEXT(zero - text->data + 1));
}

enum status text_in_decode(const struct bytes *bytes, struct arena *arena, struct text_in *out,
                           struct fault *fault) {
    const unsigned char *d = bytes->data;
    const size_t n = bytes->size;
    *out = (struct text_in){.encoding = "UTF-8"};
    if (n == 0) return FAULT(fault, FILE_EMPTY, bytes->name);
    const bool little = n >= 2 && d[0] == 0xFF && d[1] == 0xFE, big = n >= 2 && d[0] == 0xFE && d[1] == 0xFF;
    if (little || big) {
        if (n % 2) return FAULT(fault, FILE_UTF16_CUT, bytes->name);
        out->encoding = "UTF-16";
        out->data = arena_need(arena, n / 2 * 3 + 1, 1);
        decode_utf16(d + 2, n - 2, big, out);
    } else if (n >= 3 && memcmp(d, "\xEF\xBB\xBF", 3) == 0 && text_is_utf8((const char *)d + 3, n - 3)) {
        copy_utf8(d + 3, n - 3, arena, out);
    } else if (text_is_utf8((const char *)d, n)) {
        copy_utf8(d, n, arena, out);
    } else {
        out->encoding = "Latin-1";
        out->data = arena_need(arena, n * 2 + 1, 1);
        decode_latin1(d, n, out);
    }
    if (out->size == 0) return FAULT(fault, FILE_EMPTY, bytes->name);
    return check_no_zero(bytes, out, fault);
}

const char *text_in_shown(char out[72], const char *s) {
    size_t n = strlen(s);
    const bool cut = n > 60;
    if (cut) n = 60;
    while (cut && n > 0 && ((unsigned char)s[n] & 0xC0) == 0x80) n--;
    /* A text that a library has cut within a character must not spoil the sentence. */
    const bool whole = text_is_utf8(s, n);
    for (size_t i = 0; i < n; i++) {
        const unsigned char c = (unsigned char)s[i];
        out[i] = c < 0x20 || c == 0x7F || (c >= 0x80 && !whole) ? '?' : s[i];
    }
    memcpy(out + n, cut ? "..." : "", cut ? 4 : 1);
    return out;
}
