/* russet job new|add|change|list|show. */
#include "flow/job_json.h"
#include "flow/shop_place.h"
#include "flow/unchanged.h"
#include "shop/job_next.h"
#include <string.h>

extern operation_flow job_new_flow, job_add_flow, job_change_flow, job_list_flow, job_show_flow;

static const char *text_or(const struct request *request, const char *name, const char *otherwise) {
    return request_has(request, name) ? request_text(request, name) : otherwise;
}

/* A customer who is in the book already, or one who is put there now. */
static enum status customer_of(struct book *book, const struct request *request, struct arena *arena,
                               const char **id, struct fault *fault) {
    const char *name = request_text(request, "--customer");
    *id = NULL;
    if (!name) return STATUS_OK;
    struct customer_row customer = {0};
    enum status status = customer_store_find(book, name, arena, &customer, fault);
    if (status == STATUS_INPUT && fault->word == WORD_SHOP_NO_SUCH) {
        customer = (struct customer_row){.name = name,
                                         .telephone = text_or(request, "--telephone", ""),
                                         .email = text_or(request, "--email", ""),
                                         .address = text_or(request, "--address", ""),
                                         .words = "",
                                         .trade = request_flag(request, "--trade")};
        status = customer_store_add(book, &customer, fault);
    }
    if (status == STATUS_OK) *id = arena_text(arena, customer.id, strlen(customer.id));
    return status;
}

static enum status return_of(struct book *book, const struct request *request, struct arena *arena,
                             struct job_row *job, struct fault *fault) {
    const char *text = request_text(request, "--return-of");
    job->return_cause = text_or(request, "--cause", job->return_cause ? job->return_cause : "");
    if (!text && !job->return_of && job->return_cause[0]) return FAULT0(fault, JOB_CAUSE_ALONE);
    if (!text) return STATUS_OK;
    struct job_row before;
    const enum status status = job_store_find(book, text, arena, &before, fault);
    if (status != STATUS_OK) return status;
    if (strcmp(before.id, job->id) == 0) return FAULT(fault, JOB_OF_ITSELF, COUNT_TEXT(before.number));
    job->return_of = arena_text(arena, before.id, strlen(before.id));
    return STATUS_OK;
}

static enum status add_pieces(struct book *book, const struct request *request, const struct job_row *job,
                              struct fault *fault) {
    enum status status = STATUS_OK;
    for (size_t i = 0; i < request_count(request, "--piece") && status == STATUS_OK; i++) {
        struct piece_row piece = {
            .job = job->id, .name = request_text_at(request, "--piece", i), .words = "", .about = "{}"};
        status = piece_store_add(book, &piece, fault);
    }
    return status;
}

static enum status add_colours(struct book *book, const struct request *request, const struct job_row *job,
                               struct arena *arena, struct fault *fault) {
    struct piece_row *piece;
    size_t pieces;
    enum status status = piece_store_list(book, job->id, arena, &piece, &pieces, fault);
    for (size_t i = 0; i < request_count(request, "--colour") && status == STATUS_OK; i++) {
        struct colour_row colour = {.job = job->id,
                                    .name = request_text_at(request, "--colour", i),
                                    .role = i ? "second" : "body",
                                    .words = "",
                                    .about = "{}"};
        status = colour_store_add(book, &colour, fault);
        for (size_t k = 0; k < pieces && status == STATUS_OK; k++)
            status = colour_store_goes_on(book, colour.id, piece[k].id, fault);
    }
    return status;
}

static enum status add_job(struct book *book, const struct request *request, struct arena *arena,
                           struct job_row *job, struct fault *fault) {
    *job = (struct job_row){.title = request_text(request, "--title"),
                            .words = text_or(request, "--words", ""),
                            .place = text_or(request, "--place", ""),
                            .due_day = request_text(request, "--due")};
    enum status status = shop_day_check("--due", job->due_day, fault);
    if (status == STATUS_OK) status = customer_of(book, request, arena, &job->customer, fault);
    if (status == STATUS_OK) status = return_of(book, request, arena, job, fault);
    if (status == STATUS_OK) status = job_store_add(book, job, fault);
    if (status == STATUS_OK) status = add_pieces(book, request, job, fault);
    if (status == STATUS_OK) status = add_colours(book, request, job, arena, fault);
    return status;
}

