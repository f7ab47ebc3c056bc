/* A backup is a stranger's file until it has been looked through: it is copied into a folder of its own,
 * brought up to this version, compared with this program's schema, checked like any book, and only then takes
 * its place. */
#include "shop/backup.h"
#include "shop/check.h"
#include "shop/photographs.h"
#include "shop/query.h"
#include "shop/rows.h"
#include "shop/scrub.h"
#include <dirent.h>
#include <errno.h>
#include <ftw.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct restore {
    const char *path; /* the backup */
    char stage[PATH_MAX];
    struct book_how how;
    const char *const *forget;
    size_t forget_count;
    struct work *work;
    struct restored *out;
    struct fault *fault;
};

static int remove_one(const char *path, const struct stat *info, int flag, struct FTW *at) {
    (void)info, (void)flag, (void)at;
    return remove(path);
}

static void remove_stage(const struct restore *restore) {
    nftw(restore->stage, remove_one, 20, FTW_DEPTH | FTW_PHYS);
}

static enum status judge(const struct restore *restore, sqlite3 *database, int code) {
    if (code == SQLITE_OK || code == SQLITE_DONE) return STATUS_OK;
    if (code == SQLITE_NOTADB) return FAULT(restore->fault, BACKUP_NOT_ONE, restore->path);
    return book_fault_of(database, code, restore->path, restore->fault);
}

/* "app version has_kept_bytes" of the backup. */
static enum status check_kind(const struct restore *restore, sqlite3 *backup) {
    sqlite3_stmt *ask = NULL;
    long long application = 0, version = 0, bytes = 0;
    int code =
        sqlite3_prepare_v2(backup,
                           "SELECT (SELECT application_id FROM pragma_application_id), (SELECT user_version "
                           "FROM pragma_user_version), (SELECT count(*) FROM sqlite_schema WHERE type = "
                           "'table' AND name = 'kept_bytes')",
                           -1, &ask, NULL);
    if (code == SQLITE_OK) code = sqlite3_step(ask);
    if (code == SQLITE_ROW) {
        application = sqlite3_column_int64(ask, 0);
        version = sqlite3_column_int64(ask, 1);
        bytes = sqlite3_column_int64(ask, 2);
        code = SQLITE_OK;
    }
    sqlite3_finalize(ask);
    if (code != SQLITE_OK) return judge(restore, backup, code);
    if (version > BOOK_SCHEMA && application == BOOK_APPLICATION)
        return FAULT(restore->fault, BOOK_NEWER, restore->path, COUNT_TEXT(version), COUNT_TEXT(BOOK_SCHEMA));
    if (application != BOOK_APPLICATION || version < 1 || bytes != 1)
        return FAULT(restore->fault, BACKUP_NOT_ONE, restore->path);
    return STATUS_OK;
}

static enum status open_backup(const struct restore *restore, sqlite3 **out) {
    if (!disk_has(restore->path))
        return FAULT(restore->fault, FILE_CANNOT_OPEN, restore->path, strerror(ENOENT));
    int code = sqlite3_open_v2(restore->path, out, SQLITE_OPEN_READONLY, NULL);
    if (code == SQLITE_OK) code = sqlite3_extended_result_codes(*out, 1);
    if (code == SQLITE_OK) code = sqlite3_exec(*out, "PRAGMA trusted_schema = OFF", NULL, NULL, NULL);
    return code == SQLITE_OK ? check_kind(restore, *out) : judge(restore, *out, code);
}

static enum status copy_pages(const struct restore *restore, sqlite3 *from, sqlite3 *to) {
    sqlite3_backup *run = sqlite3_backup_init(to, "main", from, "main");
    if (!run) return judge(restore, to, sqlite3_errcode(to));
    int code = sqlite3_backup_step(run, -1);
    for (int i = 0; (code == SQLITE_BUSY || code == SQLITE_LOCKED) && i < 500; i++) {
        sqlite3_sleep(20);
        code = sqlite3_backup_step(run, -1);
    }
    const int finished = sqlite3_backup_finish(run);
    return judge(restore, to, code == SQLITE_DONE ? finished : code);
}

