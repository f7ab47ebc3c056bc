#include "device/disk.h"
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static int real_open(const char *path, int flags, mode_t mode) {
    return open(path, flags, mode);
}

static const struct disk real = {real_open, read, write, fsync, rename};

const struct disk *disk_real(void) {
    return &real;
}

bool disk_has(const char *path) {
    struct stat info;
    return stat(path, &info) == 0;
}

bool disk_is_folder(const char *path) {
    struct stat info;
    return stat(path, &info) == 0 && S_ISDIR(info.st_mode);
}

bool disk_same(const char *a, const char *b) {
    struct stat of_a, of_b;
    if (stat(a, &of_a) != 0 || stat(b, &of_b) != 0) return false;
    return of_a.st_dev == of_b.st_dev && of_a.st_ino == of_b.st_ino && S_ISREG(of_a.st_mode);
}

static enum status read_open_file(const struct disk *disk, int fd, size_t most, struct text *to,
                                  const char *name, size_t most_mib, struct fault *fault) {
    char chunk[64 * 1024];
    for (;;) {
        const ssize_t n = disk->read(fd, chunk, sizeof chunk);
        if (n < 0 && errno == EINTR) continue;
        if (n < 0 && errno == EISDIR) return FAULT(fault, FILE_IS_DIRECTORY, name);
        if (n < 0) return FAULT(fault, FILE_READ_FAILED, name, strerror(errno));
        if (n == 0) return STATUS_OK;
        if (to->length + (size_t)n > most) return FAULT(fault, FILE_TOO_LARGE, name, COUNT_TEXT(most_mib));
        text_add_bytes(to, chunk, (size_t)n);
    }
}

/* A file whose size is known is read to its place: a photograph is not in memory twice. True when it ended
 * where it said; else what was read lies in the text, and more may come. */
static bool read_known_size(const struct disk *disk, int fd, size_t most, struct arena *arena,
                            struct text *rest, struct bytes *out) {
    struct stat info;
    if (fstat(fd, &info) != 0 || !S_ISREG(info.st_mode) || info.st_size <= 0 || (size_t)info.st_size > most)
        return false;
    const size_t size = (size_t)info.st_size;
    unsigned char *data = arena_need(arena, size + 1, 1); /* one more than there should be */
    size_t done = 0;
    while (done <= size) {
        const ssize_t n = disk->read(fd, data + done, size + 1 - done);
        if (n < 0 && errno == EINTR) continue;
        if (n <= 0) break;
        done += (size_t)n;
    }
    out->data = data, out->size = done;
    if (done == size) return data[size] = 0, true;
    text_add_bytes(rest, data, done);
    return false;
}

enum status disk_read(const struct disk *disk, const char *path, size_t most_mib, struct arena *arena,
                      struct bytes *out, struct fault *fault) {
    const bool standard_input = strcmp(path, "-") == 0;
    const char *name = standard_input ? "standard input" : path;
    const int fd = standard_input ? 0 : disk->open(path, O_RDONLY | O_CLOEXEC, 0);
    if (fd < 0) return FAULT(fault, FILE_CANNOT_OPEN, name, strerror(errno));
    struct text all = {0};
    const bool whole = read_known_size(disk, fd, most_mib << 20, arena, &all, out);
    const enum status status =
        whole ? STATUS_OK : read_open_file(disk, fd, most_mib << 20, &all, name, most_mib, fault);
    if (status == STATUS_OK && !whole) {
        out->data = (const unsigned char *)arena_text(arena, all.data ? all.data : "", all.length);
        out->size = all.length;
    }
    if (status == STATUS_OK) out->name = arena_text(arena, name, strlen(name));
    text_free(&all);
    if (!standard_input) close(fd);
    return status;
}

static enum status write_all(const struct disk *disk, int fd, const char *data, size_t size) {
    while (size > 0) {
        const ssize_t n = disk->write(fd, data, size);
        if (n < 0 && errno == EINTR) continue;
        if (n <= 0) return STATUS_MACHINE;
        data += n;
        size -= (size_t)n;
    }
    return STATUS_OK;
}

/* What is to be written: bytes, or what a feed gives. */
struct source {
    const void *data;
    size_t size;
    disk_feed *feed; /* NULL: bytes */
    void *from;
};

static enum status write_source(const struct disk *disk, int fd, const struct source *source) {
    if (!source->feed) return write_all(disk, fd, source->data, source->size);
    char piece[64 * 1024];
    for (;;) {
        const ssize_t n = source->feed(source->from, piece, sizeof piece);
        if (n < 0 && errno == EINTR) continue;
        if (n < 0 || (n > 0 && write_all(disk, fd, piece, (size_t)n) != STATUS_OK)) return STATUS_MACHINE;
        if (n == 0) return STATUS_OK;
    }
}

