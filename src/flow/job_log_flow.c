/* russet job log, entry show: the memory of a job. A pour that is logged makes a pot and a finish in the
 * book, and the stock falls by what was poured, out of the lot that expires first. */
#include "base/text.h"
#include "colour/difference.h"
#include "flow/finish_of_pot.h"
#include "flow/job_json.h"
#include "flow/pot_match.h"
#include "flow/pot_pour.h"
#include "flow/shop_place.h"
#include "formats/json_in.h"
#include "shop/asked_store.h"
#include "shop/document.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

extern operation_flow job_log_flow, entry_show_flow;

/* Which step a document belongs to. */
static const struct {
    const char *kind;
    enum job_step step;
} steps[] = {{"damage", JOB_LOOK},       {"quote", JOB_QUOTE},     {"plan", JOB_PREPARE},
             {"reading", JOB_COLOUR},    {"match", JOB_RECIPE},    {"prediction", JOB_RECIPE},
             {"pour", JOB_POUR},         {"adjustment", JOB_DABS}, {"ring", JOB_DABS},
             {"comparison", JOB_CHECK},  {"amount", JOB_COATS},    {"air", JOB_COATS},
             {"coats", JOB_COATS},       {"grain", JOB_GRAIN},     {"grain-comparison", JOB_GRAIN},
             {"gun", JOB_GRAIN},         {"sheen", JOB_SHEEN},     {"inspection", JOB_CHECK},
             {"handover", JOB_HANDOVER}, {"toners", JOB_RECIPE},   {"units", JOB_PREPARE}};

static const double FAR_DE00 = 5;

struct logging {
    struct book *book;
    struct arena *arena;
    const struct request *request;
    json_t *document; /* NULL: none was given */
    struct job_row job;
    struct entry_row entry;
    struct pot_row pot;
    struct finish_row finish; /* of the pot; no id when none was kept */
    struct fault not_kept;    /* and why */
    struct pot_desk pots;
    struct pot_row taken_back; /* of the pour that this one puts right; no id when there is none */
    const char *colour_name;
    long long newest_ms; /* when the job's newest entry before this one was logged */
    bool again;          /* the same document is in the log already */
};

/* A pour that nothing was poured of is a plan. */
static bool is_plan_of_a_pour(const struct logging *log) {
    return log->document && strcmp(log->entry.kind, "pour") == 0 &&
           json_array_size(json_object_get(log->document, "poured")) == 0;
}

static enum status find_step(struct logging *log, struct fault *fault) {
    const char *said = request_text(log->request, "--step");
    if (!said && is_plan_of_a_pour(log)) return log->entry.step = JOB_RECIPE, STATUS_OK;
    if (said)
        return job_step_from_name(said, &log->entry.step) ? STATUS_OK
                                                          : FAULT(fault, JOB_LOG_STEP, said, JOB_STEP_LIST);
    for (size_t i = 0; log->document && i < sizeof steps / sizeof *steps; i++)
        if (strcmp(steps[i].kind, log->entry.kind) == 0) return log->entry.step = steps[i].step, STATUS_OK;
    return FAULT(fault, JOB_LOG_STEP, log->document ? log->entry.kind : "note", JOB_STEP_LIST);
}

static enum status read_document(struct logging *log, const struct surroundings *around,
                                 struct fault *fault) {
    const char *file = request_text(log->request, "FILE");
    log->entry.kind = request_count(log->request, "--photo") ? "photograph" : "note";
    if (!file) return STATUS_OK;
    struct bytes bytes;
    enum status status = disk_read(around->disk, file, DISK_TEXT_MIB, around->arena, &bytes, fault);
    if (status == STATUS_OK) status = json_read(&bytes, &log->document, fault);
    if (status == STATUS_INPUT && fault->word == WORD_JSON_BROKEN && !memchr(bytes.data, '{', bytes.size))
        return FAULT(fault, JOB_LOG_FOREIGN, file); /* readings, a photograph ... */
    if (status != STATUS_OK) return status;
    const char *kind = json_string_value(json_object_get(log->document, "kind"));
    if (!kind) return FAULT(fault, JOB_LOG_NOT_OURS, file);
    status = json_check_kind(log->document, kind, file, fault);
    log->entry.kind = kind;
    log->entry.document = document_text(log->document, log->arena);
    return status;
}

