/* The disk: a small table of calls, so that tests can make the n-th of them fail, and the two ways files are
 * used. */
#ifndef RUSSET_DEVICE_DISK_H
#define RUSSET_DEVICE_DISK_H

#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"
#include <stdbool.h>
#include <sys/types.h>

struct disk {
    int (*open)(const char *path, int flags, mode_t mode);
    ssize_t (*read)(int fd, void *to, size_t n);
    ssize_t (*write)(int fd, const void *from, size_t n);
    int (*fsync)(int fd);
    int (*rename)(const char *from, const char *to);
};

const struct disk *disk_real(void);

enum { DISK_TEXT_MIB = 64 };

/* The whole file ("-" is standard input), at most most_mib MiB; the bytes and their name live in the arena.
 */
enum status disk_read(const struct disk *disk, const char *path, size_t most_mib, struct arena *arena,
                      struct bytes *out, struct fault *fault) MUST_USE;
/* Whether a literal file of that name is there (it wins over FILE#ID). */
bool disk_has(const char *path);
bool disk_is_folder(const char *path);
bool disk_same(const char *a, const char *b); /* both are there and are one file, by whatever names */

/* Writes all or nothing: a temporary file beside the target (links followed), fsync, rename, fsync of the
 * folder. Devices, pipes and sockets are written through. A folder is refused. */
enum status disk_write(const struct disk *disk, const char *path, const void *data, size_t size,
                       struct fault *fault) MUST_USE;

/* The same with bytes that come piece by piece: the feed gives up to n of them and says how many, as read(2)
 * does: 0 at the end, -1 with errno when it fails; then nothing is written. */
typedef ssize_t disk_feed(void *from, void *to, size_t n);
enum status disk_pour(const struct disk *disk, const char *path, disk_feed *feed, void *from,
                      struct fault *fault) MUST_USE;

/* An open file of a disk as a feed. */
struct disk_file {
    const struct disk *disk;
    int fd;
};
ssize_t disk_file_feed(void *file, void *to, size_t n);

/* The same with what stands in an open file of another disk, from its beginning, piece by piece. */
enum status disk_copy(const struct disk *disk, const char *path, const struct disk *from, int fd,
                      struct fault *fault) MUST_USE;

/* The same end for a file that somebody else wrote beside its place (a library): fsync, rename, fsync of the
 * folder. */
enum status disk_settle(const struct disk *disk, const char *temporary, const char *path,
                        struct fault *fault) MUST_USE;
/* A folder that was put together beside its place moves there; what stands there must be an empty folder or
 * nothing. */
enum status disk_move_folder(const struct disk *disk, const char *from, const char *to,
                             struct fault *fault) MUST_USE;

#endif
