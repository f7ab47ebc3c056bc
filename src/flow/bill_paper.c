/* Quote and invoice on paper, from their JSON. */
#include "base/memory.h"
#include "flow/bill_put.h"
#include "flow/operation.h"
#include "flow/papers.h"
#include "flow/say.h"
#include "report/bill.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *joined(struct arena *arena, const char *a, const char *between, const char *b) {
    struct text text = {0};
    text_format(&text, "%s%s%s", a, between, b);
    const char *copy = arena_text(arena, text.data, text.length);
    text_free(&text);
    return copy;
}

static int64_t whole(const json_t *object, const char *key) {
    return (int64_t)json_integer_value(json_object_get(object, key));
}

static void fill_lines(const json_t *reply, struct arena *arena, struct bill *bill) {
    const json_t *lines = json_object_get(reply, "lines");
    for (size_t i = 0; i < json_array_size(lines) && bill->line_count < BILL_LINES_MOST; i++) {
        const json_t *line = json_array_get(lines, i);
        const double hours = say_number(line, "hours");
        char detail[40] = "";
        if (hours > 0 && bill->range) snprintf(detail, sizeof detail, "about %.1f h", hours);
        bill->line[bill->line_count++] =
            (struct bill_line){say_string(line, "what"), arena_text(arena, detail, strlen(detail)),
                               whole(line, bill->range ? "low_minor" : "minor"), whole(line, "high_minor")};
    }
}

/* An address may hold line breaks: each is a line. */
static size_t split_lines(const char *text, struct arena *arena, const char *line[], size_t count) {
    while (*text && count < BILL_ADDRESS_MOST) {
        const size_t n = strcspn(text, "\n");
        if (n) line[count++] = arena_text(arena, text, n);
        text += n + (text[n] == '\n');
    }
    return count;
}

static void fill_parties(const json_t *reply, struct arena *arena, struct bill *bill) {
    const json_t *shop = json_object_get(reply, "shop"), *lines = json_object_get(shop, "lines"),
                 *customer = json_object_get(reply, "customer");
    bill->shop[bill->shop_count++] = say_string(shop, "name");
    for (size_t i = 0; i < json_array_size(lines) && bill->shop_count < BILL_ADDRESS_MOST; i++) {
        const char *line = json_string_value(json_array_get(lines, i));
        bill->shop[bill->shop_count++] = line ? line : "";
    }
    bill->customer_count = split_lines(say_string(customer, "name"), arena, bill->customer, 0);
    bill->customer_count =
        split_lines(say_string(customer, "address"), arena, bill->customer, bill->customer_count);
}

static void add_fact(struct bill *bill, enum word name, const char *value) {
    if (*value && bill->fact_count < BILL_ADDRESS_MOST) {
        bill->fact[bill->fact_count][0] = word_sentence(name);
        bill->fact[bill->fact_count++][1] = value;
    }
}

static struct bill_section *add_section(struct bill *bill, enum word heading) {
    struct bill_section *section = &bill->section[bill->section_count++];
    section->heading = word_sentence(heading);
    return section;
}

static void add_text(struct bill_section *section, const char *text) {
    if (*text && section->count < BILL_NOTES_MOST) section->text[section->count++] = text;
}

static void add_list(struct bill *bill, enum word heading, const json_t *list) {
    if (!json_array_size(list)) return;
    struct bill_section *section = add_section(bill, heading);
    for (size_t i = 0; i < json_array_size(list); i++)
        add_text(section, say_string(json_array_get(list, i), "text"));
}

static void add_guarantee(struct bill *bill, const json_t *list, struct arena *arena) {
    if (!json_array_size(list)) return;
    struct bill_section *section = add_section(bill, WORD_BILL_GUARANTEE);
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *object = json_array_get(list, i);
        struct fault line;
        fault_set(&line, WORD_BILL_GUARANTEE_LINE,
                  (const char *const[]){say_string(object, "name"), COUNT_TEXT(whole(object, "months")),
                                        say_string(object, "excluded"), NULL});
        add_text(section, arena_text(arena, line.text, strlen(line.text)));
    }
}

static void fill_quote(const json_t *reply, struct arena *arena, struct bill *bill) {
    add_fact(bill, WORD_BILL_VALID, say_string(reply, "valid_until"));
    add_text(add_section(bill, WORD_BILL_RANGE), word_sentence(WORD_BILL_RANGE_TEXT));
    const char *choice = say_string(json_object_get(reply, "choice"), "text");
    if (*choice) add_text(add_section(bill, WORD_BILL_CHOICE), choice);
    add_list(bill, WORD_BILL_EXPECT, json_object_get(reply, "expect"));
    add_list(bill, WORD_BILL_ASKED, json_object_get(reply, "before"));
    add_guarantee(bill, json_object_get(reply, "guarantee"), arena);
    bill->signature = true;
}

static void fill_invoice(const json_t *reply, struct arena *arena, struct bill *bill) {
    add_fact(bill, WORD_BILL_DUE, say_string(reply, "pay_until"));
    add_fact(bill, WORD_BILL_BY_QUOTE, joined(arena, say_string(reply, "quote"), "", ""));
    add_fact(bill, WORD_BILL_CANCELS, say_string(reply, "cancels"));
    add_list(bill, WORD_RECORD_REMARKS, json_object_get(reply, "remarks"));
}

static void fill(const json_t *reply, struct arena *arena, struct bill *bill) {
    const json_t *job = json_object_get(reply, "job");
    const bool quote = strcmp(say_string(reply, "kind"), "quote") == 0,
               credit = *say_string(reply, "cancels") != 0;
    char number[24];
    snprintf(number, sizeof number, "%lld", (long long)whole(reply, "number"));
    bill->size = strcmp(say_string(reply, "paper"), "Letter") == 0 ? PAGE_LETTER : PAGE_A4;
    bill->kind = word_sentence(quote ? WORD_BILL_QUOTE : credit ? WORD_BILL_CREDIT : WORD_BILL_INVOICE);
    bill->number = arena_text(arena, number, strlen(number));
    bill->title = say_string(job, "title");
    bill->range = quote;
    bill->tax_included = strcmp(say_string(reply, "prices"), "gross") == 0;
    bill->mark = quote && strcmp(say_string(reply, "state"), "open") != 0 ? say_string(reply, "state") : "";
    const char *currency = say_string(reply, "currency");
    memcpy(bill->currency, strlen(currency) == 3 ? currency : "", strlen(currency) == 3 ? 4 : 1);
    add_fact(bill, WORD_BILL_DAY, say_string(reply, "day"));
    fill_parties(reply, arena, bill);
    fill_lines(reply, arena, bill);
    bill_read_totals(json_object_get(reply, quote ? "low" : "total"), &bill->low);
    bill_read_totals(json_object_get(reply, quote ? "high" : "total"), &bill->high);
    if (quote)
        fill_quote(reply, arena, bill);
    else
        fill_invoice(reply, arena, bill);
}

enum status bill_paper(const json_t *reply, enum paper paper, struct text *out, struct fault *fault) {
    (void)paper; /* PDF is the only one in the table */
    struct arena *arena = arena_new();
    struct bill *bill = arena_need(arena, 1, sizeof *bill);
    fill(reply, arena, bill);
    const enum status status = bill_draw(bill, out, fault);
    arena_free(arena);
    return status;
}
