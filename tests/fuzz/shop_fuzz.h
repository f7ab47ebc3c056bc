/* A shop for fuzzers: the same one at the start of every run, in memory where the machine has such a folder.
 *
 * Opening a book reads its whole schema, which takes longer than most runs. So the book's own code stands
 * here once more, with opening and closing taken apart: a book that is closed goes onto a shelf, with its
 * connection, and is handed out again. Between runs the log beside the file is cut off and its index set
 * back, so that every connection sees the file as it was; a file that was itself changed is written anew, and
 * all are opened again. */
#ifndef RUSSET_TESTS_SHOP_FUZZ_H
#define RUSSET_TESTS_SHOP_FUZZ_H

#include "check.h"
#include "fuzz_run.h"
#include "shop_room.h"
#include "sqlite_fuzz.h"
#include <fcntl.h>

enum status book_open_anew(const char *dir, struct book_how how, struct book **out, struct fault *fault);
void book_close_wholly(struct book *book);
#define book_open book_open_anew
#define book_close book_close_wholly
#include "shop/book.c"
#undef book_open
#undef book_close

/* LOG_INDEX_HEAD: two copies of 48 bytes, and 40 (SQLite, "WAL-mode File Format", 2.1). */
enum { OPENED_ONE_IN = 8, OPEN_MOST = 8, LOG_INDEX_HEAD = 136 };

struct fuzz_shop {
    char dir[256], file[300], log[310], index[310];
    long long ms;
    char *kept; /* the book as it was kept */
    size_t size;
    struct stat seen;
    struct book *open[OPEN_MOST];
    size_t opened;
    int log_fd,
        index_fd; /* 0: nobody is on the shelf. They stay open: a close would let go of SQLite's locks */
    char head[LOG_INDEX_HEAD];
};

static struct fuzz_shop fuzz_shop;

/* ---- books that stay open ---- */

static inline bool fuzz_shop_takes(const struct book *book) {
    return !fuzz_is_whole() && fuzz_shop.kept && fuzz_shop.opened < OPEN_MOST &&
           strcmp(book->dir, fuzz_shop.dir) == 0;
}

enum status book_open(const char *dir, struct book_how how, struct book **out, struct fault *fault) {
    if (how.make || fuzz_shop.opened == 0 || strcmp(dir, fuzz_shop.dir) != 0)
        return book_open_anew(dir, how, out, fault);
    struct book *book = fuzz_shop.open[--fuzz_shop.opened];
    book->how = how, book->asked = ASKED_NOT;
    enum status status = read_zone(book, fault);
    if (status == STATUS_OK) status = scrub_finish(book, fault);
    *out = status == STATUS_OK ? book : NULL;
    if (status != STATUS_OK) book_close(book);
    return status;
}

void book_close(struct book *book) {
    if (!book) return;
    if (book->database && sqlite3_next_stmt(book->database, NULL)) abort(); /* it could not be closed */
    if (!book->database || !fuzz_shop_takes(book)) {
        book_close_wholly(book);
        return;
    }
    book_rollback(book);
    zone_close(book->zone);
    book->zone = NULL;
    fuzz_shop.open[fuzz_shop.opened++] = book;
}

static inline void fuzz_shop_close_all(void) {
    while (fuzz_shop.opened) book_close_wholly(fuzz_shop.open[--fuzz_shop.opened]);
    if (fuzz_shop.log_fd) close(fuzz_shop.log_fd), close(fuzz_shop.index_fd);
    fuzz_shop.log_fd = fuzz_shop.index_fd = 0;
}

static inline void fuzz_shop_end(void) {
    fuzz_shop_close_all();
    free(fuzz_shop.kept);
    shop_room_remove(fuzz_shop.dir);
}

/* ---- the shop ---- */

static inline struct book_how fuzz_shop_how(void) {
    return (struct book_how){.disk = disk_real(),
                             .clock = wall_clock_fake(&fuzz_shop.ms, "Europe/Vienna"),
                             .ids = id_source_seeded(7)};
}

static inline void fuzz_shop_make(void) {
    struct fault fault = {0};
    struct book *book;
    if (!fuzz_is_whole()) sqlite_fuzz_memory();
    fuzz_shop.ms = 1773496800000LL;
    shop_room_folder(fuzz_shop.dir, "fuzz");
    snprintf(fuzz_shop.file, sizeof fuzz_shop.file, "%s/book.sqlite", fuzz_shop.dir);
    snprintf(fuzz_shop.log, sizeof fuzz_shop.log, "%s-wal", fuzz_shop.file);
    snprintf(fuzz_shop.index, sizeof fuzz_shop.index, "%s-shm", fuzz_shop.file);
    atexit(fuzz_shop_end);
    struct book_how how = fuzz_shop_how();
    how.make = true;
    if (book_open(fuzz_shop.dir, how, &book, &fault) != STATUS_OK) abort();
    book_close(book);
}

