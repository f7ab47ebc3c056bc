/* Books, backups and exports that nobody should hand in: each ends in one sentence, and the shop stays as it
 * was. Archives are made with libzip, books with SQLite. All invented. */
#include "check.h"
#include "shop/backup.h"
#include "shop/check.h"
#include "shop/export.h"
#include "shop/import.h"
#include "shop/query.h"
#include "shop_fill.h"
#include <fcntl.h>
#include <zip.h>

static struct filled filled;
static char outside[256];

static const char *out(char path[600], const char *name) {
    snprintf(path, 600, "%s/%s", outside, name);
    return path;
}

static void copy_file(const char *from, const char *to) {
    struct arena *arena = arena_new();
    struct bytes bytes;
    SHOP_DOES(disk_read(disk_real(), from, 64, arena, &bytes, &shop_fault));
    SHOP_DOES(disk_write(disk_real(), to, bytes.data, bytes.size, &shop_fault));
    arena_free(arena);
}

static void run_sql(const char *file, const char *sql) {
    sqlite3 *database;
    CHECK(sqlite3_open(file, &database) == SQLITE_OK);
    CHECK(sqlite3_exec(database, sql, NULL, NULL, NULL) == SQLITE_OK);
    sqlite3_close(database);
}

static bool is_sound(struct book *book) {
    struct arena *arena = arena_new();
    struct checked checked = {0};
    const bool sound =
        check_book(book, arena, NULL, &checked, &shop_fault) == STATUS_OK && checked.problem_count == 0;
    if (!sound && checked.problem_count) printf("  %s\n", checked.problem[0].text);
    json_decref(checked.rows);
    arena_free(arena);
    return sound;
}

/* -- opening ------------------------------------------------------------------------------------------ */

static enum word opened(struct shop_room *room) {
    struct book *book;
    struct fault fault = {0};
    if (book_open(room->dir, shop_room_how(room, 0), &book, &fault) == STATUS_OK) book_close(book);
    return fault.word;
}

static void books_that_are_not_ours_are_refused_and_left_alone(void) {
    struct shop_room room;
    char file[600];
    shop_room_make(&room, 0);
    snprintf(file, sizeof file, "%s/book.sqlite", room.dir);
    book_close(room.book);
    room.book = NULL;
    run_sql(file, "PRAGMA user_version = 99");
    CHECK(opened(&room) == WORD_BOOK_NEWER);
    run_sql(file, "PRAGMA user_version = 1; PRAGMA application_id = 7");
    CHECK(opened(&room) == WORD_BOOK_STRANGE);
    SHOP_DOES(disk_write(disk_real(), file, "this is no book, though it is long enough to be looked at ...",
                         60, &shop_fault));
    CHECK(opened(&room) == WORD_BOOK_STRANGE);
    SHOP_DOES(disk_write(disk_real(), file, "", 0, &shop_fault));
    CHECK(opened(&room) == WORD_SHOP_HALF_MADE); /* the making was interrupted */
    struct book_how how = shop_room_how(&room, 0);
    how.make = true;
    SHOP_DOES(book_open(room.dir, how, &room.book, &shop_fault)); /* and is finished */
    struct book *again;
    struct fault fault = {0};
    CHECK(book_open(room.dir, how, &again, &fault) == STATUS_INPUT && fault.word == WORD_SHOP_THERE);
    CHECK(is_sound(room.book));
    shop_room_end(&room);
    CHECK(opened(&room) == WORD_SHOP_NONE);
}

/* Flipped bytes anywhere in the file: refused in words, or found by check, or harmless; never a crash. */
static void a_damaged_book_is_found(void) {
    struct shop_room room;
    char file[600], whole[600];
    unsigned long long seed = 5;
    int found = 0, rounds = getenv("RUSSET_LONG") ? 400 : 40;
    shop_room_make(&room, 0);
    fill_shop(room.book, &filled, room.arena);
    book_close(room.book);
    snprintf(file, sizeof file, "%s/book.sqlite", room.dir);
    snprintf(whole, sizeof whole, "%s/whole", room.dir);
    copy_file(file, whole);
    for (int i = 0; i < rounds; i++) {
        struct fault fault = {0};
        struct checked checked = {0};
        copy_file(whole, file);
        const int fd = open(file, O_RDWR);
        for (int k = 0; k < 40; k++) {
            const unsigned char byte = (unsigned char)(256 * check_random(&seed));
            CHECK(pwrite(fd, &byte, 1, (off_t)(450000 * check_random(&seed))) == 1);
        }
        close(fd);
        room.book = NULL;
        enum status status = book_open(room.dir, shop_room_how(&room, 0), &room.book, &fault);
        if (status == STATUS_OK) status = check_book(room.book, room.arena, NULL, &checked, &fault);
        CHECK(status == STATUS_OK || fault.text[0]);
        found += status != STATUS_OK || checked.problem_count;
        json_decref(checked.rows);
        book_close(room.book);
    }
    printf("  figure: %d of %d books with 40 flipped bytes were refused or found by check (the rest lay in "
           "free space)\n",
           found, rounds);
    CHECK(found > 0);
    room.book = NULL;
    shop_room_end(&room);
}

