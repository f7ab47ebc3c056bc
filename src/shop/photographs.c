#include "shop/photographs.h"
#include "shop/query.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

void sha256_begin(struct sha256_sum *sum) {
    crypto_hash_sha256_init(&sum->state);
}

void sha256_add(struct sha256_sum *sum, const void *data, size_t size) {
    crypto_hash_sha256_update(&sum->state, data, size);
}

void sha256_end(struct sha256_sum *sum, char out[SHA256_TEXT]) {
    unsigned char hash[crypto_hash_sha256_BYTES];
    crypto_hash_sha256_final(&sum->state, hash);
    sodium_bin2hex(out, SHA256_TEXT, hash, sizeof hash);
}

void sha256_of(const void *data, size_t size, char out[SHA256_TEXT]) {
    struct sha256_sum sum;
    sha256_begin(&sum);
    sha256_add(&sum, data, size);
    sha256_end(&sum, out);
}

bool sha256_of_file(const struct disk *disk, int fd, char out[SHA256_TEXT]) {
    unsigned char piece[64 * 1024];
    struct sha256_sum sum;
    sha256_begin(&sum);
    if (lseek(fd, 0, SEEK_SET) != 0) return false;
    for (;;) {
        const ssize_t n = disk->read(fd, piece, sizeof piece);
        if (n < 0 && errno == EINTR) continue;
        if (n < 0) return false;
        if (n == 0) break;
        sha256_add(&sum, piece, (size_t)n);
    }
    sha256_end(&sum, out);
    return lseek(fd, 0, SEEK_SET) == 0;
}

bool sha256_is_good(const char *text) {
    return strlen(text) == SHA256_TEXT - 1 && strspn(text, "0123456789abcdef") == SHA256_TEXT - 1;
}

static bool begins(const unsigned char *data, size_t size, size_t at, const char *mark, size_t n) {
    return size >= at + n && memcmp(data + at, mark, n) == 0;
}

/* Marks: JPEG ITU-T T.81 (SOI), PNG ISO/IEC 15948, TIFF 6.0, HEIF ISO/IEC 23008-12 (brands), PDF ISO 32000.
 */
const char *photographs_media(const unsigned char *data, size_t size) {
    static const char *const brands[] = {"heic", "heix", "mif1", "hevc", "heif", "msf1"};
    if (begins(data, size, 0, "\xff\xd8\xff", 3)) return "image/jpeg";
    if (begins(data, size, 0, "\x89PNG\r\n\x1a\n", 8)) return "image/png";
    if (begins(data, size, 0, "II*\0", 4) || begins(data, size, 0, "MM\0*", 4)) return "image/tiff";
    for (size_t i = 0; i < sizeof brands / sizeof *brands; i++)
        if (begins(data, size, 4, "ftyp", 4) && begins(data, size, 8, brands[i], 4)) return "image/heif";
    return begins(data, size, 0, "%PDF-", 5) ? "application/pdf" : NULL;
}

const char *photographs_path(const char *dir, const char *sha256, char out[PHOTOGRAPH_PATH]) {
    snprintf(out, PHOTOGRAPH_PATH, "%s/photographs/%.2s/%s", dir, sha256, sha256 + 2);
    return out;
}

static bool sync_folder(const struct disk *disk, const char *folder) {
    const int fd = disk->open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);
    if (fd < 0) return false;
    const bool synced = disk->fsync(fd) == 0 || errno == EINVAL;
    close(fd);
    return synced;
}

/* A folder lasts when the one that it stands in was synced. */
static bool make_folder(const struct disk *disk, const char *parent, const char *folder) {
    if (disk_is_folder(folder)) return true;
    return (mkdir(folder, 0700) == 0 || errno == EEXIST) && sync_folder(disk, parent);
}

/* Its place, with the folders that it needs. */
static enum status make_place(const struct book *book, const char *sha256, char path[PHOTOGRAPH_PATH],
                              struct fault *fault) {
    char all[PHOTOGRAPH_PATH], folder[PHOTOGRAPH_PATH];
    photographs_path(book_dir(book), sha256, path);
    snprintf(all, sizeof all, "%s/photographs", book_dir(book));
    snprintf(folder, sizeof folder, "%s/photographs/%.2s", book_dir(book), sha256);
    if (!make_folder(book_disk(book), book_dir(book), all) || !make_folder(book_disk(book), all, folder))
        return FAULT(fault, FILE_CANNOT_WRITE, folder, strerror(errno));
    return STATUS_OK;
}

