/* Whatever becomes of the decoder, russet says one sentence and goes on: a decoder that misbehaves on purpose
 * (tests/picture/bad_decoder.c) stands in for one that a malicious file has taken over. */
#include "device/child.h"
#include "picture_files.h"
#include <errno.h>
#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>

static struct picture_decoder bad = {NULL, 1};

/* A file that passes for a JPEG and tells the stand-in what to do. */
static enum status tried(char mode, struct picture *picture, struct fault *fault, char path[300]) {
    const unsigned char bytes[8] = {0xff, 0xd8, 0xff, (unsigned char)mode};
    static char program[PATH_MAX];
    if (!child_find("bad_decoder", program)) check_fail(__FILE__, __LINE__, "bad_decoder was not built");
    bad.program = program;
    file_put(file_in(path, "bad.jpg"), bytes, sizeof bytes);
    return load_with(path, &bad, picture, fault);
}

static int open_files(void) {
    int n = 0;
    for (int fd = 0; fd < 256; fd++) n += fcntl(fd, F_GETFD) >= 0;
    return n;
}

static void check_mode(int line, char mode, enum word word) {
    struct picture picture;
    struct fault fault;
    char path[300], what[1200];
    const int before = open_files();
    const enum status status = tried(mode, &picture, &fault, path);
    snprintf(what, sizeof what, "mode %c: status %d, %.900s", mode, (int)status, fault.text);
    if (status != STATUS_INPUT || fault.word != word || !strstr(fault.text, path) || picture.rgb)
        check_fail(__FILE__, line, what);
    if (open_files() != before) check_fail(__FILE__, line, "a file stays open");
    if (waitpid(-1, NULL, WNOHANG) != -1) check_fail(__FILE__, line, "a child stays");
}
#define CHECK_MODE(mode, word) check_mode(__LINE__, mode, WORD_##word)

static void a_good_answer_is_taken(void) {
    struct picture picture;
    struct fault fault;
    char path[300];
    CHECK(tried('g', &picture, &fault, path) == STATUS_OK);
    CHECK(picture.width == 8 && picture.height == 4);
    CHECK(picture.rgb && picture.rgb[8 * 4 * 3 - 1] == picture.rgb[0] && picture.rgb[0] > 0);
    picture_free(&picture);
}

static void a_crash_is_a_sentence(void) {
    CHECK_MODE('a', PICTURE_CRASHES);
    CHECK_MODE('s', PICTURE_CRASHES);
    CHECK_MODE('e', PICTURE_CRASHES);
}

static void a_hang_is_ended_by_the_clock(void) {
    CHECK_MODE('h', PICTURE_HANGS);
    CHECK_MODE('H', PICTURE_HANGS);
}

static void a_lie_is_not_believed(void) {
    CHECK_MODE('b', PICTURE_DECODER_LIED); /* not a record */
    CHECK_MODE('M', PICTURE_DECODER_LIED); /* without the mark */
    CHECK_MODE('0', PICTURE_DECODER_LIED); /* no width */
    CHECK_MODE('L', PICTURE_DECODER_LIED); /* 4225 megapixels */
    CHECK_MODE('d', PICTURE_DECODER_LIED); /* done before the rows came */
    CHECK_MODE('r', PICTURE_DECODER_LIED); /* not the next row */
    CHECK_MODE('R', PICTURE_DECODER_LIED); /* more rows than there are */
    CHECK_MODE('q', PICTURE_DECODER_LIED); /* a refusal that there is not */
}

#ifndef RUSSET_SANITIZED /* a sanitizer needs files and terabytes of addresses: such builds raise no fence \
                          */
static void a_memory_bomb_meets_the_limit(void) {
    CHECK_MODE('m', PICTURE_MEMORY);
}

static void files_are_out_of_reach(void) {
    struct picture picture;
    struct fault fault;
    char path[300];
    CHECK(tried('f', &picture, &fault, path) == STATUS_OK);
    CHECK(!disk_has("/tmp/russet-stray"));
    picture_free(&picture);
}