/* The pages without the table of photographs. */
static enum status copy_book(const struct restore *restore, sqlite3 *backup) {
    char file[PATH_MAX + 16];
    sqlite3 *copy = NULL;
    snprintf(file, sizeof file, "%s/book.sqlite", restore->stage);
    enum status status =
        judge(restore, copy, sqlite3_open_v2(file, &copy, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL));
    if (status == STATUS_OK) status = copy_pages(restore, backup, copy);
    if (status == STATUS_OK)
        status =
            judge(restore, copy,
                  sqlite3_exec(copy,
                               "PRAGMA trusted_schema = OFF; PRAGMA temp_store = MEMORY; PRAGMA synchronous "
                               "= FULL; DROP TABLE kept_bytes; VACUUM;",
                               NULL, NULL, NULL));
    sqlite3_close(copy);
    return status;
}

/* A photograph in the backup, read piece by piece. */
struct blob {
    sqlite3_blob *open;
    int at;
};

static ssize_t feed_blob(void *from, void *to, size_t n) {
    struct blob *blob = from;
    const int left = sqlite3_blob_bytes(blob->open) - blob->at, most = n < INT_MAX ? (int)n : INT_MAX;
    const int size = left < most ? left : most;
    if (size > 0 && sqlite3_blob_read(blob->open, to, size, blob->at) != SQLITE_OK) return -1;
    blob->at += size;
    return size;
}

static enum status keep_blob(struct restore *restore, struct book *book, sqlite3 *backup, sqlite3_stmt *row) {
    struct blob blob = {0};
    struct photograph_kind kind;
    struct fault here = {0};
    const char *sha256 = (const char *)sqlite3_column_text(row, 0);
    if (!sha256) return FAULT(restore->fault, BACKUP_UNSOUND, restore->path, "kept_bytes");
    int code =
        sqlite3_blob_open(backup, "main", "kept_bytes", "bytes", sqlite3_column_int64(row, 1), 0, &blob.open);
    if (code != SQLITE_OK) return FAULT(restore->fault, BACKUP_UNSOUND, restore->path, sha256);
    enum status status = photographs_keep_fed(book, feed_blob, &blob, restore->path, sha256, &kind, &here);
    sqlite3_blob_close(blob.open);
    restore->out->photographs++;
    if (status == STATUS_OK)
        return photographs_settle_row(book, sha256, kind.media, kind.size, restore->fault);
    if (here.word == WORD_PHOTOGRAPH_CHANGED || here.word == WORD_FILE_READ_FAILED ||
        here.word == WORD_PHOTOGRAPH_UNKNOWN)
        return FAULT(restore->fault, BACKUP_UNSOUND, restore->path, sha256);
    if (restore->fault) *restore->fault = here;
    return status;
}

static enum status copy_photographs(struct restore *restore, sqlite3 *backup, struct book *book) {
    sqlite3_stmt *row = NULL;
    enum status status = STATUS_OK;
    int code =
        sqlite3_prepare_v2(backup, "SELECT sha256, rowid FROM kept_bytes ORDER BY sha256", -1, &row, NULL);
    if (code != SQLITE_OK) return judge(restore, backup, code);
    while (status == STATUS_OK && (code = sqlite3_step(row)) == SQLITE_ROW) {
        status = keep_blob(restore, book, backup, row);
        if (status == STATUS_OK && work_is_cancelled(restore->work))
            status = FAULT0(restore->fault, CANCELLED);
    }
    sqlite3_finalize(row);
    return status == STATUS_OK ? judge(restore, backup, code) : status;
}

static enum status copy_all_photographs(struct restore *restore, sqlite3 *backup, struct book *book) {
    const enum status status = book_begin(book, restore->fault);
    if (status != STATUS_OK) return status;
    return book_end(book, copy_photographs(restore, backup, book), restore->fault);
}