static enum status write_file(struct book *book, const char *sha256, const struct bytes *bytes,
                              struct fault *fault) {
    char path[PHOTOGRAPH_PATH];
    enum status status = make_place(book, sha256, path, fault);
    if (status == STATUS_OK) status = disk_write(book_disk(book), path, bytes->data, bytes->size, fault);
    if (status == STATUS_OK) chmod(path, 0600);
    return status;
}

bool photographs_has(const struct book *book, const char *sha256, size_t size) {
    char path[PHOTOGRAPH_PATH];
    struct stat info;
    return sha256_is_good(sha256) && stat(photographs_path(book_dir(book), sha256, path), &info) == 0 &&
           (size_t)info.st_size == size;
}

enum status photographs_open(struct book *book, const char *sha256, int *fd, struct fault *fault) {
    char path[PHOTOGRAPH_PATH], found[SHA256_TEXT];
    if (!sha256_is_good(sha256)) return FAULT(fault, PHOTOGRAPH_UNKNOWN, sha256);
    photographs_path(book_dir(book), sha256, path);
    *fd = book_disk(book)->open(path, O_RDONLY | O_CLOEXEC, 0);
    if (*fd < 0) return FAULT(fault, FILE_CANNOT_OPEN, path, strerror(errno));
    const bool read = sha256_of_file(book_disk(book), *fd, found);
    if (read && strcmp(found, sha256) == 0) return STATUS_OK;
    const int error = errno;
    close(*fd);
    return read ? FAULT(fault, PHOTOGRAPH_CHANGED, path)
                : FAULT(fault, FILE_READ_FAILED, path, strerror(error));
}

/* A file that was damaged meanwhile is healed by the picture coming again. */
static bool is_whole(struct book *book, const char *sha256) {
    int fd;
    const bool whole = photographs_open(book, sha256, &fd, NULL) == STATUS_OK;
    if (whole) close(fd);
    return whole;
}

static enum status keep_file(struct book *book, const struct bytes *bytes, const char *sha256,
                             struct fault *fault) {
    if (!photographs_media(bytes->data, bytes->size)) return FAULT(fault, PHOTOGRAPH_KIND, bytes->name);
    if (photographs_has(book, sha256, bytes->size) && is_whole(book, sha256)) return STATUS_OK;
    return write_file(book, sha256, bytes, fault);
}

/* What passes through is measured; at its end it must be what it was said to be, or it is not kept. */
struct meter {
    disk_feed *feed;
    void *from;
    const char *name, *sha256;
    struct sha256_sum sum;
    unsigned char head[32];
    struct photograph_kind kind;
    struct fault why; /* it was not */
};

static ssize_t meter_end(struct meter *meter) {
    char found[SHA256_TEXT];
    sha256_end(&meter->sum, found);
    meter->kind.media = photographs_media(meter->head, meter->kind.size);
    enum status status = STATUS_OK;
    if (strcmp(found, meter->sha256) != 0) status = FAULT(&meter->why, PHOTOGRAPH_CHANGED, meter->name);
    if (status == STATUS_OK && !meter->kind.media) status = FAULT(&meter->why, PHOTOGRAPH_KIND, meter->name);
    return status == STATUS_OK ? 0 : -1;
}

static ssize_t meter_read(void *from, void *to, size_t n) {
    struct meter *meter = from;
    const ssize_t got = meter->feed(meter->from, to, n);
    size_t *size = &meter->kind.size;
    errno = EIO;
    if (got < 0) FAULT(&meter->why, FILE_READ_FAILED, meter->name, strerror(EIO));
    if (got <= 0) return got < 0 ? -1 : meter_end(meter);
    for (size_t i = 0; i < (size_t)got && *size + i < sizeof meter->head; i++)
        meter->head[*size + i] = ((unsigned char *)to)[i];
    sha256_add(&meter->sum, to, (size_t)got);
    *size += (size_t)got;
    if (*size <= (size_t)PHOTOGRAPH_MIB << 20) return got;
    FAULT(&meter->why, FILE_TOO_LARGE, meter->name, COUNT_TEXT(PHOTOGRAPH_MIB));
    return -1;
}

