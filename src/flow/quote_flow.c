/* russet quote: from the plans of a job to a numbered quote with a range. One that was accepted is frozen. */
#include "flow/bill_put.h"
#include "flow/note.h"
#include "flow/quote_items.h"
#include "formats/json_out.h"
#include "shop/document.h"
#include "shop/entry_store.h"
#include "shop/quote_store.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

extern operation_flow quote_flow;

static json_t *line_object(const struct quote_line *line) {
    static const char *const kinds[] = {"labour", "material", "fixed", "call-out", "travel", "discount"};
    json_t *object = json_object();
    json_put_text(object, "kind", kinds[line->kind]);
    json_put_text(object, "what", line->name);
    if (line->kind == QUOTE_LABOUR) json_put_number(object, "hours", line->hours, 2);
    json_put_count(object, "low_minor", line->low);
    json_put_count(object, "high_minor", line->high);
    return object;
}

static void put_quote(json_t *reply, const struct quote *quote, const struct pricing *pricing) {
    json_t *lines = json_array(), *hours = json_object();
    for (size_t i = 0; i < quote->count; i++) json_array_append_new(lines, line_object(&quote->line[i]));
    json_put_text(reply, "currency", quote->currency);
    json_put_text(reply, "prices", pricing->writing == TAX_INCLUDED ? "gross" : "net");
    json_put_text(reply, "tax_rule", pricing->tax_rule == TAX_BY_INVOICE ? "invoice" : "line");
    json_put_count(reply, "tax_ppm", pricing->tax_ppm);
    json_put(reply, "lines", lines);
    json_put(reply, "low", bill_totals(&quote->low));
    json_put(reply, "high", bill_totals(&quote->high));
    json_put_number(hours, "p50", quote->hours.p50, 3);
    json_put_number(hours, "p80", quote->hours.p80, 3);
    json_put(reply, "hours", hours);
}

static const char *of_a_hundred(char out[24], int32_t ppm) {
    snprintf(out, 24, "%d", (int)((ppm + 5000) / 10000));
    return out;
}

/* The new part's price is what the customer would pay for it, fitted; the repair counts at its upper end. */
static enum status put_choice(const struct request *request, const struct quote *quote,
                              int32_t falls_short_ppm, json_t *reply, struct fault *fault) {
    const char *text = request_text(request, "--new-part");
    struct money new_part;
    if (!text) return STATUS_OK;
    enum status status = money_read("--new-part", text, quote->currency, &new_part, fault);
    if (status != STATUS_OK) return status;
    struct repair_or_new choice = {
        .repair_minor = quote->high.gross, .new_minor = new_part.minor, .falls_short_ppm = falls_short_ppm};
    repair_or_new_judge(&choice);
    struct money repair = new_part, expected = new_part;
    repair.minor = choice.repair_minor, expected.minor = choice.expected_minor;
    char a[MONEY_TEXT], b[MONEY_TEXT], c[MONEY_TEXT], p[24], q[24];
    struct fault sentence;
    fault_set(&sentence,
              choice.repair_is_better                   ? WORD_REPAIR_BETTER
              : choice.new_minor <= choice.repair_minor ? WORD_NEW_PART_CHEAPER
                                                        : WORD_NEW_PART_BETTER,
              (const char *const[]){money_text_grouped(a, new_part), money_text_grouped(b, repair),
                                    of_a_hundred(p, MILLION - falls_short_ppm),
                                    of_a_hundred(q, choice.chance_needed_ppm),
                                    money_text_grouped(c, expected), NULL});
    json_t *object = json_object();
    json_put_count(object, "new_minor", choice.new_minor);
    json_put_count(object, "repair_minor", choice.repair_minor);
    json_put_count(object, "expected_minor", choice.expected_minor);
    json_put_number(object, "falls_short", falls_short_ppm / 1e6, 6);
    json_put_number(object, "chance_needed", choice.chance_needed_ppm / 1e6, 6);
    json_put_flag(object, "repair_is_better", choice.repair_is_better);
    json_put_text(object, "text", sentence.text);
    json_put(reply, "choice", object);
    return STATUS_OK;
}

