#include "base/fault.h"
#include "base/text.h"
#include <ctype.h>
#include <stdio.h>
#include <string.h>

static const struct {
    const char *name;
    const char *sentence;
    enum status status;
} catalogue[WORD_COUNT] = {
    [WORD_NONE] = {"NONE", "", STATUS_OK},
#define WORD(id, status, sentence) [WORD_##id] = {#id, sentence, STATUS_##status},
#include "words/all.def"
#undef WORD
};

enum status word_status(enum word word) {
    return catalogue[word].status;
}

const char *word_sentence(enum word word) {
    return catalogue[word].sentence;
}

void word_key(enum word word, char *key, size_t n) {
    size_t i = 0;
    if (n == 0) return;
    for (const char *c = catalogue[word].name; *c && i + 1 < n; c++)
        key[i++] = *c == '_' ? '-' : (char)tolower((unsigned char)*c);
    key[i] = 0;
}

/* Appends src, stopping at a whole UTF-8 character when it does not fit. */
static size_t append(char *out, size_t at, size_t cap, const char *src, size_t n) {
    size_t room = cap - 1 - at;
    if (n > room) {
        n = room;
        while (n > 0 && ((unsigned char)src[n] & 0xC0) == 0x80) n--;
    }
    memcpy(out + at, src, n);
    return at + n;
}

static size_t append_shortened(char *out, size_t at, size_t cap, const char *arg) {
    size_t n = strlen(arg);
    if (n <= 300) return append(out, at, cap, arg, n);
    n = 300;
    while (n > 0 && ((unsigned char)arg[n] & 0xC0) == 0x80) n--;
    at = append(out, at, cap, arg, n);
    return append(out, at, cap, "...", 3);
}

/* An argument may come from a stranger's file: what would break the line or command the terminal is shown as
 * "?" instead. */
static size_t append_argument(char *out, size_t at, size_t cap, const char *arg) {
    const size_t end = append_shortened(out, at, cap, arg);
    text_tame(out + at, end - at, "");
    return end;
}

static size_t count_arguments(const char *const args[]) {
    size_t n = 0;
    while (args && args[n]) n++;
    return n;
}

enum status fault_set(struct fault *fault, enum word word, const char *const args[]) {
    const enum status status = word_status(word);
    if (!fault) return status;
    char text[sizeof fault->text]; /* an argument may be the sentence that stands in *fault */
    const size_t count = count_arguments(args), cap = sizeof text;
    size_t at = 0;
    for (const char *s = word_sentence(word); *s;) {
        const bool slot = s[0] == '{' && s[1] >= '1' && s[1] <= '9' && s[2] == '}';
        const size_t index = slot ? (size_t)(s[1] - '1') : 0;
        if (slot && index < count)
            at = append_argument(text, at, cap, args[index]);
        else
            at = append(text, at, cap, s, slot ? 3 : 1);
        s += slot ? 3 : 1;
    }
    text[at] = 0;
    memcpy(fault->text, text, at + 1);
    fault->word = word;
    fault->status = status;
    return status;
}

const char *number_text(char out[40], double x) {
    snprintf(out, 40, "%.6g", x);
    return out;
}

const char *count_text(char out[24], long long n) {
    snprintf(out, 24, "%lld", n);
    return out;
}