/* A plan of nobody knows which piece would be asked for again with each of them. */
static enum status need_piece(struct logging *log, struct fault *fault) {
    struct piece_row *piece;
    size_t count;
    if (strcmp(log->entry.kind, "plan") != 0 || log->entry.piece) return STATUS_OK;
    enum status status = piece_store_list(log->book, log->job.id, log->arena, &piece, &count, fault);
    if (status != STATUS_OK || count < 2) return status;
    struct text names = {0};
    for (size_t i = 0; i < count; i++) text_format(&names, "%s%s", i ? ", " : "", piece[i].name);
    status = FAULT(fault, JOB_LOG_WHICH_PIECE, COUNT_TEXT(log->job.number), names.data);
    text_free(&names);
    return status;
}

static enum status find_about(struct logging *log, struct fault *fault) {
    const char *piece_name = request_text(log->request, "--piece"),
               *colour_name = request_text(log->request, "--colour");
    struct piece_row piece;
    struct colour_row colour;
    enum status status =
        job_store_find(log->book, request_text(log->request, "JOB"), log->arena, &log->job, fault);
    if (status == STATUS_OK && piece_name) {
        status = piece_store_find(log->book, log->job.id, piece_name, log->arena, &piece, fault);
        if (status == STATUS_OK) log->entry.piece = arena_text(log->arena, piece.id, strlen(piece.id));
    }
    if (status == STATUS_OK && colour_name) {
        status = colour_store_find(log->book, log->job.id, colour_name, log->arena, &colour, fault);
        if (status == STATUS_OK) log->entry.colour = arena_text(log->arena, colour.id, strlen(colour.id));
        if (status == STATUS_OK) log->colour_name = colour.name;
    }
    log->entry.job = log->job.id;
    return status == STATUS_OK ? need_piece(log, fault) : status;
}

static enum status keep_photograph(struct logging *log, const struct surroundings *around, const char *path,
                                   const char **kept, struct fault *fault) {
    char sha256[SHA256_TEXT];
    const enum status status = photographs_keep_from(log->book, around->disk, path, sha256, fault);
    if (status == STATUS_OK) *kept = arena_text(log->arena, sha256, strlen(sha256));
    return status;
}

static enum status keep_photographs(struct logging *log, const struct surroundings *around,
                                    struct fault *fault) {
    const size_t count = request_count(log->request, "--photo");
    const char **kept = arena_need(log->arena, count + 1, sizeof *kept);
    enum status status = STATUS_OK;
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        status = keep_photograph(log, around, request_text_at(log->request, "--photo", i), &kept[i], fault);
    log->entry.photograph = kept;
    log->entry.photograph_count = count;
    return status;
}

/* ---- what a pour does to pots and stock ---- */

static struct finish_desk finish_desk(const struct logging *log) {
    return (struct finish_desk){log->book, log->arena, &log->job};
}

static bool lab_of_reading(const struct logging *log, const char *colour, struct lab *out) {
    struct entry_row entry;
    bool found = false;
    json_t *reading = NULL;
    const struct entry_filter filter = {.job = log->job.id, .colour = colour, .kind = "reading"};
    if (entry_store_last(log->book, filter, log->arena, &entry, &found, NULL) != STATUS_OK || !found ||
        document_read(entry.document, &reading, NULL) != STATUS_OK)
        return false;
    const json_t *lab = json_object_get(reading, "lab");
    const char *light = json_string_value(json_object_get(reading, "illuminant"));
    const bool known = json_array_size(lab) == 3 && light && strcmp(light, "D65") == 0 &&
                       json_integer_value(json_object_get(reading, "observer")) == 10;
    if (known)
        *out = (struct lab){json_number_value(json_array_get(lab, 0)),
                            json_number_value(json_array_get(lab, 1)),
                            json_number_value(json_array_get(lab, 2)),
                            {LIGHT_D65, OBSERVER_10}};
    json_decref(reading);
    return known;
}

