/* The files of one request: what came with it or was named out of the shop, and nothing else. A flow that
 * runs for the page reads and writes through this disk, so no path of the machine can be reached, whatever a
 * name says. What the flow writes stays in memory and goes back with the reply. */
#ifndef RUSSET_SERVER_REQUEST_DISK_H
#define RUSSET_SERVER_REQUEST_DISK_H

#include "device/disk.h"

struct request_file {
    const char *name;
    int fd; /* of memory; closed with the disk */
    bool written, ended;
    struct request_file *next;
};

struct request_disk {
    struct arena *arena;
    struct request_file *first;
};

/* The calls work on the disk that was entered last in this thread. */
const struct disk *request_disk_enter(struct request_disk *disk);
void request_disk_leave(struct request_disk *disk); /* and closes everything */

/* A file to be read. MACHINE when memory for it cannot be had. */
enum status request_disk_put(struct request_disk *disk, const char *name, const void *data, size_t size,
                             struct fault *fault) MUST_USE;
/* Bytes of a file that the flow wrote, in the arena. */
enum status request_disk_take(struct request_disk *disk, const struct request_file *file, struct bytes *out,
                              struct fault *fault) MUST_USE;

#endif
