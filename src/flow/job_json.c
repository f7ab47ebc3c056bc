#include "flow/job_json.h"
#include "flow/entry_gist.h"
#include "flow/pot_json.h"
#include "shop/document.h"
#include "shop/invoice_store.h"
#include "shop/job_next.h"
#include "shop/quote_store.h"
#include <math.h>
#include <string.h>

void json_put_time(json_t *object, const char *key, long long ms) {
    char text[WALL_TIME_TEXT];
    json_put_text(object, key, ms ? wall_time_write(ms, text) : NULL);
}

void json_put_local(struct book *book, json_t *object, const char *key, long long ms) {
    char text[WALL_TIME_TEXT];
    json_put_text(object, key, ms ? wall_time_write_at(ms, book_offset_s(book, ms), text) : NULL);
}

void json_put_document(json_t *object, const char *key, const char *document) {
    json_t *value = document ? json_loads(document, JSON_DECODE_ANY, NULL) : NULL;
    json_put(object, key, value ? value : json_null());
}

json_t *customer_json(const struct customer_row *customer) {
    json_t *object = json_object();
    json_put_text(object, "id", customer->id);
    json_put_text(object, "name", customer->name);
    json_put_text(object, "telephone", customer->telephone);
    json_put_text(object, "email", customer->email);
    json_put_text(object, "address", customer->address);
    json_put_text(object, "words", customer->words);
    json_put_flag(object, "trade", customer->trade);
    json_put_text(object, "price_list", customer->price_list);
    json_put_time(object, "erased", customer->erased_ms);
    json_put_time(object, "changed", customer->changed_ms);
    return object;
}

json_t *entry_json(struct book *book, const struct entry_row *entry, bool documents) {
    json_t *object = json_object(), *photographs = json_array();
    json_put_text(object, "id", entry->id);
    json_put_text(object, "step", job_step_name(entry->step));
    json_put_text(object, "kind", entry->kind);
    json_put_time(object, "at", entry->at_ms);
    json_put_local(book, object, "at_local", entry->at_ms);
    json_put_text(object, "zone", entry->zone);
    json_put_text(object, "words", entry->words);
    struct text gist = {0};
    entry_gist(entry, &gist);
    json_put_text(object, "gist", gist.length ? gist.data : NULL);
    text_free(&gist);
    json_put_text(object, "piece", entry->piece);
    json_put_text(object, "colour", entry->colour);
    json_put_text(object, "replaces", entry->replaces);
    for (size_t i = 0; i < entry->photograph_count; i++)
        json_array_append_new(photographs, json_string(entry->photograph[i]));
    json_put(object, "photographs", photographs);
    if (documents) json_put_document(object, "document", entry->document);
    return object;
}

json_t *finish_json(const struct finish_row *finish, double de00) {
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

/* ---- the whole job ---- */

static enum status put_pieces(struct book *book, const struct job_row *job, struct arena *arena,
                              json_t *reply, struct fault *fault) {
    struct piece_row *piece;
    size_t count, materials;
    enum status status = piece_store_list(book, job->id, arena, &piece, &count, fault);
    json_t *list = json_array();
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        struct material_row *material;
        status = material_store_list(book, piece[i].id, arena, &material, &materials, fault);
        json_t *object = json_object(), *made_of = json_array();
        json_put_text(object, "id", piece[i].id);
        json_put_text(object, "name", piece[i].name);
        for (size_t k = 0; k < materials && status == STATUS_OK; k++)
            json_array_append_new(made_of, json_string(material[k].kind));
        json_put(object, "materials", made_of);
        json_array_append_new(list, object);
    }
    json_put(reply, "pieces", list);
    return status;
}

static enum status put_colours(struct book *book, const struct job_row *job, struct arena *arena,
                               json_t *reply, struct fault *fault) {
    struct colour_row *colour;
    size_t count, pieces;
    enum status status = colour_store_list(book, job->id, arena, &colour, &count, fault);
    json_t *list = json_array();
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        const char **piece;
        status = colour_store_pieces(book, colour[i].id, arena, &piece, &pieces, fault);
        json_t *object = json_object(), *on = json_array();
        json_put_text(object, "id", colour[i].id);
        json_put_text(object, "name", colour[i].name);
        json_put_text(object, "role", colour[i].role);
        for (size_t k = 0; k < pieces && status == STATUS_OK; k++)
            json_array_append_new(on, json_string(piece[k]));
        json_put(object, "pieces", on);
        json_array_append_new(list, object);
    }
    json_put(reply, "colours", list);
    return status;
}

static enum status put_customer(struct book *book, const struct job_row *job, struct arena *arena,
                                json_t *reply, struct fault *fault) {
    struct customer_row customer;
    if (!job->customer) return json_put_null(reply, "customer"), STATUS_OK;
    const enum status status = customer_store_find(book, job->customer, arena, &customer, fault);
    if (status == STATUS_OK) json_put(reply, "customer", customer_json(&customer));
    return status;
}

