#include "server/helper.h"
#include "device/child.h"
#include "server/routes.h"
#include "server/server.h"
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <semaphore.h>
#include <signal.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

/* The files that a helper is started with. */
enum { SOCKET_FD = 3, REQUEST_FD = 4, ANSWER_FD = 5 };
enum { MAGIC = 0x68656c70 };

/* What a helper says: how far it is, then once that the answer is whole. */
struct said {
    uint32_t magic;
    int32_t code; /* of the answer; 0: progress */
    double done;
};

bool helper_is_for(const struct operation *operation) {
    return strncmp(operation->verb, "photo ", strlen("photo ")) == 0;
}

/* ---- the server's side ---- */

static sem_t helpers;
static pthread_once_t once = PTHREAD_ONCE_INIT;
static void make_helpers(void) {
    sem_init(&helpers, 0, HELPERS_AT_ONCE);
}

/* False when the run was cancelled before one was free. */
static bool wait_for_turn(const struct work *work) {
    const struct timespec pause = {.tv_nsec = 50000000};
    pthread_once(&once, make_helpers);
    while (sem_trywait(&helpers) != 0) {
        if (work_is_cancelled(work)) return false;
        nanosleep(&pause, NULL);
    }
    return true;
}

static int write_bytes(const void *data, size_t size, void *context) {
    const int fd = *(const int *)context;
    for (size_t done = 0; done < size;) {
        const ssize_t n = write(fd, (const char *)data + done, size - done);
        if (n < 0 && errno == EINTR) continue;
        if (n <= 0) return -1;
        done += (size_t)n;
    }
    return 0;
}

/* The request as the helper reads it; -1 with errno. */
static int request_file(const struct run *run) {
    int fd = memfd_create("request", MFD_CLOEXEC);
    if (fd < 0) return -1;
    json_t *request =
        json_pack("{s:s,s:s,s:O}", "shop", run->call.shop, "verb", run->operation->verb, "body", run->body);
    const bool whole = request && json_dump_callback(request, (json_dump_callback_t)write_bytes, &fd, 0) == 0;
    json_decref(request);
    if (whole) return fd;
    close(fd);
    return -1;
}

struct helper {
    struct child child;
    int socket, answer;
};

static enum status start(const struct run *run, struct helper *h, struct fault *fault) {
    int pair[2] = {-1, -1}, request = request_file(run);
    h->answer = memfd_create("answer", MFD_CLOEXEC);
    bool ready =
        request >= 0 && h->answer >= 0 && socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC, 0, pair) == 0;
    h->socket = pair[0];
    const int files[3] = {pair[1], request, h->answer};
    ready = ready && child_start("/proc/self/exe", "russet-helper", files, 3, &h->child);
    const int error = errno;
    if (pair[1] >= 0) close(pair[1]);
    if (request >= 0) close(request);
    return ready ? STATUS_OK : FAULT(fault, SERVER_NO_HELPER, strerror(error));
}

/* It is gone, or has to go: one sentence for each way. */
static enum status lost(struct helper *h, enum child_heard heard, struct fault *fault) {
    int code = 0;
    const enum child_end end = child_finish(&h->child, heard != CHILD_SILENT, &code);
    if (heard == CHILD_STOPPED) return FAULT0(fault, CANCELLED);
    if (heard == CHILD_LATE || end == CHILD_OUT_OF_TIME)
        return FAULT(fault, SERVER_HELPER_LATE, COUNT_TEXT(HELPER_MINUTES));
    return FAULT(fault, SERVER_HELPER_LOST, COUNT_TEXT(code));
}

static enum status hear_all(const struct run *run, struct helper *h, struct said *said, struct fault *fault) {
    const double until = child_clock_s() + 60.0 * HELPER_MINUTES;
    for (;;) {
        const enum child_heard heard = child_hear(h->socket, said, sizeof *said, until, run->work);
        if (heard != CHILD_SAID || said->magic != MAGIC)
            return lost(h, heard == CHILD_SAID ? CHILD_BABBLED : heard, fault);
        if (said->code) break;
        work_report(run->work, said->done);
    }
    int code;
    (void)child_finish(&h->child, false, &code);
    return STATUS_OK;
}

