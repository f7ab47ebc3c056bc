#include "flow/handover_paper.h"
#include "flow/picture_flow.h"
#include "flow/picture_small.h"
#include "flow/say.h"
#include "report/record_paper.h"
#include "shop/photographs.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { PIXELS_MOST = 800 };

struct sheet {
    struct record_paper paper;
    struct arena *arena;
};

static const char *kept(struct sheet *s, struct text *text) {
    const char *copy = arena_text(s->arena, text->data ? text->data : "", text->length);
    text_free(text);
    return copy;
}

static void add_fact(struct sheet *s, enum word name, const char *value) {
    struct record_paper *p = &s->paper;
    if (!*value || p->fact_count == sizeof p->fact / sizeof p->fact[0]) return;
    p->fact[p->fact_count][0] = word_sentence(name);
    p->fact[p->fact_count++][1] = value;
}

static void add_facts(const json_t *reply, struct sheet *s) {
    const json_t *pieces = json_object_get(reply, "pieces");
    struct text material = {0};
    add_fact(s, WORD_RECORD_CUSTOMER, say_string(json_object_get(reply, "customer"), "name"));
    for (size_t i = 0; i < json_array_size(pieces); i++) {
        const json_t *piece = json_array_get(pieces, i);
        const char *name = say_string(piece, "piece");
        text_format(&material, "%s%s, %s", i ? "; " : "", *name ? name : say_string(piece, "place"),
                    say_string(piece, "material_name"));
    }
    add_fact(s, WORD_RECORD_PIECE, kept(s, &material));
    add_fact(s, WORD_RECORD_DAY, say_string(reply, "day"));
    add_fact(s, WORD_RECORD_CURED, say_string(reply, "cured_day"));
}

/* No decoder, no memory: no paper. A photograph that is damaged leaves its place empty, and is said. */
static enum status load_one(const struct surroundings *around, struct book *book, const char *sha256,
                            json_t *not_shown, struct page_picture *out, struct fault *fault) {
    char path[PHOTOGRAPH_PATH];
    struct picture picture = {0};
    if (!sha256 || !sha256_is_good(sha256)) return STATUS_OK;
    photographs_path(book_dir(book), sha256, path);
    const enum status status = picture_load(around, path, &picture, fault);
    if (status == STATUS_INPUT) return json_array_append_new(not_shown, json_string(sha256)), STATUS_OK;
    if (status != STATUS_OK) return status;
    picture_small(&picture, PIXELS_MOST, around->arena, out);
    picture_free(&picture);
    return STATUS_OK;
}

static enum word caption_of(bool there, int side, bool named) {
    if (there) return side ? WORD_RECORD_AFTER : WORD_RECORD_BEFORE;
    return named ? WORD_RECORD_NOT_SHOWN : WORD_RECORD_NONE;
}

/* Pairs: the first before beside the last after, and so on. */
enum status handover_pictures(const struct surroundings *around, struct book *book, const json_t *reply,
                              struct handover_pictures *out, struct fault *fault) {
    const json_t *all = json_object_get(reply, "photographs"),
                 *list[2] = {json_object_get(all, "before"), json_object_get(all, "after")};
    enum status status = STATUS_OK;
    out->not_shown = json_array();
    for (size_t i = 0; out->count + 2 <= RECORD_PICTURES_MOST && status == STATUS_OK &&
                       (i < json_array_size(list[0]) || i < json_array_size(list[1]));
         i++)
        for (int side = 0; side < 2 && status == STATUS_OK; side++) {
            const char *sha256 = json_string_value(json_array_get(list[side], i));
            struct page_picture *picture = &out->picture[out->count];
            status = load_one(around, book, sha256, out->not_shown, picture, fault);
            out->caption[out->count++] = word_sentence(caption_of(picture->width > 0, side, sha256 != NULL));
        }
    return status;
}

