/* Loaded before the C library (LD_PRELOAD): the n-th call of one kind fails, once; or, full and locked, every
 * one from then on.
 *
 *     NTH_CALL=KIND:N     KIND: memory, open, read, write, sync, rename, full, locked
 *     NTH_CALL_FILE=FILE  made when it came to that
 *
 * memory fails with ENOMEM, open with EMFILE, write and full (each write) with ENOSPC, locked (whatever would
 * change a disk that can only be read) with EROFS, the others with EIO. What goes to standard error never
 * fails: the sentence must get out. Calls that the C library makes inside of itself (stdio's) are not seen;
 * russet makes none for its files. */
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <unistd.h>

static const char *kind;
static const char *mark;
static long left;

__attribute__((constructor)) static void begin(void) {
    const char *wanted = getenv("NTH_CALL");
    mark = getenv("NTH_CALL_FILE");
    const char *colon = wanted ? strchr(wanted, ':') : NULL;
    if (!colon || !mark) return;
    left = atol(colon + 1);
    kind = wanted;
    unsetenv("LD_PRELOAD"); /* the decoder is a program of its own */
}

static int fails(const char *what, int why) {
    const size_t n = strlen(what);
    if (!kind || strncmp(kind, what, n) != 0 || kind[n] != ':') return 0;
    const long now = __atomic_sub_fetch(&left, 1, __ATOMIC_SEQ_CST), lasts = *kind == 'f' || *kind == 'l';
    if (lasts ? now > 0 : now != 0) return 0;
    const long file = syscall(SYS_openat, AT_FDCWD, mark, O_CREAT | O_WRONLY, 0600);
    if (file >= 0) syscall(SYS_close, file);
    errno = why;
    return 1;
}

#define REAL(name) ((__typeof__(&name))(size_t)dlsym(RTLD_NEXT, #name))

/* russet's own malloc stands in front of all libraries and asks these (src/memory_or_end.c). */
void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *old, size_t size);
void *__libc_malloc(size_t size) {
    static void *(*real)(size_t);
    if (!real) real = REAL(__libc_malloc);
    return fails("memory", ENOMEM) ? NULL : real(size);
}
void *__libc_calloc(size_t count, size_t size) {
    static void *(*real)(size_t, size_t);
    if (!real) real = REAL(__libc_calloc);
    return fails("memory", ENOMEM) ? NULL : real(count, size);
}
void *__libc_realloc(void *old, size_t size) {
    static void *(*real)(void *, size_t);
    if (!real) real = REAL(__libc_realloc);
    return fails("memory", ENOMEM) ? NULL : real(old, size);
}

static mode_t mode_of(int flags, va_list rest) {
    return flags & (O_CREAT | O_TMPFILE) ? va_arg(rest, mode_t) : 0;
}

/* Devices can be written to on a disk that cannot. */
static int changes(int flags, const char *path) {
    return (flags & (O_WRONLY | O_RDWR | O_CREAT | O_TMPFILE)) && strncmp(path, "/dev/", 5) != 0;
}

#define OPENS(name)                                                        \
    int name(const char *path, int flags, ...) {                           \
        va_list rest;                                                      \
        va_start(rest, flags);                                             \
        const mode_t mode = mode_of(flags, rest);                          \
        va_end(rest);                                                      \
        if (changes(flags, path) && fails("locked", EROFS)) return -1;     \
        return fails("open", EMFILE) ? -1 : REAL(name)(path, flags, mode); \
    }
OPENS(open)
OPENS(open64)

ssize_t read(int file, void *to, size_t n) {
    return fails("read", EIO) ? -1 : syscall(SYS_read, file, to, n);
}
ssize_t pread(int file, void *to, size_t n, off_t at) {
    return fails("read", EIO) ? -1 : syscall(SYS_pread64, file, to, n, at);
}
ssize_t pread64(int file, void *to, size_t n, off_t at) {
    return pread(file, to, n, at);
}
ssize_t write(int file, const void *from, size_t n) {
    return file != 2 && (fails("write", ENOSPC) || fails("full", ENOSPC)) ? -1
                                                                          : syscall(SYS_write, file, from, n);
}
ssize_t pwrite(int file, const void *from, size_t n, off_t at) {
    return fails("write", ENOSPC) || fails("full", ENOSPC) ? -1 : syscall(SYS_pwrite64, file, from, n, at);
}
ssize_t pwrite64(int file, const void *from, size_t n, off_t at) {
    return pwrite(file, from, n, at);
}
int fsync(int file) {
    return fails("sync", EIO) ? -1 : (int)syscall(SYS_fsync, file);
}
int fdatasync(int file) {
    return fails("sync", EIO) ? -1 : (int)syscall(SYS_fdatasync, file);
}
int rename(const char *from, const char *to) {
    return fails("rename", EIO) || fails("locked", EROFS)
               ? -1
               : (int)syscall(SYS_renameat2, AT_FDCWD, from, AT_FDCWD, to, 0);
}
int mkdir(const char *path, mode_t mode) {
    return fails("locked", EROFS) ? -1 : (int)syscall(SYS_mkdirat, AT_FDCWD, path, mode);
}
int unlink(const char *path) {
    return fails("locked", EROFS) ? -1 : (int)syscall(SYS_unlinkat, AT_FDCWD, path, 0);
}
int ftruncate(int file, off_t size) {
    return fails("locked", EROFS) ? -1 : (int)syscall(SYS_ftruncate, file, size);
}
int ftruncate64(int file, off_t size) {
    return ftruncate(file, size);
}