/* Logged under the wrong colour: it stands far off that colour's reading. Common practice: a pour that was
 * meant for a colour begins within two or three. */
static void doubt_colour(struct logging *log) {
    struct lab lab;
    struct fault note;
    if (!log->finish.id[0] || !log->finish.has_lab || !log->entry.colour ||
        !lab_of_reading(log, log->entry.colour, &lab))
        return;
    const double off = difference_de00(lab, log->finish.lab);
    if (off <= FAR_DE00) return;
    char de00[24];
    snprintf(de00, sizeof de00, "%.1f", off);
    FAULT(&note, JOB_LOG_FAR, de00, log->colour_name, COUNT_TEXT(log->job.number), log->entry.id);
    json_add_note(log->pots.said, &note);
}

static enum status make_pot(struct logging *log, struct fault *fault) {
    const char *name = json_string_value(json_object_get(log->document, "name"));
    log->pot = (struct pot_row){.job = log->job.id,
                                .colour = log->entry.colour,
                                .entry = log->entry.id,
                                .name = name && *name ? name : log->job.title,
                                .document = log->entry.document,
                                .life_min = (double)NAN};
    const json_t *poured = json_object_get(log->document, "poured");
    bool added = false;
    if (json_array_size(poured) == 0) return STATUS_OK; /* a plan; nothing is in the cup */
    enum status status = pot_store_add(log->book, &log->pot, fault);
    if (status == STATUS_OK) status = pot_pour_list(&log->pots, log->pot.id, poured, fault);
    if (status == STATUS_OK && log->taken_back.id[0])
        status = pot_carry(&log->pots, &log->taken_back, log->pot.id, &added, fault);
    if (status != STATUS_OK || log->again) return status;
    const struct finish_desk desk = finish_desk(log);
    status = finish_of_pour(&desk, &log->entry, log->document, added ? &log->pot : NULL, &log->finish,
                            &log->not_kept, fault);
    if (status == STATUS_OK) doubt_colour(log);
    return status;
}

/* The finish of a pot whose correction was taken back is what the pot holds now. */
static enum status follow_pot(struct logging *log, const char *pot, struct fault *fault) {
    const struct finish_desk desk = finish_desk(log);
    struct pot_row row;
    struct finish_row finish;
    json_t *nothing = json_object();
    enum status status = pot_store_get(log->book, pot, log->arena, &row, fault);
    if (status == STATUS_OK)
        status = finish_of_correction(&desk, &row, &log->entry, nothing, &finish, &log->not_kept, fault);
    json_decref(nothing);
    return status;
}

/* What was poured under the entry that this one replaces never was, or was something else. */
static enum status take_back(struct logging *log, struct fault *fault) {
    const char *pot = NULL;
    long long mg;
    if (!log->entry.replaces) return STATUS_OK;
    enum status status = pot_store_added(log->book, log->entry.replaces, log->arena, &pot, &mg, fault);
    if (status == STATUS_OK) status = pot_take_back(&log->pots, log->entry.replaces, &log->taken_back, fault);
    return status == STATUS_OK && pot ? follow_pot(log, pot, fault) : status;
}

static enum status pour_additions(struct logging *log, struct fault *fault) {
    const char *pot = request_text(log->request, "--pot");
    struct fault note;
    if (!pot) return STATUS_OK;
    const json_t *additions = json_object_get(log->document, "additions");
    const bool corrects = strcmp(log->entry.kind, "adjustment") == 0 || strcmp(log->entry.kind, "ring") == 0;
    if (!corrects || !json_is_array(additions)) return FAULT0(fault, JOB_LOG_POT);
    enum status status = pot_store_get(log->book, pot, log->arena, &log->pot, fault);
    if (status == STATUS_OK) status = pot_is_there(&log->pot, fault);
    if (status == STATUS_OK)
        status = pot_match_document(log->book, &log->pot, log->job.number, log->entry.kind, log->document,
                                    log->arena, fault);
    if (status == STATUS_OK) status = pot_pour_list(&log->pots, log->pot.id, additions, fault);
    if (status == STATUS_OK && log->pot.crosslinked) {
        FAULT0(&note, POT_ADDED_CROSSLINKED);
        json_add_note(log->pots.said, &note);
    }
    if (status != STATUS_OK || log->again) return status;
    const struct finish_desk desk = finish_desk(log);
    return finish_of_correction(&desk, &log->pot, &log->entry, log->document, &log->finish, &log->not_kept,
                                fault);
}

