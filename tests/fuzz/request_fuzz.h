/* Mutations of the page's requests that know the table of operations: another verb with what it needs, one
 * more argument with a value of its type, a file of a kind that russet writes. */
#ifndef RUSSET_TESTS_REQUEST_FUZZ_H
#define RUSSET_TESTS_REQUEST_FUZZ_H

#include "flow/operation.h"
#include "mutate.h"
#include "server/server.h"

/* Documents that the fuzzer has at hand: "@shelf" in a body stands for the whole. */
static const char *const request_documents[] = {"@shelf", "@spot", "@match", "@pour"};
enum { REQUEST_DOCUMENTS = sizeof request_documents / sizeof *request_documents };

#ifdef __clang__
#pragma clang attribute push(__attribute__((no_sanitize("coverage"))), apply_to = function)
#endif

static inline const char *request_text_of(struct luck *luck) {
    static const char *const texts[] = {"1",
                                        "2",
                                        "Helm seat",
                                        "demo customer",
                                        "cushion",
                                        "cognac",
                                        "white",
                                        "black",
                                        "2026-12-04",
                                        "2026-03-14",
                                        "body",
                                        "redder 1",
                                        "W-1",
                                        "Europe/Vienna",
                                        "019cec00",
                                        "m",
                                        "--lab=60,10,20",
                                        "garage",
                                        "coat",
                                        "leather",
                                        "lighter .5, redder 1",
                                        "10,20,30",
                                        "100,100,200",
                                        "01",
                                        ""};
    return texts[luck_below(luck, sizeof texts / sizeof *texts)];
}

/* "sci|sce: how the target was read" */
static inline json_t *request_choice(const char *help, struct luck *luck) {
    const char *end = help + strcspn(help, ":"), *at = help;
    size_t many = 1;
    for (const char *c = help; c < end; c++) many += *c == '|';
    for (size_t left = luck_below(luck, many); left; left--) at += strcspn(at, "|") + 1;
    return json_stringn(at, strcspn(at, "|:"));
}

static inline json_t *request_number_of(const struct argument *a, struct luck *luck) {
    switch (luck_below(luck, 6)) {
    case 0:
        return json_real(a->low);
    case 1:
        return json_real(a->high);
    case 2:
        return json_string(odd_numbers[luck_below(luck, ODD_NUMBERS)]);
    case 3:
        return json_string(a->preset);
    default:
        return json_integer((json_int_t)(1 + luck_below(luck, 60)));
    }
}

/* A file of its own in the request. */
static inline json_t *request_file(json_t *body, struct luck *luck) {
    const char *document = request_documents[luck_below(luck, REQUEST_DOCUMENTS)];
    json_t *files = json_object_get(body, "files");
    if (!json_is_object(files)) {
        files = json_object();
        json_object_set_new(body, "files", files);
    }
    json_object_set_new(files, document + 1, json_pack("{s:s}", "document", document));
    return luck_below(luck, 4) ? json_string(document + 1) : json_pack("s+", document + 1, "#1");
}

static inline json_t *request_value(json_t *body, const struct argument *a, struct luck *luck) {
    static const char *const numbers[] = {".4,.6", "60,10,20", "1", "400,120", ".6,.25,.15", "10,20,30,40"};
    static const char *const parts[] = {"white=12,black=.5", "white=.1,red=.2", "black:10=4.2", "yellow=3",
                                        "binder=30,white=20,black=1"};
    static const char *const ids[] = {"white", "white,black", "yellow", "A,D65", "binder", "red,binder"};
    switch (a->type) {
    case TYPE_FLAG:
        return json_true();
    case TYPE_FILE:
        return request_file(body, luck);
    case TYPE_NUMBER:
    case TYPE_COUNT:
        return request_number_of(a, luck);
    case TYPE_NUMBERS:
        return json_string(numbers[luck_below(luck, 6)]);
    case TYPE_IDS:
        return json_string(ids[luck_below(luck, 6)]);
    case TYPE_PARTS:
        return json_string(parts[luck_below(luck, 5)]);
    case TYPE_CHOICE:
        return request_choice(a->help, luck);
    case TYPE_TEXT:
    default:
        return json_string(strcmp(a->name, "JOB") == 0 ? "1" : request_text_of(luck));
    }
}

static inline json_t *request_arguments(json_t *body) {
    json_t *arguments = json_object_get(body, "arguments");
    if (json_is_object(arguments)) return arguments;
    arguments = json_object();
    json_object_set_new(body, "arguments", arguments);
    return arguments;
}

