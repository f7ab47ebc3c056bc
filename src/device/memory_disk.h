/* Files in memory and nothing else: those of a request of the page, or of the demo while it is made. A flow
 * that runs on this disk reads and writes through it, so no path of the machine can be reached, whatever a
 * name says. What the flow writes stays in memory and goes back with the reply. */
#ifndef RUSSET_DEVICE_MEMORY_DISK_H
#define RUSSET_DEVICE_MEMORY_DISK_H

#include "device/disk.h"

struct memory_file {
    const char *name;
    int fd; /* of memory; closed with the disk */
    bool written, ended;
    struct memory_file *next;
};

struct memory_disk {
    struct arena *arena;
    struct memory_file *first;
};

/* The calls work on the disk that was entered last in this thread. */
const struct disk *memory_disk_enter(struct memory_disk *disk);
void memory_disk_leave(struct memory_disk *disk); /* and closes everything */

/* A file to be read. MACHINE when memory for it cannot be had. */
enum status memory_disk_put(struct memory_disk *disk, const char *name, const void *data, size_t size,
                            struct fault *fault) MUST_USE;
/* An open file to be read under that name; the disk closes it. */
void memory_disk_put_file(struct memory_disk *disk, const char *name, int fd);
/* Bytes of a file that the flow wrote, in the arena. */
enum status memory_disk_take(struct memory_disk *disk, const struct memory_file *file, struct bytes *out,
                             struct fault *fault) MUST_USE;

#endif
