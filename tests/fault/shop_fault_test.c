/* Plugs pulled and disks that fail, at every moment of a written job. What must hold each time: the shop
 * opens, `check` finds nothing, and nothing that was acknowledged is missing. SIGKILL stands for the pulled
 * plug as far as a process can: it proves the order of what is written, not the promise of the drive to keep
 * what fsync returned for. */
#include "check.h"
#include "fault/failing_vfs.h"
#include "fault/written_job.h"
#include "shop/backup.h"
#include "shop/check.h"
#include "shop/erase.h"
#include "shop/export.h"
#include "shop/import.h"
#include "shop_room.h"
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdint.h>
#include <sys/wait.h>
#include <time.h>

/* Opens what was left, looks at everything, and says how many steps are there; SIZE_MAX when it is not sound.
 */
static size_t look_at(struct shop_room *room, size_t acknowledged) {
    struct book *book;
    struct checked checked = {0};
    struct fault fault = {0};
    struct arena *arena = arena_new();
    size_t steps = SIZE_MAX;
    failing_vfs_arm(0, FAIL_IO, 0);
    if (book_open(room->dir, shop_room_how(room, 0), &book, &fault) != STATUS_OK) {
        fprintf(stderr, "  does not open: %s\n", fault.text);
        return arena_free(arena), SIZE_MAX;
    }
    if (check_book(book, arena, NULL, &checked, &fault) != STATUS_OK)
        fprintf(stderr, "  check ended: %s\n", fault.text);
    else if (checked.problem_count)
        fprintf(stderr, "  check: %s\n", checked.problem[0].text);
    else if (written_job_is_there(book, acknowledged))
        steps = written_job_steps(book);
    json_decref(checked.rows);
    arena_free(arena);
    book_close(book);
    return steps;
}

/* A long sweep in pieces: RUSSET_SHARD=2/8 does the second eighth of its operations and rounds, other moments
 * than the first, and no fixed slices. */
struct shard {
    long at, of;
};

static struct shard shard_of_this_run(void) {
    struct shard shard = {1, 1};
    const char *said = getenv("RUSSET_SHARD");
    if (!said || sscanf(said, "%ld/%ld", &shard.at, &shard.of) != 2 || shard.at < 1 || shard.of < shard.at)
        return (struct shard){1, 1};
    return shard;
}

/* An empty shop: made once, copied for each round. */
static struct shop_room empty_shop;

static void fresh(struct shop_room *room) {
    if (!empty_shop.arena) {
        shop_room_make(&empty_shop, 0);
        book_close(empty_shop.book);
        empty_shop.book = NULL;
    }
    shop_room_of(room, empty_shop.dir);
}

/* -- SIGKILL ---------------------------------------------------------------------------------------- */

enum { STEPS = 40 };

static void write_steps(struct shop_room *room, int to) {
    struct book *book;
    struct fault fault = {0};
    if (book_open(room->dir, shop_room_how(room, 0), &book, &fault) != STATUS_OK) _exit(1);
    for (size_t i = 0; i < STEPS; i++) {
        if (written_job_step(book, i, &fault) != STATUS_OK) _exit(2);
        if (write(to, "+", 1) != 1) _exit(3);
    }
    book_close(book);
    _exit(0);
}

static void sleep_us(long us) {
    const struct timespec wait = {us / 1000000, us % 1000000 * 1000};
    nanosleep(&wait, NULL);
}

/* Bytes that came down the pipe: one for each transaction that was acknowledged. */
static size_t acknowledged(int from) {
    char bytes[STEPS];
    size_t n = 0;
    ssize_t got;
    while ((got = read(from, bytes, sizeof bytes)) > 0) n += (size_t)got;
    close(from);
    return n;
}

/* Waits until so many steps were acknowledged, then a little longer, then kills; how many it had acknowledged
 * in the end. */
