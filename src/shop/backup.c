#include "shop/backup.h"
#include "shop/photographs.h"
#include "shop/query.h"
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { TRIES = 3, PIECE = 64 * 1024 };

/* One backup at work. */
struct backup {
    struct book *book;
    sqlite3 *copy;
    const char *path;
    struct work *work;
    struct fault *fault;
    struct backed_up *out;
    bool vanished; /* a photograph was erased while we copied: begin again */
    bool last_try; /* what is still not there is lost: go on without it */
};

static enum status judge(const struct backup *backup, int code) {
    if (code == SQLITE_OK || code == SQLITE_DONE || code == SQLITE_ROW) return STATUS_OK;
    return book_fault_of(backup->copy, code, backup->path, backup->fault);
}

static enum status script(const struct backup *backup, const char *sql) {
    return judge(backup, sqlite3_exec(backup->copy, sql, NULL, NULL, NULL));
}

/* It holds what customers said: for its owner's eyes, from the first byte. */
static enum status open_copy(struct backup *backup, const char *temporary) {
    const int fd = book_disk(backup->book)->open(temporary, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0) return FAULT(backup->fault, FILE_CANNOT_WRITE, backup->path, strerror(errno));
    close(fd);
    const int code =
        sqlite3_open_v2(temporary, &backup->copy, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL);
    if (code != SQLITE_OK) return judge(backup, code);
    sqlite3_extended_result_codes(backup->copy, 1);
    return STATUS_OK;
}

/* In one step, under one read: in WAL mode that keeps nobody from writing. */
static enum status copy_book(struct backup *backup) {
    sqlite3_backup *run = sqlite3_backup_init(backup->copy, "main", book_database(backup->book), "main");
    if (!run) return judge(backup, sqlite3_errcode(backup->copy));
    int code;
    while ((code = sqlite3_backup_step(run, -1)) == SQLITE_BUSY || code == SQLITE_LOCKED) sqlite3_sleep(20);
    const int finished = sqlite3_backup_finish(run);
    if (code != SQLITE_DONE) return judge(backup, code);
    return judge(backup, finished);
}

/* One file, no log beside it. What is owed to the live book is not owed to its copy: the photographs that
 * come in are those that rows name, and a copy has no free pages of its own after the VACUUM. */
static const char settle[] =
    "PRAGMA journal_mode = DELETE; PRAGMA synchronous = FULL; PRAGMA temp_store = MEMORY;"
    "DELETE FROM local WHERE name IN ('scrub', 'tidy') OR name LIKE 'lost:%'; VACUUM;"
    "BEGIN; CREATE TABLE kept_bytes (sha256 TEXT NOT NULL PRIMARY KEY, bytes BLOB NOT NULL) STRICT;";

/* Room for its bytes, which come piece by piece: a large photograph never lies in memory whole. */
static enum status make_room(struct backup *backup, const char *sha256, off_t size, sqlite3_blob **room) {
    sqlite3_stmt *insert = NULL;
    int code = sqlite3_prepare_v2(
        backup->copy, "INSERT INTO kept_bytes (sha256, bytes) VALUES (?, zeroblob(?))", -1, &insert, NULL);
    if (code == SQLITE_OK) code = sqlite3_bind_text(insert, 1, sha256, -1, SQLITE_STATIC);
    if (code == SQLITE_OK) code = sqlite3_bind_int64(insert, 2, size);
    if (code == SQLITE_OK) code = sqlite3_step(insert);
    sqlite3_finalize(insert);
    if (code == SQLITE_DONE)
        code = sqlite3_blob_open(backup->copy, "main", "kept_bytes", "bytes",
                                 sqlite3_last_insert_rowid(backup->copy), 1, room);
    return judge(backup, code);
}

static enum status put_bytes(struct backup *backup, const char *sha256, int fd, off_t size) {
    sqlite3_blob *room = NULL;
    char piece[PIECE];
    enum status status = make_room(backup, sha256, size, &room);
    for (off_t done = 0; status == STATUS_OK && done < size;) {
        const ssize_t n = book_disk(backup->book)->read(fd, piece, sizeof piece);
        if (n < 0 && errno == EINTR) continue;
        if (n <= 0 || n > size - done) {
            status = FAULT(backup->fault, FILE_READ_FAILED, sha256, n < 0 ? strerror(errno) : "cut short");
        } else {
            status = judge(backup, sqlite3_blob_write(room, piece, (int)n, (int)done));
            done += n;
        }
    }
    sqlite3_blob_close(room);
    return status;
}