static void take_answer(struct helper *h, const struct said *said, struct answer *answer) {
    answer->code = said->code;
    answer->type = "application/json"; /* none of them draws a paper */
    answer->file = h->answer;
    h->answer = -1;
}

void helper_run(struct run *run, struct answer *answer) {
    struct helper h = {.socket = -1, .answer = -1};
    struct said said;
    struct fault fault = {0};
    const bool free_one = wait_for_turn(run->work);
    enum status status = free_one ? start(run, &h, &fault) : FAULT0(&fault, CANCELLED);
    if (status == STATUS_OK) status = hear_all(run, &h, &said, &fault);
    if (free_one) sem_post(&helpers);
    if (status == STATUS_OK)
        take_answer(&h, &said, answer);
    else
        answer_fault(answer, &fault);
    if (h.socket >= 0) close(h.socket);
    if (h.answer >= 0) close(h.answer);
}

/* ---- the helper's side ---- */

bool helper_is_this(int argc, char **argv) {
    return argc == 1 && strcmp(argv[0], "russet-helper") == 0;
}

/* It ends with the server, makes room for what is pressing, and takes no more than it may. */
static void take_limits(void) {
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    (void)!nice(5);
    const struct rlimit cpu = {60 * HELPER_MINUTES, 60 * HELPER_MINUTES}, none = {0, 0};
    setrlimit(RLIMIT_CPU, &cpu);
    setrlimit(RLIMIT_CORE, &none);
#ifndef RUSSET_SANITIZED /* the sanitizer's shadow is larger than any limit */
    const struct rlimit memory = {(rlim_t)HELPER_MIB << 20, (rlim_t)HELPER_MIB << 20};
    setrlimit(RLIMIT_AS, &memory);
#endif
}

static bool say(const struct said *said) {
    return send(SOCKET_FD, said, sizeof *said, MSG_NOSIGNAL) == (ssize_t)sizeof *said;
}

static void say_progress(void *context, double done) {
    struct run *run = context;
    if (done < run->shown + .01 && done < 1) return;
    run->shown = done;
    if (!say(&(struct said){.magic = MAGIC, .done = done})) work_cancel(run->work); /* nobody hears it */
}

static const char *text_in(const json_t *request, const char *key) {
    const char *text = json_string_value(json_object_get(request, key));
    return text ? text : "";
}

static int run_request(const json_t *request) {
    struct arena *arena = arena_new();
    struct run run = {.arena = arena,
                      .operation = operation_find(text_in(request, "verb")),
                      .body = json_object_get(request, "body")};
    if (!run.operation || !run.body) return 2;
    run.work = work_new(0, say_progress, &run);
    const struct surroundings around = {.disk = disk_real(),
                                        .work = run.work,
                                        .arena = arena,
                                        .clock = wall_clock_real(),
                                        .ids = id_source_real()};
    struct server server = {.around = &around};
    run.call = (struct call){.server = &server, .shop = text_in(request, "shop"), .arena = arena};
    struct answer answer = {.code = 200};
    run_here(&run, &answer);
    int to = ANSWER_FD;
    struct said said = {.magic = MAGIC, .code = answer.code, .done = 1};
    if (write_bytes(answer.body.data, answer.body.length, &to) != 0) return 4;
    (void)say(&said);
    text_free(&answer.body);
    work_free(run.work);
    arena_free(arena);
    return 0;
}

int helper_main(void) {
    int kind = 0;
    socklen_t n = sizeof kind;
    if (getsockopt(SOCKET_FD, SOL_SOCKET, SO_TYPE, &kind, &n) != 0 || kind != SOCK_SEQPACKET) {
        fprintf(stderr, "russet-helper: is started by russet serve.\n");
        return 2;
    }
    take_limits();
    if (sodium_init() < 0 || lseek(REQUEST_FD, 0, SEEK_SET) != 0) return 4;
    json_t *request = json_loadfd(REQUEST_FD, 0, NULL);
    const int code = request ? run_request(request) : 2;
    json_decref(request);
    return code;
}