static void what_is_not_on_the_list_ends_the_decoder(void) {
    CHECK_MODE('n', PICTURE_REACHES_OUT); /* a socket */
    CHECK_MODE('x', PICTURE_REACHES_OUT); /* another program */
    CHECK_MODE('p', PICTURE_REACHES_OUT); /* another process */
    CHECK_MODE('t', PICTURE_REACHES_OUT); /* the size of the shared memory */
    CHECK_MODE('c', PICTURE_REACHES_OUT); /* memory to run */
}
#endif

static void a_decoder_that_is_not_there_is_the_machines_fault(void) {
    const struct picture_decoder none = {"/nowhere/russet-decode", 1};
    const unsigned char bytes[8] = {0xff, 0xd8, 0xff, 0xe0};
    struct picture picture;
    struct fault fault;
    char path[300];
    file_put(file_in(path, "good.jpg"), bytes, sizeof bytes);
    CHECK(load_with(path, &none, &picture, &fault) == STATUS_MACHINE);
    CHECK(fault.word == WORD_PICTURE_NO_DECODER);
}

static int failing_open(const char *path, int flags, mode_t mode) {
    (void)path, (void)flags, (void)mode;
    errno = EIO;
    return -1;
}

static int reads_left;

static ssize_t failing_read(int fd, void *to, size_t n) {
    if (reads_left-- > 0) return read(fd, to, n < 100 ? n : 100);
    errno = EIO;
    return -1;
}

static void a_failing_disk_is_a_sentence(void) {
    struct disk disk = *disk_real();
    const struct surroundings around = {.disk = &disk};
    const unsigned char bytes[8] = {0xff, 0xd8, 0xff, 0xe0};
    struct picture picture;
    struct fault fault;
    char path[300];
    file_put(file_in(path, "good.jpg"), bytes, sizeof bytes);
    disk.open = failing_open;
    CHECK(picture_load(&around, path, &picture, &fault) == STATUS_INPUT &&
          fault.word == WORD_FILE_CANNOT_OPEN);
    disk = *disk_real();
    disk.read = failing_read;
    reads_left = 0;
    CHECK(picture_load(&around, path, &picture, &fault) == STATUS_MACHINE &&
          fault.word == WORD_FILE_READ_FAILED);
}

static void a_request_to_stop_ends_the_decoder(void) {
    struct work *work = work_new(1, NULL, NULL);
    const struct surroundings around = {.disk = disk_real(), .work = work, .decoder = &bad};
    const unsigned char bytes[8] = {0xff, 0xd8, 0xff, 'h'};
    struct picture picture = {0};
    struct fault fault = {0};
    char path[300];
    file_put(file_in(path, "bad.jpg"), bytes, sizeof bytes);
    work_cancel(work);
    CHECK(picture_load(&around, path, &picture, &fault) == STATUS_CANCELLED);
    CHECK(waitpid(-1, NULL, WNOHANG) == -1);
    work_free(work);
}

static void what_is_open_here_is_not_open_there(void) {
    /* The stand-in finds 3, 4 and 5 only: a stray file of ours, without close-on-exec, must not reach it. */
    const int stray = open("/dev/null", O_RDONLY);
    struct picture picture;
    struct fault fault;
    char path[300];
    CHECK(stray >= 0);
    CHECK(tried('g', &picture, &fault, path) == STATUS_OK);
    picture_free(&picture);
    close(stray);
}

int main(void) {
    RUN(a_good_answer_is_taken);
    RUN(a_crash_is_a_sentence);
    RUN(a_hang_is_ended_by_the_clock);
    RUN(a_lie_is_not_believed);
#ifndef RUSSET_SANITIZED
    RUN(a_memory_bomb_meets_the_limit);
    RUN(files_are_out_of_reach);
    RUN(what_is_not_on_the_list_ends_the_decoder);
#endif
    RUN(a_decoder_that_is_not_there_is_the_machines_fault);
    RUN(a_failing_disk_is_a_sentence);
    RUN(a_request_to_stop_ends_the_decoder);
    RUN(what_is_open_here_is_not_open_there);
    files_remove();
    return check_done();
}
