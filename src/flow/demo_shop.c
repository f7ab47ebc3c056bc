/* The demo is a list of calls, as somebody at the bench would make them: each runs an operation of the table
 * on files in memory and leaves what it wrote for the calls behind it. Only the book of finishes is made
 * here, from mixes of the demo's shelf. */
#include "flow/demo_shop.h"
#include "colour/lab.h"
#include "device/memory_disk.h"
#include "formats/bench_json.h"
#include "formats/json_out.h"
#include "formats/shelf_json.h"
#include "paint/predict.h"
#include "shop/document.h"
#include "shop/finish_store.h"
#include "shop/job_store.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { CALL_WORDS = 26, FINISHES = 320, DAY_MS = 86400000 };

struct call {
    int day;             /* before today */
    const char *written; /* the file that the reply goes into, or NULL */
    const char *verb;
    const char *word[CALL_WORDS]; /* as on the command line; ended by NULL */
};

#include "flow/demo_calls.def"

#define DEMO(symbol) extern const unsigned char symbol##_begin[], symbol##_end[];
DEMO(demo_drawdowns)
DEMO(demo_about)
DEMO(demo_seat)
DEMO(demo_grounds)
DEMO(demo_stock)
#undef DEMO

struct demo {
    struct surroundings around;
    struct memory_disk files;
    long long now_ms;
};

static enum status put_files(struct demo *demo, struct fault *fault) {
    const struct {
        const char *name;
        const unsigned char *begin, *end;
    } shipped[] = {{"drawdowns.cgats", demo_drawdowns_begin, demo_drawdowns_end},
                   {"about.json", demo_about_begin, demo_about_end},
                   {"helm-seat.cgats", demo_seat_begin, demo_seat_end},
                   {"grounds.cgats", demo_grounds_begin, demo_grounds_end},
                   {"stock.json", demo_stock_begin, demo_stock_end}};
    enum status status = STATUS_OK;
    for (size_t i = 0; i < sizeof shipped / sizeof *shipped && status == STATUS_OK; i++)
        status = memory_disk_put(&demo->files, shipped[i].name, shipped[i].begin,
                                 (size_t)(shipped[i].end - shipped[i].begin), fault);
    return status;
}

/* ---- the calls ---- */

static const struct argument *argument_of(const struct operation *operation, const struct request *request,
                                          const char *word) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    for (size_t i = 0; i < count; i++) {
        const bool option = word[0] == '-' && word[1] == '-';
        const bool many = a[i].count == COUNT_SOME || a[i].count == COUNT_ANY;
        if (option ? strcmp(a[i].name, word) == 0
                   : a[i].name[0] != '-' && (many || !request_has(request, a[i].name)))
            return &a[i];
    }
    return NULL;
}

static enum status make_request(const struct call *call, const struct operation *operation,
                                struct request *request, struct fault *fault) {
    for (size_t i = 0; i < CALL_WORDS && call->word[i]; i++) {
        const struct argument *argument = argument_of(operation, request, call->word[i]);
        if (!argument) return FAULT(fault, DEMO_BROKEN, call->verb, call->word[i]);
        const bool option = argument->name[0] == '-', flag = argument->type == TYPE_FLAG;
        const char *value = flag ? NULL : call->word[option ? ++i : i];
        const enum status status = request_add(request, argument, value, fault);
        if (status != STATUS_OK) return status;
    }
    return request_check(request, fault);
}

static enum status keep_reply(struct demo *demo, const struct call *call, const json_t *reply,
                              struct fault *fault) {
    struct text text = {0};
    enum status status = json_finish(reply, &text, fault);
    if (status == STATUS_OK && call->written)
        status = memory_disk_put(&demo->files, call->written, text.data, text.length, fault);
    text_free(&text);
    return status;
}

static enum status run_call(struct demo *demo, const struct call *call, struct fault *fault) {
    const struct operation *operation = operation_find(call->verb);
    if (!operation) return FAULT(fault, DEMO_BROKEN, call->verb, "");
    long long ms = demo->now_ms - (long long)call->day * DAY_MS;
    demo->now_ms += 60000; /* every call a minute behind the one before */
    struct surroundings around = demo->around;
    around.clock = wall_clock_fake(&ms, demo->around.clock.zone);
    if (operation->papers == (unsigned)PAPER_OWN) around.out = "paper.pdf";
    struct request *request = request_new(operation, around.arena);
    enum status status = make_request(call, operation, request, fault);
    if (status != STATUS_OK) return status;
    json_t *reply = NULL;
    status = operation->flow(&around, request, &reply, fault);
    demo->around.ids = around.ids;
    if (status == STATUS_NO && reply) status = STATUS_OK; /* a "no" is part of the story */
    if (status == STATUS_OK) status = keep_reply(demo, call, reply, fault);
    json_decref(reply);
    return status;
}

/* ---- the book of finishes ---- */

/* A chain of numbers that fill 0..1 evenly (Weyl), so that the same book is made everywhere. */
static double even(unsigned i, unsigned which) {
    static const double step[] = {.6180339887, .7548776662, .5698402910, .8191725134, .6710436067};
    return fmod(.5 + (i + 1) * step[which % 5] + .37 * which, 1);
}

