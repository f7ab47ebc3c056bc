/* russet job due: the days of a job as a calendar file. */
#include "flow/bill_put.h"
#include "flow/job_json.h"
#include "formats/ics.h"
#include "formats/json_out.h"
#include "shop/document.h"
#include "shop/entry_store.h"
#include "shop/invoice_store.h"
#include "shop/pot_store.h"
#include "shop/quote_store.h"
#include <math.h>
#include <string.h>

extern operation_flow job_due_flow;

enum { EVENTS_MOST = 64 };

struct due {
    struct job_desk desk;
    struct arena *arena;
    size_t count;
    struct ics_event event[EVENTS_MOST];
    const char *what[EVENTS_MOST];
};

static const char *sentence(struct due *due, enum word word, const char *const args[]) {
    struct fault told;
    fault_set(&told, word, args);
    return arena_text(due->arena, told.text, strlen(told.text));
}

/* what: stable, so that the same event keeps its uid and a calendar moves it instead of doubling it. */
static void add(struct due *due, const char *what, const char *id, const char *day, long long at_ms,
                const char *summary) {
    if (due->count == EVENTS_MOST) return;
    struct text uid = {0};
    text_format(&uid, "%s-%s@russet", id, what);
    due->what[due->count] = what;
    due->event[due->count++] = (struct ics_event){.uid = arena_text(due->arena, uid.data, uid.length),
                                                  .summary = summary,
                                                  .words = "",
                                                  .day = day,
                                                  .at_ms = at_ms};
    text_free(&uid);
}

static enum status add_quote(struct due *due, struct fault *fault) {
    struct quote_row *rows;
    size_t count;
    enum status status = quote_store_list(due->desk.book, due->desk.job.id, due->arena, &rows, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        json_t *document = NULL;
        if (strcmp(rows[i].state, "open") != 0) continue;
        status = document_read(rows[i].document, &document, fault);
        const char *day = json_string_value(json_object_get(document, "valid_until"));
        if (day && *day)
            add(due, "quote", rows[i].id, arena_text(due->arena, day, strlen(day)), 0,
                sentence(due, WORD_DUE_QUOTE,
                         (const char *const[]){COUNT_TEXT(rows[i].number), due->desk.job.title, NULL}));
        json_decref(document);
    }
    return status;
}

static enum status add_invoices(struct due *due, struct fault *fault) {
    struct invoice_row *rows;
    size_t count;
    enum status status =
        invoice_store_list(due->desk.book, due->desk.job.id, due->arena, &rows, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        json_t *document = NULL;
        bool cancelled = rows[i].cancels != NULL;
        for (size_t k = 0; k < count; k++)
            cancelled = cancelled || (rows[k].cancels && strcmp(rows[k].cancels, rows[i].id) == 0);
        if (cancelled) continue;
        status = document_read(rows[i].document, &document, fault);
        const char *day = json_string_value(json_object_get(document, "pay_until"));
        if (day && *day)
            add(due, "invoice", rows[i].id, arena_text(due->arena, day, strlen(day)), 0,
                sentence(due, WORD_DUE_INVOICE,
                         (const char *const[]){COUNT_TEXT(rows[i].number), due->desk.job.title, NULL}));
        json_decref(document);
    }
    return status;
}

static enum status add_cure(struct due *due, struct fault *fault) {
    struct entry_row row;
    bool found;
    json_t *document = NULL;
    enum status status =
        entry_store_last(due->desk.book, (struct entry_filter){.job = due->desk.job.id, .kind = "handover"},
                         due->arena, &row, &found, fault);
    if (status == STATUS_OK && found) status = document_read(row.document, &document, fault);
    const char *day = json_string_value(json_object_get(document, "cured_day"));
    if (day && *day)
        add(due, "cured", due->desk.job.id, arena_text(due->arena, day, strlen(day)), 0,
            sentence(due, WORD_DUE_CURED, (const char *const[]){due->desk.job.title, NULL}));
    json_decref(document);
    return status;
}

static enum status add_pots(struct due *due, struct fault *fault) {
    struct pot_row *rows;
    size_t count;
    const enum status status =
        pot_store_list(due->desk.book, due->desk.job.id, due->arena, &rows, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        if (rows[i].crosslinked && rows[i].life_min > 0)
            add(due, "pot", rows[i].id, NULL, rows[i].crosslinked_ms + llround(60000 * rows[i].life_min),
                sentence(due, WORD_DUE_POT, (const char *const[]){rows[i].name, due->desk.job.title, NULL}));
    return status;
}

static enum status collect(struct due *due, struct fault *fault) {
    const struct job_row *job = &due->desk.job;
    if (job->due_day)
        add(due, "promised", job->id, job->due_day, 0,
            sentence(due, WORD_DUE_PROMISED, (const char *const[]){job->title, NULL}));
    enum status status = add_quote(due, fault);
    if (status == STATUS_OK) status = add_invoices(due, fault);
    if (status == STATUS_OK) status = add_cure(due, fault);
    if (status == STATUS_OK) status = add_pots(due, fault);
    if (status == STATUS_OK && !due->count) status = FAULT(fault, DUE_NONE, COUNT_TEXT(job->number));
    return status;
}

static const char *day_of(const json_t *event) {
    const char *day = json_string_value(json_object_get(event, "day"));
    return day ? day : json_string_value(json_object_get(event, "at_local"));
}

/* The first comes first; of one day in the order they were found. */
static void put_in_order(json_t *events, json_t *event) {
    size_t at = json_array_size(events);
    while (at && strncmp(day_of(json_array_get(events, at - 1)), day_of(event), 10) > 0) at--;
    json_array_insert_new(events, at, event);
}

static json_t *reply_of(struct due *due) {
    json_t *reply = json_start("due"), *events = json_array();
    for (size_t i = 0; i < due->count; i++) {
        char time[WALL_TIME_TEXT];
        json_t *event = json_object();
        json_put_text(event, "what", due->what[i]);
        json_put_text(event, due->event[i].day ? "day" : "at",
                      due->event[i].day ? due->event[i].day : wall_time_write(due->event[i].at_ms, time));
        if (!due->event[i].day) json_put_local(due->desk.book, event, "at_local", due->event[i].at_ms);
        json_put_text(event, "text", due->event[i].summary);
        put_in_order(events, event);
    }
    json_put(reply, "job", bill_job(&due->desk.job));
    json_put(reply, "events", events);
    return reply;
}

enum status job_due_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                         struct fault *fault) {
    struct due *due = arena_need(around->arena, 1, sizeof *due);
    struct text ics = {0};
    due->arena = around->arena;
    if (!text_ends_ignoring_case(around->out, ".ics") && strrchr(around->out, '.'))
        return FAULT(fault, OUT_KIND_UNKNOWN, around->out, "job due", ".ics");
    enum status status = job_desk_open(around, request, &due->desk, fault);
    if (status != STATUS_OK) return status;
    status = collect(due, fault);
    if (status == STATUS_OK) {
        ics_write(due->event, due->count, book_now_ms(due->desk.book), &ics);
        status = disk_write(around->disk, around->out, ics.data, ics.length, fault);
    }
    if (status == STATUS_OK) *reply = reply_of(due);
    text_free(&ics);
    book_rollback(due->desk.book); /* nothing was written */
    book_close(due->desk.book);
    return status;
}