static void put_head(const struct job_desk *desk, const struct pricing *pricing, struct arena *arena,
                     long long number, json_t *reply) {
    json_put_count(reply, "number", number);
    json_put(reply, "job", bill_job(&desk->job));
    json_put(reply, "customer", bill_customer(desk));
    json_put(reply, "shop", pricing_shop(pricing));
    json_put_text(reply, "paper", pricing->letter ? "Letter" : "A4");
    json_put_text(reply, "day", bill_day(desk->book, 0, arena));
    json_put_text(reply, "valid_until", bill_day(desk->book, pricing->valid_days, arena));
}

/* The newest quote of the job that is in that state; found is NULL when there is none. */
static enum status newest(struct job_desk *desk, const char *state, struct arena *arena,
                          struct quote_row **found, struct fault *fault) {
    struct quote_row *rows;
    size_t count;
    *found = NULL;
    const enum status status = quote_store_list(desk->book, desk->job.id, arena, &rows, &count, fault);
    for (size_t i = 0; status == STATUS_OK && i < count; i++)
        if (!state || strcmp(rows[i].state, state) == 0) *found = &rows[i];
    return status;
}

static enum status keep(struct job_desk *desk, struct arena *arena, const struct quote *quote,
                        long long number, json_t *reply, struct fault *fault) {
    struct quote_row *before;
    enum status status = newest(desk, "open", arena, &before, fault);
    struct quote_row row = {.job = desk->job.id,
                            .number = number,
                            .currency = quote->currency,
                            .total_minor = quote->high.gross,
                            .document = document_text(reply, arena),
                            .replaces = before ? before->id : NULL};
    if (status == STATUS_OK) status = quote_store_add(desk->book, &row, fault);
    return status;
}

static enum status make(const struct surroundings *around, const struct request *request,
                        struct job_desk *desk, json_t *reply, struct fault *fault) {
    struct pricing pricing = {.name = ""};
    struct quote_items items = {0};
    struct quote *quote = arena_need(around->arena, 1, sizeof *quote);
    long long number = 0;
    enum status status = pricing_read(desk->book, around->arena, &pricing, fault);
    if (status == STATUS_OK) status = quote_items_read(around, request, desk, &pricing, &items, fault);
    if (status == STATUS_OK) status = quote_make(&items.quote, quote, fault);
    if (status == STATUS_OK) status = quote_store_next(desk->book, NULL, &number, fault);
    if (status != STATUS_OK) return status;
    put_head(desk, &pricing, around->arena, number, reply);
    put_quote(reply, quote, &pricing);
    status = put_choice(request, quote, items.falls_short_ppm, reply, fault);
    quote_items_put(&items, reply);
    if (status == STATUS_OK) status = keep(desk, around->arena, quote, number, reply, fault);
    json_put_text(reply, "state", "open"); /* of the row, not of the document */
    return status;
}

static bool is_asked(const json_t *document, enum word word) {
    const json_t *before = json_object_get(document, "before");
    char key[80];
    word_key(word, key, sizeof key);
    for (size_t i = 0; i < json_array_size(before); i++) {
        const char *id = json_string_value(json_object_get(json_array_get(before, i), "id"));
        if (id && strcmp(id, key) == 0) return true;
    }
    return false;
}

/* The plans of the job that still ask for an answer: rows[0..count). */
static enum status asking_plans(struct job_desk *desk, struct arena *arena, struct entry_row **rows,
                                size_t *count, struct fault *fault) {
    size_t all = 0;
    const struct entry_filter filter = {.job = desk->job.id, .kind = "plan"};
    enum status status = entry_store_list(desk->book, filter, arena, rows, &all, fault);
    *count = 0;
    for (size_t i = 0; i < all && status == STATUS_OK; i++) {
        json_t *plan = NULL;
        status = document_read((*rows)[i].document, &plan, fault);
        const char *answer = json_string_value(json_object_get(json_object_get(plan, "gate"), "answer"));
        if (answer && strcmp(answer, "ask") == 0) (*rows)[(*count)++] = (*rows)[i];
        json_decref(plan);
    }
    return status;
}

static enum status piece_named(struct job_desk *desk, const struct entry_row *plan, struct arena *arena,
                               const char **name, struct fault *fault) {
    struct piece_row piece;
    *name = word_sentence(WORD_QUOTE_THIS_PIECE);
    if (!plan->piece) return STATUS_OK;
    const enum status status = piece_store_find(desk->book, desk->job.id, plan->piece, arena, &piece, fault);
    struct text quoted = {0};
    if (status != STATUS_OK) return status;
    text_format(&quoted, "\"%s\"", piece.name);
    *name = arena_text(arena, quoted.data, quoted.length);
    text_free(&quoted);
    return STATUS_OK;
}

