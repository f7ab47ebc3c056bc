#include "shop/forget.h"
#include "base/text.h"
#include "shop/document.h"
#include "shop/fold.h"
#include <ctype.h>
#include <glib.h>
#include <string.h>

enum { TRACE_LEAST = 3, DISTINCT_LEAST = 8, DIGITS_LEAST = 6, DIGITS_HOME = 9 };

static void add(const char *list[], size_t *count, struct arena *arena, const char *text, size_t n) {
    while (n && text[n - 1] == ' ') n--;
    while (n && *text == ' ') text++, n--;
    if (n < TRACE_LEAST || *count == TRACES_MOST) return;
    for (size_t i = 0; i < *count; i++)
        if (strlen(list[i]) == n && memcmp(list[i], text, n) == 0) return;
    list[(*count)++] = arena_text(arena, text, n);
}

static void add_folded(const char *list[], size_t *count, struct arena *arena, const char *text) {
    struct folded folded;
    fold_tracked(text, &folded);
    add(list, count, arena, folded.text, folded.length);
    folded_free(&folded);
}

/* As it is typed where the letters are missing (common practice): ae for ä, aa for å. */
static const char *written_out(const char *text, struct arena *arena) {
    static const char *const letters[][2] = {{"ä", "ae"}, {"ö", "oe"}, {"ü", "ue"}, {"Ä", "Ae"}, {"Ö", "Oe"},
                                             {"Ü", "Ue"}, {"ø", "oe"}, {"Ø", "Oe"}, {"å", "aa"}, {"Å", "Aa"},
                                             {"æ", "ae"}, {"Æ", "Ae"}, {"œ", "oe"}, {"Œ", "Oe"}};
    struct text out = {0};
    char *composed = g_utf8_normalize(text, -1, G_NORMALIZE_DEFAULT_COMPOSE);
    for (const char *at = composed ? composed : text; *at;) {
        size_t i = 0;
        while (i < sizeof letters / sizeof *letters && !text_starts(at, letters[i][0])) i++;
        const bool found = i < sizeof letters / sizeof *letters;
        text_add_bytes(&out, found ? letters[i][1] : at, found ? 2 : 1);
        at += found ? strlen(letters[i][0]) : 1;
    }
    const char *copy = arena_text(arena, out.data ? out.data : "", out.length);
    text_free(&out);
    g_free(composed);
    return copy;
}

static void add_exact(struct traces *traces, struct arena *arena, const char *text) {
    add_folded(traces->exact, &traces->count, arena, text);
    add_folded(traces->exact, &traces->count, arena, written_out(text, arena));
}

static void add_lines(struct traces *traces, struct arena *arena, const char *address) {
    add_exact(traces, arena, address);
    for (const char *line = address; *line;) {
        const size_t n = strcspn(line, "\n,;");
        add_exact(traces, arena, arena_text(arena, line, n));
        line += n + (line[n] != 0);
    }
}

/* Of a name in two parts also the one part. */
static void add_words(struct traces *traces, struct arena *arena, const char *name, const char *between) {
    while (*name) {
        name += strspn(name, between);
        const char *word = arena_text(arena, name, strcspn(name, between));
        add_folded(traces->word, &traces->words, arena, word);
        add_folded(traces->word, &traces->words, arena, written_out(word, arena));
        name += strlen(word);
    }
}

/* "White, Wanda" for "Wanda White". */
static void add_turned(struct traces *traces, struct arena *arena, const char *name) {
    const char *last = strrchr(name, ' ');
    struct text turned = {0};
    if (!last || strchr(name, ',')) return;
    text_format(&turned, "%s, %.*s", last + 1, (int)(last - name), name);
    add_exact(traces, arena, turned.data);
    text_free(&turned);
}

static void add_digits(struct traces *traces, struct arena *arena, const char *telephone) {
    char digits[40];
    size_t n = 0;
    for (; *telephone && n + 1 < sizeof digits; telephone++)
        if (isdigit((unsigned char)*telephone)) digits[n++] = *telephone;
    if (n >= DIGITS_LEAST) add(traces->number, &traces->numbers, arena, digits, n);
    if (n > DIGITS_HOME) add(traces->number, &traces->numbers, arena, digits + n - DIGITS_HOME, DIGITS_HOME);
}

