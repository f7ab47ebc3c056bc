#include "flow/money_say.h"
#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

extern operation_say job_new_say, job_add_say, job_change_say, job_list_say, job_show_say, job_log_say,
    entry_show_say;

static const json_t *item(const json_t *object, const char *list, size_t i) {
    return json_array_get(json_object_get(object, list), i);
}

static size_t items(const json_t *object, const char *list) {
    return json_array_size(json_object_get(object, list));
}

static const char *or_dash(const char *text) {
    return *text ? text : "-";
}

/* "2026-03-29 03:30", as the shop's clock showed it. */
static const char *local_time(const json_t *object, char out[20]) {
    snprintf(out, 20, "%.16s", say_string(object, "at_local"));
    if (strlen(out) > 10) out[10] = ' ';
    return out;
}

static void say_pieces(const json_t *reply, struct text *out) {
    for (size_t i = 0; i < items(reply, "pieces"); i++) {
        const json_t *piece = item(reply, "pieces", i);
        struct text made = {0};
        for (size_t k = 0; k < items(piece, "materials"); k++)
            text_format(&made, "%s%s", k ? ", " : ": ", json_string_value(item(piece, "materials", k)));
        say_row(out, i ? "" : "pieces", "%s%s", say_string(piece, "name"), made.data ? made.data : "");
        text_free(&made);
    }
    for (size_t i = 0; i < items(reply, "colours"); i++)
        say_row(out, i ? "" : "colours", "%s (%s)", say_string(item(reply, "colours", i), "name"),
                say_string(item(reply, "colours", i), "role"));
}

static void say_returns(const json_t *reply, struct text *out) {
    if (*say_string(reply, "return_of"))
        say_row(out, "a return of", "job %.0f: %s", say_number(reply, "return_of_number"),
                or_dash(say_string(reply, "return_cause")));
    for (size_t i = 0; i < items(reply, "return_of_finishes"); i++)
        say_row(out, i ? "" : "made then", "%s: russet finish show %.13s",
                say_string(item(reply, "return_of_finishes", i), "name"),
                say_string(item(reply, "return_of_finishes", i), "id"));
    for (size_t i = 0; i < items(reply, "returns"); i++) {
        const json_t *back = item(reply, "returns", i);
        say_row(out, "came back", "as job %.0f on %.10s: %s", say_number(back, "number"),
                say_string(back, "at_local"), or_dash(say_string(back, "cause")));
    }
}

static void say_papers(const json_t *reply, struct text *out) {
    char money[MONEY_TEXT];
    for (size_t i = 0; i < items(reply, "quotes"); i++) {
        const json_t *quote = item(reply, "quotes", i);
        if (strcmp(say_string(quote, "state"), "replaced") == 0) continue;
        say_row(out, "quote", "%.0f, %s, at most %s %s", say_number(quote, "number"),
                say_string(quote, "state"), money_bare(quote, quote, "most_minor", money),
                say_string(quote, "currency"));
    }
    for (size_t i = 0; i < items(reply, "invoices"); i++) {
        const json_t *invoice = item(reply, "invoices", i);
        say_row(out, "invoice", "%.0f of %s, %s %s%s", say_number(invoice, "number"),
                say_string(invoice, "day"), money_bare(invoice, invoice, "total_minor", money),
                say_string(invoice, "currency"),
                json_is_true(json_object_get(invoice, "takes_back")) ? ", takes one back" : "");
    }
}

/* A pot is shown with its crosslinker, or with the question. */
static const char *standing_of(const json_t *pot, char out[80]) {
    if (*say_string(pot, "taken_back")) return "taken back: its pour was put right";
    if (json_is_true(json_object_get(pot, "crosslinked"))) {
        const char *ends = say_string(pot, "life_ends_at_local");
        if (!*ends || json_is_true(json_object_get(pot, "emptied")))
            return "crosslinked: never sealed, never kept";
        snprintf(out, 80, "crosslinked: never sealed, never kept; life %s %.10s %.5s",
                 json_is_true(json_object_get(pot, "life_over")) ? "OVER since" : "ends", ends, ends + 11);
        return out;
    }
    if (json_is_true(json_object_get(pot, "emptied"))) return "emptied";
    if (json_is_true(json_object_get(pot, "put_back"))) return "no crosslinker in it; stands on the shelf";
    snprintf(out, 80, "crosslinker in it? when it goes in: russet pot log %.13s crosslinked",
             say_string(pot, "id"));
    return out;
}

