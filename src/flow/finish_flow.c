/* russet finish find|keep|name|show: every recipe that was made, found again by colour or by words. A logged
 * pour leaves its finish by itself (flow/finish_of_pot.h). */
#include "flow/finish_of_pot.h"
#include "flow/job_json.h"
#include "flow/place.h"
#include "flow/recipe_brief.h"
#include "flow/shop_place.h"
#include "formats/bench_json.h"
#include "formats/json_in.h"
#include "shop/document.h"
#include "shop/finish_store.h"
#include <math.h>
#include <string.h>

extern operation_flow finish_find_flow, finish_keep_flow, finish_name_flow, finish_show_flow;

/* ---- find ---- */

static enum status find_near(struct book *book, const struct finish_near *asked, struct arena *arena,
                             json_t *list, struct fault *fault) {
    struct near_colour *near = arena_need(arena, asked->most, sizeof *near);
    size_t count = 0;
    enum status status = finish_store_near(book, asked, arena, near, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        struct finish_row finish;
        status = finish_store_at(book, near[i].key, arena, &finish, fault);
        if (status == STATUS_OK) json_array_append_new(list, finish_json(&finish, near[i].de00));
    }
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
    const char *near = request_text(request, "--near");
    const size_t most = (size_t)request_number(request, "--top", 10);
    struct finish_near asked = {.words = request_text(request, "--words"),
                                .most = most,
                                .within_de00 = request_number(request, "--within", 5)};
    enum status status = near ? read_lab(around, near, &asked.target, fault) : STATUS_OK;
    if (status == STATUS_OK) status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    json_t *list = json_array();
    *reply = json_start("finishes");
    json_put(*reply, "near", near ? json_lab(asked.target) : json_null());
    status = near ? find_near(book, &asked, around->arena, list, fault)
                  : find_words(book, request, most, around->arena, list, fault);
    json_put(*reply, "finishes", list);
    book_close(book);
    return status;
}

/* ---- keep, name ---- */

struct keeping {
    const struct surroundings *around;
    const struct request *request;
    struct finish_desk desk;
    struct job_row job;
    json_t *document; /* what match, pour, adjust wrote */
    unsigned long long rank;
    struct bytes bytes;
    struct finish_row finish;
    bool there; /* a pour had left it in the book already */
};

static enum status read_document(struct keeping *k, struct fault *fault) {
    const char *place = request_text(k->request, "RECIPE"), *path;
    enum status status = recipe_place_split(place, k->around->arena, &path, &k->rank, fault);
    if (status == STATUS_OK)
        status = disk_read(k->around->disk, path, DISK_TEXT_MIB, k->around->arena, &k->bytes, fault);
    if (status == STATUS_OK) status = json_read(&k->bytes, &k->document, fault);
    if (status == STATUS_OK)
        status = json_check_kind(k->document, "match|pour|recipe|adjustment|ring", path, fault);
    return status;
}

static bool is_correction(const json_t *document) {
    const char *kind = json_string_value(json_object_get(document, "kind"));
    return strcmp(kind, "adjustment") == 0 || strcmp(kind, "ring") == 0;
}

/* A correction says what the pot became; its film and the toners that were in it are those of the job's
 * newest finish. A pour: what was poured, when something was. */
static enum status read_recipe(struct keeping *k, struct bench_recipe *recipe, struct fault *fault) {
    struct finish_row *row;
    size_t count = 0;
    const json_t *after = json_object_get(k->document, "pot_after"),
                 *poured = json_object_get(k->document, "poured");
    enum status status = STATUS_OK;
    if (!is_correction(k->document)) {
        status = bench_read(&k->bytes, k->rank, k->around->arena, recipe, fault);
        const bool made = status == STATUS_OK && json_array_size(poured) > 0;
        return made ? finish_mix(&k->desk, poured, recipe, fault) : status;
    }
    if (k->desk.job)
        status = finish_store_of_job(k->desk.book, k->job.id, k->around->arena, &row, &count, fault);
    if (status == STATUS_OK && (!count || !json_object_size(after)))
        status = FAULT(fault, FINISH_OF_CORRECTION, k->bytes.name);
    if (status == STATUS_OK) status = finish_recipe(&row[0], k->around->arena, recipe, fault);
    return status == STATUS_OK ? finish_mix(&k->desk, after, recipe, fault) : status;
}

