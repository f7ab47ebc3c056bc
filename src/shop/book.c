/* Opening, versions, the pen.
 *
 * Invariants: a book that opens has our application_id and exactly the schema BOOK_SCHEMA (older ones are
 * brought up one numbered step at a time, each in a transaction; newer ones are refused); one row of `book`
 * is our own; every connection has foreign keys, WAL, synchronous FULL and secure_delete on, and keeps its
 * temporary tables in memory, so that nothing of a customer reaches another file. */
#include "shop/book.h"
#include "device/zone.h"
#include "shop/asked_store.h"
#include "shop/fold.h"
#include "shop/query.h"
#include "shop/schema.h"
#include "shop/scrub.h"
#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { WAIT_MS = 10000 };

struct book {
    sqlite3 *database;
    struct book_how how;
    char *dir, *file;
    char own[ID_LENGTH + 1];
    struct zone *zone;                               /* of how.clock.zone; read when it is first asked for */
    enum { ASKED_NOT, ASKED_NOW, ASKED_DONE } asked; /* the request's key: is it in the book? */
};

sqlite3 *book_database(const struct book *book) {
    return book->database;
}

void book_need_pen(const struct book *book) {
    assert(!sqlite3_get_autocommit(book->database) && "book_begin comes first");
    (void)book;
}

long long book_now_ms(const struct book *book) {
    return wall_clock_now_ms(&book->how.clock);
}

const char *book_zone(const struct book *book) {
    return book->how.clock.zone;
}

int book_offset_s(struct book *book, long long ms) {
    if (!book->zone) book->zone = zone_open(book->how.clock.zone);
    return zone_offset_s(book->zone, ms);
}

/* Days are counted on the calendar, not by 24 hours: one of them may have 23 or 25. */
const char *book_day(struct book *book, int days, char out[WALL_DAY_TEXT]) {
    const long long now = book_now_ms(book);
    return wall_day_write(now + 1000LL * book_offset_s(book, now) + 86400000LL * days, out);
}

const char *book_asked(const struct book *book) {
    return book->how.asked;
}

const char *book_own_id(const struct book *book) {
    return book->own;
}

void book_new_id(struct book *book, char id[ID_LENGTH + 1]) {
    id_source_next(&book->how.ids, book_now_ms(book), id);
}

const char *book_dir(const struct book *book) {
    return book->dir;
}

const struct disk *book_disk(const struct book *book) {
    return book->how.disk;
}

/* "log-grows entry" of a trigger, and the like. */
static enum status refused_by_trigger(const char *said, const char *file, struct fault *fault) {
    const char *space = strchr(said, ' '), *what = space ? space + 1 : said;
    if (text_starts(said, "log-grows ")) return FAULT(fault, BOOK_LOG_GROWS, file, what);
    if (text_starts(said, "quote-frozen ")) return FAULT(fault, BOOK_QUOTE_FROZEN, file);
    if (text_starts(said, "number-gap ")) return FAULT(fault, BOOK_NUMBER_GAP, file, what);
    if (text_starts(said, "pot-crosslinked ")) return FAULT(fault, BOOK_POT_CROSSLINKED, file);
    if (text_starts(said, "row-stays ")) return FAULT(fault, BOOK_ROW_STAYS, file, what);
    return FAULT(fault, BOOK_REFUSED, file, said);
}

static enum status refused(sqlite3 *database, const char *file, struct fault *fault) {
    const char *said = sqlite3_errmsg(database);
    switch (sqlite3_extended_errcode(database)) {
    case SQLITE_CONSTRAINT_TRIGGER:
        return refused_by_trigger(said, file, fault);
    case SQLITE_CONSTRAINT_FOREIGNKEY:
        return FAULT(fault, BOOK_NOTHING_OF_THAT_KEY, file);
    case SQLITE_CONSTRAINT_UNIQUE:
    case SQLITE_CONSTRAINT_PRIMARYKEY:
    case SQLITE_CONSTRAINT_ROWID:
        return FAULT(fault, BOOK_THERE_ALREADY, file, said);
    default:
        return FAULT(fault, BOOK_REFUSED, file, said);
    }
}