/* Who restores it must be able to tell what was lost before from what this file has lost. */
static enum status note_lost(struct backup *backup, const char *sha256) {
    char sql[160];
    snprintf(sql, sizeof sql, "INSERT INTO local (name, value) VALUES ('lost:%.64s', '')", sha256);
    return script(backup, sql);
}

static enum status copy_photograph(struct backup *backup, const char *sha256) {
    struct fault here = {0};
    struct stat info;
    int fd = -1;
    enum status status = photographs_open(backup->book, sha256, &fd, &here);
    if (status == STATUS_OK && fstat(fd, &info) != 0)
        status = FAULT(&here, FILE_READ_FAILED, sha256, strerror(errno));
    const bool lost = status != STATUS_OK && photographs_is_lost(backup->book, sha256, &here);
    backup->vanished = lost && here.word != WORD_PHOTOGRAPH_CHANGED;
    if (status == STATUS_OK) {
        backup->out->photographs++;
        backup->out->bytes += (unsigned long long)info.st_size;
        status = put_bytes(backup, sha256, fd, info.st_size);
    } else if (lost && (backup->last_try || !backup->vanished)) {
        lost_add(&backup->out->lost, sha256);
        status = note_lost(backup, sha256);
    } else if (backup->fault) {
        *backup->fault = here;
    }
    if (fd >= 0) close(fd);
    return status;
}

static enum status each_photograph(struct backup *backup,
                                   enum status (*visit)(struct backup *, const char *)) {
    sqlite3_stmt *list = NULL;
    enum status status =
        judge(backup, sqlite3_prepare_v2(backup->copy, "SELECT sha256 FROM kept_file ORDER BY sha256", -1,
                                         &list, NULL));
    int code = SQLITE_OK;
    while (status == STATUS_OK && (code = sqlite3_step(list)) == SQLITE_ROW) {
        char sha256[SHA256_TEXT];
        snprintf(sha256, sizeof sha256, "%s", (const char *)sqlite3_column_text(list, 0));
        status = visit(backup, sha256);
        if (status == STATUS_OK && work_is_cancelled(backup->work)) status = FAULT0(backup->fault, CANCELLED);
    }
    sqlite3_finalize(list);
    return status == STATUS_OK ? judge(backup, code) : status;
}

static int hash_row(struct backup *backup, long long row, char found[SHA256_TEXT]) {
    sqlite3_blob *room = NULL;
    char piece[PIECE];
    struct sha256_sum sum;
    int code = sqlite3_blob_open(backup->copy, "main", "kept_bytes", "bytes", row, 0, &room);
    const int size = code == SQLITE_OK ? sqlite3_blob_bytes(room) : 0;
    sha256_begin(&sum);
    for (int done = 0; code == SQLITE_OK && done < size;) {
        const int n = size - done < PIECE ? size - done : PIECE;
        code = sqlite3_blob_read(room, piece, n, done);
        if (code == SQLITE_OK) sha256_add(&sum, piece, (size_t)n);
        done += n;
    }
    sqlite3_blob_close(room);
    if (code == SQLITE_OK) sha256_end(&sum, found);
    return code;
}

static enum status check_bytes(struct backup *backup, const char *sha256) {
    sqlite3_stmt *select = NULL;
    char found[SHA256_TEXT] = "";
    int code = sqlite3_prepare_v2(
        backup->copy,
        "SELECT rowid FROM kept_bytes WHERE sha256 = ?1 UNION ALL SELECT NULL FROM local WHERE name = "
        "'lost:' || ?1",
        -1, &select, NULL);
    if (code == SQLITE_OK) code = sqlite3_bind_text(select, 1, sha256, -1, SQLITE_STATIC);
    if (code == SQLITE_OK) code = sqlite3_step(select);
    const bool here = code == SQLITE_ROW && sqlite3_column_type(select, 0) != SQLITE_NULL;
    if (code == SQLITE_ROW && !here) snprintf(found, sizeof found, "%s", sha256); /* noted as lost */
    const long long row = here ? sqlite3_column_int64(select, 0) : 0;
    sqlite3_finalize(select);
    if (here && (code = hash_row(backup, row, found)) == SQLITE_OK) code = SQLITE_ROW;
    if (code != SQLITE_ROW && code != SQLITE_DONE) return judge(backup, code);
    return strcmp(found, sha256) == 0 ? STATUS_OK
                                      : FAULT(backup->fault, BACKUP_UNSOUND, backup->path, sha256);
}