static enum status write_through(const struct disk *disk, const char *path, const struct source *source,
                                 struct fault *fault) {
    const int fd = disk->open(path, O_WRONLY | O_CLOEXEC | O_NOCTTY, 0);
    if (fd < 0) return FAULT(fault, FILE_CANNOT_WRITE, path, strerror(errno));
    const enum status status = write_source(disk, fd, source);
    const int error = errno;
    close(fd);
    return status == STATUS_OK ? STATUS_OK : FAULT(fault, FILE_CANNOT_WRITE, path, strerror(error));
}

/* A rename lasts only when its folder was synced too. */
static bool sync_folder(const struct disk *disk, const char *file) {
    char folder[PATH_MAX];
    snprintf(folder, sizeof folder, "%s", file);
    char *slash = strrchr(folder, '/');
    if (slash == folder)
        slash[1] = 0;
    else if (slash)
        *slash = 0;
    const int fd = disk->open(slash ? folder : ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);
    if (fd < 0) return false;
    const bool synced = disk->fsync(fd) == 0 || errno == EINVAL;
    close(fd);
    return synced;
}

static bool fill_and_rename(const struct disk *disk, int fd, const char *temporary, const char *target,
                            const struct source *source) {
    if (write_source(disk, fd, source) != STATUS_OK) return false;
    if (disk->fsync(fd) != 0) return false;
    return disk->rename(temporary, target) == 0 && sync_folder(disk, target);
}

static enum status replace_file(const struct disk *disk, const char *target, mode_t mode,
                                const struct source *source, struct fault *fault) {
    char temporary[PATH_MAX + 32];
    snprintf(temporary, sizeof temporary, "%s.%ld.tmp", target, (long)getpid());
    const int fd = disk->open(temporary, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
    if (fd < 0) return FAULT(fault, FILE_CANNOT_WRITE, target, strerror(errno));
    const bool written = fill_and_rename(disk, fd, temporary, target, source);
    const int error = errno;
    close(fd);
    if (written) return STATUS_OK;
    unlink(temporary);
    return FAULT(fault, FILE_CANNOT_WRITE, target, strerror(error));
}

static enum status put(const struct disk *disk, const char *path, const struct source *source,
                       struct fault *fault) {
    struct stat info;
    const bool there = stat(path, &info) == 0;
    if (there && S_ISDIR(info.st_mode)) return FAULT(fault, FILE_IS_DIRECTORY, path);
    if (there && !S_ISREG(info.st_mode)) return write_through(disk, path, source, fault);
    char target[PATH_MAX];
    if (there && !realpath(path, target)) return FAULT(fault, FILE_CANNOT_WRITE, path, strerror(errno));
    return replace_file(disk, there ? target : path, there ? info.st_mode & 0777 : 0666, source, fault);
}

enum status disk_write(const struct disk *disk, const char *path, const void *data, size_t size,
                       struct fault *fault) {
    return put(disk, path, &(struct source){.data = data, .size = size}, fault);
}

enum status disk_pour(const struct disk *disk, const char *path, disk_feed *feed, void *from,
                      struct fault *fault) {
    return put(disk, path, &(struct source){.feed = feed, .from = from}, fault);
}

ssize_t disk_file_feed(void *file, void *to, size_t n) {
    const struct disk_file *from = file;
    return from->disk->read(from->fd, to, n);
}

enum status disk_copy(const struct disk *disk, const char *path, const struct disk *from, int fd,
                      struct fault *fault) {
    if (lseek(fd, 0, SEEK_SET) != 0) return FAULT(fault, FILE_CANNOT_WRITE, path, strerror(errno));
    return disk_pour(disk, path, disk_file_feed, &(struct disk_file){from, fd}, fault);
}

enum status disk_settle(const struct disk *disk, const char *temporary, const char *path,
                        struct fault *fault) {
    const int fd = disk->open(temporary, O_RDONLY | O_CLOEXEC, 0);
    const bool synced = fd >= 0 && disk->fsync(fd) == 0;
    const bool moved = synced && disk->rename(temporary, path) == 0 && sync_folder(disk, path);
    const int error = errno;
    if (fd >= 0) close(fd);
    return moved ? STATUS_OK : FAULT(fault, FILE_CANNOT_WRITE, path, strerror(error));
}

enum status disk_move_folder(const struct disk *disk, const char *from, const char *to, struct fault *fault) {
    if (disk->rename(from, to) == 0 && sync_folder(disk, to)) return STATUS_OK;
    return FAULT(fault, FILE_CANNOT_WRITE, to, strerror(errno));
}