static enum status forget_them(struct restore *restore, struct book *book) {
    enum status status = book_begin(book, restore->fault);
    if (status != STATUS_OK) return status;
    for (size_t i = 0; status == STATUS_OK && i < restore->forget_count; i++)
        status = erase_bury(book, restore->forget[i], restore->fault);
    if (status == STATUS_OK) status = erase_tombstoned(book, &restore->out->erased, restore->fault);
    status = book_end(book, status, restore->fault);
    return status == STATUS_OK ? scrub_finish(book, restore->fault) : status;
}

/* What the shop had lost before is not held against its backup. */
static enum status was_lost_before(struct book *book, const struct photographs_state *state, bool *all,
                                   struct fault *fault) {
    enum status status = STATUS_OK;
    *all = true;
    for (size_t i = 0; status == STATUS_OK && i < state->missing_count; i++) {
        struct query q = query_make(book, "SELECT 1 FROM local WHERE name = 'lost:' || ?", fault);
        query_text(&q, state->missing[i]);
        *all = query_row(&q) && *all;
        status = query_end(&q);
    }
    return status;
}

static size_t first_other_problem(const struct checked *checked) {
    size_t i = 0;
    while (i < checked->problem_count && checked->problem[i].word == WORD_CHECK_PICTURE_MISSING) i++;
    return i;
}

static enum status must_be_sound(struct restore *restore, struct book *book) {
    bool known = false;
    struct arena *arena = arena_new();
    struct checked checked;
    enum status status = check_book(book, arena, NULL, &checked, restore->fault);
    if (status == STATUS_OK) status = was_lost_before(book, &checked.photographs, &known, restore->fault);
    if (status == STATUS_OK) {
        const size_t other = known ? first_other_problem(&checked) : 0;
        restore->out->lost = known ? checked.photographs.missing_count : 0;
        if (other < checked.problem_count)
            status = FAULT(restore->fault, BACKUP_UNSOUND, restore->path, checked.problem[other].text);
    }
    if (status == STATUS_OK)
        restore->out->jobs = (size_t)json_integer_value(json_object_get(checked.rows, "job"));
    json_decref(checked.rows);
    arena_free(arena);
    return status;
}

/* Nothing is run in a book before its schema is known to be ours. */
static enum status must_be_ours(struct restore *restore, struct book *book) {
    bool same = false;
    const enum status status = check_schema(book, &same, restore->fault);
    if (status != STATUS_OK || same) return status;
    return FAULT(restore->fault, BACKUP_NOT_ONE, restore->path);
}

static enum status fill_stage(struct restore *restore) {
    sqlite3 *backup = NULL;
    struct book *book = NULL;
    enum status status = open_backup(restore, &backup);
    if (status == STATUS_OK) status = copy_book(restore, backup);
    if (status == STATUS_OK) status = book_open(restore->stage, restore->how, &book, restore->fault);
    if (status == STATUS_OK) status = must_be_ours(restore, book);
    if (status == STATUS_OK) status = copy_all_photographs(restore, backup, book);
    if (status == STATUS_OK) status = forget_them(restore, book);
    if (status == STATUS_OK) status = must_be_sound(restore, book);
    book_close(book);
    sqlite3_close(backup);
    return status;
}

/* The folder beside the shop's place in which it is put together. */
static enum status make_stage(struct restore *restore, const char *dir) {
    char place[PATH_MAX - 32];
    snprintf(place, sizeof place, "%s", dir);
    for (size_t n = strlen(place); n > 1 && place[n - 1] == '/'; n--) place[n - 1] = 0;
    snprintf(restore->stage, sizeof restore->stage, "%s.%ld.restoring", place, (long)getpid());
    remove_stage(restore);
    if (!book_make_folders(restore->stage))
        return FAULT(restore->fault, SHOP_CANNOT_MAKE, restore->stage, strerror(errno));
    return STATUS_OK;
}

static bool is_empty_folder(const char *dir) {
    DIR *open = opendir(dir);
    size_t count = 0;
    while (open && readdir(open)) count++;
    if (open) closedir(open);
    return open && count <= 2; /* "." and ".." */
}