static void check_finds_what_is_wrong(void) {
    static const struct {
        const char *sql, *problem;
    } wrong[] = {
        {"DROP TRIGGER entry_never_changed", "check-schema"},
        {"DROP TRIGGER entry_never_changed; UPDATE entry SET document = '{' WHERE rowid = 1",
         "check-document"},
        {"DROP TRIGGER entry_never_changed; UPDATE entry SET document = replace(document, '0.43', '0.11')",
         "check-seal"},
        {"DROP TRIGGER invoice_gapless; INSERT INTO invoice (id, job, origin, number, issued_day, currency, "
         "total_minor, "
         "document, made_ms, zone) SELECT 'x', job, origin, 7, issued_day, currency, 1, '{}', 1, 'UTC' FROM "
         "invoice",
         "check-numbers"},
        {"DROP TRIGGER pot_never_back; INSERT INTO pot_event (id, pot, kind, at_ms, zone) SELECT kind, id, "
         "kind, at, 'UTC' "
         "FROM pot, (SELECT 'crosslinked' kind, 1 at UNION SELECT 'put-back', 2)",
         "check-pot"},
        {"INSERT INTO erasing VALUES ('x')", "check-erasing"},
        {"INSERT INTO tombstone SELECT id, 1 FROM customer", "check-buried"},
        {"PRAGMA foreign_keys = OFF; UPDATE job SET customer = 'nobody'", "check-references"},
        {"INSERT INTO kept_file VALUES ('0123456789012345678901234567890123456789012345678901234567890123', "
         "'image/jpeg', 1, 1)",
         "check-picture-missing"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        struct shop_room room;
        struct checked checked = {0};
        char file[600], key[80];
        bool found = false;
        shop_room_make(&room, 4);
        fill_shop(room.book, &filled, room.arena);
        snprintf(file, sizeof file, "%s/book.sqlite", room.dir);
        run_sql(file, wrong[i].sql);
        SHOP_DOES(check_book(room.book, room.arena, NULL, &checked, &shop_fault));
        for (size_t k = 0; k < checked.problem_count; k++) {
            word_key(checked.problem[k].word, key, sizeof key);
            found = found || strcmp(key, wrong[i].problem) == 0;
        }
        if (!found) printf("  %s was not found\n", wrong[i].problem);
        CHECK(found);
        json_decref(checked.rows);
        shop_room_end(&room);
    }
}

static void check_rehashes_every_photograph(void) {
    struct shop_room room;
    struct checked checked = {0};
    char path[PHOTOGRAPH_PATH];
    size_t removed;
    shop_room_make(&room, 4);
    fill_shop(room.book, &filled, room.arena);
    const int fd = open(photographs_path(room.dir, filled.photograph[0], path), O_WRONLY);
    CHECK(fd >= 0 && pwrite(fd, "x", 1, 30000) == 1);
    close(fd);
    unlink(photographs_path(room.dir, filled.photograph[1], path));
    SHOP_DOES(disk_write(disk_real(), strcat(path, ".77.tmp"), "half", 4,
                         &shop_fault)); /* of a plug that was pulled */
    SHOP_DOES(check_book(room.book, room.arena, NULL, &checked, &shop_fault));
    CHECK(checked.photographs.count == 3 && checked.photographs.missing_count == 1 &&
          checked.photographs.changed_count == 1 && checked.photographs.orphans == 1 &&
          checked.problem_count == 2);
    json_decref(checked.rows);
    SHOP_DOES(photographs_tidy(room.book, &removed, &shop_fault));
    CHECK(removed == 1 && !disk_has(path));
    /* the same pictures, come again, heal it */
    char sha256[SHA256_TEXT];
    const struct bytes one = shop_room_picture(room.arena, 1, 40000),
                       two = shop_room_picture(room.arena, 2, 3000);
    SHOP_DOES(book_begin(room.book, &shop_fault));
    SHOP_DOES(photographs_keep(room.book, &one, sha256, &shop_fault));
    SHOP_DOES(photographs_keep(room.book, &two, sha256, &shop_fault));
    SHOP_DOES(book_commit(room.book, &shop_fault));
    CHECK(is_sound(room.book));
    shop_room_end(&room);
}

/* -- imports ------------------------------------------------------------------------------------------ */

struct member {
    const char *name;
    const void *data;
    size_t size;
};

#define LINES(name, text) \
    { name, text, sizeof(text) - 1 }

static void write_zip(const char *path, const struct member *member, size_t count) {
    int code;
    unlink(path);
    zip_t *zip = zip_open(path, ZIP_CREATE, &code);
    for (size_t i = 0; i < count; i++) {
        zip_source_t *source = zip_source_buffer(zip, member[i].data, member[i].size, 0);
        CHECK(zip_file_add(zip, member[i].name, source, 0) >= 0);
    }
    CHECK(zip_close(zip) == 0);
}

static const char manifest[] =
    "{\"russet\":\"0.1.0\",\"kind\":\"shop-export\",\"format\":1,\"schema\":1,\"rows\":{}}";
static const char newer[] =
    "{\"russet\":\"9\",\"kind\":\"shop-export\",\"format\":1,\"schema\":999,\"rows\":{}}";
static const char other_kind[] = "{\"russet\":\"9\",\"kind\":\"match\",\"format\":1}";

static enum word imported(struct book *book, const char *path) {
    struct imported done;
    struct fault fault = {0};
    const enum status status = import_read(book, path, NULL, &done, &fault);
    CHECK((status == STATUS_OK) == (fault.word == WORD_NONE));
    CHECK(text_is_utf8(fault.text, strlen(fault.text)) && !strpbrk(fault.text, "\x1b\n\r\a"));
    return fault.word;
}

static void an_export_from_a_stranger_is_refused_whole(void) {
    struct shop_room room;
    char path[600];
    static char zeros[48 << 20]; /* 48 MiB of nothing pack to under 50 kB */
    const struct {
        enum word word;
        struct member member[3];
    } cases[] = {
        {WORD_IMPORT_NOT_ONE, {{"jobs.csv", "x", 1}}},
        {WORD_BOOK_NEWER, {{"russet.json", newer, sizeof newer - 1}}},
        {WORD_JSON_KIND_OTHER, {{"russet.json", other_kind, sizeof other_kind - 1}}},
        {WORD_ZIP_NAME, {{"russet.json", manifest, sizeof manifest - 1}, {"../evil.jpg", "x", 1}}},
        {WORD_ZIP_NAME, {{"russet.json", manifest, sizeof manifest - 1}, {"/etc/evil", "x", 1}}},
        /* No UTF-8, though libzip takes it for such; orders to a terminal (found by import_fuzz). */
        {WORD_ZIP_NAME, {{"russet.json", manifest, sizeof manifest - 1}, {"\xf6\x9c\x90\xa7:", "x", 1}}},
        {WORD_ZIP_NAME, {{"russet.json", manifest, sizeof manifest - 1}, {"\x1b[2J.jpg", "x", 1}}},
        {WORD_ZIP_NAME,
         {{"russet.json", manifest, sizeof manifest - 1}, {"pictures/../../evil.jpg", "x", 1}}},
        {WORD_ZIP_NAME, {{"russet.json", manifest, sizeof manifest - 1}, {"rows\\\\job.jsonl", "x", 1}}},
        {WORD_ZIP_NAME,
         {{"russet.json", manifest, sizeof manifest - 1}, {"rows/sqlite_schema.jsonl", "{}\n", 3}}},
        {WORD_ZIP_NAME, {{"russet.json", manifest, sizeof manifest - 1}, {"rows/device.jsonl", "{}\n", 3}}},
        {WORD_ZIP_NAME, {{"russet.json", manifest, sizeof manifest - 1}, {"rows/erasing.jsonl", "{}\n", 3}}},
        {WORD_ZIP_NAME, {{"russet.json", manifest, sizeof manifest - 1}, {"book.sqlite", "x", 1}}},
        {WORD_ZIP_BOMB,
         {{"russet.json", manifest, sizeof manifest - 1}, {"rows/entry.jsonl", zeros, sizeof zeros}}},
        {WORD_IMPORT_LINE, {{"russet.json", manifest, sizeof manifest - 1}, {"rows/job.jsonl", "[1]\n", 4}}},
        {WORD_IMPORT_LINE,
         {{"russet.json", manifest, sizeof manifest - 1}, {"rows/job.jsonl", "{\"id\":\n", 7}}},
        {WORD_IMPORT_KEY,
         {{"russet.json", manifest, sizeof manifest - 1},
          LINES("rows/setting.jsonl", "{\"name\":\"a\",\"document\":{},\"changed_ms\":1,\"x\":1}\n")}},
        {WORD_IMPORT_VALUE,
         {{"russet.json", manifest, sizeof manifest - 1},
          LINES("rows/setting.jsonl", "{\"name\":\"a\",\"document\":{},\"changed_ms\":\"1\"}\n")}},
        {WORD_IMPORT_VALUE,
         {{"russet.json", manifest, sizeof manifest - 1},
          LINES("rows/setting.jsonl", "{\"name\":\"a\",\"document\":{}}\n")}},
        {WORD_ZIP_BROKEN,
         {{"russet.json", manifest, sizeof manifest - 1}, LINES("rows/setting.jsonl", "{\"name\":\"a\"}")}},
        {WORD_IMPORT_VALUE,
         {{"russet.json", manifest, sizeof manifest - 1},
          LINES("rows/tombstone.jsonl", "{\"id\":\"../../x\",\"at_ms\":1}\n")}},
        {WORD_BOOK_NOTHING_OF_THAT_KEY,
         {{"russet.json", manifest, sizeof manifest - 1},
          LINES("rows/colour_piece.jsonl", "{\"colour\":\"a\",\"piece\":\"b\"}\n")}},
        {WORD_IMPORT_PICTURE,
         {{"russet.json", manifest, sizeof manifest - 1},
          {"pictures/ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad.jpg", "abd", 3}}},
        {WORD_PHOTOGRAPH_KIND,
         {{"russet.json", manifest, sizeof manifest - 1},
          {"pictures/ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad.jpg", "abc", 3}}},
        {WORD_IMPORT_PICTURE_MISSING,
         {{"russet.json", manifest, sizeof manifest - 1},
          LINES("rows/kept_file.jsonl",
                "{\"sha256\":\"ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad\",\"media\":"
                "\"image/jpeg\",\"size\":3,"
                "\"added_ms\":1}\n")}},
    };
    shop_room_make(&room, 0);
    fill_shop(room.book, &filled, room.arena);
    char before[600], after[600];
    struct exported exported;
    SHOP_DOES(export_write(room.book, out(before, "before.zip"), NULL, &exported, &shop_fault));
    out(path, "evil.zip");
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        size_t count = 0;
        while (count < 3 && cases[i].member[count].name) count++;
        write_zip(path, cases[i].member, count);
        const enum word word = imported(room.book, path);
        if (word != cases[i].word) printf("  case %zu ended with %s\n", i, word_sentence(word));
        CHECK(word == cases[i].word);
    }
    SHOP_DOES(export_write(room.book, out(after, "after.zip"), NULL, &exported, &shop_fault));
    struct arena *arena = arena_new();
    struct bytes a, b;
    SHOP_DOES(disk_read(disk_real(), before, 64, arena, &a, &shop_fault));
    SHOP_DOES(disk_read(disk_real(), after, 64, arena, &b, &shop_fault));
    CHECK(a.size == b.size && memcmp(a.data, b.data, a.size) == 0);
    arena_free(arena);
    CHECK(is_sound(room.book) && !disk_has("/tmp/evil.jpg"));
    shop_room_end(&room);
}

