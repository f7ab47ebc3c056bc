/* Mutations that leave whole what they do not touch: a value of a JSON document, a word or a line of a table,
 * one part of several. Plain bytes mostly end at a reader's first line; these get past it. libFuzzer's own,
 * which know the words of the dictionary and what was compared, are a third of all, and work on single
 * strings and words too. */
#ifndef RUSSET_TESTS_MUTATE_H
#define RUSSET_TESTS_MUTATE_H

#include <jansson.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#ifdef __clang__ /* what is compared here is not what the readers compare */
#pragma clang attribute push(__attribute__((no_sanitize("coverage"))), apply_to = function)
#endif

size_t LLVMFuzzerMutate(uint8_t *data, size_t size, size_t most);
size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t most, unsigned seed);
size_t LLVMFuzzerCustomCrossOver(const uint8_t *one, size_t one_size, const uint8_t *two, size_t two_size,
                                 uint8_t *out, size_t most, unsigned seed);

/* ---- luck: xorshift64* ---- */

struct luck {
    uint64_t state;
};

static inline struct luck luck_of(unsigned seed) {
    return (struct luck){(uint64_t)seed * 0x9e3779b97f4a7c15U + 0x2545f4914f6cdd1dU};
}

static inline size_t luck_below(struct luck *luck, size_t n) {
    luck->state ^= luck->state >> 12, luck->state ^= luck->state << 25, luck->state ^= luck->state >> 27;
    return n ? (size_t)((luck->state * 0x2545f4914f6cdd1dU) >> 33) % n : 0;
}

/* size after, or 0: nothing could be done */
typedef size_t mutator(uint8_t *data, size_t size, size_t most, struct luck *luck);

/* data[from..to) becomes with; the size as it was when it does not fit. */
static inline size_t mutate_splice(uint8_t *data, size_t size, size_t most, size_t from, size_t to,
                                   const void *with, size_t n) {
    if (size - (to - from) + n > most) return size;
    memmove(data + from + n, data + to, size - to);
    memcpy(data + from, with, n);
    return size - (to - from) + n;
}

/* A mutator on data[from..to) alone. */
static inline size_t mutate_part(uint8_t *data, size_t size, size_t most, size_t from, size_t to,
                                 mutator *how, struct luck *luck) {
    const size_t room = most - (size - (to - from));
    uint8_t *part = malloc(room + 1);
    memcpy(part, data + from, to - from);
    const size_t n = how(part, to - from, room, luck);
    if (n) size = mutate_splice(data, size, most, from, to, part, n);
    free(part);
    return size;
}

static inline size_t mutate_bytes(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    (void)luck;
    return most ? LLVMFuzzerMutate(data, size, most) : 0;
}

static const char *const odd_numbers[] = {
    "0",      "1",       "-1",       ".5",     "2",      "31",         "100",          "1e-9",
    "1e9",    "-0",      "1e308",    "-1e308", "5e-324", "2147483647", "2147483648",   "4294967296",
    "0.9999", "1.00001", "-0.00001", "65535",  "65536",  "255",        "999999999999", "1e15",
    "1e400",  "nan",     "inf",      "0x10",   "1,5",    "1.2.3",      "00012",        "1e-400"};
enum { ODD_NUMBERS = sizeof odd_numbers / sizeof *odd_numbers };

/* ---- JSON ---- */

struct tree_spot { /* where a value stands */
    json_t *parent, *value;
    const char *key; /* of an object's */
    size_t at;       /* of an array's */
};

static inline size_t tree_size(json_t *value) {
    size_t n = 1, i;
    const char *key;
    json_t *child;
    json_object_foreach(value, key, child) n += tree_size(child);
    json_array_foreach(value, i, child) n += tree_size(child);
    return n;
}

/* The n-th below parent, counted down as it goes. */
static inline bool tree_nth(json_t *parent, size_t *n, struct tree_spot *out) {
    const char *key;
    json_t *child;
    size_t i;
    json_object_foreach(parent, key, child) {
        *out = (struct tree_spot){parent, child, key, 0};
        if ((*n)-- == 0 || tree_nth(child, n, out)) return true;
    }
    json_array_foreach(parent, i, child) {
        *out = (struct tree_spot){parent, child, NULL, i};
        if ((*n)-- == 0 || tree_nth(child, n, out)) return true;
    }
    return false;
}

static inline bool tree_any(json_t *root, struct luck *luck, struct tree_spot *out) {
    size_t n = luck_below(luck, tree_size(root) - 1);
    return tree_nth(root, &n, out);
}

static inline void tree_put(const struct tree_spot *spot, json_t *value) {
    if (!value) return;
    if (spot->key)
        json_object_set_new(spot->parent, spot->key, value);
    else
        json_array_set_new(spot->parent, spot->at, value);
}