/* How often something stands in each step. */
static void put_steps(const struct entry_row *entry, size_t count, json_t *reply) {
    size_t entries[JOB_STEPS] = {0};
    for (size_t i = 0; i < count; i++)
        if (strcmp(entry[i].kind, "taken-back") != 0) entries[entry[i].step]++;
    json_t *list = json_array();
    for (int step = 0; step < JOB_STEPS; step++) {
        json_t *object = json_object();
        json_put_text(object, "step", job_step_name((enum job_step)step));
        json_put_count(object, "entries", (long long)entries[step]);
        json_array_append_new(list, object);
    }
    json_put(reply, "steps", list);
}

static void put_next(const struct job_next *next, json_t *object) {
    json_t *skipped = json_array();
    for (size_t i = 0; i < next->skipped_count; i++)
        json_array_append_new(skipped, json_string(next->skipped[i]));
    json_put_text(object, "next", next->next);
    json_put_text(object, "last_done", next->last_done);
    json_put(object, "skipped", skipped);
}

/* Of the job and of each of its colours; and what is not passed over in silence. */
static enum status put_standing(struct book *book, const struct job_row *job, struct arena *arena,
                                json_t *reply, struct fault *fault) {
    struct job_next next;
    struct job_owed owed;
    json_t *colours = json_object_get(reply, "colours"), *list = json_array();
    enum status status = job_next_read(book, job, NULL, arena, &next, fault);
    if (status == STATUS_OK) put_next(&next, reply);
    for (size_t i = 0; i < json_array_size(colours) && status == STATUS_OK; i++) {
        json_t *colour = json_array_get(colours, i);
        status =
            job_next_read(book, job, json_string_value(json_object_get(colour, "id")), arena, &next, fault);
        if (status == STATUS_OK) put_next(&next, colour);
    }
    if (status == STATUS_OK) status = job_owed_read(book, job, arena, &owed, fault);
    for (size_t i = 0; status == STATUS_OK && i < owed.count; i++) {
        char id[80];
        json_t *one = json_object();
        word_key(owed.say[i].word, id, sizeof id);
        json_put_text(one, "id", id);
        json_put_text(one, "text", owed.say[i].text);
        json_array_append_new(list, one);
    }
    json_put(reply, "owed", list);
    return status;
}

static enum status put_entries(struct book *book, const struct job_row *job, bool documents,
                               bool with_replaced, struct arena *arena, json_t *reply, struct fault *fault) {
    struct entry_row *entry;
    size_t count;
    const struct entry_filter filter = {.job = job->id, .with_replaced = with_replaced};
    const enum status status = entry_store_list(book, filter, arena, &entry, &count, fault);
    if (status != STATUS_OK) return status;
    put_steps(entry, count, reply);
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) json_array_append_new(list, entry_json(book, &entry[i], documents));
    json_put(reply, "entries", list);
    return STATUS_OK;
}

/* What the gate said of each piece that was planned: yes, to be asked, no. */
static enum status put_gates(struct book *book, const struct job_row *job, struct arena *arena, json_t *reply,
                             struct fault *fault) {
    struct entry_row *entry;
    size_t count = 0;
    json_t *list = json_array();
    const struct entry_filter filter = {.job = job->id, .kind = "plan"};
    enum status status = entry_store_list(book, filter, arena, &entry, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        json_t *plan = NULL, *object = json_object();
        status = document_read(entry[i].document, &plan, fault);
        json_t *gate = json_object_get(plan, "gate"), *refused = json_object_get(plan, "refused");
        json_put_text(object, "piece", entry[i].piece);
        json_put_text(object, "place", json_string_value(json_object_get(plan, "place")));
        json_put_text(object, "answer", json_string_value(json_object_get(gate, "answer")));
        json_put_text(object, "refused", json_string_value(refused));
        json_put(object, "says", json_incref(json_object_get(gate, "says")));
        json_array_append_new(list, object);
        json_decref(plan);
    }
    json_put(reply, "gates", list);
    return status;
}

static json_t *paper_json(long long number, const char *currency, const char *key, long long minor) {
    json_t *object = json_object();
    json_put_count(object, "number", number);
    json_put_text(object, "currency", currency);
    json_put_count(object, key, minor);
    return object;
}

