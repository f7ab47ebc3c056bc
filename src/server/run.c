/* A run of an operation for the page: its arguments and files out of the request, the run itself, what goes
 * back. */
#include "server/run.h"
#include "device/memory_disk.h"
#include "flow/operation.h"
#include "formats/json_in.h"
#include "formats/json_out.h"
#include "server/server.h"
#include "server/upload_route.h"
#include "shop/asked_store.h"
#include <sodium.h>
#include <stdio.h>
#include <string.h>

enum { FILES_MOST = 64, WRITTEN_MOST_MIB = 64 };

/* ---- arguments ---- */

/* The log of a pour is a file that is written; other logs are files that are read. */
static bool is_machine_argument(const struct operation *operation, const char *name) {
    static const char *const names[] = {"--shop",    "--now",  "--out",    "--scale",
                                        "--pattern", "--baud", "--framing"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (strcmp(name, names[i]) == 0) return true;
    return strcmp(name, "--log") == 0 && strcmp(operation->verb, "pour") == 0;
}

static const struct argument *find_argument(const struct operation *operation, const char *name) {
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    for (size_t i = 0; i < count; i++)
        if (strcmp(a[i].name, name) == 0) return &a[i];
    return NULL;
}

static const char *text_of(const json_t *value, struct arena *arena) {
    if (json_is_string(value)) return arena_text(arena, json_string_value(value), json_string_length(value));
    if (!json_is_number(value)) return NULL;
    char text[40];
    snprintf(text, sizeof text, "%.17g", json_number_value(value));
    return arena_text(arena, text, strlen(text));
}

static enum status add_value(struct run *run, struct request *request, const struct argument *argument,
                             const json_t *value, struct fault *fault) {
    if (argument->type == TYPE_FLAG && json_is_true(value))
        return request_add(request, argument, NULL, fault);
    if (json_is_false(value) || json_is_null(value)) return STATUS_OK;
    const char *text = text_of(value, run->arena);
    if (!text || strlen(text) != (json_is_string(value) ? json_string_length(value) : strlen(text)))
        return FAULT(fault, SERVER_VALUE_KIND, argument->name);
    return request_add(request, argument, text, fault);
}

static enum status add_argument(struct run *run, struct request *request, const char *name,
                                const json_t *value, struct fault *fault) {
    const struct argument *argument = find_argument(run->operation, name);
    if (!argument || is_machine_argument(run->operation, name))
        return FAULT(fault, SERVER_ARGUMENT_NOT_HERE, run->operation->verb, name);
    if (!json_is_array(value)) return add_value(run, request, argument, value, fault);
    enum status status = STATUS_OK;
    for (size_t i = 0; i < json_array_size(value) && status == STATUS_OK; i++)
        status = add_value(run, request, argument, json_array_get(value, i), fault);
    return status;
}

static enum status make_request(struct run *run, struct request **out, struct fault *fault) {
    *out = request_new(run->operation, run->arena);
    json_t *arguments = json_object_get(run->body, "arguments");
    const char *name;
    json_t *value;
    json_object_foreach(arguments, name, value) {
        const enum status status = add_argument(run, *out, name, value, fault);
        if (status != STATUS_OK) return status;
    }
    return request_check(*out, fault);
}

/* ---- files ---- */

static enum status put_base64(struct memory_disk *disk, const char *name, const json_t *value,
                              struct fault *fault) {
    const size_t n = json_string_length(value);
    unsigned char *bytes = arena_need(disk->arena, n + 1, 1);
    size_t size;
    if (sodium_base642bin(bytes, n + 1, json_string_value(value), n, NULL, &size, NULL,
                          sodium_base64_VARIANT_ORIGINAL))
        return FAULT(fault, SERVER_FILE_KIND, name);
    return memory_disk_put(disk, name, bytes, size, fault);
}

static enum status put_document(struct memory_disk *disk, const char *name, const json_t *document,
                                struct fault *fault) {
    char *text = json_dumps(document, JSON_ENCODE_ANY);
    const enum status status =
        text ? memory_disk_put(disk, name, text, strlen(text), fault) : FAULT(fault, SERVER_FILE_KIND, name);
    free(text);
    return status;
}

static enum status put_entry(struct run *run, struct memory_disk *disk, const char *name, const char *id,
                             struct fault *fault) {
    struct bytes bytes;
    const enum status status = server_entry_bytes(&run->call, id, run->arena, &bytes, fault);
    return status == STATUS_OK ? memory_disk_put(disk, name, bytes.data, bytes.size, fault) : status;
}

/* The shop's own file, which nobody changes: a photograph is not copied. */
static enum status put_photo(struct run *run, struct memory_disk *disk, const char *name, const char *sha256,
                             bool upload, struct fault *fault) {
    int fd;
    const enum status status = server_photo_file(&run->call, sha256, upload, &fd, fault);
    if (status == STATUS_OK) memory_disk_put_file(disk, name, fd);
    return status;
}

static enum status put_file(struct run *run, struct memory_disk *disk, const char *name, const json_t *file,
                            struct fault *fault) {
    const json_t *value;
    if ((value = json_object_get(file, "document"))) return put_document(disk, name, value, fault);
    if (json_is_string(value = json_object_get(file, "text")))
        return memory_disk_put(disk, name, json_string_value(value), json_string_length(value), fault);
    if (json_is_string(value = json_object_get(file, "base64"))) return put_base64(disk, name, value, fault);
    if (json_is_string(value = json_object_get(file, "entry")))
        return put_entry(run, disk, name, json_string_value(value), fault);
    if (json_is_string(value = json_object_get(file, "photo")))
        return put_photo(run, disk, name, json_string_value(value), false, fault);
    if (json_is_string(value = json_object_get(file, "upload")))
        return put_photo(run, disk, name, json_string_value(value), true, fault);
    return FAULT(fault, SERVER_FILE_KIND, name);
}

static enum status put_files(struct run *run, struct memory_disk *disk, struct fault *fault) {
    json_t *files = json_object_get(run->body, "files");
    if (json_object_size(files) > FILES_MOST)
        return FAULT(fault, SERVER_TOO_MANY_FILES, COUNT_TEXT(FILES_MOST));
    const char *name;
    json_t *file;
    json_object_foreach(files, name, file) {
        const enum status status = put_file(run, disk, name, file, fault);
        if (status != STATUS_OK) return status;
    }
    return STATUS_OK;
}

static json_t *written_files(struct memory_disk *disk) {
    json_t *written = json_object();
    for (struct memory_file *file = disk->first; file; file = file->next) {
        struct bytes bytes;
        if (!file->ended || memory_disk_take(disk, file, &bytes, NULL) != STATUS_OK) continue;
        if (bytes.size > (size_t)WRITTEN_MOST_MIB << 20) continue;
        const size_t n = sodium_base64_ENCODED_LEN(bytes.size, sodium_base64_VARIANT_ORIGINAL);
        char *text = arena_need(disk->arena, n, 1);
        sodium_bin2base64(text, n, bytes.data, bytes.size, sodium_base64_VARIANT_ORIGINAL);
        json_object_set_new(written, file->name, json_string(text));
    }
    return written;
}

/* ---- the run itself ---- */

static enum status take_own(const struct run *run, struct answer *answer, struct memory_disk *disk,
                            struct fault *fault) {
    for (struct memory_file *file = disk->first; file; file = file->next) {
        if (!file->written || strcmp(file->name, run->own) != 0) continue;
        struct bytes bytes;
        const enum status status = memory_disk_take(disk, file, &bytes, fault);
        if (status != STATUS_OK) return status;
        answer->code = 200;
        answer->type = text_ends_ignoring_case(run->own, ".pdf")   ? "application/pdf"
                       : text_ends_ignoring_case(run->own, ".ics") ? "text/calendar; charset=utf-8"
                                                                   : "application/json";
        text_add_bytes(&answer->body, bytes.data, bytes.size);
        return STATUS_OK;
    }
    return FAULT(fault, SERVER_NO_SUCH_PAPER, run->operation->verb);
}

static enum status finish_reply(struct run *run, enum status status, json_t *reply, struct answer *answer,
                                struct memory_disk *disk, struct fault *fault) {
    if (run->paper == PAPER_OWN) return take_own(run, answer, disk, fault);
    if (run->paper != PAPER_NONE) {
        answer->code = 200;
        answer->type = run->paper == PAPER_PDF   ? "application/pdf"
                       : run->paper == PAPER_SVG ? "image/svg+xml"
                                                 : "image/png";
        return run->operation->draw(reply, run->paper, &answer->body, fault);
    }
    struct text checked = {0};
    const enum status whole = json_finish(reply, &checked, fault); /* no number that is not finite leaves */
    text_free(&checked);
    if (whole != STATUS_OK) return whole;
    json_t *object = json_object();
    json_object_set_new(object, "status", json_string(status == STATUS_NO ? "NO" : "OK"));
    if (status == STATUS_NO && fault->text[0]) json_put_text(object, "why", fault->text);
    json_object_set(object, "reply", reply);
    json_object_set_new(object, "written", written_files(disk));
    answer_json(answer, 200, object);
    return STATUS_OK;
}

static enum status run_inside(struct run *run, struct memory_disk *disk, struct answer *answer,
                              struct fault *fault) {
    struct request *request;
    enum status status = put_files(run, disk, fault);
    if (status == STATUS_OK) status = make_request(run, &request, fault);
    if (status != STATUS_OK) return status;
    struct surroundings around;
    server_surroundings(&run->call, memory_disk_enter(disk), run->work, run->arena, &around);
    around.asked = run->asked;
    if (run->operation->papers == (unsigned)PAPER_OWN) around.out = run->own ? run->own : "paper.json";
    json_t *reply = NULL;
    status = run->operation->flow(&around, request, &reply, fault);
    if (work_is_cancelled(run->work)) status = FAULT0(fault, CANCELLED);
    if ((status == STATUS_OK || status == STATUS_NO) && reply) {
        const enum status told = finish_reply(run, status, reply, answer, disk, fault);
        status = told == STATUS_OK ? STATUS_OK : told;
    }
    json_decref(reply);
    return status;
}

/* What arrived in pieces and was logged is kept in the book now. */
static void drop_uploads(const struct run *run) {
    const char *name;
    json_t *file;
    if (strcmp(run->operation->verb, "job log") != 0) return;
    json_object_foreach(json_object_get(run->body, "files"), name, file) {
        const char *sha256 = json_string_value(json_object_get(file, "upload"));
        if (sha256) upload_drop(run->call.shop, sha256);
    }
}

/* A request that comes again is told what it made the first time; a paper is asked for by its own verb. */
static bool answer_again(struct run *run, struct answer *answer) {
    struct asked_row made;
    if (!run->asked || run->paper != PAPER_NONE || !server_asked(&run->call, run->asked, &made)) return false;
    json_t *reply = json_object();
    if (made.made[0]) json_object_set_new(reply, "id", json_string(made.made));
    if (made.number) json_object_set_new(reply, "number", json_integer(made.number));
    answer_json(answer, 200,
                json_pack("{s:s,s:b,s:o,s:{}}", "status", "OK", "again", 1, "reply", reply, "written"));
    return true;
}

void run_here(struct run *run, struct answer *answer) {
    struct memory_disk disk = {.arena = run->arena};
    struct fault fault = {0};
    if (answer_again(run, answer)) return;
    const enum status status = run_inside(run, &disk, answer, &fault);
    memory_disk_leave(&disk);
    if (status == STATUS_OK) drop_uploads(run);
    if (status == STATUS_OK) return;
    text_free(&answer->body);
    if (fault.word == WORD_BOOK_ASKED && answer_again(run, answer)) return; /* both at once */
    answer_fault(answer, &fault);
    if (answer->code < 400) answer->code = 409; /* a "no" that has nothing to show but its sentence */
}