/* Any byte of a good export changed: refused, or taken whole; the shop is sound either way. */
static void a_damaged_export_is_refused_or_taken_whole(void) {
    struct shop_room room, into;
    char good[600], bad[600];
    struct exported exported;
    unsigned long long seed = 23;
    struct arena *arena = arena_new();
    struct bytes bytes;
    int refused = 0, rounds = getenv("RUSSET_LONG") ? 1000 : 60;
    shop_room_make(&room, 0);
    fill_shop(room.book, &filled, room.arena);
    SHOP_DOES(export_write(room.book, out(good, "good.zip"), NULL, &exported, &shop_fault));
    SHOP_DOES(disk_read(disk_real(), good, 64, arena, &bytes, &shop_fault));
    char *copy = arena_text(arena, (const char *)bytes.data, bytes.size);
    shop_room_make(&into, 0);
    out(bad, "bad.zip");
    for (int i = 0; i < rounds; i++) {
        const size_t at = (size_t)((double)bytes.size * check_random(&seed));
        const size_t size = i % 4 == 0 ? at : bytes.size; /* every fourth is cut */
        copy[at] = (char)(256 * check_random(&seed));
        SHOP_DOES(disk_write(disk_real(), bad, copy, size, &shop_fault));
        copy[at] = (char)bytes.data[at];
        refused += imported(into.book, bad) != WORD_NONE;
        CHECK(is_sound(into.book));
    }
    printf("  figure: %d of %d damaged exports refused, the shop sound after each\n", refused, rounds);
    CHECK(refused > rounds / 2);
    arena_free(arena);
    shop_room_end(&into);
    shop_room_end(&room);
}

