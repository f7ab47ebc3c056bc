#include "server/run_route.h"
#include "formats/json_in.h"
#include "server/helper.h"
#include "server/server.h"
#include "server/stream.h"
#include "shop/asked_store.h"
#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static void run_now(struct run *run, struct answer *answer) {
    if (helper_is_for(run->operation))
        helper_run(run, answer);
    else
        run_here(run, answer);
}

/* ---- streamed ---- */

static void tell_progress(void *context, double done) {
    struct run *run = context;
    if (!run->stream || (done < run->shown + .01 && done < 1)) return;
    run->shown = done;
    char data[40];
    snprintf(data, sizeof data, "{\"done\":%.3f}", done);
    stream_send(run->stream, "progress", data);
}

static void stop_run(void *context) {
    struct run *run = context;
    work_cancel(run->work);
}

static void run_free(struct run *run) {
    json_decref(run->body);
    work_free(run->work);
    arena_free(run->arena);
    memory_free(run);
}

static void *run_streamed(void *context) {
    struct run *run = context;
    struct answer answer = {0};
    run_now(run, &answer);
    const char *event = answer.code < 400 ? "reply" : "error";
    if (answer.file)
        stream_send_file(run->stream, event, answer.file), close(answer.file);
    else
        stream_send(run->stream, event, answer.body.data);
    text_free(&answer.body);
    stream_end(run->stream);
    stream_let_go(run->stream);
    run_free(run);
    return NULL;
}

static bool start_streamed(struct run *run, struct answer *answer) {
    run->stream = stream_new(stop_run, run);
    answer->code = 200;
    answer->type = "text/event-stream";
    answer->stream = run->stream;
    pthread_t thread;
    if (pthread_create(&thread, NULL, run_streamed, run) != 0) return false;
    pthread_detach(thread);
    return true;
}

static void answer_machine_busy(struct answer *answer) {
    struct fault fault;
    FAULT0(&fault, SERVER_BUSY);
    answer_fault(answer, &fault);
}

/* "toners-fit" of the address is the verb "toners fit". */
static const struct operation *operation_of_path(const struct call *call, const char *root) {
    char verb[64];
    snprintf(verb, sizeof verb, "%s", call->path + strlen(root));
    for (char *c = verb; *c; c++)
        if (*c == '/') *c = ' ';
    const struct operation *operation = operation_find(verb);
    return operation && server_serves(operation) ? operation : NULL;
}

static struct run *run_begin(const struct call *call, const char *root, struct answer *answer) {
    struct fault fault;
    const struct operation *operation = operation_of_path(call, root);
    if (!operation) {
        FAULT(&fault, SERVER_NO_SUCH_PAGE, call->path);
        answer_fault(answer, &fault);
        answer->code = 404;
        return NULL;
    }
    json_t *body;
    struct bytes bytes = call->body;
    bytes.name = "the request";
    if (json_read(&bytes, &body, &fault) != STATUS_OK) {
        answer_fault(answer, &fault);
        return NULL;
    }
    struct run *run = memory_need(1, sizeof *run);
    *run = (struct run){.call = {.server = call->server, .shop = call->shop},
                        .arena = arena_new(),
                        .operation = operation,
                        .body = body};
    run->work = work_new(1, tell_progress, run);
    run->asked = json_string_value(json_object_get(body, "asked"));
    if (!run->asked || asked_key_is_good(run->asked)) return run;
    FAULT0(&fault, SERVER_ASKED_KEY);
    answer_fault(answer, &fault);
    run_free(run);
    return NULL;
}

void run_route_answer(const struct call *call, struct answer *answer) {
    struct run *run = run_begin(call, "/api/run/", answer);
    if (!run) return;
    const bool streamed = call->accept && strstr(call->accept, "text/event-stream");
    if (!streamed) run_now(run, answer);
    if (streamed && start_streamed(run, answer)) return;
    if (streamed) {
        stream_let_go(run->stream), stream_let_go(run->stream);
        answer->stream = NULL;
        answer_machine_busy(answer);
    }
    run_free(run);
}

static enum paper paper_wanted(const char *as) {
    if (as && strcmp(as, "svg") == 0) return PAPER_SVG;
    if (as && strcmp(as, "png") == 0) return PAPER_PNG;
    return PAPER_PDF;
}

static const char *own_paper_wanted(const char *as) {
    static const char *const names[] = {"paper.json", "paper.ics"};
    for (size_t i = 0; as && i < sizeof names / sizeof *names; i++)
        if (strcmp(as, names[i] + strlen("paper.")) == 0) return names[i];
    return "paper.pdf";
}

void paper_route_answer(const struct call *call, struct answer *answer) {
    struct run *run = run_begin(call, "/api/paper/", answer);
    if (!run) return;
    run->paper = paper_wanted(call->query(call, "as"));
    if (run->operation->papers == (unsigned)PAPER_OWN) {
        run->paper = PAPER_OWN;
        run->own = own_paper_wanted(call->query(call, "as"));
    }
    if (run->operation->papers & (unsigned)run->paper) {
        run_now(run, answer);
    } else {
        struct fault fault;
        FAULT(&fault, SERVER_NO_SUCH_PAPER, run->operation->verb);
        answer_fault(answer, &fault);
    }
    run_free(run);
}