/* Of each piece that may not be worked on, or not yet: why. */
static void say_gates(const json_t *reply, struct text *out) {
    for (size_t i = 0; i < items(reply, "gates"); i++) {
        const json_t *gate = item(reply, "gates", i);
        const char *answer = say_string(gate, "answer"), *refused = say_string(gate, "refused");
        if (strcmp(answer, "open") == 0 && !*refused) continue;
        text_format(out, "\n  The gate says %s for the %s:\n",
                    strcmp(answer, "ask") == 0 ? "ask first" : "no", say_string(gate, "place"));
        say_paragraph(out, "    ", *refused ? refused : say_string(item(gate, "says", 0), "text"));
    }
}

static void say_head(const json_t *reply, struct text *out) {
    text_format(out, "Job %.0f  %s\n", say_number(reply, "number"), say_string(reply, "title"));
    say_row(out, "key", "%s", say_string(reply, "id"));
    const json_t *customer = json_object_get(reply, "customer");
    if (json_is_object(customer)) say_row(out, "customer", "%s", say_string(customer, "name"));
    say_row(out, "state", "%s", say_string(reply, "state"));
    if (*say_string(reply, "due")) say_row(out, "due", "%s", say_string(reply, "due"));
    say_returns(reply, out);
    say_pieces(reply, out);
    say_papers(reply, out);
    if (*say_string(reply, "words")) say_paragraph(out, "  ", say_string(reply, "words"));
}

/* What waits for an answer, and what must not be passed over in silence. */
static void say_open(const json_t *reply, struct text *out) {
    for (size_t i = 0; i < items(reply, "quotes"); i++)
        if (strcmp(say_string(item(reply, "quotes", i), "state"), "open") == 0)
            say_row(out, "open", "quote %.0f: no answer yet", say_number(item(reply, "quotes", i), "number"));
    for (size_t i = 0; i < items(reply, "owed"); i++)
        say_paragraph(out, "  ! ", say_string(item(reply, "owed", i), "text"));
}

static const char *nothing_next(const json_t *job) {
    return strcmp(say_string(job, "last_done"), "handover") == 0 ? "handed over" : say_string(job, "state");
}

/* With which words the next step is done. {JOB} is its number; {PIECE}, {COLOUR} and {POT} become the only
 * one that it has, else stay words. */
static const struct {
    const char *step, *command;
} by_hand[] = {
    {"look", "russet job log {JOB} --step look --photo FILE --note \"...\""},
    {"quote", "russet plan ... --out plan.json, russet job log {JOB} plan.json --piece {PIECE}, then russet "
              "quote {JOB}"},
    {"prepare", "russet job log {JOB} --step prepare --note \"cleaned, sanded ...\""},
    {"colour", "russet reading FILE --out spot.json (or russet photo colour ...), then russet job log {JOB} "
               "spot.json --colour {COLOUR}"},
    {"recipe", "russet amount ... says how much to mix; russet match ... --out match.json, then russet job "
               "log {JOB} match.json --colour {COLOUR}"},
    {"pour", "russet pour --recipe match.json#1 --batch-g G, and pour by it; when all is in: the same with "
             "--all-poured --out pour.json, then russet job log {JOB} pour.json --colour {COLOUR}"},
    {"dabs",
     "russet adjust ... --out adjust.json; once what it adds is poured: russet job log {JOB} adjust.json "
     "--pot {POT}; when the card holds: russet job log {JOB} --step dabs --note \"it holds\""},
    {"coats", "russet coats ... --out coats.json, then russet job log {JOB} coats.json"},
    {"grain", "russet photo grain ..., or russet job log {JOB} --step grain --note \"...\""},
    {"sheen", "russet sheen ... --out sheen.json, then russet job log {JOB} sheen.json"},
    {"check", "russet inspect {JOB} --sound FILE --repair FILE --piece {PIECE}"},
    {"handover", "russet handover {JOB} --out record.pdf"}};