/* Its name, what it was for, what it measured: as far as they are given. */
static enum status say_of_it(const struct surroundings *around, const struct request *request,
                             struct finish_row *finish, struct fault *fault) {
    const char *name = request_text(request, "--name"), *words = request_text(request, "--words"),
               *measured = request_text(request, "--measured");
    if (name) finish->name = name;
    if (words || !finish->words) finish->words = words ? words : "";
    if (!measured) return STATUS_OK;
    finish->has_lab = true;
    finish->reflectance = NULL;
    return read_lab(around, measured, &finish->lab, fault);
}

static enum status keep(struct keeping *k, struct fault *fault) {
    struct bench_recipe recipe;
    enum status status = STATUS_OK;
    if (request_has(k->request, "--job")) {
        status =
            job_store_find(k->desk.book, request_text(k->request, "--job"), k->around->arena, &k->job, fault);
        k->desk.job = &k->job;
    }
    if (status == STATUS_OK) status = read_recipe(k, &recipe, fault);
    if (status == STATUS_OK && k->desk.job)
        status = finish_made_by(&k->desk, &recipe, &k->finish, &k->there, fault);
    if (status != STATUS_OK) return status;
    if (!k->there) {
        k->finish = (struct finish_row){.job = k->desk.job ? k->job.id : NULL,
                                        .name = request_text(k->request, "--name"),
                                        .invented = k->desk.job && k->job.invented};
        finish_fill(&k->finish, &recipe, k->around->arena);
    }
    status = say_of_it(k->around, k->request, &k->finish, fault);
    if (status != STATUS_OK) return status;
    return k->there ? finish_store_change(k->desk.book, &k->finish, fault)
                    : finish_store_add(k->desk.book, &k->finish, fault);
}

enum status finish_keep_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    struct keeping k = {.around = around, .request = request, .desk = {.arena = around->arena}};
    enum status status = read_document(&k, fault);
    if (status == STATUS_OK) status = shop_open(around, request, &k.desk.book, fault);
    if (status == STATUS_OK) status = book_begin(k.desk.book, fault);
    if (status == STATUS_OK) status = book_end(k.desk.book, keep(&k, fault), fault);
    if (status == STATUS_OK) {
        *reply = json_start("finish");
        json_put(*reply, "finish", finish_json(&k.finish, (double)NAN));
        json_put_flag(*reply, "named", k.there);
    }
    book_close(k.desk.book);
    json_decref(k.document);
    return status;
}

static enum status rename_it(const struct surroundings *around, const struct request *request,
                             struct book *book, struct finish_row *finish, struct fault *fault) {
    enum status status =
        finish_store_find(book, request_text(request, "FINISH"), around->arena, finish, fault);
    if (status == STATUS_OK) status = say_of_it(around, request, finish, fault);
    return status == STATUS_OK ? finish_store_change(book, finish, fault) : status;
}

enum status finish_name_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    struct book *book;
    struct finish_row finish;
    if (!request_has(request, "--name") && !request_has(request, "--words") &&
        !request_has(request, "--measured"))
        return FAULT0(fault, FINISH_NAME_WHAT);
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    status = book_begin(book, fault);
    if (status == STATUS_OK) status = book_end(book, rename_it(around, request, book, &finish, fault), fault);
    if (status == STATUS_OK) {
        *reply = json_start("finish");
        json_put(*reply, "finish", finish_json(&finish, (double)NAN));
        json_put_flag(*reply, "named", true);
    }
    book_close(book);
    return status;
}

/* One shape for every finish, whatever it was kept from: the recipe as pour reads it, with the finish's name.
 */
static enum status put_recipe(const struct finish_row *finish, struct arena *arena, json_t **reply,
                              struct fault *fault) {
    struct bench_recipe recipe;
    if (finish_recipe(finish, arena, &recipe, NULL) != STATUS_OK)
        return document_read(finish->document, reply, fault);
    recipe.name = finish->name;
    *reply = bench_compact(&recipe);
    return STATUS_OK;
}

enum status finish_show_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    struct book *book;
    struct finish_row finish;
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    status = finish_store_find(book, request_text(request, "FINISH"), around->arena, &finish, fault);
    if (status == STATUS_OK) status = put_recipe(&finish, around->arena, reply, fault);
    book_close(book);
    return status;
}
