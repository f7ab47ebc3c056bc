/* russet finish find|keep|show: every recipe that was made, found again by colour or by words. */
#include "colour/nearest.h"
#include "flow/job_json.h"
#include "flow/place.h"
#include "flow/recipe_brief.h"
#include "flow/shop_place.h"
#include "formats/bench_json.h"
#include "formats/json_in.h"
#include "paint/predict.h"
#include "shop/document.h"
#include "shop/finish_store.h"
#include <math.h>
#include <string.h>

extern operation_flow finish_find_flow, finish_keep_flow, finish_show_flow;

enum { SEARCHED_MOST = 2000 };

static json_t *finish_json(const struct finish_row *finish, double de00) {
    json_t *object = json_object();
    json_put_text(object, "id", finish->id);
    json_put_text(object, "name", finish->name);
    json_put_text(object, "words", finish->words);
    json_put_text(object, "job", finish->job);
    json_put(object, "lab", finish->has_lab ? json_lab(finish->lab) : json_null());
    if (isfinite(de00))
        json_put_number(object, "de00", de00, DIGITS_LAB);
    else
        json_put_null(object, "de00");
    json_put_flag(object, "invented", finish->invented);
    json_put_time(object, "at", finish->created_ms);
    return object;
}

/* ---- find ---- */

static bool has_words(const struct finish_row *finish, const char *words) {
    struct text all = {0};
    text_format(&all, "%s %s", finish->name, finish->words);
    bool every = true;
    for (const char *at = words; every && *at;) {
        const size_t n = strcspn(at, " ");
        char word[80];
        if (n && n < sizeof word) {
            memcpy(word, at, n);
            word[n] = 0;
            every = strcasestr(all.data, word) != NULL;
        }
        at += n + strspn(at + n, " ");
    }
    text_free(&all);
    return every;
}

/* Words narrow what is near: as many near ones are looked at as there may be. */
static enum status find_near(struct book *book, const struct request *request, struct lab target, size_t most,
                             struct arena *arena, json_t *list, struct fault *fault) {
    struct finish_points points = {0};
    enum status status = finish_store_points(book, &points, fault);
    if (status != STATUS_OK) return status;
    const char *words = request_text(request, "--words");
    const size_t looked = words ? SEARCHED_MOST : most;
    struct near_colour *near = arena_need(arena, looked, sizeof *near);
    struct nearest *tree = nearest_new(points.lab, points.count);
    const size_t count = nearest_find(tree, target, looked, request_number(request, "--within", 5), near);
    for (size_t i = 0; i < count && status == STATUS_OK && json_array_size(list) < most; i++) {
        struct finish_row finish;
        status = finish_store_at(book, points.row[near[i].index], arena, &finish, fault);
        if (status == STATUS_OK && (!words || has_words(&finish, words)))
            json_array_append_new(list, finish_json(&finish, near[i].de00));
    }
    nearest_free(tree);
    memory_free(points.lab);
    memory_free(points.row);
    return status;
}

static enum status find_words(struct book *book, const struct request *request, size_t most,
                              struct arena *arena, json_t *list, struct fault *fault) {
    struct finish_row *finish;
    size_t count = 0;
    const enum status status =
        finish_store_search(book, request_text(request, "--words"), most, arena, &finish, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        json_array_append_new(list, finish_json(&finish[i], (double)NAN));
    return status;
}

static enum status read_lab(const struct surroundings *around, const char *place, struct lab *out,
                            struct fault *fault) {
    struct reading reading;
    const enum status status = place_read(around, place, GEOMETRY_UNKNOWN, &reading, fault);
    if (status != STATUS_OK) return status;
    *out = reading.lab;
    return STATUS_OK;
}

enum status finish_find_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    struct book *book;
    struct lab target;
    const char *near = request_text(request, "--near");
    enum status status = near ? read_lab(around, near, &target, fault) : STATUS_OK;
    if (status == STATUS_OK) status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    const size_t most = (size_t)request_number(request, "--top", 10);
    json_t *list = json_array();
    *reply = json_start("finishes");
    json_put(*reply, "near", near ? json_lab(target) : json_null());
    status = near ? find_near(book, request, target, most, around->arena, list, fault)
                  : find_words(book, request, most, around->arena, list, fault);
    json_put(*reply, "finishes", list);
    book_close(book);
    return status;
}

