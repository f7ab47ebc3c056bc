/* Base 64, RFC 4648 section 4: three bytes become four letters, the end is padded with '='. */
#include "formats/base64.h"
#include <string.h>

static const char alphabet[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

void base64_add(struct text *out, const unsigned char *data, size_t n) {
    for (size_t i = 0; i < n; i += 3) {
        const unsigned b1 = i + 1 < n ? data[i + 1] : 0, b2 = i + 2 < n ? data[i + 2] : 0;
        const unsigned bits = (unsigned)data[i] << 16 | b1 << 8 | b2;
        const char four[4] = {alphabet[bits >> 18], alphabet[bits >> 12 & 63],
                              i + 1 < n ? alphabet[bits >> 6 & 63] : '=',
                              i + 2 < n ? alphabet[bits & 63] : '='};
        text_add_bytes(out, four, 4);
    }
}

static int value_of(char c) {
    const char *at = c ? strchr(alphabet, c) : NULL;
    return at ? (int)(at - alphabet) : -1;
}

bool base64_read(const char *text, unsigned char *out, size_t n) {
    if (strlen(text) != (n + 2) / 3 * 4) return false;
    for (size_t i = 0; i < n; i += 3, text += 4) {
        const size_t here = n - i < 3 ? n - i : 3;
        unsigned bits = 0;
        for (size_t k = 0; k < 4; k++) {
            const int value = k <= here ? value_of(text[k]) : text[k] == '=' ? 0 : -1;
            if (value < 0) return false;
            bits = bits << 6 | (unsigned)value;
        }
        for (size_t k = 0; k < here; k++) out[i + k] = (unsigned char)(bits >> (16 - 8 * k));
        if (bits & ((1u << (24 - 8 * here)) - 1)) return false;
    }
    return true;
}
