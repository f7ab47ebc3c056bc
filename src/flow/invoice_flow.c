/* russet invoice: from the accepted quote to a numbered invoice; numbers have no gap, and an invoice is never
 * changed: a wrong one is cancelled by another with the same lines below zero.
 *
 * A line is asked at the quote's lower figure, or with --hours where those hours lie between the quote's two:
 * never above the upper one. */
#include "flow/bill_put.h"
#include "flow/note.h"
#include "formats/json_out.h"
#include "shop/document.h"
#include "shop/invoice_store.h"
#include "shop/quote_store.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

extern operation_flow invoice_flow;

struct invoice {
    struct pricing pricing;
    json_t *source; /* the quote, or the invoice that is cancelled */
    const char *quote_id, *cancels_id;
    long long quote_number, cancels_number;
    size_t count;
    const char *what[MONEY_PARTS_MOST];
    struct tax_line line[MONEY_PARTS_MOST];
    struct tax total;
    bool over; /* more hours than the quote's upper figure */
};

static int64_t whole(const json_t *object, const char *key) {
    return (int64_t)json_integer_value(json_object_get(object, key));
}

static bool is_cancelled(const struct invoice_row *rows, size_t count, const char *id) {
    for (size_t i = 0; i < count; i++)
        if (rows[i].cancels && strcmp(rows[i].cancels, id) == 0) return true;
    return false;
}

static enum status find_quote(struct job_desk *desk, struct arena *arena, struct invoice *in,
                              struct fault *fault) {
    struct quote_row *quotes;
    struct invoice_row *invoices;
    size_t quote_count, invoice_count;
    const struct quote_row *accepted = NULL;
    enum status status = quote_store_list(desk->book, desk->job.id, arena, &quotes, &quote_count, fault);
    if (status == STATUS_OK)
        status = invoice_store_list(desk->book, desk->job.id, arena, &invoices, &invoice_count, fault);
    if (status != STATUS_OK) return status;
    for (size_t i = 0; i < quote_count; i++)
        if (strcmp(quotes[i].state, "accepted") == 0) accepted = &quotes[i];
    if (!accepted) return FAULT(fault, INVOICE_NO_QUOTE, COUNT_TEXT(desk->job.number));
    for (size_t i = 0; i < invoice_count; i++) {
        if (!invoices[i].quote || invoices[i].cancels ||
            is_cancelled(invoices, invoice_count, invoices[i].id))
            continue;
        if (strcmp(invoices[i].quote, accepted->id) != 0) /* every quote is of the whole job */
            return FAULT(fault, INVOICE_OTHER, COUNT_TEXT(invoices[i].number), COUNT_TEXT(accepted->number),
                         COUNT_TEXT(desk->job.number));
        return FAULT(fault, INVOICE_THERE, COUNT_TEXT(accepted->number), COUNT_TEXT(invoices[i].number));
    }
    in->quote_id = accepted->id;
    in->quote_number = accepted->number;
    return document_read(accepted->document, &in->source, fault);
}

/* How far from the lower to the upper figure, in parts per million. */
static int64_t between(const struct request *request, const json_t *quote, struct invoice *in) {
    const json_t *hours = json_object_get(quote, "hours");
    const double low = json_number_value(json_object_get(hours, "p50")),
                 high = json_number_value(json_object_get(hours, "p80")),
                 worked = request_number(request, "--hours", NAN);
    if (isnan(worked) || !(high > low)) return 0;
    in->over = worked > high;
    return llround(1e6 * fmin(1, fmax(0, (worked - low) / (high - low))));
}

static enum status add_line(struct invoice *in, const char *what, int64_t minor, int32_t rate_ppm,
                            struct fault *fault) {
    if (in->count == MONEY_PARTS_MOST)
        return FAULT(fault, TAX_TOO_MUCH, COUNT_TEXT(MONEY_PARTS_MOST), "lines");
    in->what[in->count] = what;
    in->line[in->count++] = (struct tax_line){.written = minor, .rate_ppm = rate_ppm};
    return STATUS_OK;
}

/* "--extra TEXT=12.50": what was agreed on beyond the quote; below zero is fine. */
static enum status add_extras(const struct request *request, struct arena *arena, int32_t rate_ppm,
                              const char *currency, struct invoice *in, struct fault *fault) {
    for (size_t i = 0; i < request_count(request, "--extra"); i++) {
        const char *text = request_text_at(request, "--extra", i), *equals = strrchr(text, '=');
        struct money money;
        if (!equals || equals == text) return FAULT(fault, INVOICE_EXTRA, text);
        enum status status = money_read("--extra", equals + 1, currency, &money, fault);
        if (status == STATUS_OK)
            status =
                add_line(in, arena_text(arena, text, (size_t)(equals - text)), money.minor, rate_ppm, fault);
        if (status != STATUS_OK) return status;
    }
    return STATUS_OK;
}

