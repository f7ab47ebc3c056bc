#include "device/append.h"
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

/* A new name lasts only when its folder was synced. */
static bool sync_folder(const struct disk *disk, const char *file) {
    char folder[PATH_MAX];
    const char *slash = strrchr(file, '/');
    const size_t n = !slash ? 0 : slash == file ? 1 : (size_t)(slash - file);
    if (n >= sizeof folder) return false;
    memcpy(folder, file, n);
    folder[n] = 0;
    const int fd = disk->open(n ? folder : ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);
    if (fd < 0) return false;
    const bool synced = disk->fsync(fd) == 0 || errno == EINVAL;
    close(fd);
    return synced;
}

static enum status refuse(struct append *append, struct fault *fault) {
    const int error = errno;
    append_close(append);
    if (error == EWOULDBLOCK) return FAULT(fault, LOG_IN_USE, append->path);
    return FAULT(fault, LOG_CANNOT_APPEND, append->path, strerror(error));
}

enum status append_open(struct append *append, const struct disk *disk, const char *path,
                        struct fault *fault) {
    struct stat info;
    *append = (struct append){disk, path, -1};
    if (stat(path, &info) == 0 && S_ISDIR(info.st_mode)) return FAULT(fault, FILE_IS_DIRECTORY, path);
    append->fd = disk->open(path, O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC | O_NOCTTY | O_NONBLOCK, 0666);
    if (append->fd < 0) return FAULT(fault, LOG_CANNOT_OPEN, path, strerror(errno));
    if (fstat(append->fd, &info) != 0) return refuse(append, fault);
    if (!S_ISREG(info.st_mode)) {
        append_close(append);
        return FAULT(fault, FILE_NOT_REGULAR, path, "a log must last");
    }
    if (flock(append->fd, LOCK_EX | LOCK_NB) != 0) return refuse(append, fault);
    return sync_folder(disk, path) ? STATUS_OK : refuse(append, fault);
}

enum status append_add(struct append *append, const void *data, size_t size, struct fault *fault) {
    const char *at = data;
    while (size > 0) {
        const ssize_t n = append->disk->write(append->fd, at, size);
        if (n < 0 && errno == EINTR) continue;
        if (n == 0) errno = ENOSPC;
        if (n <= 0) return FAULT(fault, LOG_CANNOT_APPEND, append->path, strerror(errno));
        at += n;
        size -= (size_t)n;
    }
    if (append->disk->fsync(append->fd) == 0) return STATUS_OK;
    return FAULT(fault, LOG_CANNOT_APPEND, append->path, strerror(errno));
}

void append_close(struct append *append) {
    if (append->fd >= 0) close(append->fd);
    append->fd = -1;
}