/* -- backups ------------------------------------------------------------------------------------------ */

static enum word restored(struct shop_room *room, const char *file) {
    struct restored done;
    struct fault fault = {0};
    char place[600];
    const enum status status =
        restore_read(file, out(place, "place"), shop_room_how(room, 0), NULL, 0, NULL, &done, &fault);
    CHECK(disk_has(place) == (status == STATUS_OK));
    if (status == STATUS_OK) shop_room_remove(place);
    return fault.word;
}

static void a_backup_from_a_stranger_is_refused(void) {
    static const struct {
        const char *sql;
        enum word word;
    } wrong[] = {
        {"PRAGMA user_version = 99", WORD_BOOK_NEWER},
        {"PRAGMA application_id = 1", WORD_BACKUP_NOT_ONE},
        {"DROP TABLE kept_bytes", WORD_BACKUP_NOT_ONE},
        {"CREATE TRIGGER evil AFTER INSERT ON tombstone BEGIN DELETE FROM local; END", WORD_BACKUP_NOT_ONE},
        {"DROP TRIGGER entry_never_changed", WORD_BACKUP_NOT_ONE},
        {"CREATE TABLE more (x)", WORD_BACKUP_NOT_ONE},
        {"UPDATE kept_bytes SET bytes = x'ffd8ff00'", WORD_BACKUP_UNSOUND},
        {"DELETE FROM kept_bytes", WORD_BACKUP_UNSOUND},
        {"UPDATE job SET about = 'no JSON'", WORD_BACKUP_UNSOUND},
    };
    struct shop_room room;
    struct backed_up backed;
    char good[600], bad[600];
    shop_room_make(&room, 0);
    fill_shop(room.book, &filled, room.arena);
    SHOP_DOES(backup_write(room.book, out(good, "good"), NULL, &backed, &shop_fault));
    CHECK(restored(&room, good) == WORD_NONE);
    out(bad, "bad");
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        copy_file(good, bad);
        run_sql(bad, wrong[i].sql);
        const enum word word = restored(&room, bad);
        if (word != wrong[i].word) printf("  %s: %s\n", wrong[i].sql, word_sentence(word));
        CHECK(word == wrong[i].word);
    }
    CHECK(truncate(bad, 100000) == 0 && restored(&room, bad) != WORD_NONE);
    SHOP_DOES(disk_write(disk_real(), bad, "no backup", 9, &shop_fault));
    CHECK(restored(&room, bad) == WORD_BACKUP_NOT_ONE);
    CHECK(restored(&room, out(bad, "nothing there")) == WORD_FILE_CANNOT_OPEN);
    shop_room_end(&room);
}