/* What is here already is looked at all the same: a file from elsewhere is taken whole or not at all. */
static ssize_t pass_through(struct meter *meter) {
    char piece[64 * 1024];
    ssize_t n;
    while ((n = meter_read(meter, piece, sizeof piece)) > 0) {
    }
    return n;
}

enum status photographs_keep_fed(struct book *book, disk_feed *feed, void *from, const char *name,
                                 const char *sha256, struct photograph_kind *kind, struct fault *fault) {
    char path[PHOTOGRAPH_PATH];
    struct meter meter = {.feed = feed, .from = from, .name = name, .sha256 = sha256};
    if (!sha256_is_good(sha256)) return FAULT(fault, PHOTOGRAPH_UNKNOWN, sha256);
    sha256_begin(&meter.sum);
    enum status status = STATUS_OK;
    if (is_whole(book, sha256)) {
        if (pass_through(&meter) != 0) status = STATUS_INPUT;
    } else {
        status = make_place(book, sha256, path, fault);
        if (status == STATUS_OK) status = disk_pour(book_disk(book), path, meter_read, &meter, fault);
        if (status == STATUS_OK) chmod(path, 0600);
    }
    if (meter.why.word && fault) *fault = meter.why;
    if (meter.why.word) return meter.why.status;
    *kind = meter.kind;
    return status;
}

static enum status add_row(struct book *book, const char *sha256, const char *media, size_t size,
                           struct fault *fault) {
    struct query q = query_make(book,
                                "INSERT INTO kept_file (sha256, media, size, added_ms) VALUES (?, ?, ?, ?) "
                                "ON CONFLICT (sha256) DO NOTHING",
                                fault);
    query_text(&q, sha256);
    query_text(&q, media);
    query_count(&q, (long long)size);
    query_count(&q, book_now_ms(book));
    return query_run(&q);
}

enum status photographs_keep(struct book *book, const struct bytes *bytes, char sha256[SHA256_TEXT],
                             struct fault *fault) {
    book_need_pen(book);
    sha256_of(bytes->data, bytes->size, sha256);
    const enum status status = keep_file(book, bytes, sha256, fault);
    if (status != STATUS_OK) return status;
    return add_row(book, sha256, photographs_media(bytes->data, bytes->size), bytes->size, fault);
}

/* Hashed first, for its name; the copy is hashed again, since the file may have been written to meanwhile. */
static enum status copy_file(struct book *book, const struct disk *from, int fd, const char *name,
                             const char *sha256, struct fault *fault) {
    char path[PHOTOGRAPH_PATH];
    if (is_whole(book, sha256)) return STATUS_OK;
    enum status status = make_place(book, sha256, path, fault);
    if (status == STATUS_OK) status = disk_copy(book_disk(book), path, from, fd, fault);
    if (status != STATUS_OK) return status;
    chmod(path, 0600);
    int copy;
    status = photographs_open(book, sha256, &copy, fault);
    if (status == STATUS_OK) return close(copy), STATUS_OK;
    unlink(path);
    return fault && fault->word == WORD_PHOTOGRAPH_CHANGED ? FAULT(fault, PHOTOGRAPH_CHANGED, name) : status;
}

static enum status keep_open(struct book *book, const struct disk *from, int fd, const char *name,
                             size_t size, char sha256[SHA256_TEXT], struct fault *fault) {
    unsigned char head[32];
    const ssize_t n = from->read(fd, head, sizeof head);
    const char *media = n > 0 ? photographs_media(head, (size_t)n) : NULL;
    if (n < 0 || !sha256_of_file(from, fd, sha256))
        return FAULT(fault, FILE_READ_FAILED, name, strerror(errno));
    if (!media) return FAULT(fault, PHOTOGRAPH_KIND, name);
    const enum status status = copy_file(book, from, fd, name, sha256, fault);
    return status == STATUS_OK ? add_row(book, sha256, media, size, fault) : status;
}