static void add_pictures(const struct handover_pictures *pictures, const json_t *all, struct sheet *s) {
    const size_t shown = RECORD_PICTURES_MOST / 2, before = json_array_size(json_object_get(all, "before")),
                 after = json_array_size(json_object_get(all, "after"));
    struct record_paper *p = &s->paper;
    if (before > shown || after > shown) {
        struct fault more;
        FAULT(&more, RECORD_MORE_PICTURES, COUNT_TEXT(before > shown ? before - shown : 0),
              COUNT_TEXT(after > shown ? after - shown : 0));
        p->more_pictures = arena_text(s->arena, more.text, strlen(more.text));
    }
    p->picture_count = pictures->count;
    for (size_t i = 0; i < pictures->count; i++) {
        p->picture[i] = pictures->picture[i];
        p->caption[i] = pictures->caption[i];
    }
}

static struct lab lab_of_json(const json_t *array) {
    return (struct lab){json_number_value(json_array_get(array, 0)),
                        json_number_value(json_array_get(array, 1)),
                        json_number_value(json_array_get(array, 2)),
                        {LIGHT_D65, OBSERVER_10}};
}

/* Lights as a customer knows them; another one by its name in the standard. */
static void add_light(struct text *text, const char *light) {
    static const struct {
        const char *name;
        enum word word;
    } known[] = {{"D65", WORD_RECORD_IN_D65},
                 {"A", WORD_RECORD_IN_A},
                 {"FL11", WORD_RECORD_IN_FL11},
                 {"lab", WORD_RECORD_IN_LAB}};
    struct fault other;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (strcmp(known[i].name, light) == 0) return text_add(text, word_sentence(known[i].word));
    FAULT(&other, RECORD_IN_OTHER, light);
    text_add(text, other.text);
}

static const char *figures_of(const json_t *spot, struct sheet *s) {
    struct text text = {0};
    const char *light;
    json_t *judged;
    json_object_foreach(json_object_get(spot, "lights"), light, judged) {
        text_format(&text, text.length ? ", %.2f " : "dE00 %.2f ", say_number(judged, "de00"));
        add_light(&text, light);
    }
    const json_t *gloss = json_object_get(spot, "gloss");
    if (gloss) text_format(&text, "; gloss %+.1f GU", say_number(gloss, "difference_gu"));
    return kept(s, &text);
}

static void add_proof(const json_t *reply, struct sheet *s) {
    const json_t *spots = json_object_get(json_object_get(reply, "inspection"), "spots");
    struct record_paper *p = &s->paper;
    p->proof = say_string(reply, "proof");
    p->unproved = json_array_size(json_object_get(reply, "unchecked")) > 0 ||
                  !json_is_object(json_object_get(reply, "inspection"));
    for (size_t i = 0; i < json_array_size(spots) && p->spot_count < RECORD_SPOTS_MOST; i++) {
        const json_t *spot = json_array_get(spots, i);
        p->spot[p->spot_count++] =
            (struct record_spot){.name = say_string(spot, "spot"),
                                 .sound = screen_of_lab(lab_of_json(json_object_get(spot, "sound_lab"))),
                                 .repair = screen_of_lab(lab_of_json(json_object_get(spot, "repair_lab"))),
                                 .figures = figures_of(spot, s),
                                 .verdict = say_string(spot, "text")};
    }
}

static void add_list(const json_t *list, const char *key, struct record_list *out) {
    for (size_t i = 0; i < json_array_size(list) && out->count < RECORD_ROWS_MOST; i++) {
        const json_t *one = json_array_get(list, i);
        out->text[out->count++] = json_is_string(one) ? json_string_value(one) : say_string(one, key);
    }
}

/* First look and handing over are not what was done to it. */
static void add_done(const json_t *reply, struct sheet *s) {
    const json_t *done = json_object_get(reply, "done");
    struct record_list *out = &s->paper.done;
    for (size_t i = 0; i < json_array_size(done) && out->count < RECORD_ROWS_MOST; i++) {
        const char *task = say_string(json_array_get(done, i), "task");
        if (strcmp(task, "look") != 0 && strcmp(task, "handover") != 0)
            out->text[out->count++] = say_string(json_array_get(done, i), "name");
    }
}

