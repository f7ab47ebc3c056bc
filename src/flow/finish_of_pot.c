#include "flow/finish_of_pot.h"
#include "flow/job_json.h"
#include "formats/shelf_json.h"
#include "formats/text_in.h"
#include "paint/predict.h"
#include "shop/document.h"
#include "shop/toner_store.h"
#include <math.h>
#include <stdint.h>
#include <string.h>

static const double SAME_SHARE = .02;

/* ---- recipes in the book ---- */

static const char *curve_text(const struct spectrum *curve, struct arena *arena) {
    json_t *list = json_spectrum(curve);
    const char *text = document_text(list, arena);
    json_decref(list);
    return text;
}

void finish_fill(struct finish_row *finish, struct bench_recipe *recipe, struct arena *arena) {
    struct spectrum curve;
    predict_reflectance(&recipe->pour.shelf, recipe->pour.part, &recipe->pour.film, &curve);
    finish->has_lab = true;
    finish->lab = lab_of_spectrum(&curve, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    finish->reflectance = curve_text(&curve, arena);
    recipe->name = finish->name;
    json_t *document = bench_compact(recipe);
    finish->document = document_text(document, arena);
    json_decref(document);
}

static enum status read_recipe(const char *document, struct arena *arena, struct bench_recipe *out,
                               struct fault *fault) {
    const struct bytes bytes = {(const unsigned char *)document, strlen(document), "the book"};
    return bench_read(&bytes, 0, arena, out, fault);
}

enum status finish_recipe(const struct finish_row *finish, struct arena *arena, struct bench_recipe *out,
                          struct fault *fault) {
    return read_recipe(finish->document, arena, out, fault);
}

/* ---- another mix of the same toners, and of more ---- */

struct mix {
    size_t count;
    const char *toner[RECIPE_TONERS_MOST];
    double g[RECIPE_TONERS_MOST];
};

static enum status mix_add(struct mix *mix, const char *toner, double g, struct fault *fault) {
    if (!toner || !(g > 0) || !isfinite(g)) return STATUS_OK;
    size_t i = 0;
    while (i < mix->count && strcmp(mix->toner[i], toner) != 0) i++;
    if (i == RECIPE_TONERS_MOST)
        return FAULT(fault, BENCH_TOO_MANY, "the pot", COUNT_TEXT(RECIPE_TONERS_MOST));
    if (i == mix->count) mix->toner[mix->count++] = toner, mix->g[i] = 0;
    mix->g[i] += g;
    return STATUS_OK;
}

static enum status mix_read(const json_t *from, struct mix *mix, struct fault *fault) {
    const char *id;
    json_t *value;
    enum status status = STATUS_OK;
    for (size_t i = 0; i < json_array_size(from) && status == STATUS_OK; i++) {
        const json_t *item = json_array_get(from, i);
        status = mix_add(mix, json_string_value(json_object_get(item, "toner")),
                         json_number_value(json_object_get(item, "g")), fault);
    }
    json_object_foreach((json_t *)(uintptr_t)from, id, value) {
        if (status == STATUS_OK) status = mix_add(mix, id, json_number_value(value), fault);
    }
    if (status == STATUS_OK && !mix->count) status = FAULT(fault, BENCH_NO_PARTS, "the pot");
    return status;
}

/* The shelf that the shop makes its recipes from; empty when it has none. */
static enum status shop_shelf(const struct finish_desk *desk, struct shelf *out, struct fault *fault) {
    struct shelf_entry kept;
    bool found;
    *out = (struct shelf){0};
    const enum status status = toner_store_last(desk->book, "toners", desk->arena, &kept, &found, fault);
    if (status != STATUS_OK || !found) return status;
    const struct bytes bytes = {(const unsigned char *)kept.document, strlen(kept.document), "the shelf"};
    return shelf_read(&bytes, desk->arena, out, fault);
}

static enum status find_toner(const struct finish_desk *desk, const char *id, const struct shelf *recipe,
                              struct toner *out, struct fault *fault) {
    struct shelf shop;
    int at = shelf_find(recipe, id);
    if (at >= 0) return *out = recipe->toner[at], STATUS_OK;
    const enum status status = shop_shelf(desk, &shop, fault);
    if (status != STATUS_OK) return status;
    at = shelf_find(&shop, id);
    if (at < 0) return FAULT(fault, BENCH_TONER_MISSING, "the pot", SHOWN_TEXT(id));
    return *out = shop.toner[at], STATUS_OK;
}

enum status finish_mix(const struct finish_desk *desk, const json_t *from, struct bench_recipe *recipe,
                       struct fault *fault) {
    struct mix mix = {0};
    struct toner *toner = arena_need(desk->arena, RECIPE_TONERS_MOST, sizeof *toner);
    double sum = 0;
    enum status status = mix_read(from, &mix, fault);
    for (size_t i = 0; i < mix.count && status == STATUS_OK; i++) {
        status = find_toner(desk, mix.toner[i], &recipe->pour.shelf, &toner[i], fault);
        sum += mix.g[i];
    }
    if (status != STATUS_OK) return status;
    for (size_t i = 0; i < mix.count; i++) recipe->pour.part[i] = mix.g[i] / sum;
    recipe->pour.shelf.toner = toner;
    recipe->pour.shelf.count = mix.count;
    return STATUS_OK;
}

static double share_of(const struct bench_recipe *recipe, const char *toner) {
    const int at = shelf_find(&recipe->pour.shelf, toner);
    return at < 0 ? 0 : recipe->pour.part[at];
}

static bool is_same_mix(const struct bench_recipe *a, const struct bench_recipe *b) {
    if (a->pour.shelf.count != b->pour.shelf.count) return false;
    for (size_t i = 0; i < a->pour.shelf.count; i++) {
        const double share = share_of(b, a->pour.shelf.toner[i].id);
        if (share <= 0 || fabs(share - a->pour.part[i]) > SAME_SHARE) return false;
    }
    return true;
}

enum status finish_made_by(const struct finish_desk *desk, const struct bench_recipe *recipe,
                           struct finish_row *out, bool *found, struct fault *fault) {
    struct finish_row *row;
    size_t count;
    *found = false;
    const enum status status =
        finish_store_of_job(desk->book, desk->job->id, desk->arena, &row, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK && !*found; i++) {
        struct bench_recipe kept;
        if (finish_recipe(&row[i], desk->arena, &kept, NULL) != STATUS_OK || !is_same_mix(recipe, &kept))
            continue;
        *out = row[i];
        *found = true;
    }
    return status;
}

/* ---- what it was for ---- */

static enum status add_piece(const struct finish_desk *desk, const char *id, struct text *words,
                             struct fault *fault) {
    struct piece_row piece;
    struct material_row *material;
    size_t count;
    enum status status = piece_store_find(desk->book, desk->job->id, id, desk->arena, &piece, fault);
    if (status == STATUS_OK)
        status = material_store_list(desk->book, piece.id, desk->arena, &material, &count, fault);
    if (status != STATUS_OK) return status;
    text_format(words, "%s%s", words->length ? ", " : "", piece.name);
    for (size_t i = 0; i < count; i++) text_format(words, " (%s)", material[i].kind);
    return STATUS_OK;
}

/* The pieces that the colour goes on, and the job: "seat cushion (pigmented leather), back rest; Helm seat".
 */
static enum status describe(const struct finish_desk *desk, const struct entry_row *entry,
                            struct finish_row *finish, struct fault *fault) {
    const char **piece = NULL;
    size_t count = 0;
    struct text words = {0};
    enum status status = STATUS_OK;
    if (entry->colour)
        status = colour_store_pieces(desk->book, entry->colour, desk->arena, &piece, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        status = add_piece(desk, piece[i], &words, fault);
    if (status == STATUS_OK && !count && entry->piece) status = add_piece(desk, entry->piece, &words, fault);
    text_format(&words, "%s%s", words.length ? "; " : "", desk->job->title);
    finish->words = arena_text(desk->arena, words.data, words.length);
    text_free(&words);
    return status;
}

/* "Helm seat, cognac". */
static enum status base_name(const struct finish_desk *desk, const struct entry_row *entry, const char *given,
                             struct finish_row *finish, struct fault *fault) {
    struct colour_row colour = {.name = ""};
    enum status status = STATUS_OK;
    struct text name = {0};
    if (!given && entry->colour)
        status = colour_store_find(desk->book, desk->job->id, entry->colour, desk->arena, &colour, fault);
    if (status != STATUS_OK) return status;
    text_format(&name, "%s%s%s", given ? given : desk->job->title, *colour.name ? ", " : "", colour.name);
    finish->name = arena_text(desk->arena, name.data, name.length);
    text_free(&name);
    return status;
}

/* That name, or that name and a number. */
static bool is_own_name(const char *name, const char *base) {
    const size_t n = strlen(base);
    if (strncmp(name, base, n) != 0) return false;
    return !name[n] || (name[n] == ' ' && strspn(name + n + 1, "0123456789") == strlen(name + n + 1));
}

/* A name that no other finish has: "Helm seat, cognac", "Helm seat, cognac 2". */
static enum status name_it(const struct finish_desk *desk, const struct entry_row *entry, const char *given,
                           struct finish_row *finish, struct fault *fault) {
    enum status status = base_name(desk, entry, given, finish, fault);
    const char *base = finish->name;
    for (long long n = 1; status == STATUS_OK; n++) {
        struct text name = {0};
        size_t taken = 0;
        text_add(&name, base);
        if (n > 1) text_format(&name, " %lld", n);
        finish->name = arena_text(desk->arena, name.data, name.length);
        text_free(&name);
        status = finish_store_named(desk->book, finish->name, &taken, fault);
        if (!taken) break;
    }
    return status;
}

/* ---- pours and corrections ---- */

static enum status keep(const struct finish_desk *desk, const struct entry_row *entry, const char *given,
                        struct bench_recipe *recipe, bool there, struct finish_row *finish,
                        struct fault *fault) {
    enum status status = STATUS_OK;
    if (!there) {
        *finish =
            (struct finish_row){.job = desk->job->id, .entry = entry->id, .invented = desk->job->invented};
        status = name_it(desk, entry, given, finish, fault);
        if (status == STATUS_OK) status = describe(desk, entry, finish, fault);
    }
    if (status != STATUS_OK) return status;
    finish_fill(finish, recipe, desk->arena);
    return there ? finish_store_change(desk->book, finish, fault)
                 : finish_store_add(desk->book, finish, fault);
}

/* Its name and words follow the entry that puts the pour right, unless somebody gave it others. */
static enum status follow(const struct finish_desk *desk, const struct entry_row *entry, const char *given,
                          struct finish_row *finish, struct fault *fault) {
    struct entry_row before;
    struct finish_row then = {0}, now = {0};
    enum status status = entry_store_get(desk->book, entry->replaces, desk->arena, &before, fault);
    if (status != STATUS_OK) return status;
    json_t *document = NULL;
    status = document_read(before.document, &document, fault);
    const char *named = json_string_value(json_object_get(document, "name"));
    if (status == STATUS_OK) status = base_name(desk, &before, named && *named ? named : NULL, &then, fault);
    if (status == STATUS_OK) status = base_name(desk, entry, given, &now, fault);
    const bool keeps = named && *named && !given; /* the first pour gave it a name, the second none */
    json_decref(document);
    if (status != STATUS_OK) return status;
    if (!keeps && is_own_name(finish->name, then.name) && strcmp(then.name, now.name) != 0)
        status = name_it(desk, entry, given, finish, fault);
    if (status == STATUS_OK) status = describe(desk, &before, &then, fault);
    if (status == STATUS_OK && strcmp(finish->words, then.words) == 0)
        status = describe(desk, entry, finish, fault);
    return status;
}

/* Not keeping is no reason not to log, unless the book itself failed. */
static bool is_only_unread(enum status status, const struct fault *here, struct fault *why) {
    if (status != STATUS_INPUT) return false;
    FAULT(why, FINISH_NOT_KEPT, here->text);
    return true;
}

/* As the book has it: all that was ever weighed into the pot. */
static enum status mix_of_pot(const struct finish_desk *desk, const struct pot_row *pot, json_t **out,
                              struct fault *fault) {
    struct pour_row *pour;
    size_t count;
    const enum status status = pot_store_pours(desk->book, pot->id, desk->arena, &pour, &count, fault);
    json_t *list = *out = json_array();
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        json_t *one = json_object();
        json_put_text(one, "toner", pour[i].toner);
        json_put_number(one, "g", (double)pour[i].mg / 1000, 3);
        json_array_append_new(list, one);
    }
    return status;
}

/* What is in the pot: as the pour says, or as the book does. */
static enum status read_poured(const struct finish_desk *desk, const struct entry_row *entry,
                               const json_t *pour, const struct pot_row *carried, struct bench_recipe *recipe,
                               struct fault *fault) {
    json_t *mix = json_incref(json_object_get(pour, "poured"));
    enum status status = read_recipe(entry->document, desk->arena, recipe, fault);
    if (status == STATUS_OK && carried) {
        json_decref(mix);
        status = mix_of_pot(desk, carried, &mix, fault);
    }
    if (status == STATUS_OK) status = finish_mix(desk, mix, recipe, fault);
    json_decref(mix);
    return status;
}

enum status finish_of_pour(const struct finish_desk *desk, const struct entry_row *entry, const json_t *pour,
                           const struct pot_row *carried, struct finish_row *out, struct fault *why,
                           struct fault *fault) {
    struct bench_recipe recipe;
    struct fault here = {0};
    bool there = false;
    const char *given = json_string_value(json_object_get(pour, "name"));
    if (given && !*given) given = NULL;
    *out = (struct finish_row){0};
    enum status status = read_poured(desk, entry, pour, carried, &recipe, &here);
    if (is_only_unread(status, &here, why)) return STATUS_OK;
    if (status != STATUS_OK) return *fault = here, status;
    if (entry->replaces)
        status = finish_store_of_entry(desk->book, entry->replaces, desk->arena, out, &there, fault);
    if (status == STATUS_OK && there) status = follow(desk, entry, given, out, fault);
    if (status == STATUS_OK && there) out->entry = entry->id;
    if (status == STATUS_OK) status = keep(desk, entry, given, &recipe, there, out, fault);
    return status;
}

static bool lab_at(const json_t *object, const char *key, struct lab *out) {
    const json_t *lab = json_object_get(object, key);
    if (json_array_size(lab) != 3) return false;
    *out = (struct lab){json_number_value(json_array_get(lab, 0)),
                        json_number_value(json_array_get(lab, 1)),
                        json_number_value(json_array_get(lab, 2)),
                        {LIGHT_D65, OBSERVER_10}};
    return true;
}

/* What is still missing to the target, as the correction sees it; without it the pot is its own target. */
static void take_target(const json_t *correction, struct pour_recipe *pour) {
    struct lab after, target;
    pour->has_target = lab_at(correction, "lab_after", &after) && lab_at(correction, "target_lab", &target);
    if (!pour->has_target) return;
    const struct lab own = pour_lab(pour, pour->part);
    pour->target = (struct lab){own.l + target.l - after.l, own.a + target.a - after.a,
                                own.b + target.b - after.b, own.view};
}

/* What the correction itself expects the pot to look like, the cards of this pot heard. */
static void take_expected(const json_t *correction, struct finish_row *finish, struct arena *arena) {
    const json_t *curve = json_object_get(correction, "reflectance_after");
    if (!lab_at(correction, "lab_after", &finish->lab)) return;
    finish->reflectance = json_array_size(curve) == BANDS ? document_text(curve, arena) : NULL;
}

struct correcting {
    struct entry_row poured;
    bool has_entry, there; /* of the pour; of its finish */
    struct bench_recipe recipe;
};

static enum status find_corrected(const struct finish_desk *desk, const struct pot_row *pot,
                                  struct correcting *c, struct finish_row *out, struct fault *fault) {
    c->has_entry = pot->entry != NULL;
    if (!c->has_entry) return STATUS_OK;
    const enum status status =
        finish_store_of_entry(desk->book, pot->entry, desk->arena, out, &c->there, fault);
    return status == STATUS_OK ? entry_store_get(desk->book, pot->entry, desk->arena, &c->poured, fault)
                               : status;
}

/* The recipe of the corrected pot. */
static enum status read_corrected(const struct finish_desk *desk, const struct pot_row *pot,
                                  const json_t *correction, struct correcting *c,
                                  const struct finish_row *kept, struct fault *fault) {
    json_t *mix = json_incref(json_object_get(correction, "pot_after"));
    enum status status = STATUS_OK;
    if (!json_object_size(mix)) {
        json_decref(mix);
        status = mix_of_pot(desk, pot, &mix, fault);
    }
    if (status == STATUS_OK)
        status = read_recipe(c->there ? kept->document : pot->document, desk->arena, &c->recipe, fault);
    if (status == STATUS_OK) status = finish_mix(desk, mix, &c->recipe, fault);
    if (status == STATUS_OK) take_target(correction, &c->recipe.pour);
    json_decref(mix);
    return status;
}

enum status finish_of_correction(const struct finish_desk *desk, const struct pot_row *pot,
                                 const struct entry_row *entry, const json_t *correction,
                                 struct finish_row *out, struct fault *why, struct fault *fault) {
    struct correcting c = {0};
    struct fault here = {0};
    struct finish_row finish = {0};
    *out = finish;
    enum status status = find_corrected(desk, pot, &c, &finish, fault);
    if (status != STATUS_OK) return status;
    status = read_corrected(desk, pot, correction, &c, &finish, &here);
    if (is_only_unread(status, &here, why)) return STATUS_OK;
    if (status != STATUS_OK) return *fault = here, status;
    status = keep(desk, c.has_entry ? &c.poured : entry, NULL, &c.recipe, c.there, &finish, fault);
    if (status != STATUS_OK) return status;
    take_expected(correction, &finish, desk->arena);
    *out = finish;
    return finish_store_change(desk->book, out, fault);
}