/* What is there now is what every run begins with. */
static inline void fuzz_shop_keep(void) {
    const int fd = open(fuzz_shop.file, O_RDONLY | O_CLOEXEC);
    if (fd < 0 || fstat(fd, &fuzz_shop.seen) != 0) abort();
    fuzz_shop.size = (size_t)fuzz_shop.seen.st_size;
    fuzz_shop.kept = malloc(fuzz_shop.size);
    if (read(fd, fuzz_shop.kept, fuzz_shop.size) != (ssize_t)fuzz_shop.size) abort();
    close(fd);
}

static inline void fuzz_shop_write(const char *data, size_t size) {
    const int fd = open(fuzz_shop.file, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    if (fd < 0 || write(fd, data, size) != (ssize_t)size || fstat(fd, &fuzz_shop.seen) != 0) abort();
    close(fd);
}

static inline bool fuzz_shop_file_is_as_left(void) {
    struct stat now;
    return stat(fuzz_shop.file, &now) == 0 && now.st_size == fuzz_shop.seen.st_size &&
           now.st_ino == fuzz_shop.seen.st_ino && now.st_mtim.tv_sec == fuzz_shop.seen.st_mtim.tv_sec &&
           now.st_mtim.tv_nsec == fuzz_shop.seen.st_mtim.tv_nsec;
}

/* Whether this run wrote anything. */
static inline bool fuzz_shop_is_written(void) {
    struct stat log;
    return !fuzz_shop_file_is_as_left() || !fuzz_shop.log_fd || fstat(fuzz_shop.log_fd, &log) != 0 ||
           log.st_size > 0;
}

/* The first one opens the log; what its index says of an empty log is what is set back. */
static inline void fuzz_shop_open_first(void) {
    struct fault fault = {0};
    struct book *book;
    if (book_open_anew(fuzz_shop.dir, fuzz_shop_how(), &book, &fault) != STATUS_OK) abort();
    fuzz_shop.log_fd = open(fuzz_shop.log, O_RDWR | O_CLOEXEC);
    fuzz_shop.index_fd = open(fuzz_shop.index, O_RDWR | O_CLOEXEC);
    if (fuzz_shop.log_fd <= 0 || fuzz_shop.index_fd <= 0 ||
        pread(fuzz_shop.index_fd, fuzz_shop.head, LOG_INDEX_HEAD, 0) != LOG_INDEX_HEAD)
        abort();
    book_close(book);
    if (fuzz_shop_is_written()) abort();
}

static inline void fuzz_shop_set_back(void) {
    if (!fuzz_shop_is_written()) return;
    if (ftruncate(fuzz_shop.log_fd, 0) != 0 ||
        pwrite(fuzz_shop.index_fd, fuzz_shop.head, LOG_INDEX_HEAD, 0) != LOG_INDEX_HEAD)
        abort();
}

/* Back to what was kept. */
static inline void fuzz_shop_again(void) {
    static const char *const beside[] = {"photographs", "uploads", "demo"};
    char path[400];
    for (size_t i = 0; i < sizeof beside / sizeof *beside; i++) {
        snprintf(path, sizeof path, "%s/%s", fuzz_shop.dir, beside[i]);
        if (access(path, F_OK) == 0) shop_room_remove(path);
    }
    if (fuzz_shop.log_fd && fuzz_shop_file_is_as_left()) {
        fuzz_shop_set_back();
        return;
    }
    fuzz_shop_close_all();
    unlink(fuzz_shop.log), unlink(fuzz_shop.index);
    fuzz_shop_write(fuzz_shop.kept, fuzz_shop.size);
    if (!fuzz_is_whole()) fuzz_shop_open_first();
}

/* Nothing that the program did may leave a book that it would itself refuse. */
static inline void fuzz_shop_is_sound(const uint8_t *data, size_t size) {
    struct fault fault = {0};
    struct book *book;
    if (!fuzz_shop_is_written() || !fuzz_is_chosen(OPENED_ONE_IN, data, size)) return;
    if (book_open_anew(fuzz_shop.dir, fuzz_shop_how(), &book, &fault) != STATUS_OK) {
        fprintf(stderr, "%s\n", fault.text);
        abort();
    }
    book_close_wholly(book);
}

#endif