static size_t kill_after(struct shop_room *room, size_t steps, long us, bool *killed) {
    int pipes[2], status;
    size_t count = 0;
    char one;
    CHECK(pipe(pipes) == 0);
    const pid_t child = fork();
    if (child == 0) {
        close(pipes[0]);
        write_steps(room, pipes[1]);
    }
    close(pipes[1]);
    while (count < steps && read(pipes[0], &one, 1) == 1) count++;
    sleep_us(us);
    kill(child, SIGKILL);
    waitpid(child, &status, 0);
    *killed = WIFSIGNALED(status);
    return count + acknowledged(pipes[0]);
}

static long whole_run_us(void) {
    struct shop_room room;
    struct timespec from, to;
    bool killed;
    fresh(&room);
    clock_gettime(CLOCK_MONOTONIC, &from);
    const pid_t child = fork();
    if (child == 0) write_steps(&room, open("/dev/null", O_WRONLY));
    waitpid(child, NULL, 0);
    clock_gettime(CLOCK_MONOTONIC, &to);
    (void)killed;
    shop_room_end(&room);
    return (to.tv_sec - from.tv_sec) * 1000000 + (to.tv_nsec - from.tv_nsec) / 1000;
}

/* Rounds in which the child was quicker do not count. */
static void kills(int rounds) {
    unsigned long long seed = 41 + 1000 * (unsigned long long)(shard_of_this_run().at - 1);
    const double step_us = (double)whole_run_us() / STEPS;
    size_t steps = 0, more = 0;
    int dead = 0, tried = 0;
    for (; dead < rounds && tried < 3 * rounds; tried++) {
        struct shop_room room;
        bool killed;
        fresh(&room);
        const size_t after = (size_t)((STEPS - 4) * check_random(&seed));
        const size_t said = kill_after(&room, after, (long)(2 * step_us * check_random(&seed)), &killed);
        const size_t there = look_at(&room, said);
        CHECK(there != SIZE_MAX && there >= said && there <= said + 1);
        dead += killed;
        steps += said;
        more += there != SIZE_MAX && there > said;
        shop_room_end(&room);
    }
    CHECK(dead == rounds);
    printf("  figure: a job of %d transactions killed %d times (%d tries): %zu transactions acknowledged, "
           "all there "
           "(%zu more were written and not acknowledged)\n",
           STEPS, dead, tried, steps, more);
}

static void killed_at_any_moment_nothing_acknowledged_is_missing(void) {
    kills(20);
}

static void LONG_killed_at_300_moments(void) {
    kills((int)(300 / shard_of_this_run().of));
}

/* -- a disk that is full or broken ------------------------------------------------------------------- */

static size_t write_until_it_fails(struct shop_room *room, bool *went_on) {
    struct book *book;
    struct fault fault = {0};
    size_t said = 0;
    *went_on = true;
    if (book_open(room->dir, shop_room_how(room, 0), &book, &fault) != STATUS_OK) return *went_on = false, 0;
    for (size_t i = 0; i < 7; i++) {
        const enum status status = written_job_step(book, i, &fault);
        if (status != STATUS_OK) {
            CHECK(fault.text[0] && (fault.status == STATUS_MACHINE || fault.status == STATUS_INPUT));
            *went_on = false;
            break;
        }
        said++;
    }
    book_close(book);
    return said;
}

/* Every n-th operation of SQLite on its files fails, for every n until one run meets no failure. */
static long fail_each(enum failing_how how, bool lasting, long from, long stride) {
    long runs = 0;
    for (long n = from;; n += stride, runs++) {
        struct shop_room room;
        bool went_on;
        fresh(&room);
        failing_vfs_arm(n, how, lasting);
        const size_t said = write_until_it_fails(&room, &went_on);
        const bool failed = failing_vfs_has_failed();
        const size_t there = look_at(&room, said);
        CHECK(there != SIZE_MAX && there >= said);
        /* a failure in a checkpoint or at closing loses nothing and may stay unsaid */
        CHECK(went_on || failed);
        shop_room_end(&room);
        if (!failed) return runs;
    }
}