enum status book_fault_of(sqlite3 *database, int code, const char *file, struct fault *fault) {
    switch (code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return FAULT(fault, BOOK_BUSY, file);
    case SQLITE_READONLY:
        return FAULT(fault, BOOK_READ_ONLY, file);
    case SQLITE_FULL:
        return FAULT(fault, BOOK_DISK_FULL, file);
    case SQLITE_CORRUPT:
        return FAULT(fault, BOOK_DAMAGED, file, sqlite3_errstr(code));
    case SQLITE_NOTADB:
        return FAULT(fault, BOOK_STRANGE, file);
    case SQLITE_NOMEM:
        return FAULT0(fault, MEMORY_OUT);
    case SQLITE_CONSTRAINT:
        return refused(database, file, fault);
    default:
        return FAULT(fault, BOOK_DISK, file, database ? sqlite3_errmsg(database) : sqlite3_errstr(code));
    }
}

enum status book_fault(struct book *book, int code, struct fault *fault) {
    return book_fault_of(book->database, code, book->file, fault);
}

static enum status read_pragma(struct book *book, const char *sql, long long *out, struct fault *fault) {
    struct query q = query_make(book, sql, fault);
    if (query_row(&q)) *out = query_get_count(&q, 0);
    return query_end(&q);
}

/* Ours, empty, or a stranger's? */
static enum status check_owner(struct book *book, long long *version, struct fault *fault) {
    long long application = 0, tables = 0;
    enum status status = read_pragma(book, "PRAGMA application_id", &application, fault);
    if (status == STATUS_OK) status = read_pragma(book, "PRAGMA user_version", version, fault);
    if (status == STATUS_OK) status = read_pragma(book, "SELECT count(*) FROM sqlite_schema", &tables, fault);
    if (status != STATUS_OK) return status;
    if (application != BOOK_APPLICATION && (application != 0 || tables != 0 || *version != 0))
        return FAULT(fault, BOOK_STRANGE, book->file);
    if (*version > BOOK_SCHEMA)
        return FAULT(fault, BOOK_NEWER, book->file, COUNT_TEXT(*version), COUNT_TEXT(BOOK_SCHEMA));
    return STATUS_OK;
}

static enum status apply_step(struct book *book, int version, struct fault *fault) {
    char pragmas[120];
    snprintf(pragmas, sizeof pragmas, "PRAGMA application_id = %d; PRAGMA user_version = %d;",
             BOOK_APPLICATION, version);
    const enum status status = query_script(book, schema_step(version), fault);
    return status == STATUS_OK ? query_script(book, pragmas, fault) : status;
}

/* One step more. Another program may have made it while we waited for the pen. */
static enum status climb(struct book *book, long long *version, struct fault *fault) {
    enum status status = query_script(book, "BEGIN IMMEDIATE", fault);
    if (status == STATUS_OK) status = check_owner(book, version, fault);
    if (status == STATUS_OK && *version < BOOK_SCHEMA) {
        status = apply_step(book, (int)*version + 1, fault);
        if (status == STATUS_OK && ++*version == 1) {
            struct query q = query_make(book, "INSERT INTO book (id, own, made_ms) VALUES (?, 1, ?)", fault);
            char id[ID_LENGTH + 1];
            book_new_id(book, id);
            query_text(&q, id);
            query_count(&q, book_now_ms(book));
            status = query_run(&q);
        }
    }
    return book_end(book, status, fault);
}

static enum status bring_up(struct book *book, struct fault *fault) {
    long long version = 0;
    enum status status = check_owner(book, &version, fault);
    if (status == STATUS_OK && version == 0 && !book->how.make)
        return FAULT(fault, SHOP_HALF_MADE, book->dir);
    if (status == STATUS_OK && version > 0 && book->how.make) return FAULT(fault, SHOP_THERE, book->dir);
    while (status == STATUS_OK && version < BOOK_SCHEMA) status = climb(book, &version, fault);
    return status;
}