void traces_make(struct traces *traces, struct arena *arena, const char *pseudonym, const char *name,
                 const char *telephone, const char *email, const char *address) {
    *traces = (struct traces){.pseudonym = pseudonym};
    add_exact(traces, arena, name);
    add_exact(traces, arena, telephone);
    add_exact(traces, arena, email);
    add_lines(traces, arena, address);
    add_turned(traces, arena, name);
    add_digits(traces, arena, telephone);
    add_words(traces, arena, name, " ,.\t\n");
    add_words(traces, arena, name, " ,.\t\n-");
}

/* A sign that is a word by itself (Chinese, for example) counts as three letters. */
static bool is_distinct(const char *text) {
    size_t letters = 0;
    if (strpbrk(text, " @0123456789")) return true;
    if (!text_is_utf8(text, strlen(text))) return strlen(text) >= DISTINCT_LEAST;
    for (const char *at = text; *at; at += g_utf8_skip[(unsigned char)*at])
        letters += g_unichar_iswide(g_utf8_get_char(at)) ? 3 : 1;
    return letters >= DISTINCT_LEAST;
}

void traces_keep_distinct(struct traces *traces) {
    size_t kept = 0;
    for (size_t i = 0; i < traces->count; i++)
        if (is_distinct(traces->exact[i])) traces->exact[kept++] = traces->exact[i];
    traces->count = kept;
    traces->words = 0;
}

static bool is_letter_at(const char *at) {
    return g_unichar_isalnum(g_utf8_get_char_validated(at, -1));
}

static bool is_word(const struct folded *in, size_t at, size_t n) {
    const char *before = in->text + at;
    while (before > in->text && ((unsigned char)*--before & 0xC0) == 0x80) {
    }
    return (at == 0 || !is_letter_at(before)) && (!in->text[at + n] || !is_letter_at(in->text + at + n));
}

/* The last digits alone are found behind any others: "+43 664 ..." is "0664 ..." at home. Not among letters,
 * where keys and hashes are. */
static size_t number_at(const char *text, size_t at, const char *digits, bool whole) {
    const char *to = text + at;
    const unsigned char before = at ? (unsigned char)text[at - 1] : ' ';
    if (*to != *digits || isalpha(before) || (whole && isdigit(before))) return 0;
    for (; *digits; digits++) {
        to += strspn(to, " -/.()");
        if (*to++ != *digits) return 0;
    }
    return isalnum((unsigned char)*to) ? 0 : (size_t)(to - text) - at;
}

/* The length of the trace that begins there, or 0. */
static size_t trace_at(const struct traces *traces, const struct folded *in, size_t at, bool free_text) {
    for (size_t i = 0; i < traces->count; i++) {
        const size_t n = strlen(traces->exact[i]);
        if (strncmp(in->text + at, traces->exact[i], n) == 0) return n;
    }
    for (size_t i = 0; i < traces->numbers; i++) {
        const size_t n = number_at(in->text, at, traces->number[i], i == 0);
        if (n) return n;
    }
    for (size_t i = 0; free_text && i < traces->words; i++) {
        const size_t n = strlen(traces->word[i]);
        if (strncmp(in->text + at, traces->word[i], n) == 0 && is_word(in, at, n)) return n;
    }
    return 0;
}

/* Where the sign ends that text[at - 1] is made of: "ß" is two letters. */
static size_t end_of_sign(const struct folded *in, size_t at) {
    while (at < in->length && in->from[at] == in->from[at - 1]) at++;
    return at;
}

const char *traces_out_of_text(const struct traces *traces, const char *text, bool free_text,
                               struct arena *arena) {
    struct folded in;
    struct text out = {0};
    size_t done = 0; /* of the original */
    fold_tracked(text, &in);
    for (size_t at = 0; at < in.length;) {
        const size_t n = trace_at(traces, &in, at, free_text);
        if (n) {
            text_add_bytes(&out, text + done, in.from[at] - done);
            text_add(&out, traces->pseudonym);
            at = end_of_sign(&in, at + n);
            done = in.from[at];
        } else
            at++;
    }
    if (done) text_add(&out, text + done);
    const char *clean = done ? arena_text(arena, out.data, out.length) : text;
    folded_free(&in);
    text_free(&out);
    return clean;
}

