#include "cli/command_line.h"
#include "formats/json_out.h"
#include <errno.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static struct work *interruptible; /* the one thing a signal may touch */

static void on_interrupt(int signal_number) {
    (void)signal_number;
    if (work_is_cancelled(interruptible)) _exit(130); /* asked twice: leave at once */
    work_cancel(interruptible);
}

/* Without SA_RESTART, so that a wait for input ends too. */
static void catch_signals(void (*handler)(int)) {
    struct sigaction action = {.sa_handler = handler};
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
}

static ssize_t read_unless_stopped(int fd, void *to, size_t n) {
    const ssize_t got = read(fd, to, n);
    if (got < 0 && errno == EINTR && work_is_cancelled(interruptible)) errno = ECANCELED;
    return got;
}

/* Progress on a terminal once the work has taken half a second; wiped when done. */
struct meter {
    struct timespec start;
    bool on_terminal, shown;
};

static double seconds_since(const struct timespec *start) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)(now.tv_sec - start->tv_sec) + 1e-9 * (double)(now.tv_nsec - start->tv_nsec);
}

static void show_progress(void *user, double done) {
    struct meter *meter = user;
    if (!meter->on_terminal || seconds_since(&meter->start) < 0.5) return;
    fprintf(stderr, "\r%3.0f %%", 100 * done);
    fflush(stderr);
    meter->shown = true;
}

static void wipe_progress(struct meter *meter) {
    if (meter->shown) fprintf(stderr, "\r     \r");
    meter->shown = false;
}

static enum paper paper_of_name(const char *name) {
    if (text_ends_ignoring_case(name, ".pdf")) return PAPER_PDF;
    if (text_ends_ignoring_case(name, ".svg")) return PAPER_SVG;
    if (text_ends_ignoring_case(name, ".png")) return PAPER_PNG;
    return PAPER_NONE;
}

/* Does the name end as the name of some other kind of file? ".json", no ending and devices take JSON. */
static bool ends_otherwise(const char *name) {
    const char *slash = strrchr(name, '/'), *base = slash ? slash + 1 : name, *dot = strrchr(base, '.');
    return dot && dot > base && dot[1] && !text_ends_ignoring_case(name, ".json");
}

/* A shop's book is never written over, whatever verb is asked to. */
static bool is_a_book(const char *path) {
    static const char magic[] = "SQLite format 3";
    char head[72] = "";
    FILE *file = fopen(path, "rb");
    if (!file) return false;
    const size_t n = fread(head, 1, sizeof head, file);
    fclose(file);
    const bool ours = n == sizeof head && memcmp(head + 68, "russ", 4) == 0;
    const char *slash = strrchr(path, '/');
    return ours && memcmp(head, magic, sizeof magic) == 0 &&
           strcmp(slash ? slash + 1 : path, "book.sqlite") == 0;
}

/* What was measured is not written over by what was made of it. */
static enum status check_inputs_stay(const struct command *command, struct fault *fault) {
    size_t count;
    const struct argument *a = operation_arguments(command->operation, &count);
    for (size_t i = 0; i < count; i++) {
        if (a[i].type != TYPE_FILE) continue;
        for (size_t k = 0; k < request_count(command->request, a[i].name); k++)
            if (disk_same(command->out, request_text_at(command->request, a[i].name, k)))
                return FAULT(fault, OUT_IS_INPUT, command->out);
    }
    return STATUS_OK;
}

/* What --out will hold, decided before any work is done. */
static enum status check_out(const struct command *command, struct fault *fault) {
    const bool own = command->operation->papers == (unsigned)PAPER_OWN;
    if (!command->out) return own ? FAULT(fault, OUT_NEEDED, command->operation->verb) : STATUS_OK;
    if (own && strcmp(command->out, "-") == 0) return FAULT(fault, OUT_NEEDED, command->operation->verb);
    if (disk_is_folder(command->out)) return FAULT(fault, FILE_IS_DIRECTORY, command->out);
    if (is_a_book(command->out)) return FAULT(fault, OUT_IS_A_BOOK, command->out);
    const enum status stays = check_inputs_stay(command, fault);
    if (stays != STATUS_OK) return stays;
    const enum paper paper = paper_of_name(command->out);
    const unsigned papers = command->operation->papers;
    if (own || (papers & (unsigned)paper) || (paper == PAPER_NONE && !ends_otherwise(command->out)))
        return STATUS_OK;
    char kinds[64];
    snprintf(kinds, sizeof kinds, ".json%s%s%s", papers & (unsigned)PAPER_PDF ? " .pdf" : "",
             papers & (unsigned)PAPER_SVG ? " .svg" : "", papers & (unsigned)PAPER_PNG ? " .png" : "");
    return FAULT(fault, OUT_KIND_UNKNOWN, command->out, command->operation->verb, kinds);
}

static enum status write_out(const struct surroundings *around, const struct command *command,
                             const json_t *reply, struct fault *fault) {
    struct text bytes = {0};
    const enum paper paper = paper_of_name(command->out);
    enum status status = paper == PAPER_NONE ? json_finish(reply, &bytes, fault)
                                             : command->operation->draw(reply, paper, &bytes, fault);
    if (status == STATUS_OK) status = disk_write(around->disk, command->out, bytes.data, bytes.length, fault);
    text_free(&bytes);
    return status;
}