/* The name of the only one of a list, in quotes where it has spaces; else the word itself. */
static void add_only(const json_t *reply, const char *list, const char *key, const char *word,
                     struct text *out) {
    const char *name = items(reply, list) == 1 ? say_string(item(reply, list, 0), key) : word;
    text_format(out, strchr(name, ' ') ? "\"%s\"" : "%s", name);
}

static void add_pot(const json_t *reply, struct text *out) {
    const char *only = NULL;
    size_t count = 0;
    for (size_t i = 0; i < items(reply, "pots"); i++) {
        const json_t *pot = item(reply, "pots", i);
        if (*say_string(pot, "taken_back") || json_is_true(json_object_get(pot, "emptied"))) continue;
        only = say_string(pot, "id"), count++;
    }
    text_format(out, "%.13s", count == 1 ? only : "POT");
}

static void add_place(const json_t *reply, const char *at, size_t n, struct text *out) {
    if (strncmp(at, "JOB", n) == 0)
        text_format(out, "%.0f", say_number(reply, "number"));
    else if (strncmp(at, "PIECE", n) == 0)
        add_only(reply, "pieces", "name", "NAME", out);
    else if (strncmp(at, "COLOUR", n) == 0)
        add_only(reply, "colours", "name", "NAME", out);
    else
        add_pot(reply, out);
}

static void say_command(const json_t *reply, const char *command, struct text *out) {
    struct text line = {0};
    for (const char *at = command; *at;) {
        const size_t plain = strcspn(at, "{"), n = strcspn(at + plain, "}");
        text_add_bytes(&line, at, plain);
        if (n) add_place(reply, at + plain + 1, n - 1, &line);
        at += plain + n + (n > 0);
    }
    say_paragraph(out, "      ", line.data);
    text_free(&line);
}

static void say_by_hand(const json_t *reply, const char *step, struct text *out) {
    for (size_t i = 0; i < sizeof by_hand / sizeof *by_hand; i++)
        if (strcmp(by_hand[i].step, step) == 0) say_command(reply, by_hand[i].command, out);
}

/* What is left to do when no step is: the invoice, and ending the job. */
static void say_after(const json_t *reply, struct text *out) {
    if (strcmp(say_string(reply, "last_done"), "handover") != 0) return;
    if (json_is_true(json_object_get(reply, "unbilled")))
        say_command(reply, "russet invoice {JOB} --out invoice.pdf; it is not made yet", out);
    if (strcmp(say_string(reply, "state"), "open") == 0)
        say_command(reply, "russet job change {JOB} --state ended, when the piece is with the customer", out);
}

/* "grain; cognac: pour": where colours stand apart, each is told. */
static void say_next(const json_t *reply, struct text *out) {
    const char *next = say_string(reply, "next");
    struct text passed = {0};
    say_open(reply, out);
    for (size_t i = 0; i < items(reply, "skipped"); i++)
        text_format(&passed, "%s%s", i ? ", " : "", json_string_value(item(reply, "skipped", i)));
    if (passed.length) say_row(out, "passed over", "%s", passed.data);
    text_free(&passed);
    say_row(out, "next", "%s%s", *next ? next : "nothing: ", *next ? "" : nothing_next(reply));
    for (size_t i = 0; *next && i < items(reply, "colours"); i++) {
        const json_t *colour = item(reply, "colours", i);
        if (strcmp(say_string(colour, "next"), next) != 0)
            say_row(out, "", "%s: %s", say_string(colour, "name"), say_string(colour, "next"));
    }
    if (*next)
        say_by_hand(reply, next, out);
    else
        say_after(reply, out);
}

void job_new_say(const json_t *reply, struct text *out) {
    say_head(reply, out);
    say_next(reply, out);
    say_notes(reply, out);
}

void job_add_say(const json_t *reply, struct text *out) {
    job_new_say(reply, out);
}

void job_change_say(const json_t *reply, struct text *out) {
    job_new_say(reply, out);
}

