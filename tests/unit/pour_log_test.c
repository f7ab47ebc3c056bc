/* CRC-32 check value: cbf43926 for "123456789" (the CRC of IEEE 802.3, from memory). */
#include "check.h"
#include "device/append.h"
#include "formats/pour_log.h"
#include <errno.h>
#include <sys/stat.h>
#include <unistd.h>

static const struct pouring_item wants[] = {
    {.id = "white", .want_g = 12.7, .fraction = 1, .minus_g = .05, .plus_g = .05},
    {.id = "black", .want_g = .4, .fraction = 1, .minus_g = .01, .plus_g = .01},
    {.id = "binder", .want_g = 46.9, .fraction = 1, .minus_g = .2, .plus_g = .2},
};

static void add_pour(struct pour_log *log, struct text *out, int at, double g, bool done) {
    struct pouring_item item = wants[at];
    item.poured_g = g;
    pour_log_pour(log, (size_t)at, &item, done, out);
}

/* A header, a part pour, three pours and a rescue. ends[i]: the length once record i is there. */
static struct text written(size_t ends[6]) {
    struct text out = {0};
    struct pour_log log = {.empty = true};
    pour_log_header(&log, 60, wants, 3, &out);
    ends[0] = out.length;
    add_pour(&log, &out, 0, 4.31, false);
    ends[1] = out.length;
    add_pour(&log, &out, 0, 12.71, true);
    ends[2] = out.length;
    add_pour(&log, &out, 1, .47, true);
    ends[3] = out.length;
    struct pouring_item rescued[3];
    memcpy(rescued, wants, sizeof wants);
    rescued[0].want_g = 14.9;
    rescued[2].want_g = 55.1;
    pour_log_plan(&log, rescued, 3, &out);
    ends[4] = out.length;
    add_pour(&log, &out, 2, 55.02, true);
    ends[5] = out.length;
    return out;
}

static enum status replay(const void *data, size_t size, struct pour_log *log) {
    struct fault fault = {0};
    const struct bytes bytes = {data, size, "pot.log"};
    const enum status status = pour_log_replay(&bytes, log, &fault);
    if (status != STATUS_OK) CHECK(strstr(fault.text, "pot.log") != NULL);
    return status;
}

static void the_checksum_is_that_of_the_standard(void) {
    CHECK(pour_log_crc("123456789", 9) == 0xCBF43926U);
    CHECK(pour_log_crc("", 0) == 0);
}

static void a_log_says_what_was_poured(void) {
    size_t ends[6];
    struct text out = written(ends);
    struct pour_log log;
    CHECK(replay(out.data, out.length, &log) == STATUS_OK);
    CHECK(log.count == 3 && log.next == 6 && !log.torn && !log.empty);
    CHECK_NEAR(log.batch_g, 60, 0);
    CHECK_NEAR(log.items[0].poured_g, 12.71, 1e-12);
    CHECK_NEAR(log.items[1].poured_g, .47, 1e-12);
    CHECK_NEAR(log.items[2].poured_g, 55.02, 1e-12);
    CHECK_NEAR(log.items[0].want_g, 14.9, 1e-12);
    CHECK_NEAR(log.first[0].want_g, 12.7, 1e-12);
    CHECK(log.done[0] && log.done[2]);
    struct fault fault;
    CHECK(pour_log_check(&log, 60, wants, 3, "pot.log", &fault) == STATUS_OK);
    CHECK(pour_log_check(&log, 61, wants, 3, "pot.log", &fault) == STATUS_INPUT);
    CHECK(pour_log_check(&log, 60, wants, 2, "pot.log", &fault) == STATUS_INPUT);
    text_free(&out);
}

/* Cut at every byte: what had been written whole is there, and nothing else. */
static void a_log_torn_anywhere_keeps_its_whole_lines(void) {
    size_t ends[6];
    struct text out = written(ends);
    for (size_t n = 0; n <= out.length; n++) {
        struct pour_log log;
        unsigned whole = 0;
        while (whole < 6 && ends[whole] - 1 <= n) whole++; /* without its line end a sealed line is whole */
        if (replay(out.data, n, &log) != STATUS_OK || log.next != whole)
            check_fail(__FILE__, __LINE__, "torn");
        CHECK(log.empty == (whole == 0));
    }
    text_free(&out);
}

/* Torn at every byte, then gone on with: the same as if nothing had happened. */
static void a_torn_log_goes_on(void) {
    size_t ends[6];
    struct text out = written(ends);
    for (size_t n = ends[0]; n <= out.length; n++) {
        struct pour_log log;
        struct text more = {0};
        text_add_bytes(&more, out.data, n);
        CHECK(replay(more.data, more.length, &log) == STATUS_OK);
        const unsigned before = log.next;
        add_pour(&log, &more, 1, .41, true);
        add_pour(&log, &more, 2, 1.5, false);
        CHECK(replay(more.data, more.length, &log) == STATUS_OK);
        CHECK(log.next == before + 2);
        CHECK_NEAR(log.items[1].poured_g, .41, 1e-12);
        CHECK_NEAR(log.items[2].poured_g, 1.5, 1e-12);
        text_free(&more);
    }
    text_free(&out);
}

