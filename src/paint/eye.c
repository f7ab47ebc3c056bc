#include "paint/eye.h"
#include "colour/difference.h"
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double size_de00[4] = {0, 0.8, 1.6, 3.0};

static const struct {
    const char *word;
    int axis; /* 0 L, 1 a, 2 b, 3 chroma */
    double sign;
} directions[] = {{"lighter", 0, 1},  {"darker", 0, -1}, {"redder", 1, 1},  {"greener", 1, -1},
                  {"yellower", 2, 1}, {"bluer", 2, -1},  {"cleaner", 3, 1}, {"dirtier", 3, -1}};

struct lab eye_step(struct lab from, const double direction[3], double de00) {
    const double length =
        sqrt(direction[0] * direction[0] + direction[1] * direction[1] + direction[2] * direction[2]);
    if (!(length > 0)) return from;
    double low = 0, high = 4 * de00 + 1;
    struct lab to = from;
    for (int i = 0; i < 60; i++) {
        const double t = (low + high) / 2 / length;
        to.l = from.l + t * direction[0];
        to.a = from.a + t * direction[1];
        to.b = from.b + t * direction[2];
        if (difference_de00(from, to) < de00)
            low = t * length;
        else
            high = t * length;
    }
    if (to.l < 0) to.l = 0;
    return to;
}

static bool find_direction(const char *word, size_t n, struct lab now, double direction[3]) {
    for (size_t i = 0; i < sizeof directions / sizeof directions[0]; i++) {
        if (strlen(directions[i].word) != n || strncmp(directions[i].word, word, n) != 0) continue;
        memset(direction, 0, 3 * sizeof direction[0]);
        if (directions[i].axis < 3) {
            direction[directions[i].axis] = directions[i].sign;
        } else {
            direction[1] = directions[i].sign * now.a;
            direction[2] = directions[i].sign * now.b;
        }
        return true;
    }
    return false;
}

/* The two words of one axis pull against each other. */
static int direction_of(const char *word, size_t n) {
    for (int i = 0; i < (int)(sizeof directions / sizeof directions[0]); i++)
        if (strlen(directions[i].word) == n && strncmp(directions[i].word, word, n) == 0) return i;
    return -1;
}

static size_t skip(const char *s, bool (*belongs)(char)) {
    size_t n = 0;
    while (s[n] && belongs(s[n])) n++;
    return n;
}

static bool is_gap(char c) {
    return c == ' ' || c == ',' || c == ';' || c == '\t';
}

static bool is_word(char c) {
    return !is_gap(c);
}

enum status eye_words(const char *words, struct lab now, struct lab *wanted, struct fault *fault) {
    struct lab to = now;
    char shown[64];
    size_t said = 0;
    bool heard[sizeof directions / sizeof directions[0]] = {false};
    for (const char *at = words + skip(words, is_gap); *at; at += skip(at, is_gap)) {
        const size_t n = skip(at, is_word);
        double direction[3];
        snprintf(shown, sizeof shown, "%.*s", (int)(n < 60 ? n : 60), at);
        if (!find_direction(at, n, now, direction)) return FAULT(fault, EYE_WORD_UNKNOWN, shown);
        const int way = direction_of(at, n);
        if (heard[way ^ 1])
            return FAULT(fault, EYE_OPPOSITES, directions[way & ~1].word, directions[way | 1].word);
        heard[way] = true;
        at += n + skip(at + n, is_gap);
        const size_t digits = skip(at, is_word);
        if (digits != 1 || *at < '1' || *at > '3') return FAULT(fault, EYE_SIZE_WRONG, words);
        const struct lab step = eye_step(now, direction, size_de00[*at - '0']);
        to.l += step.l - now.l;
        to.a += step.a - now.a;
        to.b += step.b - now.b;
        at++;
        said++;
    }
    if (said == 0) return FAULT(fault, EYE_WORD_UNKNOWN, words);
    if (to.l < 0) to.l = 0;
    *wanted = to;
    return STATUS_OK;
}