/* ---- keep ---- */

/* A match with the one recipe that is kept, a pour as it is. */
static enum status document_of(const struct surroundings *around, const char *place, json_t **out,
                               struct bench_recipe *recipe, struct fault *fault) {
    const char *path;
    unsigned long long rank;
    struct bytes bytes;
    enum status status = recipe_place_split(place, around->arena, &path, &rank, fault);
    if (status == STATUS_OK)
        status = disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, fault);
    if (status == STATUS_OK)
        status = bench_read(&bytes, path == place ? 0 : rank, around->arena, recipe, fault);
    if (status == STATUS_OK) status = json_read(&bytes, out, fault);
    if (status != STATUS_OK) return status;
    json_t *recipes = json_object_get(*out, "recipes");
    if (!json_is_array(recipes)) return STATUS_OK;
    json_t *one = json_incref(json_array_get(recipes, rank - 1)), *list = json_array();
    json_object_set_new(one, "rank", json_integer(1));
    json_array_append_new(list, one);
    json_object_set_new(*out, "recipes", list);
    return STATUS_OK;
}

static void colour_of_recipe(const struct bench_recipe *recipe, struct spectrum *curve) {
    predict_reflectance(&recipe->pour.shelf, recipe->pour.part, &recipe->pour.film, curve);
}

static const char *curve_text(const struct spectrum *curve, struct arena *arena) {
    json_t *list = json_spectrum(curve);
    const char *text = document_text(list, arena);
    json_decref(list);
    return text;
}

static enum status fill(const struct surroundings *around, const struct request *request,
                        const struct bench_recipe *recipe, struct finish_row *finish, struct fault *fault) {
    const char *measured = request_text(request, "--measured");
    const struct weights *weights = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    struct spectrum curve;
    finish->has_lab = true;
    if (measured) return read_lab(around, measured, &finish->lab, fault);
    colour_of_recipe(recipe, &curve);
    finish->lab = lab_of_spectrum(&curve, weights);
    finish->reflectance = curve_text(&curve, around->arena);
    return STATUS_OK;
}

static enum status add(struct book *book, const struct request *request, struct arena *arena,
                       struct finish_row *finish, struct fault *fault) {
    struct job_row job;
    enum status status = STATUS_OK;
    if (request_has(request, "--job")) {
        status = job_store_find(book, request_text(request, "--job"), arena, &job, fault);
        finish->job = job.id;
    }
    return status == STATUS_OK ? finish_store_add(book, finish, fault) : status;
}

enum status finish_keep_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    struct book *book = NULL;
    struct bench_recipe recipe;
    json_t *document = NULL;
    const char *words = request_text(request, "--words");
    struct finish_row finish = {.name = request_text(request, "--name"), .words = words ? words : ""};
    enum status status = document_of(around, request_text(request, "RECIPE"), &document, &recipe, fault);
    if (status == STATUS_OK) status = fill(around, request, &recipe, &finish, fault);
    if (status == STATUS_OK) finish.document = document_text(document, around->arena);
    if (status == STATUS_OK) status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK) status = book_begin(book, fault);
    if (status == STATUS_OK)
        status = book_end(book, add(book, request, around->arena, &finish, fault), fault);
    if (status == STATUS_OK) {
        finish.job = NULL;
        *reply = json_start("finish");
        json_put(*reply, "finish", finish_json(&finish, (double)NAN));
    }
    book_close(book);
    json_decref(document);
    return status;
}

enum status finish_show_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    struct book *book;
    struct finish_row finish;
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    status = finish_store_find(book, request_text(request, "FINISH"), around->arena, &finish, fault);
    if (status == STATUS_OK) status = document_read(finish.document, reply, fault);
    book_close(book);
    return status;
}