static enum status put_papers(struct book *book, const struct job_row *job, struct arena *arena,
                              json_t *reply, struct fault *fault) {
    struct quote_row *quote;
    struct invoice_row *invoice;
    size_t quotes = 0, invoices = 0;
    bool accepted = false;
    int standing = 0; /* invoices that none has taken back */
    json_t *asked = json_array(), *billed = json_array();
    enum status status = quote_store_list(book, job->id, arena, &quote, &quotes, fault);
    if (status == STATUS_OK) status = invoice_store_list(book, job->id, arena, &invoice, &invoices, fault);
    for (size_t i = 0; i < quotes && status == STATUS_OK; i++) {
        json_t *one = paper_json(quote[i].number, quote[i].currency, "most_minor", quote[i].total_minor);
        json_put_text(one, "state", quote[i].state);
        accepted = accepted || strcmp(quote[i].state, "accepted") == 0;
        json_array_append_new(asked, one);
    }
    for (size_t i = 0; i < invoices && status == STATUS_OK; i++) {
        json_t *one =
            paper_json(invoice[i].number, invoice[i].currency, "total_minor", invoice[i].total_minor);
        json_put_text(one, "day", invoice[i].issued_day);
        json_put_flag(one, "takes_back", invoice[i].cancels != NULL);
        standing += invoice[i].cancels ? -1 : 1;
        json_array_append_new(billed, one);
    }
    json_put(reply, "quotes", asked);
    json_put(reply, "invoices", billed);
    json_put_flag(reply, "unbilled", accepted && standing <= 0);
    return status;
}

/* What the job left in the book of finishes, newest first. */
static enum status put_finishes(struct book *book, const struct job_row *job, struct arena *arena,
                                json_t *reply, const char *key, struct fault *fault) {
    struct finish_row *finish;
    size_t count = 0;
    const enum status status = finish_store_of_job(book, job->id, arena, &finish, &count, fault);
    json_t *list = json_array();
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        json_t *object = finish_json(&finish[i], (double)NAN);
        json_put_text(object, "entry", finish[i].entry);
        json_array_append_new(list, object);
    }
    json_put(reply, key, list);
    return status;
}

/* The job that came back as this one, and those that this one came back as. */
static enum status put_returns(struct book *book, const struct job_row *job, struct arena *arena,
                               json_t *reply, struct fault *fault) {
    struct job_row before, *after;
    size_t count = 0;
    json_t *list = json_array();
    json_put_null(reply, "return_of_number");
    json_put(reply, "return_of_finishes", json_array());
    enum status status = job_store_returns(book, job->id, arena, &after, &count, fault);
    for (size_t i = 0; i < count; i++) {
        json_t *object = json_object();
        json_put_text(object, "id", after[i].id);
        json_put_count(object, "number", after[i].number);
        json_put_text(object, "cause", after[i].return_cause);
        json_put_time(object, "at", after[i].created_ms);
        json_put_local(book, object, "at_local", after[i].created_ms);
        json_array_append_new(list, object);
    }
    json_put(reply, "returns", list);
    if (status != STATUS_OK || !job->return_of) return status;
    status = job_store_find(book, job->return_of, arena, &before, fault);
    if (status != STATUS_OK) return status;
    json_put_count(reply, "return_of_number", before.number);
    return put_finishes(book, &before, arena, reply, "return_of_finishes", fault);
}

static enum status put_pots(struct book *book, const struct job_row *job, struct arena *arena, json_t *reply,
                            struct fault *fault) {
    struct pot_row *pot;
    size_t count;
    const enum status status = pot_store_list(book, job->id, arena, &pot, &count, fault);
    return status == STATUS_OK ? pots_put(book, pot, count, NULL, arena, reply, "pots", fault) : status;
}

enum status job_put(struct book *book, const struct job_row *job, bool documents, bool with_replaced,
                    struct arena *arena, json_t *reply, struct fault *fault) {
    json_put_text(reply, "id", job->id);
    json_put_count(reply, "number", job->number);
    json_put_text(reply, "title", job->title);
    json_put_text(reply, "state", job->state);
    json_put_text(reply, "place", job->place);
    json_put_text(reply, "words", job->words);
    json_put_text(reply, "due", job->due_day);
    json_put_text(reply, "return_of", job->return_of);
    json_put_text(reply, "return_cause", job->return_cause);
    json_put_flag(reply, "invented", job->invented);
    json_put_time(reply, "created", job->created_ms);
    json_put_time(reply, "changed", job->changed_ms);
    enum status status = put_customer(book, job, arena, reply, fault);
    if (status == STATUS_OK) status = put_pieces(book, job, arena, reply, fault);
    if (status == STATUS_OK) status = put_colours(book, job, arena, reply, fault);
    if (status == STATUS_OK) status = put_papers(book, job, arena, reply, fault);
    if (status == STATUS_OK) status = put_entries(book, job, documents, with_replaced, arena, reply, fault);
    if (status == STATUS_OK) status = put_standing(book, job, arena, reply, fault);
    if (status == STATUS_OK) status = put_gates(book, job, arena, reply, fault);
    if (status == STATUS_OK) status = put_returns(book, job, arena, reply, fault);
    if (status == STATUS_OK) status = put_pots(book, job, arena, reply, fault);
    if (status == STATUS_OK) status = put_finishes(book, job, arena, reply, "finishes", fault);
    return status;
}