enum status restore_read(const char *path, const char *dir, struct book_how how, const char *const *forget,
                         size_t forget_count, struct work *work, struct restored *out, struct fault *fault) {
    struct restore restore = {.path = path,
                              .how = how,
                              .forget = forget,
                              .forget_count = forget_count,
                              .work = work,
                              .out = out,
                              .fault = fault};
    *out = (struct restored){0};
    if (disk_has(dir) && !is_empty_folder(dir)) return FAULT(fault, RESTORE_NOT_EMPTY, dir);
    enum status status = make_stage(&restore, dir);
    if (status == STATUS_OK) status = fill_stage(&restore);
    if (status == STATUS_OK) status = disk_move_folder(how.disk, restore.stage, dir, fault);
    if (status != STATUS_OK) remove_stage(&restore);
    return status;
}

static void read_id(const struct query *q, struct arena *arena, const char **out) {
    *out = query_get_text(q, 0, arena);
}

/* Who was erased in the live shop stays erased. */
static enum status add_tombstones(struct restore *restore, struct book *live, struct arena *arena) {
    const char **list;
    size_t count;
    struct query q = query_make(live, "SELECT id FROM tombstone", restore->fault);
    ROWS_READ(&q, arena, &list, &count, read_id);
    for (size_t i = 0; i < restore->forget_count; i++) {
        list = rows_grow(arena, list, count, sizeof *list);
        list[count++] = restore->forget[i];
    }
    restore->forget = list;
    restore->forget_count = count;
    return query_end(&q);
}

static enum status move_photographs(struct restore *restore, struct book *staged, struct book *live) {
    struct query q = query_make(staged, "SELECT sha256 FROM kept_file", restore->fault);
    enum status status = STATUS_OK;
    while (status == STATUS_OK && query_row(&q)) {
        struct arena *own = arena_new();
        const char *sha256 = query_get_text(&q, 0, own);
        struct fault here = {0};
        struct disk_file file = {.disk = book_disk(staged)};
        struct photograph_kind kind;
        status = photographs_open(staged, sha256, &file.fd, &here);
        if (status == STATUS_OK) {
            status = photographs_keep_fed(live, disk_file_feed, &file, restore->path, sha256, &kind,
                                          restore->fault);
            close(file.fd);
        } else if (photographs_is_lost(staged, sha256, &here))
            status = STATUS_OK; /* known since must_be_sound */
        else if (restore->fault)
            *restore->fault = here;
        arena_free(own);
    }
    const enum status ended = query_end(&q);
    return status == STATUS_OK ? ended : status;
}

/* The files before the rows that name them, and once more behind them, should another program have swept in
 * between; then what the old rows named is swept. */
static enum status take_its_place(struct restore *restore, struct book *live) {
    struct book *staged = NULL;
    enum status status = book_open(restore->stage, restore->how, &staged, restore->fault);
    if (status == STATUS_OK) status = move_photographs(restore, staged, live);
    if (status == STATUS_OK) status = copy_pages(restore, book_database(staged), book_database(live));
    if (status == STATUS_OK) status = move_photographs(restore, staged, live);
    book_close(staged);
    if (status == STATUS_OK) status = book_begin(live, restore->fault);
    if (status == STATUS_OK) status = book_end(live, scrub_owe(live, restore->fault), restore->fault);
    return status == STATUS_OK ? scrub_finish(live, restore->fault) : status;
}

enum status restore_over(struct book *live, const char *path, struct book_how how, const char *const *forget,
                         size_t forget_count, struct work *work, struct restored *out, struct fault *fault) {
    struct restore restore = {.path = path,
                              .how = how,
                              .forget = forget,
                              .forget_count = forget_count,
                              .work = work,
                              .out = out,
                              .fault = fault};
    struct arena *arena = arena_new();
    *out = (struct restored){0};
    enum status status = add_tombstones(&restore, live, arena);
    if (status == STATUS_OK) status = make_stage(&restore, book_dir(live));
    if (status == STATUS_OK) status = fill_stage(&restore);
    if (status == STATUS_OK) status = take_its_place(&restore, live);
    remove_stage(&restore);
    arena_free(arena);
    return status;
}