static enum status keep_whole(struct book *book, const struct disk *from, const char *path,
                              char sha256[SHA256_TEXT], struct fault *fault) {
    struct arena *own = arena_new();
    struct bytes bytes;
    enum status status = disk_read(from, path, PHOTOGRAPH_MIB, own, &bytes, fault);
    if (status == STATUS_OK) status = photographs_keep(book, &bytes, sha256, fault);
    arena_free(own);
    return status;
}

enum status photographs_keep_from(struct book *book, const struct disk *from, const char *path,
                                  char sha256[SHA256_TEXT], struct fault *fault) {
    struct stat info;
    book_need_pen(book);
    const int fd = strcmp(path, "-") == 0 ? -1 : from->open(path, O_RDONLY | O_CLOEXEC, 0);
    const bool known = fd >= 0 && fstat(fd, &info) == 0 && S_ISREG(info.st_mode) &&
                       info.st_size <= (off_t)PHOTOGRAPH_MIB << 20;
    /* A pipe, what cannot be opened and what is too large: disk_read tells of it. */
    const enum status status = known ? keep_open(book, from, fd, path, (size_t)info.st_size, sha256, fault)
                                     : keep_whole(book, from, path, sha256, fault);
    if (fd >= 0) close(fd);
    return status;
}

enum status photographs_settle_row(struct book *book, const char *sha256, const char *media, size_t size,
                                   struct fault *fault) {
    book_need_pen(book);
    struct query q = query_make(
        book, "UPDATE kept_file SET media = ?1, size = ?2 WHERE sha256 = ?3 AND (media <> ?1 OR size <> ?2)",
        fault);
    query_text(&q, media);
    query_count(&q, (long long)size);
    query_text(&q, sha256);
    return query_run(&q);
}

enum status photographs_read(struct book *book, const char *sha256, struct arena *arena, struct bytes *out,
                             struct fault *fault) {
    char path[PHOTOGRAPH_PATH], found[SHA256_TEXT];
    if (!sha256_is_good(sha256)) return FAULT(fault, PHOTOGRAPH_UNKNOWN, sha256);
    photographs_path(book_dir(book), sha256, path);
    const enum status status = disk_read(book_disk(book), path, PHOTOGRAPH_MIB, arena, out, fault);
    if (status != STATUS_OK) return status;
    sha256_of(out->data, out->size, found);
    return strcmp(found, sha256) == 0 ? STATUS_OK : FAULT(fault, PHOTOGRAPH_CHANGED, path);
}

void lost_add(struct lost_photographs *lost, const char *sha256) {
    if (lost->count < LOST_NAMED) snprintf(lost->name[lost->count], SHA256_TEXT, "%s", sha256);
    lost->count++;
}

bool photographs_is_lost(const struct book *book, const char *sha256, const struct fault *why) {
    char path[PHOTOGRAPH_PATH];
    if (why->word == WORD_PHOTOGRAPH_CHANGED) return true;
    return why->word == WORD_FILE_CANNOT_OPEN && !disk_has(photographs_path(book_dir(book), sha256, path));
}

static const char *small_path(const struct book *book, const char *sha256, int size,
                              char out[PHOTOGRAPH_PATH]) {
    snprintf(out, PHOTOGRAPH_PATH, "%s/thumbnails/%.2s/%s-%d.jpg", book_dir(book), sha256, sha256 + 2, size);
    return out;
}

static enum status has_row(struct book *book, const char *sha256, bool *found, struct fault *fault) {
    struct query q = query_make(book, "SELECT 1 FROM kept_file WHERE sha256 = ?", fault);
    query_text(&q, sha256);
    *found = query_row(&q);
    return query_end(&q);
}

bool photographs_small_read(struct book *book, const char *sha256, int size, struct arena *arena,
                            struct bytes *out) {
    char path[PHOTOGRAPH_PATH];
    return sha256_is_good(sha256) && disk_has(small_path(book, sha256, size, path)) &&
           disk_read(book_disk(book), path, PHOTOGRAPH_MIB, arena, out, NULL) == STATUS_OK;
}