/* In JSON, quotes, backslashes and control characters look different than they are: then it is read. */
bool traces_may_stand_in(const struct traces *traces, const char *json) {
    struct folded in;
    bool may = strchr(json, '\\') != NULL;
    if (may) return true;
    fold_tracked(json, &in);
    for (size_t i = 0; i < traces->count && !may; i++) may = strstr(in.text, traces->exact[i]) != NULL;
    for (size_t i = 0; i < traces->numbers; i++)
        for (size_t at = 0; at < in.length && !may; at++)
            may = number_at(in.text, at, traces->number[i], i == 0) > 0;
    folded_free(&in);
    return may;
}

static bool is_one_of(const char *key, const char *const keys[]) {
    for (size_t i = 0; keys[i]; i++)
        if (strcmp(keys[i], key) == 0) return true;
    return false;
}

/* Keys under which nothing but a person's own words or data stand: emptied. */
static bool is_free_key(const char *key) {
    static const char *const keys[] = {"note",      "remark",   "remarks",      "signature",
                                       "signed_by", "contact",  "telephone",    "email",
                                       "address",   "delivery", "collected_by", NULL};
    return is_one_of(key, keys);
}

/* Keys whose text may hold a part of the name beside what the shop needs. Nowhere else are single words
 * looked for: a customer called White must not bleach the recipes. */
static bool is_title_key(const char *key) {
    static const char *const keys[] = {"title",  "subject", "file",  "files", "photo",
                                       "photos", "text",    "label", "for",   "job",
                                       "piece",  "place",   "words", "notes", NULL};
    return is_one_of(key, keys);
}

static json_t *pseudonym_of(const struct traces *traces, const json_t *customer) {
    json_t *object = json_object();
    const json_t *id = json_object_get(customer, "id");
    if (json_is_string(id)) json_object_set_new(object, "id", json_string(json_string_value(id)));
    json_object_set_new(object, "name", json_string(traces->pseudonym));
    return object;
}

static json_t *cleaned(const struct traces *traces, const char *key, json_t *value, bool own, bool *changed,
                       struct arena *arena);

static void clean_object(const struct traces *traces, json_t *object, bool own, bool *changed,
                         struct arena *arena) {
    const char *key;
    json_t *value;
    const bool is_document = json_object_get(object, "kind") != NULL;
    json_object_foreach(object, key, value) {
        /* what a pour or a recipe is called; a toner in it keeps its name */
        const char *as = is_document && strcmp(key, "name") == 0 ? "title" : key;
        json_t *clean = cleaned(traces, as, value, own, changed, arena);
        if (clean) json_object_set_new(object, key, clean);
    }
}

static void clean_list(const struct traces *traces, const char *key, json_t *list, bool own, bool *changed,
                       struct arena *arena) {
    for (size_t i = 0; i < json_array_size(list); i++) {
        json_t *clean = cleaned(traces, key, json_array_get(list, i), own, changed, arena);
        if (clean) json_array_set_new(list, i, clean);
    }
}

/* What takes the value's place, or NULL when it stays (and was cleaned inside). */
static json_t *cleaned(const struct traces *traces, const char *key, json_t *value, bool own, bool *changed,
                       struct arena *arena) {
    const bool customer = strcmp(key, "customer") == 0;
    if (customer && (!own || json_is_null(value))) return NULL; /* somebody else's */
    if (customer) {
        json_t *clean = json_is_object(value) ? pseudonym_of(traces, value) : json_string(traces->pseudonym);
        *changed = *changed || !json_equal(clean, value);
        return clean;
    }
    if (json_is_string(value)) {
        const char *text = json_string_value(value);
        const bool empty = own && is_free_key(key);
        const char *clean = empty ? "" : traces_out_of_text(traces, text, own && is_title_key(key), arena);
        if (strcmp(clean, text) == 0) return NULL;
        *changed = true;
        return json_string(clean);
    }
    if (json_is_object(value)) clean_object(traces, value, own, changed, arena);
    if (json_is_array(value)) clean_list(traces, key, value, own, changed, arena);
    return NULL;
}

bool traces_out_of_document(const struct traces *traces, json_t *document, bool own, struct arena *arena) {
    bool changed = false;
    if (json_is_object(document)) clean_object(traces, document, own, &changed, arena);
    if (json_is_array(document)) clean_list(traces, "", document, own, &changed, arena);
    if (changed && json_object_get(document, "digest")) document_seal(document);
    return changed;
}