static enum status lines_of_quote(const struct request *request, struct arena *arena, struct invoice *in,
                                  struct fault *fault) {
    const json_t *lines = json_object_get(in->source, "lines");
    const int32_t rate = (int32_t)whole(in->source, "tax_ppm");
    const int64_t part = between(request, in->source, in);
    for (size_t i = 0; i < json_array_size(lines); i++) {
        const json_t *line = json_array_get(lines, i);
        const int64_t low = whole(line, "low_minor"), high = whole(line, "high_minor");
        const char *what = json_string_value(json_object_get(line, "what"));
        const enum status status =
            add_line(in, what ? what : "", low + money_times(high - low, part, MILLION), rate, fault);
        if (status != STATUS_OK) return status;
    }
    const char *currency = json_string_value(json_object_get(in->source, "currency"));
    return add_extras(request, arena, rate, currency ? currency : "", in, fault);
}

static enum status find_cancelled(const struct request *request, struct job_desk *desk, struct arena *arena,
                                  struct invoice *in, struct fault *fault) {
    struct invoice_row *rows;
    size_t count;
    const long long wanted = (long long)request_number(request, "--cancel", 0);
    enum status status = invoice_store_list(desk->book, desk->job.id, arena, &rows, &count, fault);
    if (status != STATUS_OK) return status;
    for (size_t i = 0; i < count; i++) {
        if (rows[i].number != wanted) continue;
        if (rows[i].cancels) return FAULT(fault, INVOICE_IS_CREDIT, COUNT_TEXT(wanted));
        if (is_cancelled(rows, count, rows[i].id)) return FAULT(fault, INVOICE_CANCELLED, COUNT_TEXT(wanted));
        in->cancels_id = rows[i].id;
        in->cancels_number = rows[i].number;
        in->quote_id = rows[i].quote;
        return document_read(rows[i].document, &in->source, fault);
    }
    return FAULT(fault, INVOICE_NOT_THERE, COUNT_TEXT(desk->job.number), COUNT_TEXT(wanted));
}

static enum status lines_of_cancelled(struct invoice *in, struct fault *fault) {
    const json_t *lines = json_object_get(in->source, "lines");
    enum status status = STATUS_OK;
    for (size_t i = 0; i < json_array_size(lines) && status == STATUS_OK; i++) {
        const json_t *line = json_array_get(lines, i);
        const char *what = json_string_value(json_object_get(line, "what"));
        status =
            add_line(in, what ? what : "", -whole(line, "minor"), (int32_t)whole(line, "rate_ppm"), fault);
    }
    return status;
}

static bool says(const json_t *object, const char *key, const char *value) {
    const char *text = json_string_value(json_object_get(object, key));
    return text && strcmp(text, value) == 0;
}

static enum status reckon(const struct request *request, struct job_desk *desk, struct arena *arena,
                          struct invoice *in, struct fault *fault) {
    const bool cancel = request_has(request, "--cancel");
    enum status status = pricing_read(desk->book, arena, &in->pricing, fault);
    if (status == STATUS_OK)
        status =
            cancel ? find_cancelled(request, desk, arena, in, fault) : find_quote(desk, arena, in, fault);
    if (status == STATUS_OK)
        status = cancel ? lines_of_cancelled(in, fault) : lines_of_quote(request, arena, in, fault);
    if (status != STATUS_OK) return status;
    const enum tax_writing writing = says(in->source, "prices", "gross") ? TAX_INCLUDED : TAX_ADDED;
    const enum tax_rule rule = says(in->source, "tax_rule", "line") ? TAX_BY_LINE : TAX_BY_INVOICE;
    status = tax_reckon(in->line, in->count, rule, writing, &in->total, fault);
    for (size_t i = 0; cancel && i < in->count; i++) { /* exactly the other one's tax, with the other sign */
        const json_t *line = json_array_get(json_object_get(in->source, "lines"), i);
        in->line[i].net = -whole(line, "net_minor"), in->line[i].tax = -whole(line, "tax_minor"),
        in->line[i].gross = -whole(line, "gross_minor");
    }
    return status;
}

static void negate(struct tax *tax) {
    tax->net = -tax->net, tax->tax = -tax->tax, tax->gross = -tax->gross;
    for (size_t i = 0; i < tax->rate_count; i++)
        tax->rate[i].net = -tax->rate[i].net, tax->rate[i].tax = -tax->rate[i].tax,
        tax->rate[i].gross = -tax->rate[i].gross;
}