enum status photographs_small_keep(struct book *book, const char *sha256, int size, const struct bytes *bytes,
                                   struct fault *fault) {
    book_need_pen(book);
    char path[PHOTOGRAPH_PATH], all[PHOTOGRAPH_PATH], folder[PHOTOGRAPH_PATH];
    bool found = false;
    enum status status = has_row(book, sha256, &found, fault);
    if (status == STATUS_OK && !found) status = FAULT(fault, SHOP_NO_SUCH, "photograph", sha256);
    if (status != STATUS_OK) return status;
    snprintf(all, sizeof all, "%s/thumbnails", book_dir(book));
    snprintf(folder, sizeof folder, "%s/thumbnails/%.2s", book_dir(book), sha256);
    if (!make_folder(book_disk(book), book_dir(book), all) || !make_folder(book_disk(book), all, folder))
        return FAULT(fault, FILE_CANNOT_WRITE, folder, strerror(errno));
    small_path(book, sha256, size, path);
    status = disk_write(book_disk(book), path, bytes->data, bytes->size, fault);
    if (status == STATUS_OK) chmod(path, 0600);
    return status;
}

/* Calls visit with every file that lies two deep in dir/kind: its path and "ab" + name. */
typedef void visit_file(void *to, const char *path, const char *joined);

static void visit_folder(const char *folder, const char *two, visit_file *visit, void *to) {
    DIR *open = opendir(folder);
    for (const struct dirent *item; open && (item = readdir(open));) {
        char path[PHOTOGRAPH_PATH + 600], name[600];
        if (item->d_name[0] == '.') continue;
        snprintf(path, sizeof path, "%s/%s", folder, item->d_name);
        snprintf(name, sizeof name, "%s%s", two, item->d_name);
        visit(to, path, name);
    }
    if (open) closedir(open);
}

static void visit_all(const char *dir, const char *kind, visit_file *visit, void *to) {
    char top[PHOTOGRAPH_PATH];
    snprintf(top, sizeof top, "%s/%s", dir, kind);
    DIR *open = opendir(top);
    for (const struct dirent *item; open && (item = readdir(open));) {
        char folder[PHOTOGRAPH_PATH + 300];
        if (item->d_name[0] == '.') continue;
        snprintf(folder, sizeof folder, "%s/%s", top, item->d_name);
        visit_folder(folder, item->d_name, visit, to);
    }
    if (open) closedir(open);
}

struct sweep {
    struct book *book;
    struct fault *fault;
    enum status status;
    bool remove;
    size_t found;
};

/* Named is the file whose name begins with the 64 digits of a row; a photograph has nothing behind them. */
static bool is_named(struct sweep *sweep, const char *joined, bool thumbnail) {
    char sha256[SHA256_TEXT];
    snprintf(sha256, sizeof sha256, "%.64s", joined);
    if (!thumbnail && strlen(joined) != SHA256_TEXT - 1) return false;
    bool found = false;
    const enum status status = has_row(sweep->book, sha256, &found, sweep->fault);
    if (status != STATUS_OK) sweep->status = status;
    return found || status != STATUS_OK;
}

/* A name that is gone stays gone when its folder was synced. */
static bool remove_for_good(const struct disk *disk, const char *path) {
    char folder[PHOTOGRAPH_PATH + 600];
    snprintf(folder, sizeof folder, "%s", path);
    char *slash = strrchr(folder, '/');
    if (slash) *slash = 0;
    return (unlink(path) == 0 || errno == ENOENT) && sync_folder(disk, folder);
}

static void sweep_file(struct sweep *sweep, const char *path, const char *joined, bool thumbnail) {
    if (sweep->status != STATUS_OK || is_named(sweep, joined, thumbnail)) return;
    sweep->found++;
    if (sweep->remove && !remove_for_good(book_disk(sweep->book), path))
        sweep->status = FAULT(sweep->fault, FILE_CANNOT_WRITE, path, strerror(errno));
}

static void sweep_photograph(void *to, const char *path, const char *joined) {
    sweep_file(to, path, joined, false);
}

static void sweep_thumbnail(void *to, const char *path, const char *joined) {
    sweep_file(to, path, joined, true);
}

static enum status sweep_all(struct sweep *sweep) {
    visit_all(book_dir(sweep->book), "photographs", sweep_photograph, sweep);
    visit_all(book_dir(sweep->book), "thumbnails", sweep_thumbnail, sweep);
    return sweep->status;
}