/* The last of the list: what was planned, and nobody logged. */
static void add_not_logged(const json_t *reply, struct sheet *s) {
    const json_t *list = json_object_get(reply, "not_logged");
    struct record_list *out = &s->paper.done;
    struct text names = {0};
    struct fault line;
    for (size_t i = 0; i < json_array_size(list); i++)
        text_format(&names, "%s%s", i ? "; " : "", say_string(json_array_get(list, i), "name"));
    if (!names.length || out->count == RECORD_ROWS_MOST) return text_free(&names);
    FAULT(&line, RECORD_NOT_LOGGED, names.data);
    text_free(&names);
    text_add(&names, line.text);
    out->text[out->count++] = kept(s, &names);
}

static void add_laid_row(struct sheet *s, enum word what, const struct fault *detail) {
    struct record_paper *p = &s->paper;
    if (p->used_count == RECORD_ROWS_MOST) return;
    p->used[p->used_count++] =
        (struct record_row){word_sentence(what), arena_text(s->arena, detail->text, strlen(detail->text))};
}

/* What else is needed to make the same finish again. */
static void add_laid(const json_t *reply, struct sheet *s) {
    const json_t *coats = json_object_get(reply, "coats"), *clear = json_object_get(reply, "clear");
    struct fault detail;
    char matte[24], gloss[24], part[24];
    if (coats) {
        FAULT(&detail, RECORD_COATS_LAID, NUMBER_TEXT(say_number(coats, "coats")),
              NUMBER_TEXT(say_number(coats, "film_um")));
        add_laid_row(s, WORD_RECORD_COATS, &detail);
    }
    if (clear) {
        snprintf(matte, sizeof matte, "%.1f", say_number(clear, "matte_ml"));
        snprintf(gloss, sizeof gloss, "%.1f", say_number(clear, "gloss_ml"));
        snprintf(part, sizeof part, "%.2f", say_number(clear, "matte_fraction"));
        FAULT(&detail, RECORD_CLEAR_MIX, matte, gloss, part);
        add_laid_row(s, WORD_RECORD_CLEAR, &detail);
    }
}

static bool same_toner(const json_t *a, const json_t *b) {
    return strcmp(say_string(a, "toner"), say_string(b, "toner")) == 0;
}

static bool same_lot(const json_t *a, const json_t *b) {
    return same_toner(a, b) && strcmp(say_string(a, "lot"), say_string(b, "lot")) == 0;
}

/* Of poured[at] on, all that is the same: its grams; 0 when it was counted with an earlier one. */
static double sum_from(const json_t *poured, size_t at, bool (*same)(const json_t *, const json_t *)) {
    const json_t *one = json_array_get(poured, at);
    double g = 0;
    for (size_t i = 0; i < json_array_size(poured); i++) {
        const json_t *other = json_array_get(poured, i);
        if (!same(one, other)) continue;
        if (i < at) return 0;
        g += say_number(other, "g");
    }
    return g;
}

static void add_lots(const json_t *poured, size_t at, double all_g, struct text *detail) {
    for (size_t i = at; i < json_array_size(poured); i++) {
        const json_t *one = json_array_get(poured, i);
        const double g = same_toner(one, json_array_get(poured, at)) ? sum_from(poured, i, same_lot) : 0;
        const char *lot = say_string(one, "lot");
        char grams[24];
        struct fault part;
        if (g <= 0 || (g >= all_g && !*lot)) continue;
        snprintf(grams, sizeof grams, "%.2f", g);
        if (g >= all_g)
            FAULT(&part, RECORD_LOT, lot);
        else if (*lot)
            FAULT(&part, RECORD_LOT_G, grams, lot);
        else
            FAULT(&part, RECORD_NO_LOT_G, grams);
        text_format(detail, ", %s", part.text);
    }
}

