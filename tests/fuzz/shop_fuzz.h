/* A shop for fuzzers: the same one at the start of every run, in memory where the machine has such a folder.
 */
#ifndef RUSSET_TESTS_SHOP_FUZZ_H
#define RUSSET_TESTS_SHOP_FUZZ_H

#include "check.h"
#include "shop_room.h"
#include <fcntl.h>

struct fuzz_shop {
    char dir[256], file[300];
    long long ms;
    char *kept; /* the book as it was kept */
    size_t size;
    struct stat seen;
};

static struct fuzz_shop fuzz_shop;

static inline void fuzz_shop_end(void) {
    shop_room_remove(fuzz_shop.dir);
}

static inline struct book_how fuzz_shop_how(void) {
    return (struct book_how){.disk = disk_real(),
                             .clock = wall_clock_fake(&fuzz_shop.ms, "Europe/Vienna"),
                             .ids = id_source_seeded(7)};
}

static inline void fuzz_shop_make(void) {
    struct fault fault = {0};
    struct book *book;
    fuzz_shop.ms = 1773496800000LL;
    shop_room_folder(fuzz_shop.dir, "fuzz");
    snprintf(fuzz_shop.file, sizeof fuzz_shop.file, "%s/book.sqlite", fuzz_shop.dir);
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

/* Back to what was kept; only when the file is another than it was left. */
static inline void fuzz_shop_again(void) {
    static const char *const beside[] = {"book.sqlite-wal", "book.sqlite-shm", "photographs", "uploads",
                                         "demo"};
    struct stat now;
    char path[400];
    bool same = stat(fuzz_shop.file, &now) == 0 && now.st_size == fuzz_shop.seen.st_size &&
                now.st_mtim.tv_sec == fuzz_shop.seen.st_mtim.tv_sec &&
                now.st_mtim.tv_nsec == fuzz_shop.seen.st_mtim.tv_nsec;
    for (size_t i = 0; i < sizeof beside / sizeof *beside; i++) {
        snprintf(path, sizeof path, "%s/%s", fuzz_shop.dir, beside[i]);
        if (access(path, F_OK) != 0) continue;
        same = same && i >= 2;
        shop_room_remove(path);
    }
    if (!same) fuzz_shop_write(fuzz_shop.kept, fuzz_shop.size);
}

/* Nothing that the program did may leave a book that it would itself refuse. */
static inline void fuzz_shop_is_sound(void) {
    struct fault fault = {0};
    struct book *book;
    if (book_open(fuzz_shop.dir, fuzz_shop_how(), &book, &fault) != STATUS_OK) {
        fprintf(stderr, "%s\n", fault.text);
        abort();
    }
    book_close(book);
}

#endif