static const char settings[] =
    "PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL; PRAGMA secure_delete = ON;"
    "PRAGMA temp_store = MEMORY; PRAGMA trusted_schema = OFF;"
    "PRAGMA cell_size_check = ON; PRAGMA recursive_triggers = OFF;";

/* WAL is kept in the file; where it cannot be had (some network folders), the promise cannot be kept. */
static enum status settle(struct book *book, struct fault *fault) {
    sqlite3_extended_result_codes(book->database, 1);
    sqlite3_busy_timeout(book->database, WAIT_MS);
    enum status status = query_script(book, settings, fault);
    if (status == STATUS_OK && fold_install(book->database) != SQLITE_OK)
        status = book_fault_of(book->database, sqlite3_errcode(book->database), book->file, fault);
    struct query q = query_make(book, "PRAGMA journal_mode = WAL", fault);
    char mode[ID_LENGTH + 1] = "";
    if (status == STATUS_OK && query_row(&q)) query_get_id(&q, 0, mode);
    const enum status asked = query_end(&q);
    if (status != STATUS_OK || asked != STATUS_OK) return status != STATUS_OK ? status : asked;
    return strcmp(mode, "wal") == 0 ? STATUS_OK : FAULT(fault, BOOK_NO_WAL, book->file);
}

static enum status read_own(struct book *book, struct fault *fault) {
    struct query q = query_make(book, "SELECT id FROM book WHERE own = 1", fault);
    if (query_row(&q)) query_get_id(&q, 0, book->own);
    const enum status status = query_end(&q);
    if (status != STATUS_OK || book->own[0]) return status;
    return FAULT(fault, BOOK_DAMAGED, book->file, "it does not say which book it is");
}

/* A JSON text, as settings are: "Europe/Vienna" with its quotation marks. */
static enum status read_zone(struct book *book, struct fault *fault) {
    struct query q = query_make(book, "SELECT trim(document, '\"') FROM setting WHERE name = 'zone'", fault);
    struct arena *arena = arena_new();
    if (query_row(&q)) {
        const char *name = query_get_text(&q, 0, arena);
        if (zone_name_is_good(name)) snprintf(book->how.clock.zone, sizeof book->how.clock.zone, "%s", name);
    }
    arena_free(arena);
    return query_end(&q);
}

/* A folder lasts when the one that it stands in was synced; where that cannot be done, the first commit says
 * so. */
static void sync_parent(const char *path) {
    char parent[PATH_MAX];
    snprintf(parent, sizeof parent, "%s", path);
    char *slash = strrchr(parent, '/');
    if (slash) *(slash == parent ? slash + 1 : slash) = 0;
    const int fd = open(slash ? parent : ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0) return;
    fsync(fd);
    close(fd);
}

static bool make_folder(const char *path) {
    if (mkdir(path, 0700) != 0) return errno == EEXIST;
    sync_parent(path);
    return true;
}