static void make_mix(const struct shelf *shelf, unsigned i, struct bench_recipe *recipe) {
    double weight[4] = {.30 + .5 * even(i, 0), .1 + even(i, 1), .04 + .8 * even(i, 2) * even(i, 2),
                        .02 + .3 * even(i, 3)};
    size_t binder = 0, used = 0;
    for (size_t t = 0; t < shelf->count; t++)
        if (shelf->toner[t].role == ROLE_BINDER) binder = t;
    struct pour_recipe *pour = &recipe->pour;
    pour->shelf.toner[used++] = shelf->toner[binder];
    for (unsigned k = 1; k < 4; k++) {
        const size_t t = (size_t)(even(i * 7 + k, k + 1) * (double)shelf->count);
        bool there = false;
        for (size_t u = 0; u < used; u++)
            there = there || strcmp(pour->shelf.toner[u].id, shelf->toner[t].id) == 0;
        if (!there) pour->shelf.toner[used] = shelf->toner[t], weight[used] = weight[k], used++;
    }
    pour->shelf.count = used;
    double sum = 0;
    for (size_t u = 1; u < used; u++) sum += weight[u];
    pour->part[0] = used > 1 ? weight[0] : 1;
    for (size_t u = 1; u < used; u++) pour->part[u] = (1 - weight[0]) * weight[u] / sum;
}

static const char *lightness_word(double l) {
    return l < 22 ? "dark" : l < 45 ? "middle" : l < 65 ? "light" : "pale";
}

static const char *hue_word(struct lch lch) {
    if (lch.c < 5) return lch.l < 22 ? "black" : "grey";
    if (lch.h_deg < 25 || lch.h_deg > 340) return "red";
    if (lch.h_deg < 55) return "oxblood brown";
    if (lch.h_deg < 75) return "cognac";
    if (lch.h_deg < 100) return "tan";
    if (lch.h_deg < 190) return "green";
    return lch.h_deg < 290 ? "blue" : "plum";
}

static enum status add_finish(struct demo *demo, struct book *book, const struct shelf *shelf, unsigned i,
                              struct fault *fault) {
    static const char *const used_for[] = {"helm seat of a wooden motor launch",
                                           "saloon cushion",
                                           "companionway step",
                                           "chart table top",
                                           "steering wheel",
                                           "armchair",
                                           "door card",
                                           "bench seat"};
    struct bench_recipe recipe = {.name = "", .rank = 1};
    recipe.pour.shelf = *shelf;
    struct toner toners[RECIPE_TONERS_MOST];
    recipe.pour.shelf.toner = toners;
    recipe.pour.film =
        (struct film_case){.film_um = (double)INFINITY, .geometry = GEOMETRY_SCI, .sheen_gu = (double)NAN};
    make_mix(shelf, i, &recipe);
    struct spectrum curve;
    predict_reflectance(&recipe.pour.shelf, recipe.pour.part, &recipe.pour.film, &curve);
    const struct lab lab = lab_of_spectrum(&curve, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    char name[80];
    snprintf(name, sizeof name, "%s %s %u", lightness_word(lab.l), hue_word(lch_of(lab)), i + 1);
    recipe.name = name;
    json_t *document = bench_compact(&recipe);
    struct finish_row finish = {.name = name,
                                .words = used_for[i % (sizeof used_for / sizeof *used_for)],
                                .has_lab = true,
                                .lab = lab,
                                .document = document_text(document, demo->around.arena),
                                .invented = true};
    json_decref(document);
    return finish_store_add(book, &finish, fault);
}

static enum status add_finishes(struct demo *demo, struct fault *fault) {
    struct book_how how = {
        .disk = demo->around.shop_disk, .clock = demo->around.clock, .ids = demo->around.ids};
    struct bytes bytes;
    struct shelf shelf;
    struct book *book;
    enum status status =
        disk_read(demo->around.disk, "toners.json", DISK_TEXT_MIB, demo->around.arena, &bytes, fault);
    if (status == STATUS_OK) status = shelf_read(&bytes, demo->around.arena, &shelf, fault);
    if (status == STATUS_OK) status = book_open(demo->around.shop_dir, how, &book, fault);
    if (status != STATUS_OK) return status;
    status = book_begin(book, fault);
    enum status added = status;
    for (unsigned i = 0; i < FINISHES && added == STATUS_OK; i++)
        added = add_finish(demo, book, &shelf, i, fault);
    if (status == STATUS_OK) status = book_end(book, added, fault);
    book_close(book);
    return status;
}

static enum status mark_jobs(struct book *book, struct arena *arena, struct fault *fault) {
    struct job_row *job;
    size_t count;
    enum status status = job_store_list(book, (struct job_filter){0}, arena, &job, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        job[i].invented = true;
        status = job_store_change(book, &job[i], fault);
    }
    return status;
}

static enum status mark_invented(struct demo *demo, struct fault *fault) {
    struct book_how how = {
        .disk = demo->around.shop_disk, .clock = demo->around.clock, .ids = demo->around.ids};
    struct book *book;
    enum status status = book_open(demo->around.shop_dir, how, &book, fault);
    if (status != STATUS_OK) return status;
    status = book_begin(book, fault);
    if (status == STATUS_OK) status = book_end(book, mark_jobs(book, demo->around.arena, fault), fault);
    book_close(book);
    return status;
}

enum status demo_shop_fill(const struct surroundings *around, struct fault *fault) {
    struct demo demo = {.around = *around, .files = {.arena = around->arena}};
    demo.now_ms = wall_clock_now_ms(&around->clock);
    demo.around.shop_disk = around->disk;
    demo.around.disk = memory_disk_enter(&demo.files);
    enum status status = put_files(&demo, fault);
    const size_t calls = sizeof demo_calls / sizeof *demo_calls;
    for (size_t i = 0; i < calls && status == STATUS_OK; i++) {
        status = run_call(&demo, &demo_calls[i], fault);
        work_report(around->work, (double)(i + 1) / (double)calls);
    }
    if (status == STATUS_OK) status = add_finishes(&demo, fault);
    if (status == STATUS_OK) status = mark_invented(&demo, fault);
    memory_disk_leave(&demo.files);
    return status;
}