static void disks_that_fail(long from, long stride) {
    long runs = 0;
    runs += fail_each(FAIL_FULL, false, from, stride);
    runs += fail_each(FAIL_FULL, true, from, stride);
    runs += fail_each(FAIL_HALF, true, from, stride);
    runs += fail_each(FAIL_IO, false, from, stride);
    runs += fail_each(FAIL_IO, true, from, stride);
    printf("  figure: %ld failures of the book's disk (ENOSPC, half a write, EIO; once and lasting), "
           "one operation in %ld\n",
           runs, stride);
}

static void a_full_or_broken_disk_loses_nothing_acknowledged(void) {
    disks_that_fail(1, 11);
}

static void LONG_every_operation_on_the_disk_fails_once(void) {
    const struct shard shard = shard_of_this_run();
    disks_that_fail(shard.at, shard.of);
}

/* -- the photographs' disk ---------------------------------------------------------------------------- */

static long calls, fail_at;
static int fail_errno;

static bool now(void) {
    if (++calls != fail_at) return false;
    errno = fail_errno;
    return true;
}
static int failing_open(const char *path, int flags, mode_t mode) {
    return now() ? -1 : open(path, flags, mode);
}
static ssize_t failing_write(int fd, const void *from, size_t n) {
    return now() ? -1 : write(fd, from, n);
}
static int failing_fsync(int fd) {
    return now() ? -1 : fsync(fd);
}
static int failing_rename(const char *from, const char *to) {
    return now() ? -1 : rename(from, to);
}

static void a_photograph_that_cannot_be_written_is_not_logged(void) {
    static const int errors[] = {ENOSPC, EIO};
    long runs = 0;
    for (size_t e = 0; e < 2; e++) {
        bool failed = true;
        for (fail_at = 1, fail_errno = errors[e]; failed; fail_at++, runs++) {
            struct shop_room room;
            struct fault fault = {0};
            const struct disk disk = {failing_open, read, failing_write, failing_fsync, failing_rename};
            fresh(&room);
            struct book_how how = shop_room_how(&room, 0);
            how.disk = &disk;
            calls = 0;
            CHECK(book_open(room.dir, how, &room.book, &fault) == STATUS_OK);
            CHECK(written_job_step(room.book, 0, &fault) == STATUS_OK);
            const enum status status = written_job_step(room.book, 1, &fault);
            failed = calls >= fail_at;
            CHECK(failed ? status == STATUS_MACHINE : status == STATUS_OK);
            const bool after = written_job_step(room.book, 2, &fault) == STATUS_OK; /* the next one goes on */
            CHECK(after);
            book_close(room.book);
            room.book = NULL;
            CHECK(look_at(&room, status == STATUS_OK ? 3 : 1) == (status == STATUS_OK ? 3 : 1));
            shop_room_end(&room);
        }
    }
    printf("  figure: %ld failures of open, write, fsync and rename of a photograph\n", runs - 2);
}

/* -- several at once ---------------------------------------------------------------------------------- */

enum { WRITERS = 8, EACH = 12 };

static void write_invoices(struct shop_room *room) {
    struct book *book;
    struct fault fault = {0};
    if (book_open(room->dir, shop_room_how(room, 0), &book, &fault) != STATUS_OK) _exit(1);
    for (size_t i = 0; i < EACH; i++)
        if (written_job_step(book, 3 + 3 * i, &fault) != STATUS_OK) {
            fprintf(stderr, "  %s\n", fault.text);
            _exit(2);
        }
    book_close(book);
    _exit(0);
}