/* Any byte changed: the record of its line is lost, and a log with a record lost in its middle is refused. */
static void a_changed_byte_is_never_believed(void) {
    size_t ends[6];
    struct text out = written(ends);
    int refused = 0;
    for (size_t i = 0; i < out.length; i++) {
        for (int bit = 0; bit < 8; bit++) {
            struct pour_log log;
            out.data[i] = (char)(out.data[i] ^ (1 << bit));
            const enum status status = replay(out.data, out.length, &log);
            refused += status != STATUS_OK;
            if (i < ends[4] - 1 && status == STATUS_OK)
                check_fail(__FILE__, __LINE__, "believed a damaged middle");
            if (i >= ends[4] && i < ends[5] - 1) CHECK(status == STATUS_OK && log.next == 5);
            out.data[i] = (char)(out.data[i] ^ (1 << bit));
        }
    }
    printf("  figure: %d of %zu logs with one changed bit are refused, none is believed\n", refused,
           out.length * 8);
    text_free(&out);
}

static void other_files_are_no_logs(void) {
    static const char *const bad[] = {"hello\n", "{\"kind\":\"match\"}\n", "{}\n{}\n", "\n\nx\n"};
    struct pour_log log;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        CHECK(replay(bad[i], strlen(bad[i]), &log) == STATUS_INPUT);
    CHECK(replay("", 0, &log) == STATUS_OK && log.empty);
    CHECK(replay("\n\n", 2, &log) == STATUS_OK && log.empty);
    CHECK(replay("{\"russet_po", 11, &log) == STATUS_OK && log.empty && log.torn);
}

static void newer_logs_are_refused(void) {
    struct text line = {0};
    struct pour_log log;
    text_add(&line, "{\"russet_pour_log\":2,\"n\":0,\"batch_g\":60,\"steps\":[[\"white\",1,1]]");
    text_format(&line, ",\"crc\":\"%08x\"}\n", pour_log_crc(line.data, line.length));
    CHECK(replay(line.data, line.length, &log) == STATUS_INPUT);
    text_free(&line);
}

/* ---- a disk whose n-th call fails
 * ---------------------------------------------------------------------------------------- */

static int calls_left;

static bool fails(int error) {
    if (calls_left < 0 || calls_left-- > 0) return false;
    errno = error;
    return true;
}

static int failing_open(const char *path, int flags, mode_t mode) {
    return fails(EIO) ? -1 : disk_real()->open(path, flags, mode);
}

/* A full disk takes half of what it is given first. */
static ssize_t failing_write(int fd, const void *from, size_t n) {
    if (!fails(ENOSPC)) return disk_real()->write(fd, from, n > 7 ? n / 2 : n);
    ssize_t half = write(fd, from, n / 2);
    errno = ENOSPC;
    return half < 0 ? half : -1;
}

static int failing_fsync(int fd) {
    return fails(EIO) ? -1 : disk_real()->fsync(fd);
}

/* Writes the whole story to a log on the failing disk; returns how many records were acknowledged. */
static int pour_on(const struct disk *disk, const char *path) {
    struct append append;
    struct fault fault = {0};
    struct pour_log log = {.empty = true};
    struct text out = {0};
    int acknowledged = 0;
    if (append_open(&append, disk, path, &fault) != STATUS_OK) return fault.text[0] ? 0 : -100;
    pour_log_header(&log, 60, wants, 3, &out);
    for (int i = 0; i < 5; i++) {
        if (append_add(&append, out.data, out.length, &fault) != STATUS_OK) break;
        acknowledged++;
        text_free(&out);
        out = (struct text){0};
        add_pour(&log, &out, i % 3, 1 + i, true);
    }
    text_free(&out);
    append_close(&append);
    return acknowledged;
}

static void what_was_acknowledged_is_in_the_log_whatever_fails(void) {
    const struct disk disk = {failing_open, read, failing_write, failing_fsync, rename};
    char path[] = "/tmp/russet-log-XXXXXX";
    const int made = mkstemp(path);
    CHECK(made >= 0);
    close(made);
    for (int n = 0; n < 40; n++) {
        CHECK(truncate(path, 0) == 0);
        calls_left = n;
        const int acknowledged = pour_on(&disk, path);
        calls_left = -1;
        struct arena *arena = arena_new();
        struct bytes bytes;
        struct fault fault;
        struct pour_log log;
        CHECK(disk_read(disk_real(), path, 1, arena, &bytes, &fault) == STATUS_OK);
        CHECK(replay(bytes.data, bytes.size, &log) == STATUS_OK);
        CHECK(acknowledged >= 0 && (int)log.next >= acknowledged && (int)log.next <= acknowledged + 1);
        arena_free(arena);
    }
    unlink(path);
}

static void two_pours_do_not_share_a_log(void) {
    char path[] = "/tmp/russet-log-XXXXXX";
    const int made = mkstemp(path);
    struct append first, second;
    struct fault fault = {0};
    CHECK(append_open(&first, disk_real(), path, &fault) == STATUS_OK);
    CHECK(append_open(&second, disk_real(), path, &fault) == STATUS_MACHINE && fault.word == WORD_LOG_IN_USE);
    append_close(&first);
    CHECK(append_open(&second, disk_real(), path, &fault) == STATUS_OK);
    append_close(&second);
    CHECK(append_open(&second, disk_real(), "/tmp", &fault) == STATUS_INPUT);
    CHECK(append_open(&second, disk_real(), "/dev/full", &fault) == STATUS_INPUT);
    CHECK(append_open(&second, disk_real(), "/no/such/folder/x", &fault) == STATUS_INPUT);
    close(made);
    unlink(path);
}

int main(void) {
    RUN(the_checksum_is_that_of_the_standard);
    RUN(a_log_says_what_was_poured);
    RUN(a_log_torn_anywhere_keeps_its_whole_lines);
    RUN(a_torn_log_goes_on);
    RUN(a_changed_byte_is_never_believed);
    RUN(other_files_are_no_logs);
    RUN(newer_logs_are_refused);
    RUN(what_was_acknowledged_is_in_the_log_whatever_fails);
    RUN(two_pours_do_not_share_a_log);
    return check_done();
}
