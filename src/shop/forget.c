#include "shop/forget.h"
#include "base/text.h"
#include "shop/document.h"
#include <ctype.h>
#include <string.h>
#include <strings.h>

enum { TRACE_LEAST = 3, DISTINCT_LEAST = 8 };

static void add_exact(struct traces *traces, struct arena *arena, const char *text, size_t n) {
    while (n && isspace((unsigned char)text[n - 1])) n--;
    while (n && isspace((unsigned char)*text)) text++, n--;
    if (n >= TRACE_LEAST && traces->count < TRACES_MOST)
        traces->exact[traces->count++] = arena_text(arena, text, n);
}

static void add_words(struct traces *traces, struct arena *arena, const char *name) {
    while (*name && traces->words < TRACES_MOST) {
        name += strspn(name, " ,.\t\n");
        const size_t n = strcspn(name, " ,.\t\n");
        if (n >= TRACE_LEAST) traces->word[traces->words++] = arena_text(arena, name, n);
        name += n;
    }
}

void traces_make(struct traces *traces, struct arena *arena, const char *pseudonym, const char *name,
                 const char *telephone, const char *email, const char *address) {
    *traces = (struct traces){.pseudonym = pseudonym};
    add_exact(traces, arena, name, strlen(name));
    add_exact(traces, arena, telephone, strlen(telephone));
    add_exact(traces, arena, email, strlen(email));
    add_exact(traces, arena, address, strlen(address));
    for (const char *line = address; *line;) {
        const size_t n = strcspn(line, "\n,;");
        if (n < strlen(address)) add_exact(traces, arena, line, n);
        line += n + (line[n] != 0);
    }
    add_words(traces, arena, name);
}

static bool is_distinct(const char *text) {
    return strlen(text) >= DISTINCT_LEAST || strpbrk(text, " @0123456789");
}

void traces_keep_distinct(struct traces *traces) {
    size_t kept = 0;
    for (size_t i = 0; i < traces->count; i++)
        if (is_distinct(traces->exact[i])) traces->exact[kept++] = traces->exact[i];
    traces->count = kept;
    traces->words = 0;
}

static bool is_word_sign(char c) {
    return isalnum((unsigned char)c) || (unsigned char)c >= 0x80;
}

/* The length of the trace that begins at text[at], or 0. */
static size_t trace_at(const struct traces *traces, const char *text, size_t at, bool free_text) {
    for (size_t i = 0; i < traces->count; i++)
        if (strncasecmp(text + at, traces->exact[i], strlen(traces->exact[i])) == 0)
            return strlen(traces->exact[i]);
    for (size_t i = 0; free_text && i < traces->words; i++) {
        const size_t n = strlen(traces->word[i]);
        const bool begins = at == 0 || !is_word_sign(text[at - 1]);
        if (begins && strncasecmp(text + at, traces->word[i], n) == 0 && !is_word_sign(text[at + n]))
            return n;
    }
    return 0;
}

const char *traces_out_of_text(const struct traces *traces, const char *text, bool free_text,
                               struct arena *arena) {
    struct text out = {0};
    bool found = false;
    for (size_t at = 0; text[at];) {
        const size_t n = trace_at(traces, text, at, free_text);
        text_add(&out, n ? traces->pseudonym : "");
        if (!n) text_add_bytes(&out, text + at, 1);
        found = found || n;
        at += n ? n : 1;
    }
    const char *clean = found ? arena_text(arena, out.data, out.length) : text;
    text_free(&out);
    return clean;
}

/* In JSON, quotes, backslashes and control characters look different than they are. */
static bool is_written_otherwise(const char *text) {
    for (; *text; text++)
        if (*text == '"' || *text == '\\' || (unsigned char)*text < 0x20) return true;
    return false;
}

bool traces_may_stand_in(const struct traces *traces, const char *json) {
    for (size_t i = 0; i < traces->count; i++)
        if (is_written_otherwise(traces->exact[i]) ? strchr(json, '\\') != NULL
                                                   : strcasestr(json, traces->exact[i]) != NULL)
            return true;
    return false;
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