static void eight_writers_leave_no_gap_in_the_numbers(void) {
    struct shop_room room;
    shop_room_make(&room, 0);
    SHOP_DOES(written_job_step(room.book, 0, &shop_fault));
    book_close(room.book);
    pid_t child[WRITERS];
    for (int i = 0; i < WRITERS; i++)
        if ((child[i] = fork()) == 0) write_invoices(&room);
    for (int i = 0; i < WRITERS; i++) {
        int status;
        waitpid(child[i], &status, 0);
        CHECK(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    }
    struct invoice_row *invoice;
    size_t count;
    SHOP_DOES(book_open(room.dir, shop_room_how(&room, 0), &room.book, &shop_fault));
    SHOP_DOES(invoice_store_list(room.book, NULL, room.arena, &invoice, &count, &shop_fault));
    CHECK(count == (size_t)WRITERS * EACH);
    for (size_t i = 0; i < count; i++) CHECK(invoice[i].number == (long long)i + 1);
    printf("  figure: %d processes wrote %zu invoices at once: numbers 1 to %zu\n", WRITERS, count, count);
    shop_room_end(&room);
}

/* Backups while another process writes: each is whole, and holds what was acknowledged before it began. */
static void a_backup_while_others_write_is_whole(void) {
    struct shop_room room;
    char outside[256], file[600];
    int pipes[2], rounds = 0;
    size_t said = 0, least = SIZE_MAX, most = 0;
    fresh(&room);
    shop_room_folder(outside, "outside");
    CHECK(pipe(pipes) == 0);
    const pid_t child = fork();
    if (child == 0) write_steps(&room, pipes[1]);
    close(pipes[1]);
    fcntl(pipes[0], F_SETFL, O_NONBLOCK);
    SHOP_DOES(book_open(room.dir, shop_room_how(&room, 0), &room.book, &shop_fault));
    for (bool going = true; going; rounds++) {
        struct backed_up backed;
        struct restored restored;
        struct shop_room copy = room;
        char byte;
        ssize_t got;
        while ((got = read(pipes[0], &byte, 1)) == 1) said++;
        going = !(got == 0 || said == STEPS);
        snprintf(file, sizeof file, "%s/backup", outside);
        SHOP_DOES(backup_write(room.book, file, NULL, &backed, &shop_fault));
        snprintf(copy.dir, sizeof copy.dir, "%.200s/copy", outside);
        SHOP_DOES(
            restore_read(file, copy.dir, shop_room_how(&room, 0), NULL, 0, NULL, &restored, &shop_fault));
        const size_t there = look_at(&copy, said);
        CHECK(there != SIZE_MAX);
        least = there < least ? there : least;
        most = there > most ? there : most;
        shop_room_remove(copy.dir);
    }
    close(pipes[0]);
    waitpid(child, NULL, 0);
    CHECK(most == STEPS);
    printf("  figure: %d backups while a job was written, with %zu to %zu of its %d transactions\n", rounds,
           least, most, STEPS);
    shop_room_remove(outside);
    shop_room_end(&room);
}

/* -- killed while the whole book is at work ------------------------------------------------------------ */

struct work_case {
    const char *name;
    enum status (*work)(struct book *book, const char *file, struct fault *fault);
};

static enum status do_erase(struct book *book, const char *file, struct fault *fault) {
    struct erasure done;
    (void)file;
    return erase_customer(book, "demo customer", &done, fault);
}
static enum status do_backup(struct book *book, const char *file, struct fault *fault) {
    struct backed_up done;
    return backup_write(book, file, NULL, &done, fault);
}
static enum status do_import(struct book *book, const char *file, struct fault *fault) {
    struct imported done;
    return import_read(book, file, NULL, &done, fault);
}

static void work_and_end(struct shop_room *room, const struct work_case *what, const char *file) {
    struct book *book;
    struct fault fault = {0};
    if (book_open(room->dir, shop_room_how(room, 0), &book, &fault) != STATUS_OK) _exit(1);
    const enum status status = what->work(book, file, &fault);
    book_close(book);
    _exit(status == STATUS_OK ? 0 : 2);
}

/* What the work begins with, made once: a shop of eight steps and an empty one, both still open, so that all
 * of it lies in their logs; and an export of the first. */
static struct start {
    struct shop_room full, empty;
    char outside[256], zip[600];
} start;

static void prepare(void) {
    struct exported exported;
    if (start.full.arena) return;
    shop_room_folder(start.outside, "outside");
    snprintf(start.zip, sizeof start.zip, "%s/export.zip", start.outside);
    shop_room_make(&start.full, 0);
    shop_room_make(&start.empty, 0);
    for (size_t i = 0; i < 8; i++) SHOP_DOES(written_job_step(start.full.book, i, &shop_fault));
    SHOP_DOES(export_write(start.full.book, start.zip, NULL, &exported, &shop_fault));
}

static void clear_up(void) {
    if (empty_shop.arena) shop_room_end(&empty_shop);
    if (!start.full.arena) return;
    shop_room_end(&start.full);
    shop_room_end(&start.empty);
    shop_room_remove(start.outside);
}

static void kill_the_work(const struct work_case *what, long us, const char *outside, int *dead) {
    struct shop_room room, *const at = &room;
    char file[600];
    int status;
    const bool imports = what->work == do_import;
    snprintf(file, sizeof file, "%s/backup", outside);
    prepare();
    shop_room_of(&room, imports ? start.empty.dir : start.full.dir);
    unlink(file);
    const pid_t child = fork();
    if (child == 0) work_and_end(at, what, imports ? start.zip : file);
    sleep_us(us);
    kill(child, SIGKILL);
    waitpid(child, &status, 0);
    *dead += WIFSIGNALED(status);
    const bool erases = what->work == do_erase;
    const size_t there = look_at(at, imports || erases ? 0 : 8);
    CHECK(there == 8 || (imports && there == 0) || (erases && there == 1));
    if (erases && there == 1)
        CHECK(shop_room_hits(at->dir, "demo customer") == 0); /* opening has finished it */
    if (what->work == do_backup && disk_has(file)) {          /* a backup that is there is whole */
        struct restored restored;
        char copy[600];
        snprintf(copy, sizeof copy, "%s/copy", outside);
        SHOP_DOES(restore_read(file, copy, shop_room_how(&room, 0), NULL, 0, NULL, &restored, &shop_fault));
        shop_room_remove(copy);
    }
    shop_room_end(&room);
}

static void kills_of_the_whole(int rounds) {
    static const struct work_case cases[] = {
        {"erase", do_erase}, {"backup", do_backup}, {"import", do_import}};
    unsigned long long seed = 17 + 1000 * (unsigned long long)(shard_of_this_run().at - 1);
    char outside[256];
    int dead = 0;
    shop_room_folder(outside, "outside");
    for (int i = 0; i < rounds; i++)
        kill_the_work(&cases[i % 3], (long)(25000 * check_random(&seed)), outside, &dead);
    printf("  figure: %d erasures, backups and imports, %d of them killed on the way\n", rounds, dead);
    shop_room_remove(outside);
}

static void erasure_backup_and_import_are_all_or_nothing(void) {
    kills_of_the_whole(12);
}

/* The same under a disk that fails at its n-th operation, once or from then on: the book is as it was, or the
 * work was done; a backup that is there is whole. Says how many operations there were, and whether one
 * failed. */
static long fail_once(const struct work_case *what, long n, enum failing_how how, bool lasting,
                      const char *outside, bool *failed) {
    char file[600];
    struct shop_room room, *const at = &room;
    struct fault fault = {0};
    const bool imports = what->work == do_import, erases = what->work == do_erase;
    snprintf(file, sizeof file, "%s/backup", outside);
    failing_vfs_arm(0, FAIL_IO, 0);
    prepare();
    shop_room_of(&room, imports ? start.empty.dir : start.full.dir);
    SHOP_DOES(book_open(room.dir, shop_room_how(&room, 0), &room.book, &shop_fault));
    unlink(file);
    failing_vfs_arm(n, how, lasting);
    const enum status status = what->work(at->book, imports ? start.zip : file, &fault);
    const long count = failing_vfs_count();
    *failed = failing_vfs_has_failed();
    book_close(at->book);
    at->book = NULL;
    CHECK(status == STATUS_OK || (*failed && fault.text[0]));
    const size_t there = look_at(at, imports || erases ? 0 : 8);
    CHECK(there == 8 || (imports && there == 0 && status != STATUS_OK) || (erases && there == 1));
    if (erases && there == 1) CHECK(shop_room_hits(at->dir, "demo customer") == 0);
    if (what->work == do_backup) CHECK(disk_has(file) == (status == STATUS_OK));
    shop_room_end(&room);
    return count;
}

static long fail_the_work(const struct work_case *what, long from, long stride, bool lasting,
                          const char *outside) {
    long runs = 0;
    for (bool failed = true; failed; runs++)
        fail_once(what, from + runs / 2 * stride, runs % 2 ? FAIL_FULL : FAIL_IO, lasting, outside, &failed);
    return runs;
}

/* The commit of an import whose sync failed was refused, its photographs were swept, and the next opening
 * found its rows in the log. */
static void an_import_refused_at_its_last_sync_keeps_row_and_photograph_together(void) {
    static const struct work_case import = {"import", do_import};
    char outside[256];
    bool failed;
    shop_room_folder(outside, "outside");
    const long count = fail_once(&import, 0, FAIL_IO, true, outside, &failed);
    CHECK(!failed && count > 30);
    for (long n = count - 30; n <= count; n++) fail_once(&import, n, FAIL_IO, true, outside, &failed);
    shop_room_remove(outside);
}

static void fails_of_the_whole(long from, long stride) {
    static const struct work_case cases[] = {
        {"erase", do_erase}, {"backup", do_backup}, {"import", do_import}};
    char outside[256];
    long runs = 0;
    shop_room_folder(outside, "outside");
    for (size_t i = 0; i < 6; i++) runs += fail_the_work(&cases[i % 3], from, stride, i < 3, outside);
    printf("  figure: %ld erasures, backups and imports on a disk that fails at one operation in %ld (ENOSPC "
           "and "
           "EIO; lasting and once)\n",
           runs, stride);
    shop_room_remove(outside);
}

static void a_failing_disk_leaves_the_whole_as_it_was(void) {
    fails_of_the_whole(1, 149);
}

static void LONG_every_operation_fails_under_the_whole(void) {
    const struct shard shard = shard_of_this_run();
    fails_of_the_whole(shard.at, shard.of);
}

static void LONG_the_whole_killed_at_300_moments(void) {
    kills_of_the_whole((int)(300 / shard_of_this_run().of));
}

int main(void) {
    failing_vfs_install();

    if (!getenv("RUSSET_SHARD")) {
        RUN(killed_at_any_moment_nothing_acknowledged_is_missing);
        RUN(a_full_or_broken_disk_loses_nothing_acknowledged);
        RUN(a_photograph_that_cannot_be_written_is_not_logged);
        RUN(eight_writers_leave_no_gap_in_the_numbers);
        RUN(a_backup_while_others_write_is_whole);
        RUN(erasure_backup_and_import_are_all_or_nothing);
        RUN(an_import_refused_at_its_last_sync_keeps_row_and_photograph_together);
        RUN(a_failing_disk_leaves_the_whole_as_it_was);
    }
    RUN(LONG_killed_at_300_moments);
    RUN(LONG_every_operation_on_the_disk_fails_once);
    RUN(LONG_the_whole_killed_at_300_moments);
    RUN(LONG_every_operation_fails_under_the_whole);
    clear_up();
    return check_done();
}