static const char *name_of(const json_t *reply, const char *list, const char *id) {
    for (size_t i = 0; *id && i < items(reply, list); i++)
        if (strcmp(say_string(item(reply, list, i), "id"), id) == 0)
            return say_string(item(reply, list, i), "name");
    return "";
}

static void say_entry(const json_t *reply, const json_t *entry, struct text *out) {
    const size_t photographs = items(entry, "photographs");
    const char *parts[] = {name_of(reply, "pieces", say_string(entry, "piece")),
                           name_of(reply, "colours", say_string(entry, "colour")), say_string(entry, "gist")};
    char when[20];
    struct text about = {0};
    text_format(out, "\n  %-9s %-12.12s %s  %s\n", say_string(entry, "step"), say_string(entry, "kind"),
                local_time(entry, when), say_string(entry, "id"));
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        if (*parts[i]) text_format(&about, "%s%s", about.length ? "; " : "", parts[i]);
    if (about.length) say_paragraph(out, "            ", about.data);
    text_free(&about);
    if (photographs)
        text_format(out, "            %zu photograph%s\n", photographs, photographs == 1 ? "" : "s");
    if (*say_string(entry, "words")) say_paragraph(out, "            ", say_string(entry, "words"));
}

void job_show_say(const json_t *reply, struct text *out) {
    say_head(reply, out);
    for (size_t i = 0; i < items(reply, "entries"); i++) say_entry(reply, item(reply, "entries", i), out);
    for (size_t i = 0; i < items(reply, "pots"); i++) {
        const json_t *pot = item(reply, "pots", i);
        char standing[80];
        text_format(out, "\n  pot %s  %s\n      %.2f g poured, %.2f g taken\n      %s\n",
                    say_string(pot, "name"), say_string(pot, "id"), say_number(pot, "poured_g"),
                    say_number(pot, "taken_g"), standing_of(pot, standing));
    }
    if (items(reply, "finishes")) text_add(out, "\n");
    for (size_t i = 0; i < items(reply, "finishes"); i++)
        say_row(out, i ? "" : "finishes", "%s", say_string(item(reply, "finishes", i), "name"));
    say_gates(reply, out);
    text_add(out, "\n");
    say_next(reply, out);
    say_notes(reply, out);
}

void job_list_say(const json_t *reply, struct text *out) {
    const size_t count = items(reply, "jobs");
    if (!count)
        text_add(out, json_is_true(json_object_get(reply, "asked_for_some"))
                          ? "No job fits what was asked for. `russet job list` alone lists all of them.\n"
                          : "No job is in the book. `russet job new --title ...` opens one.\n");
    for (size_t i = 0; i < count; i++) {
        const json_t *job = item(reply, "jobs", i);
        text_format(out, "%4.0f  ", say_number(job, "number"));
        text_add_column(out, say_string(job, "title"), 28);
        text_add(out, " ");
        text_add_column(out, or_dash(say_string(job, "customer")), 14);
        text_format(out, " %-8s %-10s %s\n", say_string(job, "state"), or_dash(say_string(job, "due")),
                    *say_string(job, "next") ? say_string(job, "next") : nothing_next(job));
    }
    say_notes(reply, out);
}

void job_log_say(const json_t *reply, struct text *out) {
    const json_t *entry = json_object_get(reply, "entry");
    text_format(out, "Logged in job %.0f: %s (%s), %s\n", say_number(reply, "number"),
                say_string(entry, "kind"), say_string(entry, "step"), say_string(entry, "id"));
    if (*say_string(reply, "pot")) say_row(out, "pot", "%s", say_string(reply, "pot"));
    const json_t *finish = json_object_get(reply, "finish");
    if (json_is_object(finish)) say_row(out, "finish", "%s", say_string(finish, "name"));
    for (size_t i = 0; i < items(reply, "running_out"); i++)
        say_row(out, "running out", "%s: %.0f g left", say_string(item(reply, "running_out", i), "toner"),
                say_number(item(reply, "running_out", i), "left_g"));
    say_notes(reply, out);
}

void entry_show_say(const json_t *reply, struct text *out) {
    say_document(reply, out);
}