static enum status print_text(const struct text *out, struct fault *fault) {
    const bool printed = fwrite(out->data ? out->data : "", 1, out->length, stdout) == out->length;
    if (printed && fflush(stdout) == 0) return STATUS_OK;
    return FAULT(fault, OUTPUT_CANNOT_WRITE, strerror(errno));
}

/* Names out of strangers' files stand in it: they must not command the terminal. */
static void say_to_people(const struct operation *operation, const json_t *reply, struct text *out) {
    operation->say(reply, out);
    text_tame(out->data, out->length, "\n\t");
}

static enum status print_reply(const struct command *command, const json_t *reply, struct fault *fault) {
    struct text out = {0};
    enum status status = STATUS_OK;
    if (command->json || (command->out && strcmp(command->out, "-") == 0))
        status = json_finish(reply, &out, fault);
    else
        say_to_people(command->operation, reply, &out);
    if (status == STATUS_OK) status = print_text(&out, fault);
    text_free(&out);
    return status;
}

/* Everything is written only when the work has ended and was not cancelled. A "no" still has a reply to show.
 */
static enum status finish(const struct surroundings *around, const struct command *command,
                          enum status status, json_t *reply, struct fault *fault) {
    if (status == STATUS_CANCELLED && fault->text[0]) return status; /* it has said what stays */
    if (work_is_cancelled(around->work)) return FAULT0(fault, CANCELLED);
    if (status != STATUS_OK && status != STATUS_NO) return status;
    if (!reply) return status;
    enum status written = STATUS_OK;
    const bool own = command->operation->papers == (unsigned)PAPER_OWN; /* written by the flow */
    if (command->out && !own && strcmp(command->out, "-") != 0)
        written = write_out(around, command, reply, fault);
    if (written == STATUS_OK) written = print_reply(command, reply, fault);
    return written == STATUS_OK ? status : written;
}

/* RUSSET_SEED is for tests and transcripts: the same keys again. */
static struct id_source ids_wanted(void) {
    const char *wanted = getenv("RUSSET_SEED");
    unsigned long long seed;
    return wanted && text_to_count(wanted, UINT64_MAX, &seed) ? id_source_seeded(seed) : id_source_real();
}

static enum status run(const struct command *command, serve_hook *serve, struct arena *arena,
                       unsigned threads, struct fault *fault) {
    struct meter meter = {.on_terminal = isatty(2) != 0};
    clock_gettime(CLOCK_MONOTONIC, &meter.start);
    struct work *work = work_new(threads, show_progress, &meter);
    struct disk disk = *disk_real();
    disk.read = read_unless_stopped;
    const struct surroundings around = {.disk = &disk,
                                        .work = work,
                                        .arena = arena,
                                        .clock = wall_clock_real(),
                                        .ids = ids_wanted(),
                                        .out = command->out,
                                        .serve = serve};
    interruptible = work;
    catch_signals(on_interrupt);
    json_t *reply = NULL;
    enum status status = check_out(command, fault);
    if (status == STATUS_OK) status = command->operation->flow(&around, command->request, &reply, fault);
    wipe_progress(&meter);
    if (status != STATUS_USAGE && status != STATUS_INPUT)
        status = finish(&around, command, status, reply, fault);
    json_decref(reply);
    if (command->timing) fprintf(stderr, "seconds %.4f\n", seconds_since(&meter.start));
    catch_signals(SIG_DFL);
    interruptible = NULL;
    work_free(work);
    return status;
}

static int say_and_end(enum status status, const struct fault *fault) {
    if (status != STATUS_OK && fault->text[0]) fprintf(stderr, "russet: %s\n", fault->text);
    return status_exit_code(status);
}

static int print_and_end(struct text *out) {
    struct fault fault = {0};
    const enum status status = print_text(out, &fault);
    text_free(out);
    return say_and_end(status, &fault);
}

static int print_help(const struct command *command) {
    struct text out = {0};
    if (command->operation)
        help_operation(command->operation, &out);
    else
        help_all(command->group, &out);
    return print_and_end(&out);
}

static void make_version(struct text *out) {
    text_add(out, "russet " RUSSET_VERSION "\n");
}

static int print_generated(void (*make)(struct text *)) {
    struct text out = {0};
    make(&out);
    return print_and_end(&out);
}

/* RUSSET_THREADS is for tests and benchmarks: results never depend on it. */
static unsigned threads_wanted(void) {
    const char *wanted = getenv("RUSSET_THREADS");
    unsigned long long n;
    return wanted && text_to_count(wanted, 16, &n) ? (unsigned)n : 0;
}

int command_line_run(int argc, char **argv, serve_hook *serve) {
    if (argc == 2 && strcmp(argv[1], "--version") == 0) return print_generated(make_version);
    if (argc == 2 && strcmp(argv[1], "--manual") == 0) return print_generated(help_manual);
    if (argc == 2 && strcmp(argv[1], "--completion") == 0) return print_generated(help_completion);
    if (argc == 2 && strcmp(argv[1], "--page-types") == 0) return print_generated(page_types);
    struct arena *arena = arena_new();
    struct command command = {0};
    struct fault fault = {0};
    enum status status = command_parse(argc, argv, arena, &command, &fault);
    int code;
    if (status == STATUS_OK && command.help) {
        code = print_help(&command);
    } else {
        if (status == STATUS_OK) status = run(&command, serve, arena, threads_wanted(), &fault);
        code = say_and_end(status, &fault);
    }
    arena_free(arena);
    return code;
}