/* What has just been done, as the job now stands. */
static enum status reply_job(struct book *book, const char *id, struct arena *arena, json_t **reply,
                             struct fault *fault) {
    struct job_row job;
    *reply = json_start("job");
    enum status status = job_store_find(book, id, arena, &job, fault);
    if (status == STATUS_OK) status = job_put(book, &job, false, false, arena, *reply, fault);
    return status;
}

typedef enum status job_work(struct book *book, const struct request *request, struct arena *arena,
                             struct job_row *job, struct fault *fault);

/* One transaction, and the job as it then stands. */
static enum status with_the_pen(const struct surroundings *around, const struct request *request,
                                job_work *work, json_t **reply, struct fault *fault) {
    struct book *book;
    struct job_row job = {0};
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    status = book_begin(book, fault);
    if (status == STATUS_OK) status = book_end(book, work(book, request, around->arena, &job, fault), fault);
    if (status == STATUS_OK) status = reply_job(book, job.id, around->arena, reply, fault);
    book_close(book);
    return status;
}

enum status job_new_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                         struct fault *fault) {
    return with_the_pen(around, request, add_job, reply, fault);
}

/* ---- add ---- */

static enum status piece_of(struct book *book, const struct request *request, const struct job_row *job,
                            struct arena *arena, struct piece_row *piece, struct fault *fault) {
    const char *name = request_text(request, "--piece");
    enum status status = piece_store_find(book, job->id, name, arena, piece, fault);
    if (status != STATUS_INPUT || fault->word != WORD_SHOP_NO_SUCH) return status;
    *piece = (struct piece_row){.job = job->id, .name = name, .words = "", .about = "{}"};
    return piece_store_add(book, piece, fault);
}

static enum status colour_of(struct book *book, const struct request *request, const struct job_row *job,
                             struct arena *arena, struct colour_row *colour, struct fault *fault) {
    const char *name = request_text(request, "--colour");
    const char *role = request_text(request, "--role");
    enum status status = colour_store_find(book, job->id, name, arena, colour, fault);
    if (status == STATUS_OK && role) {
        colour->role = role;
        return colour_store_change(book, colour, fault);
    }
    if (status != STATUS_INPUT || fault->word != WORD_SHOP_NO_SUCH) return status;
    *colour = (struct colour_row){.job = job->id, .name = name, .role = role, .words = "", .about = "{}"};
    return colour_store_add(book, colour, fault);
}

/* What is taken off must be there. */
static enum status take_off(struct book *book, const struct request *request, struct arena *arena,
                            struct job_row *job, struct fault *fault) {
    struct piece_row piece;
    struct colour_row colour;
    enum status status = job_store_find(book, request_text(request, "JOB"), arena, job, fault);
    if (status == STATUS_OK)
        status = piece_store_find(book, job->id, request_text(request, "--piece"), arena, &piece, fault);
    if (status == STATUS_OK)
        status = colour_store_find(book, job->id, request_text(request, "--colour"), arena, &colour, fault);
    return status == STATUS_OK ? colour_store_comes_off(book, colour.id, piece.id, fault) : status;
}

static enum status add_to_job(struct book *book, const struct request *request, struct arena *arena,
                              struct job_row *job, struct fault *fault) {
    struct piece_row piece = {0};
    struct colour_row colour;
    const char *material = request_text(request, "--material");
    const bool has_piece = request_has(request, "--piece"), has_colour = request_has(request, "--colour"),
               off = request_flag(request, "--off");
    if ((!has_piece && (material || !has_colour)) || (off && (material || !has_piece || !has_colour)))
        return FAULT0(fault, JOB_ADD_WHAT);
    if (off) return take_off(book, request, arena, job, fault);
    enum status status = job_store_find(book, request_text(request, "JOB"), arena, job, fault);
    if (status == STATUS_OK && has_piece) status = piece_of(book, request, job, arena, &piece, fault);
    if (status == STATUS_OK && material) {
        struct material_row row = {.piece = piece.id, .kind = material, .words = "", .about = "{}"};
        status = material_store_add(book, &row, fault);
    }
    if (status == STATUS_OK && has_colour) status = colour_of(book, request, job, arena, &colour, fault);
    if (status == STATUS_OK && has_colour && has_piece)
        status = colour_store_goes_on(book, colour.id, piece.id, fault);
    return status;
}

enum status job_add_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                         struct fault *fault) {
    return with_the_pen(around, request, add_to_job, reply, fault);
}

/* ---- change ---- */

static bool clears(const struct request *request, const char *what) {
    for (size_t i = 0; i < request_count(request, "--clear"); i++)
        if (strcmp(request_text_at(request, "--clear", i), what) == 0) return true;
    return false;
}

