/* A file that only grows. What append_add returned OK for is on the disk. */
#ifndef RUSSET_DEVICE_APPEND_H
#define RUSSET_DEVICE_APPEND_H

#include "device/disk.h"

struct append {
    const struct disk *disk;
    const char *path; /* borrowed */
    int fd;
};

/* Opens or makes the file and locks it for this program; its folder is synced, so that the name lasts too. */
enum status append_open(struct append *append, const struct disk *disk, const char *path,
                        struct fault *fault) MUST_USE;
enum status append_add(struct append *append, const void *data, size_t size, struct fault *fault) MUST_USE;
void append_close(struct append *append);

#endif
