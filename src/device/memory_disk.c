#include "device/memory_disk.h"
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

static _Thread_local struct memory_disk *entered;

static struct memory_file *find(const char *name) {
    for (struct memory_file *file = entered ? entered->first : NULL; file; file = file->next)
        if (strcmp(file->name, name) == 0) return file;
    return NULL;
}

static struct memory_file *add_file(struct memory_disk *disk, const char *name, int fd) {
    struct memory_file *file = arena_need(disk->arena, 1, sizeof *file);
    *file = (struct memory_file){arena_text(disk->arena, name, strlen(name)), fd, false, false, disk->first};
    disk->first = file;
    return file;
}

static struct memory_file *add(struct memory_disk *disk, const char *name) {
    const int fd = memfd_create("russet", MFD_CLOEXEC);
    return fd < 0 ? NULL : add_file(disk, name, fd);
}

void memory_disk_put_file(struct memory_disk *disk, const char *name, int fd) {
    (void)add_file(disk, name, fd);
}

/* The caller closes what it gets; the memory stays with the disk. Each opening has a place of its own in it.
 */
static int open_again(const struct memory_file *file, int flags) {
    char path[40];
    snprintf(path, sizeof path, "/proc/self/fd/%d", file->fd);
    return open(path, (flags & O_ACCMODE) | O_CLOEXEC);
}

static int memory_open(const char *path, int flags, mode_t mode) {
    (void)mode;
    struct memory_file *file = find(path);
    if (!file && (flags & O_DIRECTORY)) return memfd_create("folder", MFD_CLOEXEC);
    if (!file && !(flags & O_CREAT)) return errno = ENOENT, -1;
    if (file && (flags & O_ACCMODE) != O_RDONLY && !file->written) return errno = EACCES, -1;
    if (!file) {
        file = entered ? add(entered, path) : NULL;
        if (!file) return errno = ENOMEM, -1;
        file->written = true;
    }
    return open_again(file, flags);
}

static int memory_rename(const char *from, const char *to) {
    struct memory_file *file = find(from);
    if (!file || !file->written) return errno = ENOENT, -1;
    const char *slash = strrchr(to, '/');
    const char *name = slash ? slash + 1 : to;
    file->name = arena_text(entered->arena, name, strlen(name));
    file->ended = true;
    return 0;
}

static const struct disk calls = {memory_open, read, write, fsync, memory_rename};

const struct disk *memory_disk_enter(struct memory_disk *disk) {
    entered = disk;
    return &calls;
}

void memory_disk_leave(struct memory_disk *disk) {
    for (struct memory_file *file = disk->first; file; file = file->next) close(file->fd);
    disk->first = NULL;
    entered = NULL;
}

static bool write_all(int fd, const char *data, size_t size) {
    for (size_t done = 0; done < size;) {
        const ssize_t n = write(fd, data + done, size - done);
        if (n < 0 && errno == EINTR) continue;
        if (n <= 0) return false;
        done += (size_t)n;
    }
    return true;
}

enum status memory_disk_put(struct memory_disk *disk, const char *name, const void *data, size_t size,
                            struct fault *fault) {
    const struct memory_file *file = add(disk, name);
    if (file && write_all(file->fd, data, size)) return STATUS_OK;
    return FAULT(fault, FILE_CANNOT_WRITE, name, strerror(errno));
}

enum status memory_disk_take(struct memory_disk *disk, const struct memory_file *file, struct bytes *out,
                             struct fault *fault) {
    struct stat info;
    if (fstat(file->fd, &info) != 0) return FAULT(fault, FILE_READ_FAILED, file->name, strerror(errno));
    char *data = arena_need(disk->arena, (size_t)info.st_size + 1, 1);
    if (pread(file->fd, data, (size_t)info.st_size, 0) != info.st_size)
        return FAULT(fault, FILE_READ_FAILED, file->name, strerror(errno));
    *out = (struct bytes){(const unsigned char *)data, (size_t)info.st_size, file->name};
    return STATUS_OK;
}