static inline void request_add_some(json_t *body, const struct operation *operation, struct luck *luck) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    for (size_t times = 1 + luck_below(luck, 3); times && count; times--) {
        const struct argument *one = &a[luck_below(luck, count)];
        json_object_set_new(request_arguments(body), one->name, request_value(body, one, luck));
    }
}

static inline json_t *request_body(const struct operation *operation, struct luck *luck) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    json_t *body = json_object();
    for (size_t i = 0; i < count; i++)
        if (a[i].count == COUNT_ONE || a[i].count == COUNT_SOME)
            json_object_set_new(request_arguments(body), a[i].name, request_value(body, &a[i], luck));
    if (luck_below(luck, 2)) request_add_some(body, operation, luck);
    return body;
}

static inline const struct operation *request_operation(struct luck *luck) {
    size_t count;
    const struct operation *all = operations_all(&count), *one;
    do one = &all[luck_below(luck, count)];
    while (!server_serves(one));
    return one;
}

static inline size_t request_write(uint8_t *data, size_t most, const char *root,
                                   const struct operation *operation, const json_t *body) {
    char head[120];
    int n = snprintf(head, sizeof head, "POST %s%s\n\n", root, operation->verb);
    for (char *c = head + 5; *c; c++)
        if (*c == ' ') *c = '/';
    if ((size_t)n >= most) return 0;
    const size_t more = tree_write(body, data + n, most - (size_t)n);
    memcpy(data, head, (size_t)n);
    return more ? (size_t)n + more : 0;
}

/* A request of any verb, with what it needs. */
static inline size_t request_new_one(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    (void)size;
    const struct operation *operation = request_operation(luck);
    const bool paper = operation->papers && luck_below(luck, 3) == 0;
    json_t *body = request_body(operation, luck);
    const size_t n = request_write(data, most, paper ? "/api/paper/" : "/api/run/", operation, body);
    json_decref(body);
    return n;
}

/* The verb of the address, its body with one more argument. */
static inline size_t request_argue(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    char verb[64];
    const uint8_t *line = memchr(data, '\n', size), *below = memmem(data, size, "\n\n", 2);
    if (!line || !below || size < 16 || memcmp(data, "POST /api/run/", 14) != 0) return 0;
    snprintf(verb, sizeof verb, "%.*s", (int)(line - data) - 14, (const char *)data + 14);
    for (char *c = verb; *c; c++)
        if (*c == '/') *c = ' ';
    const struct operation *operation = operation_find(verb);
    json_t *body = json_loadb((const char *)below + 2, size - (size_t)(below + 2 - data), 0, NULL);
    size_t n = 0;
    if (operation && json_is_object(body)) {
        request_add_some(body, operation, luck);
        n = request_write(data, most, "/api/run/", operation, body);
    }
    json_decref(body);
    return n;
}

static inline size_t request_change_body(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    const uint8_t *below = memmem(data, size, "\n\n", 2);
    if (!below) return 0;
    return mutate_part(data, size, most, (size_t)(below + 2 - data), size, mutate_json, luck);
}

static inline struct range request_at(const uint8_t *data, size_t size, size_t at) {
    struct range r = {0, size};
    for (size_t i = 0; i + 4 <= size; i++) {
        if (memcmp(data + i, "\n==\n", 4) != 0) continue;
        if (i >= at) return (struct range){r.from < i ? r.from : i, i};
        r.from = i + 4;
    }
    return r.from < size ? r : (struct range){size, size};
}

static inline size_t request_append(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    if (size + 40 > most) return 0;
    memcpy(data + size, "\n==\n", 4);
    const size_t n = request_new_one(data + size + 4, 0, most - size - 4, luck);
    return n ? size + 4 + n : 0;
}

static inline size_t mutate_requests(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    const struct range one = request_at(data, size, luck_below(luck, size + 1));
    switch (luck_below(luck, 8)) {
    case 0:
        return mutate_part(data, size, most, one.from, one.to, request_new_one, luck);
    case 1:
        return request_append(data, size, most, luck);
    case 2:
    case 3:
        return mutate_part(data, size, most, one.from, one.to, request_argue, luck);
    case 4:
        return copy_range(data, size, most, request_at(data, size, luck_below(luck, size + 1)), one);
    default:
        return mutate_part(data, size, most, one.from, one.to, request_change_body, luck);
    }
}

#ifdef __clang__
#pragma clang attribute pop
#endif

#endif