/* Books that each version wrote are opened for ever (tests/data/shop/VERSION.backup). */
static void books_of_every_version_open(void) {
    for (int version = 1; version <= BOOK_SCHEMA; version++) {
        struct shop_room room = {.ms = 1773496800000LL, .arena = arena_new()};
        struct restored done;
        char file[600];
        snprintf(file, sizeof file, TEST_DATA "/shop/%d.backup", version);
        shop_room_folder(room.dir, "version");
        SHOP_DOES(restore_read(file, room.dir, shop_room_how(&room, 0), NULL, 0, NULL, &done, &shop_fault));
        SHOP_DOES(book_open(room.dir, shop_room_how(&room, 0), &room.book, &shop_fault));
        CHECK(done.jobs == 2 && done.photographs == 3 && is_sound(room.book));
        struct customer_row customer;
        SHOP_DOES(customer_store_find(room.book, FILL_NAME, room.arena, &customer, &shop_fault));
        CHECK_TEXT(customer.telephone, FILL_TELEPHONE);
        shop_room_end(&room);
    }
}

/* A book of version 2 whose only pour (12.53 g of 1000) was put right before that gave the stock back: it
 * returns once, as the same move in every copy of the book, and not where the lot was counted since. */
static long long stock_after(struct shop_room *room, const char *sql, const char *name) {
    struct restored done;
    struct lot_row *lot;
    size_t count = 0;
    char file[600];
    *room = (struct shop_room){.ms = 1773496800000LL, .arena = arena_new()};
    copy_file(TEST_DATA "/shop/2.backup", out(file, name));
    run_sql(file, sql);
    shop_room_folder(room->dir, "version");
    SHOP_DOES(restore_read(file, room->dir, shop_room_how(room, 0), NULL, 0, NULL, &done, &shop_fault));
    SHOP_DOES(book_open(room->dir, shop_room_how(room, 0), &room->book, &shop_fault));
    CHECK(is_sound(room->book));
    SHOP_DOES(toner_store_lots(room->book, "white", room->arena, &lot, &count, &shop_fault));
    return count == 1 ? lot[0].stock_mg : -1;
}

