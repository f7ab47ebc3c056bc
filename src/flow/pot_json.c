#include "flow/pot_json.h"
#include "base/text.h"
#include "flow/job_json.h"
#include "shop/document.h"
#include <math.h>
#include <string.h>

const char *pot_label(const struct pot_row *pot, struct arena *arena) {
    struct text text = {0};
    text_add(&text, pot->name);
    if (pot->colour_name && !strcasestr(pot->name, pot->colour_name))
        text_format(&text, "%s%s", text.length ? ", " : "", pot->colour_name);
    if (pot->twins > 0) text_format(&text, " %d", pot->twins + 1);
    const char *copy = arena_text(arena, text.data, text.length);
    text_free(&text);
    return copy;
}

long long pot_life_ends_ms(const struct pot_row *pot) {
    return pot->crosslinked && isfinite(pot->life_min) ? pot->crosslinked_ms + llround(60000 * pot->life_min)
                                                       : 0;
}

size_t pot_first_pours(const struct pot_row *pot, const struct pour_row *pour, size_t count) {
    json_t *document = NULL;
    long long left_mg = 0;
    size_t first = 0;
    while (pot->entry && first < count && text_same(pour[first].entry, pot->entry)) first++;
    if (first) return first;
    /* of a book that did not keep the entry: as much as the document poured */
    if (document_read(pot->document, &document, NULL) != STATUS_OK) return 0;
    const json_t *poured = json_object_get(document, "poured");
    for (size_t i = 0; i < json_array_size(poured); i++)
        left_mg += llround(1000 * json_number_value(json_object_get(json_array_get(poured, i), "g")));
    while (first < count && left_mg > 0) left_mg -= pour[first++].mg; /* out of several lots: several rows */
    json_decref(document);
    return first;
}

/* Sums of a toner, in the order in which each first went in. */
static json_t *parts_json(const struct pour_row *pour, size_t from, size_t to) {
    json_t *list = json_array();
    for (size_t i = from; i < to; i++) {
        long long mg = 0;
        bool earlier = false;
        for (size_t k = from; k < to; k++) {
            const bool same = strcmp(pour[k].toner, pour[i].toner) == 0;
            if (same) mg += pour[k].mg;
            earlier = earlier || (same && k < i);
        }
        if (earlier) continue;
        json_t *part = json_object();
        json_put_text(part, "toner", pour[i].toner);
        json_put_number(part, "g", (double)mg / 1000, 3);
        json_array_append_new(list, part);
    }
    return list;
}

/* What went in together came with one entry. A book from before that was kept knows the second alone. */
static bool goes_with(const struct pour_row *pour, const struct pour_row *before) {
    if (pour->entry || before->entry) return text_same(pour->entry, before->entry);
    return pour->at_ms - before->at_ms < 1000;
}

static json_t *additions_json(struct book *book, const struct pour_row *pour, size_t from, size_t count) {
    json_t *list = json_array();
    for (size_t i = from; i < count;) {
        size_t end = i + 1;
        while (end < count && goes_with(&pour[end], &pour[end - 1])) end++;
        json_t *addition = json_object();
        json_put_text(addition, "entry", pour[i].entry);
        json_put_time(addition, "at", pour[i].at_ms);
        json_put_local(book, addition, "at_local", pour[i].at_ms);
        json_put(addition, "parts", parts_json(pour, i, end));
        json_array_append_new(list, addition);
        i = end;
    }
    return list;
}

static void put_life(struct book *book, const struct pot_row *pot, json_t *object) {
    const long long ends_ms = pot_life_ends_ms(pot);
    json_put_flag(object, "crosslinked", pot->crosslinked);
    json_put_time(object, "crosslinked_at", pot->crosslinked_ms);
    json_put_local(book, object, "crosslinked_at_local", pot->crosslinked_ms);
    if (isnan(pot->life_min))
        json_put_null(object, "life_min");
    else
        json_put_number(object, "life_min", pot->life_min, 1);
    json_put_time(object, "life_ends_at", ends_ms);
    json_put_local(book, object, "life_ends_at_local", ends_ms);
    json_put_flag(object, "life_over", ends_ms && book_now_ms(book) > ends_ms);
}

enum status pot_put(struct book *book, const struct pot_row *pot, struct arena *arena, json_t **out,
                    struct fault *fault) {
    struct pour_row *pour;
    size_t count = 0;
    const enum status status = pot_store_pours(book, pot->id, arena, &pour, &count, fault);
    const size_t first = pot_first_pours(pot, pour, count);
    json_t *object = *out = json_object();
    json_put_text(object, "id", pot->id);
    json_put_text(object, "name", pot_label(pot, arena));
    json_put_text(object, "colour", pot->colour);
    json_put_text(object, "entry", pot->entry);
    json_put_time(object, "at", pot->at_ms);
    json_put_number(object, "poured_g", (double)pot->poured_mg / 1000, 3);
    json_put_number(object, "taken_g", (double)pot->taken_mg / 1000, 3);
    json_put(object, "parts", parts_json(pour, 0, count));
    json_put(object, "additions", additions_json(book, pour, first, count));
    put_life(book, pot, object);
    json_put_flag(object, "put_back", pot->put_back);
    json_put_flag(object, "emptied", pot->emptied);
    json_put_text(object, "taken_back", pot->taken_back);
    return status;
}

enum status pots_put(struct book *book, const struct pot_row *pot, size_t count,
                     bool (*left_out)(const struct pot_row *), struct arena *arena, json_t *object,
                     const char *key, struct fault *fault) {
    json_t *list = json_array();
    enum status status = STATUS_OK;
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        json_t *one;
        if (left_out && left_out(&pot[i])) continue;
        status = pot_put(book, &pot[i], arena, &one, fault);
        json_array_append_new(list, one);
    }
    json_put(object, key, list);
    return status;
}