enum { LIST_MOST = 280, KEY_TOLD = 23 }; /* of an argument; signs of a key, its time and most of its chance */

/* "seat cushion 01a218b9-1812-7461-87b3, back rest ..." of all that still ask. */
static enum status refuse_all(struct job_desk *desk, const struct entry_row *rows, size_t count,
                              struct arena *arena, struct fault *fault) {
    struct text list = {0};
    enum status status = STATUS_OK;
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        const char *name;
        struct fault more;
        status = piece_named(desk, &rows[i], arena, &name, fault);
        if (status != STATUS_OK) break;
        const bool fits = list.length + strlen(name) + KEY_TOLD + 3 <= LIST_MOST - 20;
        if (!fits) FAULT(&more, QUOTE_AND_MORE, COUNT_TEXT(count - i));
        text_add(&list, i ? ", " : "");
        if (fits)
            text_format(&list, "%s %.*s", name, KEY_TOLD, rows[i].id);
        else
            text_add(&list, more.text);
        if (!fits) break;
    }
    if (status == STATUS_OK)
        status = FAULT(fault, QUOTE_FIRE_ASK_ALL, COUNT_TEXT(desk->job.number), COUNT_TEXT(count), list.data);
    text_free(&list);
    return status;
}

static enum status refuse_one(struct job_desk *desk, const struct entry_row *plan, struct arena *arena,
                              struct fault *fault) {
    const char *name;
    const enum status status = piece_named(desk, plan, arena, &name, fault);
    return status == STATUS_OK ? FAULT(fault, QUOTE_FIRE_ASK, COUNT_TEXT(desk->job.number), name, plan->id)
                               : status;
}

/* A fire rating that was not asked for is asked before the customer is bound. */
static enum status check_asked(struct job_desk *desk, const json_t *document, struct arena *arena,
                               struct fault *fault) {
    struct entry_row *rows;
    size_t count;
    if (!is_asked(document, WORD_GATE_FIRE_ASK)) return STATUS_OK;
    const enum status status = asking_plans(desk, arena, &rows, &count, fault);
    if (status != STATUS_OK) return status;
    if (count > 1) return refuse_all(desk, rows, count, arena, fault);
    return count ? refuse_one(desk, rows, arena, fault)
                 : FAULT(fault, QUOTE_PLAN_NEWER, COUNT_TEXT(desk->job.number));
}

/* Shows the newest quote, after settling it when that was asked. */
static enum status settle(const struct surroundings *around, struct job_desk *desk, const char *state,
                          json_t **reply, struct fault *fault) {
    struct quote_row *row;
    enum status status = newest(desk, state ? "open" : NULL, around->arena, &row, fault);
    if (status == STATUS_OK && !row)
        status = fault_set(fault, state ? WORD_QUOTE_NONE_OPEN : WORD_QUOTE_NONE,
                           (const char *const[]){COUNT_TEXT(desk->job.number), NULL});
    if (status == STATUS_OK) status = document_read(row->document, reply, fault);
    if (status == STATUS_OK && state && strcmp(state, "accepted") == 0)
        status = check_asked(desk, *reply, around->arena, fault);
    if (status == STATUS_OK && state) status = quote_store_settle(desk->book, row->id, state, fault);
    if (status == STATUS_OK) json_put_text(*reply, "state", state ? state : row->state);
    return status;
}

enum status quote_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                       struct fault *fault) {
    struct job_desk desk;
    enum status status = job_desk_open(around, request, &desk, fault);
    if (status != STATUS_OK) return status;
    json_t *object = NULL;
    if (request_flag(request, "--accept"))
        status = settle(around, &desk, "accepted", &object, fault);
    else if (request_flag(request, "--decline"))
        status = settle(around, &desk, "declined", &object, fault);
    else if (request_flag(request, "--show"))
        status = settle(around, &desk, NULL, &object, fault);
    else
        status = make(around, request, &desk, object = json_start("quote"), fault);
    status = job_desk_close(&desk, status, fault);
    if (status == STATUS_OK)
        *reply = object;
    else
        json_decref(object);
    return status;
}
