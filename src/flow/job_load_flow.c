/* russet job load: what has to be in the van for the jobs of a day. Toners come from each job's newest
 * recipe, pots from what was poured and not emptied, cautions from the plans. */
#include "base/text.h"
#include "flow/job_json.h"
#include "flow/pot_json.h"
#include "flow/shop_place.h"
#include "shop/document.h"
#include <string.h>

extern operation_flow job_load_flow;

static json_t *last_document(struct book *book, const char *job, const char *kind, struct arena *arena) {
    struct entry_row entry;
    bool found;
    json_t *document = NULL;
    const struct entry_filter filter = {.job = job, .kind = kind};
    if (entry_store_last(book, filter, arena, &entry, &found, NULL) != STATUS_OK || !found) return NULL;
    return document_read(entry.document, &document, NULL) == STATUS_OK ? document : NULL;
}

static void add_toners(const json_t *match, const char *colour, json_t *list) {
    const json_t *parts = json_object_get(json_array_get(json_object_get(match, "recipes"), 0), "parts");
    for (size_t i = 0; i < json_array_size(parts); i++) {
        const json_t *part = json_array_get(parts, i);
        json_t *toner = json_object();
        json_object_set(toner, "toner", json_object_get(part, "toner"));
        json_object_set(toner, "g", json_object_get(part, "g"));
        json_put_text(toner, "colour", colour);
        json_array_append_new(list, toner);
    }
}

static bool is_newest(const struct entry_row *entry, size_t count, size_t i) {
    for (size_t k = i + 1; k < count; k++)
        if (text_same(entry[k].colour, entry[i].colour)) return false;
    return true;
}

/* Of each colour the newest recipe; a job with one colour is told without its name. */
static enum status put_toners(struct book *book, const struct job_row *job, struct arena *arena, json_t *row,
                              struct fault *fault) {
    struct entry_row *entry;
    size_t count = 0, kept = 0;
    json_t *list = json_array();
    const struct entry_filter filter = {.job = job->id, .kind = "match"};
    enum status status = entry_store_list(book, filter, arena, &entry, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) kept += is_newest(entry, count, i);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        struct colour_row colour = {.name = NULL};
        json_t *match = NULL;
        if (!is_newest(entry, count, i)) continue;
        if (entry[i].colour && kept > 1)
            status = colour_store_find(book, job->id, entry[i].colour, arena, &colour, fault);
        if (status == STATUS_OK) status = document_read(entry[i].document, &match, fault);
        if (status == STATUS_OK) add_toners(match, colour.name, list);
        json_decref(match);
    }
    json_put(row, "toners", list);
    return status;
}

static bool stays_behind(const struct pot_row *pot) {
    return pot->emptied || pot->crosslinked || pot->taken_back;
}

static enum status put_pots(struct book *book, const struct job_row *job, struct arena *arena, json_t *row,
                            struct fault *fault) {
    struct pot_row *pot;
    size_t count = 0;
    const enum status status = pot_store_list(book, job->id, arena, &pot, &count, fault);
    return status == STATUS_OK ? pots_put(book, pot, count, stays_behind, arena, row, "pots", fault) : status;
}

static void put_cautions(struct book *book, const struct job_row *job, struct arena *arena, json_t *row) {
    json_t *plan = last_document(book, job->id, "plan", arena);
    json_t *cautions = json_object_get(plan, "cautions");
    json_put(row, "cautions", cautions ? json_incref(cautions) : json_array());
    json_decref(plan);
}

static enum status put_job(struct book *book, const struct job_row *job, struct arena *arena, json_t *list,
                           struct fault *fault) {
    struct customer_row customer;
    json_t *row = json_object();
    json_array_append_new(list, row);
    json_put_count(row, "number", job->number);
    json_put_text(row, "title", job->title);
    json_put_text(row, "place", job->place);
    json_put_text(row, "due", job->due_day);
    enum status status = STATUS_OK;
    if (job->customer) status = customer_store_find(book, job->customer, arena, &customer, fault);
    if (status != STATUS_OK) return status;
    json_put(row, "customer", job->customer ? customer_json(&customer) : json_null());
    status = put_toners(book, job, arena, row, fault);
    put_cautions(book, job, arena, row);
    return status == STATUS_OK ? put_pots(book, job, arena, row, fault) : status;
}

enum status job_load_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                          struct fault *fault) {
    struct book *book;
    struct job_row *job;
    size_t count = 0;
    char tomorrow[WALL_DAY_TEXT];
    const char *day = request_text(request, "--day");
    enum status status = shop_day_check("--day", day, fault);
    if (status == STATUS_OK) status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    if (!day) day = book_day(book, 1, tomorrow);
    *reply = json_start("load");
    json_put_text(*reply, "day", day);
    json_t *list = json_array();
    status = job_store_list(book, (struct job_filter){.due_until = day}, around->arena, &job, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        if (strcmp(job[i].state, "open") == 0 || strcmp(job[i].state, "waiting") == 0)
            status = put_job(book, &job[i], around->arena, list, fault);
    json_put(*reply, "jobs", list);
    book_close(book);
    return status;
}