static inline void tree_drop(const struct tree_spot *spot) {
    char key[200];
    if (!spot->key)
        json_array_remove(spot->parent, spot->at);
    else if (snprintf(key, sizeof key, "%s", spot->key) < (int)sizeof key)
        json_object_del(spot->parent, key);
}

static inline json_t *tree_other_text(const json_t *old) {
    char text[400];
    size_t n = json_is_string(old) ? json_string_length(old) : 0;
    if (n > 300) n = 300;
    if (n) memcpy(text, json_string_value(old), n);
    return json_stringn(text, LLVMFuzzerMutate((uint8_t *)text, n, sizeof text)); /* NULL: no UTF-8 */
}

static inline json_t *tree_other_number(const json_t *old, struct luck *luck) {
    static const double factors[] = {-1, 0, 10, .1, 1.0001, .5, 2, 1e6, 1e-6};
    if (!json_is_number(old) || luck_below(luck, 3) == 0)
        return json_real(strtod(odd_numbers[luck_below(luck, ODD_NUMBERS)], NULL));
    if (luck_below(luck, 4) == 0) return json_integer((json_int_t)luck_below(luck, 1000) - 500);
    return json_real(json_number_value(old) * factors[luck_below(luck, 9)]);
}

/* The same as text where it was a number, and so on. */
static inline json_t *tree_other_kind(const json_t *old, struct luck *luck) {
    switch (luck_below(luck, 7)) {
    case 0:
        return json_null();
    case 1:
        return json_boolean((int)luck_below(luck, 2));
    case 2:
        return json_array();
    case 3:
        return json_object();
    case 4:
        return json_string(odd_numbers[luck_below(luck, ODD_NUMBERS)]);
    case 5:
        return json_pack("[O]", old);
    default:
        return json_string("");
    }
}

static inline void tree_repeat(const struct tree_spot *spot, struct luck *luck) {
    const size_t times = (size_t)1 << luck_below(luck, 7);
    for (size_t i = 0; i < times && !spot->key; i++)
        json_array_append_new(spot->parent, json_deep_copy(spot->value));
}

/* Under another name, or another value's. */
static inline void tree_rename(json_t *root, const struct tree_spot *spot, struct luck *luck) {
    struct tree_spot other;
    char key[200];
    if (!spot->key || !tree_any(root, luck, &other) || !other.key) return;
    if (snprintf(key, sizeof key, "%s", other.key) >= (int)sizeof key) return;
    json_t *copy = json_deep_copy(spot->value);
    if (luck_below(luck, 2)) tree_drop(spot);
    json_object_set_new(spot->parent, key, copy);
}

static inline void tree_change(json_t *root, struct luck *luck) {
    struct tree_spot spot, other;
    if (!tree_any(root, luck, &spot)) return;
    switch (luck_below(luck, 10)) {
    case 0:
        tree_drop(&spot);
        break;
    case 1:
        tree_put(&spot, tree_other_kind(spot.value, luck));
        break;
    case 2:
        tree_repeat(&spot, luck);
        break;
    case 3:
        tree_rename(root, &spot, luck);
        break;
    case 4:
    case 5:
        if (tree_any(root, luck, &other)) tree_put(&spot, json_deep_copy(other.value));
        break;
    case 6:
    case 7:
        tree_put(&spot, json_is_number(spot.value) ? tree_other_number(spot.value, luck)
                                                   : tree_other_text(spot.value));
        break;
    default:
        if (json_is_string(spot.value))
            tree_put(&spot, tree_other_text(spot.value));
        else if (json_is_number(spot.value))
            tree_put(&spot, tree_other_number(spot.value, luck));
    }
}

static inline size_t tree_write(const json_t *root, uint8_t *data, size_t most) {
    const size_t n = json_dumpb(root, (char *)data, most, JSON_COMPACT | JSON_ENCODE_ANY | JSON_ALLOW_NUL);
    return n > 0 && n <= most ? n : 0;
}

static inline size_t mutate_json(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    json_t *root = json_loadb((const char *)data, size, JSON_ALLOW_NUL, NULL);
    if (!root) return mutate_bytes(data, size, most, luck);
    for (size_t times = 1 + luck_below(luck, 3); times; times--)
        if (tree_size(root) > 1) tree_change(root, luck);
    const size_t n = tree_write(root, data, most);
    json_decref(root);
    return n;
}