static enum status change_job(struct book *book, const struct request *request, struct arena *arena,
                              struct job_row *job, struct fault *fault) {
    enum status status = shop_day_check("--due", request_text(request, "--due"), fault);
    if (status == STATUS_OK) status = job_store_find(book, request_text(request, "JOB"), arena, job, fault);
    if (status == STATUS_OK)
        status = unchanged_check_named(request, book, job->title, job->changed_ms, fault);
    if (status != STATUS_OK) return status;
    job->title = text_or(request, "--title", job->title);
    job->state = text_or(request, "--state", job->state);
    job->due_day = text_or(request, "--due", job->due_day);
    job->place = text_or(request, "--place", job->place);
    job->words = text_or(request, "--words", job->words);
    if (clears(request, "due")) job->due_day = NULL;
    if (clears(request, "place")) job->place = "";
    if (clears(request, "words")) job->words = "";
    status = return_of(book, request, arena, job, fault);
    if (status != STATUS_OK) return status;
    struct customer_row customer;
    if (request_has(request, "--customer")) {
        status = customer_store_find(book, request_text(request, "--customer"), arena, &customer, fault);
        job->customer = arena_text(arena, customer.id, strlen(customer.id));
    }
    return status == STATUS_OK ? job_store_change(book, job, fault) : status;
}

enum status job_change_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                            struct fault *fault) {
    return with_the_pen(around, request, change_job, reply, fault);
}

/* ---- list and show ---- */

static enum status put_row(struct book *book, const struct job_row *job, struct arena *arena, json_t *list,
                           struct fault *fault) {
    struct customer_row customer;
    struct job_next next;
    enum status status = job_next_read(book, job, NULL, arena, &next, fault);
    if (status == STATUS_OK && job->customer)
        status = customer_store_find(book, job->customer, arena, &customer, fault);
    if (status != STATUS_OK) return status;
    json_t *row = json_object();
    json_put_text(row, "id", job->id);
    json_put_count(row, "number", job->number);
    json_put_text(row, "title", job->title);
    json_put_text(row, "customer", job->customer ? customer.name : NULL);
    json_put_text(row, "state", job->state);
    json_put_text(row, "due", job->due_day);
    json_put_text(row, "next", next.next);
    json_put_text(row, "last_done", next.last_done);
    json_put_flag(row, "invented", job->invented);
    json_put_time(row, "changed", job->changed_ms);
    json_array_append_new(list, row);
    return STATUS_OK;
}

static enum status list_jobs(struct book *book, const struct request *request, struct arena *arena,
                             json_t *reply, struct fault *fault) {
    const size_t most = (size_t)request_number(request, "--top", 0);
    struct job_filter filter = {.state = request_text(request, "--state"),
                                .due_until = request_text(request, "--due-until"),
                                .words = request_text(request, "--words"),
                                .most = most ? most + 1 : 0,
                                .skip = (size_t)request_number(request, "--skip", 0)};
    struct customer_row customer;
    struct job_row *job;
    size_t count = 0;
    enum status status = shop_day_check("--due-until", filter.due_until, fault);
    if (status == STATUS_OK && request_has(request, "--customer")) {
        status = customer_store_find(book, request_text(request, "--customer"), arena, &customer, fault);
        filter.customer = customer.id;
    }
    if (status == STATUS_OK) status = job_store_list(book, filter, arena, &job, &count, fault);
    json_t *list = json_array();
    const bool more = most && count > most; /* one more than was wanted tells */
    for (size_t i = 0; i < count - more && status == STATUS_OK; i++)
        status = put_row(book, &job[i], arena, list, fault);
    json_put(reply, "jobs", list);
    json_put_flag(reply, "more", more);
    json_put_flag(reply, "asked_for_some",
                  filter.state || filter.due_until || filter.words || filter.customer || filter.skip);
    return status;
}

enum status job_list_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                          struct fault *fault) {
    struct book *book;
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    *reply = json_start("jobs");
    status = list_jobs(book, request, around->arena, *reply, fault);
    book_close(book);
    return status;
}

enum status job_show_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                          struct fault *fault) {
    struct book *book;
    struct job_row job;
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    *reply = json_start("job");
    status = job_store_find(book, request_text(request, "JOB"), around->arena, &job, fault);
    if (status == STATUS_OK)
        status = job_put(book, &job, request_flag(request, "--documents"),
                         request_flag(request, "--with-replaced"), around->arena, *reply, fault);
    book_close(book);
    return status;
}