static enum status check_integrity(struct backup *backup) {
    sqlite3_stmt *check = NULL;
    char said[200] = "";
    int code = sqlite3_prepare_v2(backup->copy, "PRAGMA integrity_check(1)", -1, &check, NULL);
    if (code == SQLITE_OK) code = sqlite3_step(check);
    if (code == SQLITE_ROW) snprintf(said, sizeof said, "%s", (const char *)sqlite3_column_text(check, 0));
    sqlite3_finalize(check);
    if (code != SQLITE_ROW) return judge(backup, code);
    return strcmp(said, "ok") == 0 ? STATUS_OK : FAULT(backup->fault, BACKUP_UNSOUND, backup->path, said);
}

static enum status count_jobs(struct backup *backup) {
    sqlite3_stmt *count = NULL;
    int code = sqlite3_prepare_v2(backup->copy, "SELECT count(*) FROM job", -1, &count, NULL);
    if (code == SQLITE_OK) code = sqlite3_step(count);
    if (code == SQLITE_ROW) backup->out->jobs = (size_t)sqlite3_column_int64(count, 0);
    sqlite3_finalize(count);
    return judge(backup, code);
}

static enum status fill(struct backup *backup) {
    enum status status = copy_book(backup);
    if (status == STATUS_OK) status = script(backup, settle);
    if (status == STATUS_OK) status = each_photograph(backup, copy_photograph);
    return status == STATUS_OK ? script(backup, "COMMIT") : status;
}

/* Looked through by a connection that has seen none of it. */
static enum status look_through(struct backup *backup, const char *temporary) {
    sqlite3_close(backup->copy);
    backup->copy = NULL;
    enum status status = judge(backup, sqlite3_open_v2(temporary, &backup->copy, SQLITE_OPEN_READONLY, NULL));
    if (status == STATUS_OK) status = check_integrity(backup);
    if (status == STATUS_OK) status = count_jobs(backup);
    return status == STATUS_OK ? each_photograph(backup, check_bytes) : status;
}

static void remove_temporary(const char *temporary) {
    static const char *const endings[] = {"", "-journal", "-wal", "-shm"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        char name[PATH_MAX + 48];
        snprintf(name, sizeof name, "%s%s", temporary, endings[i]);
        unlink(name);
    }
}

static enum status try_once(struct backup *backup, const char *temporary) {
    remove_temporary(temporary);
    *backup->out = (struct backed_up){0};
    backup->vanished = false;
    enum status status = open_copy(backup, temporary);
    if (status == STATUS_OK) status = fill(backup);
    if (status == STATUS_OK) status = look_through(backup, temporary);
    sqlite3_close(backup->copy);
    backup->copy = NULL;
    return status == STATUS_OK ? disk_settle(book_disk(backup->book), temporary, backup->path, backup->fault)
                               : status;
}

/* A backup inside the shop goes down with it, and an erasure would not reach it. */
static bool is_inside(const char *path, const char *dir) {
    char folder[PATH_MAX], shop[PATH_MAX], copy[PATH_MAX];
    snprintf(copy, sizeof copy, "%s", path);
    char *slash = strrchr(copy, '/');
    if (slash) *(slash == copy ? slash + 1 : slash) = 0;
    if (!realpath(slash ? copy : ".", folder) || !realpath(dir, shop)) return false;
    const size_t n = strlen(shop);
    return strncmp(folder, shop, n) == 0 && (folder[n] == 0 || folder[n] == '/');
}

enum status backup_write(struct book *book, const char *path, struct work *work, struct backed_up *out,
                         struct fault *fault) {
    char temporary[PATH_MAX + 32];
    struct backup backup = {.book = book, .path = path, .work = work, .fault = fault, .out = out};
    if (is_inside(path, book_dir(book))) return FAULT(fault, BACKUP_INSIDE, path);
    snprintf(temporary, sizeof temporary, "%s.%ld.tmp", path, (long)getpid());
    enum status status = try_once(&backup, temporary);
    for (int i = 1; i < TRIES && backup.vanished; i++) {
        backup.last_try = i == TRIES - 1;
        status = try_once(&backup, temporary);
    }
    if (status != STATUS_OK) remove_temporary(temporary);
    return status;
}