/* Only the owner reads a customer's data. The folder's parents are made too. */
bool book_make_folders(const char *dir) {
    char path[PATH_MAX];
    snprintf(path, sizeof path, "%s", dir);
    for (char *slash = strchr(path + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        *slash = 0;
        if (!make_folder(path)) return false;
        *slash = '/';
    }
    return make_folder(path);
}

static enum status make_place(struct book *book, struct fault *fault) {
    if (!book_make_folders(book->dir)) return FAULT(fault, SHOP_CANNOT_MAKE, book->dir, strerror(errno));
    const int fd = book->how.disk->open(book->file, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (fd < 0) return FAULT(fault, SHOP_CANNOT_MAKE, book->dir, strerror(errno));
    close(fd);
    return STATUS_OK;
}

static enum status find_place(struct book *book, struct fault *fault) {
    if (book->how.make) return make_place(book, fault);
    return disk_has(book->file) ? STATUS_OK : FAULT(fault, SHOP_NONE, book->dir);
}

static enum status open_database(struct book *book, struct fault *fault) {
    const int code =
        sqlite3_open_v2(book->file, &book->database, SQLITE_OPEN_READWRITE | SQLITE_OPEN_FULLMUTEX, NULL);
    if (code == SQLITE_OK) return STATUS_OK;
    return book_fault_of(book->database, code, book->file, fault);
}

static char *joined(const char *dir, const char *name) {
    struct text path = {0};
    text_format(&path, "%s%s%s", dir, *name ? "/" : "", name);
    return path.data;
}

enum status book_open(const char *dir, struct book_how how, struct book **out, struct fault *fault) {
    struct book *book = memory_need(1, sizeof *book);
    book->how = how;
    book->dir = joined(dir, "");
    book->file = joined(dir, "book.sqlite");
    *out = NULL;
    enum status status = find_place(book, fault);
    if (status == STATUS_OK) status = open_database(book, fault);
    if (status == STATUS_OK) status = settle(book, fault);
    if (status == STATUS_OK) status = bring_up(book, fault);
    if (status == STATUS_OK) status = read_own(book, fault);
    if (status == STATUS_OK) status = read_zone(book, fault);
    if (status == STATUS_OK) status = scrub_finish(book, fault);
    if (status == STATUS_OK)
        *out = book;
    else
        book_close(book);
    return status;
}

void book_close(struct book *book) {
    if (!book) return;
    sqlite3_close(book->database);
    zone_close(book->zone);
    memory_free(book->dir);
    memory_free(book->file);
    memory_free(book);
}

/* A seeded source takes another turn with each transaction, so that a script of many programs has one row of
 * keys that can be repeated. */
static enum status take_turn(struct book *book, struct fault *fault) {
    if (!book->how.ids.seeded) return STATUS_OK;
    struct query q = query_make(book, "UPDATE book SET turn = turn + 1 WHERE own = 1 RETURNING turn", fault);
    while (query_row(&q)) id_source_turn(&book->how.ids, (unsigned long long)query_get_count(&q, 0));
    return query_end(&q);
}

enum status book_begin(struct book *book, struct fault *fault) {
    enum status status = query_script(book, "BEGIN IMMEDIATE", fault);
    if (status != STATUS_OK) return status;
    status = take_turn(book, fault);
    if (status == STATUS_OK && book->how.asked && book->asked == ASKED_NOT) {
        status = asked_store_keep(book, book->how.asked, fault);
        if (status == STATUS_OK) book->asked = ASKED_NOW;
    }
    if (status != STATUS_OK) book_rollback(book);
    return status;
}

enum status book_look(struct book *book, struct fault *fault) {
    enum status status = query_script(book, "BEGIN", fault);
    long long ignored;
    if (status == STATUS_OK) status = read_pragma(book, "SELECT count(*) FROM book", &ignored, fault);
    return status;
}

/* A commit that failed (a full disk) leaves the transaction open: it is put back. */
enum status book_commit(struct book *book, struct fault *fault) {
    book_need_pen(book);
    const enum status status = query_script(book, "COMMIT", fault);
    if (status == STATUS_OK && book->asked == ASKED_NOW) book->asked = ASKED_DONE;
    if (status != STATUS_OK) book_rollback(book);
    return status;
}

void book_rollback(struct book *book) {
    if (book->asked == ASKED_NOW) book->asked = ASKED_NOT;
    if (sqlite3_get_autocommit(book->database)) return; /* SQLite has put it back already */
    const int code = sqlite3_exec(book->database, "ROLLBACK", NULL, NULL, NULL);
    (void)code; /* what could be said was said by what went wrong before */
}

enum status book_end(struct book *book, enum status status, struct fault *fault) {
    if (status == STATUS_OK) return book_commit(book, fault);
    book_rollback(book);
    return status;
}
