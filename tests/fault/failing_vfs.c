#include "fault/failing_vfs.h"
#include <sqlite3.h>
#include <string.h>

static struct {
    sqlite3_vfs *below;
    long count, at;
    enum failing_how how;
    int lasting, failed;
} state;

struct failing_file {
    sqlite3_file base;
    sqlite3_file *below; /* lies behind this struct */
};

static sqlite3_file *below(sqlite3_file *file) {
    return ((struct failing_file *)file)->below;
}

/* Is this the operation that fails? */
static int fails(void) {
    state.count++;
    const int now = state.at && (state.count == state.at || (state.lasting && state.count > state.at));
    state.failed = state.failed || now;
    return now;
}

static int code_of(int io) {
    return state.how == FAIL_IO ? io : SQLITE_FULL;
}

static int x_close(sqlite3_file *file) {
    return below(file)->pMethods->xClose(below(file));
}
static int x_read(sqlite3_file *file, void *to, int n, sqlite3_int64 at) {
    return below(file)->pMethods->xRead(below(file), to, n, at);
}
static int x_write(sqlite3_file *file, const void *from, int n, sqlite3_int64 at) {
    if (!fails()) return below(file)->pMethods->xWrite(below(file), from, n, at);
    if (state.how == FAIL_HALF) below(file)->pMethods->xWrite(below(file), from, n / 2, at);
    return code_of(SQLITE_IOERR_WRITE);
}
static int x_truncate(sqlite3_file *file, sqlite3_int64 size) {
    if (fails()) return code_of(SQLITE_IOERR_TRUNCATE);
    return below(file)->pMethods->xTruncate(below(file), size);
}
static int x_sync(sqlite3_file *file, int flags) {
    if (fails()) return code_of(SQLITE_IOERR_FSYNC);
    return below(file)->pMethods->xSync(below(file), flags);
}
static int x_file_size(sqlite3_file *file, sqlite3_int64 *size) {
    return below(file)->pMethods->xFileSize(below(file), size);
}
static int x_lock(sqlite3_file *file, int lock) {
    return below(file)->pMethods->xLock(below(file), lock);
}
static int x_unlock(sqlite3_file *file, int lock) {
    return below(file)->pMethods->xUnlock(below(file), lock);
}
static int x_check_lock(sqlite3_file *file, int *out) {
    return below(file)->pMethods->xCheckReservedLock(below(file), out);
}
static int x_control(sqlite3_file *file, int op, void *argument) {
    return below(file)->pMethods->xFileControl(below(file), op, argument);
}
static int x_sector(sqlite3_file *file) {
    return below(file)->pMethods->xSectorSize(below(file));
}
static int x_traits(sqlite3_file *file) {
    return below(file)->pMethods->xDeviceCharacteristics(below(file));
}
static int x_shm_map(sqlite3_file *file, int page, int size, int extend, void volatile **out) {
    return below(file)->pMethods->xShmMap(below(file), page, size, extend, out);
}
static int x_shm_lock(sqlite3_file *file, int offset, int n, int flags) {
    return below(file)->pMethods->xShmLock(below(file), offset, n, flags);
}
static void x_shm_barrier(sqlite3_file *file) {
    below(file)->pMethods->xShmBarrier(below(file));
}
static int x_shm_unmap(sqlite3_file *file, int remove) {
    return below(file)->pMethods->xShmUnmap(below(file), remove);
}

static const sqlite3_io_methods methods = {.iVersion = 2,
                                           .xClose = x_close,
                                           .xRead = x_read,
                                           .xWrite = x_write,
                                           .xTruncate = x_truncate,
                                           .xSync = x_sync,
                                           .xFileSize = x_file_size,
                                           .xLock = x_lock,
                                           .xUnlock = x_unlock,
                                           .xCheckReservedLock = x_check_lock,
                                           .xFileControl = x_control,
                                           .xSectorSize = x_sector,
                                           .xDeviceCharacteristics = x_traits,
                                           .xShmMap = x_shm_map,
                                           .xShmLock = x_shm_lock,
                                           .xShmBarrier = x_shm_barrier,
                                           .xShmUnmap = x_shm_unmap};

static int x_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *file, int flags, int *out_flags) {
    struct failing_file *failing = (struct failing_file *)file;
    (void)vfs;
    memset(failing, 0, sizeof *failing);
    if ((flags & SQLITE_OPEN_CREATE) && fails()) return code_of(SQLITE_CANTOPEN);
    failing->below = (sqlite3_file *)(failing + 1);
    const int code = state.below->xOpen(state.below, name, failing->below, flags, out_flags);
    if (code == SQLITE_OK) failing->base.pMethods = &methods;
    return code;
}

static int x_delete(sqlite3_vfs *vfs, const char *name, int sync) {
    (void)vfs;
    if (fails()) return code_of(SQLITE_IOERR_DELETE);
    return state.below->xDelete(state.below, name, sync);
}

void failing_vfs_install(void) {
    static sqlite3_vfs vfs;
    state.below = sqlite3_vfs_find(NULL);
    vfs = *state.below;
    vfs.szOsFile = (int)sizeof(struct failing_file) + state.below->szOsFile;
    vfs.zName = "failing";
    vfs.pNext = NULL;
    vfs.xOpen = x_open;
    vfs.xDelete = x_delete;
    sqlite3_vfs_register(&vfs, 1);
}

void failing_vfs_arm(long n, enum failing_how how, int lasting) {
    state.count = 0;
    state.at = n;
    state.how = how;
    state.lasting = lasting;
    state.failed = 0;
}

long failing_vfs_count(void) {
    return state.count;
}

int failing_vfs_has_failed(void) {
    return state.failed;
}