/* Pieces of photographs that a phone has begun to send (server/upload_route.h): it sends them again. */
static enum status sweep_uploads(struct book *book, struct fault *fault) {
    char folder[PHOTOGRAPH_PATH], path[PHOTOGRAPH_PATH + 300];
    enum status status = STATUS_OK;
    snprintf(folder, sizeof folder, "%s/uploads", book_dir(book));
    DIR *open = opendir(folder);
    for (const struct dirent *item; status == STATUS_OK && open && (item = readdir(open));) {
        snprintf(path, sizeof path, "%s/%s", folder, item->d_name);
        if (item->d_name[0] != '.' && !remove_for_good(book_disk(book), path))
            status = FAULT(fault, FILE_CANNOT_WRITE, path, strerror(errno));
    }
    if (open) closedir(open);
    return status;
}

/* A commit whose sync failed was refused in words, and its pages may yet lie in the log, whole: after a power
 * cut SQLite would find them and take them for good, rows and all. A commit that went well is written over
 * them. So there is one before any file goes that no row names: what is not in the book then never will be.
 */
static enum status end_what_failed(struct book *book, struct fault *fault) {
    enum status status = query_script(book, "BEGIN IMMEDIATE", fault);
    if (status != STATUS_OK) return status;
    status = query_script(book, "INSERT OR REPLACE INTO local (name, value) VALUES ('tidy', 'begun')", fault);
    return book_end(book, status, fault);
}

/* Whoever keeps a photograph holds the pen from before its file is there until its row is. */
enum status photographs_tidy(struct book *book, size_t *removed, struct fault *fault) {
    struct sweep sweep = {.book = book, .fault = fault, .remove = true};
    enum status status = end_what_failed(book, fault);
    if (status == STATUS_OK) status = query_script(book, "BEGIN IMMEDIATE", fault);
    if (status != STATUS_OK) return status;
    status = sweep_all(&sweep);
    if (status == STATUS_OK) status = sweep_uploads(book, fault);
    *removed = sweep.found;
    if (status == STATUS_OK) status = query_script(book, "DELETE FROM local WHERE name = 'tidy'", fault);
    return book_end(book, status, fault);
}

static void add_name(const char ***list, size_t *count, const char *name) {
    *list = memory_grow(*list, *count + 1, sizeof **list);
    (*list)[(*count)++] = name;
}

static const char **in_arena(const char **list, size_t count, struct arena *arena) {
    const char **copy = arena_need(arena, count + 1, sizeof *copy);
    if (count) memcpy(copy, list, count * sizeof *copy);
    memory_free(list);
    return copy;
}

static enum status check_one(struct book *book, const char *sha256, struct photographs_state *state,
                             struct fault *fault) {
    char path[PHOTOGRAPH_PATH];
    struct stat info;
    struct fault here = {0};
    int fd;
    const enum status status = photographs_open(book, sha256, &fd, &here);
    if (status == STATUS_OK) close(fd);
    state->count++;
    if (stat(photographs_path(book_dir(book), sha256, path), &info) == 0)
        state->bytes += (unsigned long long)info.st_size;
    if (status == STATUS_OK) return STATUS_OK;
    if (here.word == WORD_PHOTOGRAPH_CHANGED)
        add_name(&state->changed, &state->changed_count, sha256);
    else if (here.word == WORD_FILE_CANNOT_OPEN)
        add_name(&state->missing, &state->missing_count, sha256);
    else
        return *fault = here, status;
    return STATUS_OK;
}

enum status photographs_check(struct book *book, struct arena *arena, struct photographs_state *out,
                              struct fault *fault) {
    struct photographs_state state = {0};
    struct query q = query_make(book, "SELECT sha256 FROM kept_file ORDER BY sha256", fault);
    enum status status = STATUS_OK;
    while (status == STATUS_OK && query_row(&q))
        status = check_one(book, query_get_text(&q, 0, arena), &state, fault);
    const enum status ended = query_end(&q);
    if (status == STATUS_OK) status = ended;
    struct sweep sweep = {.book = book, .fault = fault};
    if (status == STATUS_OK) status = sweep_all(&sweep);
    state.orphans = sweep.found;
    state.missing = in_arena(state.missing, state.missing_count, arena);
    state.changed = in_arena(state.changed, state.changed_count, arena);
    *out = state;
    return status;
}
