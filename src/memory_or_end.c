/* Memory is crash-only for the libraries too (docs/decisions.md): jansson drops what it could not allocate,
 * Pango draws without the font or falls over; so an allocation that fails ends the program with its one
 * sentence before anything is half said. All that must last was written atomically beforehand.
 *
 * The program's own malloc, calloc and realloc stand before the C library's for every library it loads. What
 * asks for a gibibyte or more at once read a number out of a hostile file: it gets NULL and must answer for
 * itself. Not in sanitized builds, which bring their own. */
#ifndef RUSSET_SANITIZED
#include "base/memory.h"
#include <errno.h>
#include <stddef.h>
#include <stdlib.h>

#define ABSURD ((size_t)1 << 30)

/* glibc's own entries behind malloc, exported since 2.0. */
extern void *__libc_malloc(size_t size), *__libc_calloc(size_t count, size_t size);
extern void *__libc_realloc(void *old, size_t size);

static void *or_end(void *p, size_t size) {
    if (!p && size < ABSURD) memory_is_out();
    return p;
}

void *malloc(size_t size) {
    return or_end(__libc_malloc(size), size);
}

void *calloc(size_t count, size_t size) {
    const size_t most = size && count > ABSURD / size ? ABSURD : count * size;
    return or_end(__libc_calloc(count, size), most);
}

void *realloc(void *old, size_t size) {
    if (!old) return malloc(size);
    void *p = __libc_realloc(old, size);
    return size ? or_end(p, size) : p; /* of size 0: NULL says that it was freed */
}
#endif