static void stock_of_a_pour_that_was_put_right_returns_when_the_book_is_brought_up(void) {
    static const char righted[] = "INSERT INTO entry SELECT '019ceca5-9400-7001-8000-000000000001', job, "
                                  "piece, colour, step, kind, '', document,"
                                  " id, at_ms + 1000, zone FROM entry WHERE id = (SELECT entry FROM pot);";
    static const char counted[] =
        "INSERT INTO entry SELECT '019ceca5-9400-7001-8000-000000000001', job, piece, colour, step, kind, "
        "'', document,"
        " id, at_ms + 1000, zone FROM entry WHERE id = (SELECT entry FROM pot);"
        "INSERT INTO stock_move SELECT '019ceca5-9400-7001-8000-000000000002', id, 5000, 'counted', NULL, '',"
        " created_ms + 2000, 'UTC' FROM lot;";
    struct shop_room one, two, other;
    struct exported exported;
    struct imported imported;
    struct lot_row *lot;
    size_t count;
    char zip[600];
    CHECK(stock_after(&other, "SELECT 1", "as it was") == 1000000 - 12530);
    shop_room_end(&other);
    CHECK(stock_after(&other, counted, "counted") == 1000000 - 12530 + 5000);
    shop_room_end(&other);
    CHECK(stock_after(&one, righted, "one") == 1000000);
    CHECK(stock_after(&two, righted, "two") == 1000000);
    SHOP_DOES(export_write(one.book, out(zip, "one.zip"), NULL, &exported, &shop_fault));
    SHOP_DOES(import_read(two.book, zip, NULL, &imported, &shop_fault));
    SHOP_DOES(toner_store_lots(two.book, "white", two.arena, &lot, &count, &shop_fault));
    CHECK(count == 1 && lot[0].stock_mg == 1000000);
    shop_room_end(&one);
    shop_room_end(&two);
}

/* RUSSET_WRITE_VERSION=FILE writes the book of this version, to be kept in tests/data/shop. */
static void write_version(const char *file) {
    struct shop_room room;
    struct backed_up backed;
    shop_room_make(&room, 1);
    fill_shop(room.book, &filled, room.arena);
    SHOP_DOES(backup_write(room.book, file, NULL, &backed, &shop_fault));
    shop_room_end(&room);
}

int main(void) {
    if (getenv("RUSSET_WRITE_VERSION")) return write_version(getenv("RUSSET_WRITE_VERSION")), 0;
    shop_room_folder(outside, "outside");
    RUN(books_that_are_not_ours_are_refused_and_left_alone);
    RUN(a_damaged_book_is_found);
    RUN(check_finds_what_is_wrong);
    RUN(check_rehashes_every_photograph);
    RUN(an_export_from_a_stranger_is_refused_whole);
    RUN(a_damaged_export_is_refused_or_taken_whole);
    RUN(a_backup_from_a_stranger_is_refused);
    RUN(books_of_every_version_open);
    RUN(stock_of_a_pour_that_was_put_right_returns_when_the_book_is_brought_up);
    shop_room_remove(outside);
    return check_done();
}