static json_t *lines_json(const struct invoice *in) {
    json_t *lines = json_array();
    for (size_t i = 0; i < in->count; i++) {
        json_t *line = json_object();
        json_put_text(line, "what", in->what[i]);
        json_put_count(line, "minor", in->line[i].written);
        json_put_count(line, "rate_ppm", in->line[i].rate_ppm);
        json_put_count(line, "net_minor", in->line[i].net);
        json_put_count(line, "tax_minor", in->line[i].tax);
        json_put_count(line, "gross_minor", in->line[i].gross);
        json_array_append_new(lines, line);
    }
    return lines;
}

static void put_number(json_t *reply, const char *key, long long number) {
    char text[24];
    snprintf(text, sizeof text, "%lld", number);
    json_put_text(reply, key, number ? text : "");
}

static void put_invoice(const struct job_desk *desk, const struct invoice *in, long long number,
                        struct arena *arena, json_t *reply) {
    const char *rule = json_string_value(json_object_get(in->source, "tax_rule")),
               *prices = json_string_value(json_object_get(in->source, "prices"));
    json_put_count(reply, "number", number);
    json_put(reply, "job", bill_job(&desk->job));
    json_put(reply, "customer", bill_customer(desk));
    json_put(reply, "shop", pricing_shop(&in->pricing));
    json_put_text(reply, "paper", in->pricing.letter ? "Letter" : "A4");
    json_put_text(reply, "day", bill_day(desk->book, 0, arena));
    json_put_text(reply, "pay_until",
                  in->cancels_id ? "" : bill_day(desk->book, in->pricing.pay_days, arena));
    put_number(reply, "quote", in->quote_number);
    put_number(reply, "cancels", in->cancels_number);
    json_put(reply, "currency", json_incref(json_object_get(in->source, "currency")));
    json_put_text(reply, "prices", prices);
    json_put_text(reply, "tax_rule", rule);
    json_put(reply, "lines", lines_json(in));
    json_put(reply, "total", bill_totals(&in->total));
    if (in->over) NOTE0(reply, INVOICE_CAPPED);
}

static enum status keep(struct job_desk *desk, const struct invoice *in, long long number, json_t *reply,
                        struct arena *arena, struct fault *fault) {
    document_seal(reply);
    struct invoice_row row = {.job = desk->job.id,
                              .quote = in->quote_id,
                              .number = number,
                              .issued_day = bill_day(desk->book, 0, arena),
                              .currency = json_string_value(json_object_get(reply, "currency")),
                              .total_minor = in->total.gross,
                              .document = document_text(reply, arena),
                              .cancels = in->cancels_id};
    return invoice_store_add(desk->book, &row, fault);
}

/* --show N: as it was made. */
static enum status show(const struct request *request, struct job_desk *desk, struct arena *arena,
                        json_t **reply, struct fault *fault) {
    struct invoice_row *rows;
    size_t count;
    const long long wanted = (long long)request_number(request, "--show", 0);
    const enum status status = invoice_store_list(desk->book, desk->job.id, arena, &rows, &count, fault);
    if (status != STATUS_OK) return status;
    for (size_t i = 0; i < count; i++)
        if (rows[i].number == wanted) return document_read(rows[i].document, reply, fault);
    return FAULT(fault, INVOICE_NOT_THERE, COUNT_TEXT(desk->job.number), COUNT_TEXT(wanted));
}

static enum status make(const struct request *request, struct job_desk *desk, struct arena *arena,
                        json_t **reply, struct fault *fault) {
    struct invoice *in = arena_need(arena, 1, sizeof *in);
    long long number = 0;
    enum status status = reckon(request, desk, arena, in, fault);
    if (status == STATUS_OK) status = invoice_store_next(desk->book, NULL, &number, fault);
    if (status == STATUS_OK && in->cancels_id) {
        bill_read_totals(json_object_get(in->source, "total"), &in->total);
        negate(&in->total);
    }
    if (status == STATUS_OK) {
        *reply = json_start("invoice");
        put_invoice(desk, in, number, arena, *reply);
        status = keep(desk, in, number, *reply, arena, fault);
    }
    json_decref(in->source);
    return status;
}

enum status invoice_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                         struct fault *fault) {
    struct job_desk desk;
    json_t *object = NULL;
    enum status status = job_desk_open(around, request, &desk, fault);
    if (status != STATUS_OK) return status;
    status = request_has(request, "--show") ? show(request, &desk, around->arena, &object, fault)
                                            : make(request, &desk, around->arena, &object, fault);
    status = job_desk_close(&desk, status, fault);
    if (status == STATUS_OK)
        *reply = object;
    else
        json_decref(object);
    return status;
}