/* "Helm seat, cognac" on the record of the helm seat is the cognac. */
static const char *label_in(const json_t *job, const json_t *pot) {
    const char *label = say_string(pot, "label"), *title = say_string(job, "title");
    const bool led = *title && text_starts(label, title) && text_starts(label + strlen(title), ", ");
    return led ? label + strlen(title) + 2 : label;
}

/* A toner of a pot is one row, however often it was added to: what is in it by the end, and out of which
 * lots. */
static void add_used(const json_t *reply, struct sheet *s) {
    const json_t *pots = json_object_get(reply, "pots");
    struct record_paper *p = &s->paper;
    for (size_t i = 0; i < json_array_size(pots); i++) {
        const json_t *pot = json_array_get(pots, i), *poured = json_object_get(pot, "poured");
        const char *label = label_in(json_object_get(reply, "job"), pot);
        for (size_t k = 0; k < json_array_size(poured) && p->used_count < RECORD_ROWS_MOST; k++) {
            const double g = sum_from(poured, k, same_toner);
            struct text detail = {0};
            if (g <= 0) continue;
            text_format(&detail, "%.2f g", g);
            add_lots(poured, k, g, &detail);
            if (*label) text_format(&detail, " (%s)", label);
            p->used[p->used_count++] =
                (struct record_row){say_string(json_array_get(poured, k), "name"), kept(s, &detail)};
        }
    }
}

static void add_guarantee(const json_t *reply, struct sheet *s) {
    const json_t *list = json_object_get(reply, "guarantee");
    struct record_paper *p = &s->paper;
    for (size_t i = 0; i < json_array_size(list) && p->guarantee_count < RECORD_ROWS_MOST; i++) {
        const json_t *one = json_array_get(list, i);
        struct text detail = {0};
        text_format(&detail, "%.0f months. %s", say_number(one, "months"), say_string(one, "excluded"));
        p->guarantee[p->guarantee_count++] = (struct record_row){say_string(one, "name"), kept(s, &detail)};
    }
}

enum status handover_paper(const struct surroundings *around, const struct handover_pictures *pictures,
                           const json_t *reply, struct text *out, struct fault *fault) {
    struct sheet *s = arena_need(around->arena, 1, sizeof *s);
    const json_t *job = json_object_get(reply, "job");
    struct text number = {0};
    struct fault job_word;
    s->arena = around->arena;
    fault_set(&job_word, WORD_RECORD_JOB,
              (const char *const[]){COUNT_TEXT((long long)say_number(job, "number")), NULL});
    text_add(&number, job_word.text);
    s->paper = (struct record_paper){.size = strcmp(say_string(reply, "paper"), "Letter") == 0 ? PAGE_LETTER
                                                                                               : PAGE_A4,
                                     .title = say_string(job, "title"),
                                     .shop = say_string(json_object_get(reply, "shop"), "name"),
                                     .proof = "",
                                     .cure = say_string(reply, "cure"),
                                     .digest = ""};
    if (*say_string(reply, "digest")) {
        struct text digest = {0};
        text_format(&digest, "%s %s", word_sentence(WORD_RECORD_DIGEST), say_string(reply, "digest"));
        s->paper.digest = kept(s, &digest);
    }
    s->paper.number = kept(s, &number);
    add_facts(reply, s);
    add_pictures(pictures, json_object_get(reply, "photographs"), s);
    add_proof(reply, s);
    add_done(reply, s);
    add_not_logged(reply, s);
    add_used(reply, s);
    add_laid(reply, s);
    add_list(json_object_get(reply, "expect"), "text", &s->paper.expect);
    add_list(json_object_get(reply, "care"), "text", &s->paper.care);
    add_list(json_object_get(reply, "mind"), "text", &s->paper.cautions);
    add_list(json_object_get(reply, "remarks"), "text", &s->paper.remarks);
    add_guarantee(reply, s);
    return record_paper_draw(&s->paper, out, fault);
}