/* ---- */

static bool is_twin(const struct entry_row *a, const struct entry_row *b) {
    return strcmp(a->id, b->id) != 0 && text_same(a->piece, b->piece) && text_same(a->colour, b->colour) &&
           strcmp(a->document, b->document) == 0;
}

/* The same document again, of the same piece and colour, is kept, and said: a pour would count twice. */
static enum status look_for_twin(struct logging *log, struct fault *fault) {
    struct entry_row *entry;
    size_t count;
    if (!log->document) return STATUS_OK;
    const struct entry_filter filter = {.job = log->job.id, .kind = log->entry.kind};
    const enum status status = entry_store_list(log->book, filter, log->arena, &entry, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        log->again = log->again || is_twin(&entry[i], &log->entry);
    return status;
}

/* What replaces it; empty for nothing. */
static enum status successor(struct logging *log, const char *id, char out[ID_LENGTH + 1],
                             struct fault *fault) {
    struct entry_row *entry;
    size_t count;
    const struct entry_filter filter = {.job = log->job.id, .with_replaced = true};
    const enum status status = entry_store_list(log->book, filter, log->arena, &entry, &count, fault);
    out[0] = 0;
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        if (entry[i].replaces && strcmp(entry[i].replaces, id) == 0) memcpy(out, entry[i].id, ID_LENGTH + 1);
    return status;
}

/* Two devices that both began from nothing: the second one is told. */
static enum status check_first(struct logging *log, struct fault *fault) {
    struct entry_row *entry;
    size_t count;
    if (!request_has(log->request, "--first")) return STATUS_OK;
    const struct entry_filter filter = {.job = log->job.id, .kind = log->entry.kind};
    const enum status status = entry_store_list(log->book, filter, log->arena, &entry, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        if (text_same(entry[i].piece, log->entry.piece) && text_same(entry[i].colour, log->entry.colour))
            return FAULT(fault, JOB_LOG_FIRST, log->entry.kind, entry[i].id);
    return status;
}

/* An entry is put right by another one of the same job, named by its key or the beginning of it. */
static enum status find_replaced(struct logging *log, struct fault *fault) {
    const char *text = request_text(log->request, "--replaces");
    struct entry_row before;
    char by[ID_LENGTH + 1];
    if (!text) return check_first(log, fault);
    enum status status = entry_store_get(log->book, text, log->arena, &before, fault);
    if (status != STATUS_OK) return status;
    if (strcmp(before.job, log->job.id) != 0)
        return FAULT(fault, JOB_LOG_OTHER_JOB, text, COUNT_TEXT(log->job.number));
    status = successor(log, before.id, by, fault);
    if (status != STATUS_OK) return status;
    if (by[0]) return FAULT(fault, JOB_LOG_REPLACED, by);
    log->entry.replaces = arena_text(log->arena, before.id, strlen(before.id));
    return STATUS_OK;
}

static enum status find_newest(struct logging *log, struct fault *fault) {
    struct entry_row newest = {0};
    bool found;
    const struct entry_filter filter = {.job = log->job.id, .with_replaced = true};
    const enum status status = entry_store_last(log->book, filter, log->arena, &newest, &found, fault);
    log->newest_ms = newest.at_ms;
    return status;
}

static enum status add_entry(struct logging *log, const struct surroundings *around, struct fault *fault) {
    log->entry.words = request_has(log->request, "--note") ? request_text(log->request, "--note") : "";
    enum status status = find_about(log, fault);
    if (status == STATUS_OK) status = find_newest(log, fault);
    if (status == STATUS_OK) status = find_replaced(log, fault);
    if (status == STATUS_OK) status = find_step(log, fault);
    if (status == STATUS_OK) status = keep_photographs(log, around, fault);
    if (status == STATUS_OK) status = entry_store_add(log->book, &log->entry, fault);
    log->pots.entry = log->entry.id;
    if (status == STATUS_OK) status = asked_store_made(log->book, log->entry.id, 0, fault);
    if (status == STATUS_OK) status = look_for_twin(log, fault);
    if (status == STATUS_OK) status = take_back(log, fault);
    if (status == STATUS_OK && strcmp(log->entry.kind, "pour") == 0) status = make_pot(log, fault);
    if (status == STATUS_OK) status = pour_additions(log, fault);
    return status;
}

static bool said_may_stay(const json_t *document) {
    const json_t *notes = json_object_get(document, "notes");
    char near_enough[80];
    word_key(WORD_NOTE_NEAR_ENOUGH, near_enough, sizeof near_enough);
    for (size_t i = 0; i < json_array_size(notes); i++) {
        const char *id = json_string_value(json_object_get(json_array_get(notes, i), "id"));
        if (id && strcmp(id, near_enough) == 0) return true;
    }
    return false;
}

static void add_notes(const struct logging *log, json_t *reply) {
    struct fault note;
    if (is_plan_of_a_pour(log)) {
        FAULT0(&note, JOB_LOG_PLAN);
        json_add_note(reply, &note);
    }
    if (log->entry.at_ms < log->newest_ms) {
        char now[WALL_TIME_TEXT], then[WALL_TIME_TEXT];
        FAULT(&note, JOB_LOG_CLOCK, wall_time_write(log->entry.at_ms, now),
              wall_time_write(log->newest_ms, then));
        json_add_note(reply, &note);
    }
    if (log->pot.id[0] && said_may_stay(log->document)) {
        FAULT(&note, JOB_LOG_MAY_STAY, COUNT_TEXT(log->job.number), log->entry.id);
        json_add_note(reply, &note);
    }
    if (log->not_kept.text[0]) json_add_note(reply, &log->not_kept);
    if (!log->again) return;
    if (log->pot.id[0])
        FAULT(&note, JOB_LOG_AGAIN, log->entry.kind);
    else
        FAULT(&note, JOB_LOG_TWICE, log->entry.kind);
    json_add_note(reply, &note);
}

static void put_reply(struct logging *log, json_t *reply) {
    json_object_update(reply, log->pots.said);
    add_notes(log, reply);
    json_put_text(reply, "job", log->job.id);
    json_put_count(reply, "number", log->job.number);
    json_put(reply, "entry", entry_json(log->book, &log->entry, false));
    json_put_text(reply, "pot", log->pot.id[0] ? log->pot.id : NULL);
    json_put(reply, "finish", log->finish.id[0] ? finish_json(&log->finish, (double)NAN) : json_null());
    json_put(reply, "running_out", json_incref(log->pots.low));
}

enum status job_log_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                         struct fault *fault) {
    struct logging log = {.request = request, .arena = around->arena};
    if (!request_has(request, "FILE") && !request_has(request, "--note") &&
        request_count(request, "--photo") == 0)
        return FAULT0(fault, JOB_LOG_NOTHING);
    enum status status = read_document(&log, around, fault);
    if (status == STATUS_OK) status = shop_open(around, request, &log.book, fault);
    log.pots =
        (struct pot_desk){.book = log.book, .arena = log.arena, .low = json_array(), .said = json_object()};
    if (status == STATUS_OK) status = book_begin(log.book, fault);
    if (status == STATUS_OK) status = book_end(log.book, add_entry(&log, around, fault), fault);
    if (status == STATUS_OK) put_reply(&log, *reply = json_start("logged"));
    book_close(log.book);
    json_decref(log.pots.low);
    json_decref(log.pots.said);
    json_decref(log.document);
    return status;
}

enum status entry_show_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                            struct fault *fault) {
    struct book *book;
    struct entry_row entry;
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    status = entry_store_get(book, request_text(request, "ENTRY"), around->arena, &entry, fault);
    if (status == STATUS_OK) status = document_read(entry.document, reply, fault);
    if (status == STATUS_OK && !json_object_get(*reply, "kind")) {
        json_decref(*reply);
        *reply = json_start("entry");
        json_put(*reply, "entry", entry_json(book, &entry, true));
    }
    book_close(book);
    return status;
}