/* Something of two goes into one, under its own name or in another's place. */
static inline size_t cross_json(const uint8_t *one, size_t one_size, const uint8_t *two, size_t two_size,
                                uint8_t *out, size_t most, struct luck *luck) {
    struct tree_spot from, to;
    size_t n = 0;
    json_t *a = json_loadb((const char *)one, one_size, JSON_ALLOW_NUL, NULL);
    json_t *b = json_loadb((const char *)two, two_size, JSON_ALLOW_NUL, NULL);
    if (a && b && tree_size(a) > 1 && tree_any(a, luck, &to) && tree_size(b) > 1 &&
        tree_any(b, luck, &from)) {
        if (from.key && json_is_object(to.parent) && luck_below(luck, 3))
            json_object_set_new(to.parent, from.key, json_deep_copy(from.value));
        else
            tree_put(&to, json_deep_copy(from.value));
        n = tree_write(a, out, most);
    }
    json_decref(a), json_decref(b);
    return n;
}

/* ---- words and lines ---- */

static inline bool is_gap(uint8_t c) {
    static const char gaps[] = ",;|\"'=:<>/#";
    return c <= ' ' || memchr(gaps, c, sizeof gaps - 1);
}

struct range {
    size_t from, to;
};

static inline struct range word_at(const uint8_t *data, size_t size, size_t at) {
    struct range r = {at, at};
    while (r.from > 0 && !is_gap(data[r.from - 1])) r.from--;
    while (r.to < size && !is_gap(data[r.to])) r.to++;
    return r;
}

/* With its end. */
static inline struct range line_at(const uint8_t *data, size_t size, size_t at) {
    struct range r = {at, at};
    while (r.from > 0 && data[r.from - 1] != '\n') r.from--;
    while (r.to < size && data[r.to] != '\n') r.to++;
    r.to += r.to < size;
    return r;
}

/* What stands in one place, put into another. */
static inline size_t copy_range(uint8_t *data, size_t size, size_t most, struct range from, struct range to) {
    const size_t n = from.to - from.from;
    uint8_t *copy = malloc(n + 1);
    memcpy(copy, data + from.from, n);
    size = mutate_splice(data, size, most, to.from, to.to, copy, n);
    free(copy);
    return size;
}

static inline size_t mutate_word(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    const struct range word = word_at(data, size, luck_below(luck, size));
    const char *number = odd_numbers[luck_below(luck, ODD_NUMBERS)];
    switch (luck_below(luck, 5)) {
    case 0:
        return copy_range(data, size, most, word_at(data, size, luck_below(luck, size)), word);
    case 1:
        return mutate_splice(data, size, most, word.from, word.to, "", 0);
    case 2:
        return mutate_part(data, size, most, word.from, word.to, mutate_bytes, luck);
    default:
        return mutate_splice(data, size, most, word.from, word.to, number, strlen(number));
    }
}

static inline size_t mutate_line(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    const struct range line = line_at(data, size, luck_below(luck, size));
    struct range other = line_at(data, size, luck_below(luck, size));
    switch (luck_below(luck, 4)) {
    case 0:
        return mutate_splice(data, size, most, line.from, line.to, "", 0);
    case 1:
        return copy_range(data, size, most, line, other);
    case 2:
        return mutate_part(data, size, most, line.from, line.to, mutate_word, luck);
    default:
        other.to = other.from; /* before the other */
        for (size_t times = (size_t)1 << luck_below(luck, 4); times; times--)
            size = copy_range(data, size, most, line, other);
        return size;
    }
}

static inline size_t mutate_words(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    if (size == 0) return mutate_bytes(data, size, most, luck);
    for (size_t times = 1 + luck_below(luck, 3); times && size; times--)
        size =
            luck_below(luck, 3) ? mutate_word(data, size, most, luck) : mutate_line(data, size, most, luck);
    return size;
}

/* ---- what a target has ---- */

static inline size_t mutate_with(uint8_t *data, size_t size, size_t most, unsigned seed, mutator *how) {
    struct luck luck = luck_of(seed);
    if (luck_below(&luck, 3) == 0) return LLVMFuzzerMutate(data, size, most);
    const size_t n = how(data, size, most, &luck);
    return n ? n : LLVMFuzzerMutate(data, size, most);
}

#define MUTATE_BY(how)                                                                       \
    size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t most, unsigned seed) { \
        return mutate_with(data, size, most, seed, how);                                     \
    }                                                                                        \
    struct mutate_by_is_given

#define CROSS_JSON                                                                                \
    size_t LLVMFuzzerCustomCrossOver(const uint8_t *one, size_t one_size, const uint8_t *two,     \
                                     size_t two_size, uint8_t *out, size_t most, unsigned seed) { \
        struct luck luck = luck_of(seed);                                                         \
        return cross_json(one, one_size, two, two_size, out, most, &luck);                        \
    }                                                                                             \
    struct cross_json_is_given

#ifdef __clang__
#pragma clang attribute pop
#endif

#endif
