/* The book as a whole: what it refuses, check, backup, restore, export, import, erasure. The peers are
 * SQLite's own checks and the bytes of the files. All data invented. */
#include "check.h"
#include "shop/backup.h"
#include "shop/check.h"
#include "shop/erase.h"
#include "shop/export.h"
#include "shop/import.h"
#include "shop/query.h"
#include "shop/scrub.h"
#include "shop_fill.h"
#include <fcntl.h>
#include <zip.h>

static struct filled filled;

static void make(struct shop_room *room) {
    shop_room_make(room, 3);
    fill_shop(room->book, &filled, room->arena);
}

static size_t problems(struct book *book, bool tell) {
    struct arena *arena = arena_new();
    struct checked checked;
    struct fault fault = {0};
    size_t count = 99;
    if (check_book(book, arena, NULL, &checked, &fault) == STATUS_OK) {
        count = checked.problem_count;
        for (size_t i = 0; tell && i < count; i++) printf("  %s\n", checked.problem[i].text);
        json_decref(checked.rows);
    } else if (tell) {
        printf("  %s\n", fault.text);
    }
    arena_free(arena);
    return count;
}

/* Every table but `erasing` and `local` has a row: else the tests below would prove less than they say. */
static void the_filling_has_a_row_in_every_table(void) {
    struct shop_room room;
    make(&room);
    size_t count;
    struct query q =
        query_make(room.book, "SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY 1", NULL);
    for (count = 0; query_row(&q); count++) {
        const char *name = query_get_text(&q, 0, room.arena);
        char sql[100];
        snprintf(sql, sizeof sql, "SELECT count(*) FROM %s", name);
        struct query rows = query_make(room.book, sql, NULL);
        const bool any = query_row(&rows) && query_get_count(&rows, 0) > 0;
        CHECK(query_end(&rows) == STATUS_OK);
        if (!any && strcmp(name, "erasing") && strcmp(name, "local") && strcmp(name, "tombstone")) {
            printf("  %s is empty\n", name);
            CHECK(any);
        }
    }
    CHECK(query_end(&q) == STATUS_OK && count >= 30);
    CHECK(problems(room.book, true) == 0);
    shop_room_end(&room);
}

static void logs_only_grow(void) {
    static const struct {
        const char *sql;
        enum word word;
    } refused[] = {
        {"UPDATE entry SET words = 'x'", WORD_BOOK_LOG_GROWS},
        {"DELETE FROM entry", WORD_BOOK_LOG_GROWS},
        {"DELETE FROM entry_photograph", WORD_BOOK_LOG_GROWS},
        {"UPDATE pot SET name = 'x'", WORD_BOOK_LOG_GROWS},
        {"DELETE FROM pot_event", WORD_BOOK_LOG_GROWS},
        {"UPDATE pour SET mg = 1", WORD_BOOK_LOG_GROWS},
        {"UPDATE coat SET wet_um = 1", WORD_BOOK_LOG_GROWS},
        {"UPDATE price SET minor = 1", WORD_BOOK_LOG_GROWS},
        {"DELETE FROM price", WORD_BOOK_LOG_GROWS},
        {"UPDATE stock_move SET mg = 1", WORD_BOOK_LOG_GROWS},
        {"UPDATE shelf_log SET words = 'x'", WORD_BOOK_LOG_GROWS},
        {"DELETE FROM safety_sheet", WORD_BOOK_LOG_GROWS},
        {"UPDATE invoice SET document = '{}'", WORD_BOOK_LOG_GROWS},
        {"DELETE FROM invoice", WORD_BOOK_LOG_GROWS},
        {"DELETE FROM quote", WORD_BOOK_LOG_GROWS},
        {"UPDATE quote SET document = '{}'", WORD_BOOK_QUOTE_FROZEN},
        {"UPDATE quote SET state = 'open', accepted_ms = NULL", WORD_BOOK_QUOTE_FROZEN},
        {"DELETE FROM job", WORD_BOOK_ROW_STAYS},
        {"DELETE FROM customer", WORD_BOOK_ROW_STAYS},
        {"DELETE FROM tombstone", WORD_NONE}, /* nothing there to delete yet */
        {"INSERT INTO pour (id, pot, toner, mg, at_ms, zone) VALUES ('x', 'no such pot', 'white', 1, 1, "
         "'UTC')",
         WORD_BOOK_NOTHING_OF_THAT_KEY},
        {"INSERT INTO toner (id, name, role, created_ms, changed_ms) VALUES ('White!', '', 'white', 1, 1)",
         WORD_BOOK_REFUSED},
        {"UPDATE customer SET created_ms = 'noon'", WORD_BOOK_REFUSED}, /* STRICT */
    };
    struct shop_room room;
    make(&room);
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
        struct fault fault = {0};
        SHOP_DOES(book_begin(room.book, &shop_fault));
        struct query q = query_make(room.book, refused[i].sql, &fault);
        const enum status status = query_run(&q);
        if (fault.word != refused[i].word) printf("  %s: %s\n", refused[i].sql, fault.text);
        CHECK(fault.word == refused[i].word && (status == STATUS_OK) == (fault.word == WORD_NONE));
        book_rollback(room.book);
    }
    CHECK(problems(room.book, true) == 0);
    shop_room_end(&room);
}

static void a_crosslinked_pot_never_goes_back(void) {
    struct shop_room room;
    struct fault fault = {0};
    struct pot_row pot;
    make(&room);
    struct pot_event hard = {.pot = filled.pot, .kind = "crosslinked", .life_min = 240},
                     back = {.pot = filled.pot, .kind = "put-back"};
    SHOP_DOES(book_begin(room.book, &shop_fault));
    SHOP_DOES(pot_store_log(room.book, &hard, &shop_fault));
    CHECK(pot_store_log(room.book, &back, &fault) == STATUS_INPUT && fault.word == WORD_BOOK_POT_CROSSLINKED);
    SHOP_DOES(book_commit(room.book, &shop_fault));
    SHOP_DOES(pot_store_get(room.book, filled.pot, room.arena, &pot, &shop_fault));
    CHECK(pot.crosslinked && !pot.put_back && pot.poured_mg == 12530 && pot.taken_mg == 5000);
    CHECK_NEAR(pot.life_min, 240, 0);
    struct toner_row white;
    SHOP_DOES(toner_store_get(room.book, "white", room.arena, &white, &shop_fault));
    CHECK(white.stock_mg == 1000000 - 12530);
    shop_room_end(&room);
}

static void a_pot_that_is_crosslinked_leaves_the_shelf(void) {
    struct shop_room room;
    struct pot_row pot, *shelf;
    size_t standing = 0;
    make(&room);
    struct pot_event back = {.pot = filled.pot, .kind = "put-back"},
                     hard = {.pot = filled.pot, .kind = "crosslinked", .life_min = 240};
    SHOP_DOES(book_begin(room.book, &shop_fault));
    SHOP_DOES(pot_store_log(room.book, &back, &shop_fault));
    SHOP_DOES(book_commit(room.book, &shop_fault));
    SHOP_DOES(pot_store_get(room.book, filled.pot, room.arena, &pot, &shop_fault));
    SHOP_DOES(pot_store_list(room.book, NULL, room.arena, &shelf, &standing, &shop_fault));
    CHECK(pot.put_back && standing == 1);
    SHOP_DOES(book_begin(room.book, &shop_fault));
    SHOP_DOES(pot_store_log(room.book, &hard, &shop_fault));
    SHOP_DOES(book_commit(room.book, &shop_fault));
    SHOP_DOES(pot_store_get(room.book, filled.pot, room.arena, &pot, &shop_fault));
    SHOP_DOES(pot_store_list(room.book, NULL, room.arena, &shelf, &standing, &shop_fault));
    CHECK(pot.crosslinked && !pot.put_back && standing == 0);
    shop_room_end(&room);
}

static void numbers_have_no_gap(void) {
    struct shop_room room;
    struct fault fault = {0};
    char id[ID_LENGTH + 1];
    make(&room);
    struct invoice_row skips = {
        .job = filled.job.id, .number = 3, .issued_day = "2026-03-15", .currency = "EUR"};
    SHOP_DOES(book_begin(room.book, &shop_fault));
    CHECK(invoice_store_add(room.book, &skips, &fault) == STATUS_INPUT && fault.word == WORD_BOOK_NUMBER_GAP);
    skips.number = 1, skips.id[0] = 0;
    CHECK(invoice_store_add(room.book, &skips, &fault) == STATUS_INPUT);
    fill_invoice(room.book, filled.job.id, "demo customer", id);
    book_rollback(room.book); /* a number that was put back is given again */
    SHOP_DOES(book_begin(room.book, &shop_fault));
    long long number = 0;
    SHOP_DOES(invoice_store_next(room.book, NULL, &number, &shop_fault));
    CHECK(number == 2);
    SHOP_DOES(invoice_store_next(room.book, "other-", &number, &shop_fault));
    CHECK(number == 1);
    book_rollback(room.book);
    shop_room_end(&room);
}

/* -- files ------------------------------------------------------------------------------------------ */

static const char *const personal[] = {FILL_NAME,      "Quillon",           "quillon",
                                       FILL_TELEPHONE, FILL_EMAIL,          FILL_STREET,
                                       FILL_TOWN,      "rings before noon", "wants it by May"};
enum { PERSONAL = sizeof personal / sizeof *personal };

static void path_in(char out[600], const char *dir, const char *name) {
    snprintf(out, 600, "%s/%s", dir, name);
}

static bool same_file(const char *a, const char *b) {
    struct arena *arena = arena_new();
    struct bytes x, y;
    const bool same = disk_read(disk_real(), a, 64, arena, &x, NULL) == STATUS_OK &&
                      disk_read(disk_real(), b, 64, arena, &y, NULL) == STATUS_OK && x.size == y.size &&
                      memcmp(x.data, y.data, x.size) == 0;
    arena_free(arena);
    return same;
}

static void a_customer_is_erased_from_every_byte(void) {
    struct shop_room room;
    char path[600], folder[600], outside[256];
    struct erasure done;
    make(&room);
    /* thumbnails of the photographs, as a page would keep them */
    for (int i = 0; i < 2; i++) {
        snprintf(path, sizeof path, "%s/thumbnails/%.2s", room.dir, filled.photograph[i]);
        CHECK(book_make_folders(path));
        snprintf(path, sizeof path, "%s/thumbnails/%.2s/%s-320.jpg", room.dir, filled.photograph[i],
                 filled.photograph[i] + 2);
        SHOP_DOES(disk_write(disk_real(), path, "small", 5, &shop_fault));
    }
    for (size_t i = 0; i < PERSONAL; i++)
        CHECK(shop_room_hits(room.dir, personal[i]) > 0 || strcmp(personal[i], "quillon") == 0);
    SHOP_DOES(erase_customer(room.book, filled.customer.id, &done, &shop_fault));
    CHECK(!done.owed && done.photographs == 1);
    for (size_t i = 0; i < PERSONAL; i++) CHECK(shop_room_hits(room.dir, personal[i]) == 0);
    /* its photograph and thumbnail are gone; the one that another job shows stays with its thumbnail */
    CHECK(!photographs_has(room.book, filled.photograph[0], 40000) &&
          photographs_has(room.book, filled.photograph[1], 3000));
    CHECK(!disk_has((snprintf(path, sizeof path, "%s/thumbnails/%.2s/%s-320.jpg", room.dir,
                              filled.photograph[0], filled.photograph[0] + 2),
                     path)));
    CHECK(disk_has((snprintf(path, sizeof path, "%s/thumbnails/%.2s/%s-320.jpg", room.dir,
                             filled.photograph[1], filled.photograph[1] + 2),
                    path)));
    CHECK(problems(room.book, true) == 0);
    /* what was done stays */
    struct finish_row *finish;
    struct invoice_row invoice;
    size_t count;
    SHOP_DOES(finish_store_search(room.book, "helm", 10, room.arena, &finish, &count, &shop_fault));
    CHECK(count == 1 && strstr(finish[0].document, "12.53"));
    SHOP_DOES(invoice_store_get(room.book, filled.invoice, room.arena, &invoice, &shop_fault));
    CHECK(invoice.number == 1 && invoice.total_minor == 25000 && strstr(invoice.document, "erased "));
    /* later backups and exports have none of it either */
    struct backed_up backed;
    struct exported exported;
    shop_room_folder(outside, "outside");
    path_in(path, outside, "backup");
    SHOP_DOES(backup_write(room.book, path, NULL, &backed, &shop_fault));
    path_in(folder, outside, "out.zip");
    SHOP_DOES(export_write(room.book, folder, NULL, &exported, &shop_fault));
    for (size_t i = 0; i < PERSONAL; i++) CHECK(shop_room_hits(outside, personal[i]) == 0);
    /* again changes nothing */
    SHOP_DOES(erase_customer(room.book, filled.customer.id, &done, &shop_fault));
    CHECK(done.rows == 0 && done.photographs == 0);
    shop_room_remove(outside);
    shop_room_end(&room);
}

/* Letters beyond ASCII, in the rows of somebody else too, in the spellings that people use. */
static void a_name_of_other_letters_is_erased_from_every_byte(void) {
    static const char *const spelt[] = {
        "Jürgen Größwein",    "JÜRGEN GRÖSSWEIN", "Ju\xcc\x88rgen Gro\xcc\x88\xc3\x9fwein",
        "Juergen Groesswein", "ΟΔΟΣ ΕΡΜΟΥ 7",     "+00(555)0190-272"};
    struct shop_room room;
    struct erasure done;
    make(&room);
    struct customer_row customer = {
        .name = spelt[0], .telephone = "+00 555 0190 272", .address = "Οδός Ερμού 7\nKüstenstadt"};
    struct text words = {0};
    for (size_t i = 0; i < 6; i++) text_format(&words, "%s; ", spelt[i]);
    json_t *document = json_pack("{s:s, s:{s:s}}", "kind", "note", "seen", "by", words.data);
    struct entry_row note = {.job = filled.other_job.id,
                             .step = JOB_LOOK,
                             .kind = "note",
                             .words = words.data,
                             .document = document_text(document, room.arena)};
    SHOP_DOES(book_begin(room.book, &shop_fault));
    SHOP_DOES(customer_store_add(room.book, &customer, &shop_fault));
    SHOP_DOES(entry_store_add(room.book, &note, &shop_fault));
    SHOP_DOES(book_commit(room.book, &shop_fault));
    for (size_t i = 0; i < 6; i++) CHECK(shop_room_hits(room.dir, spelt[i]) > 0);
    SHOP_DOES(erase_customer(room.book, customer.id, &done, &shop_fault));
    for (size_t i = 0; i < 6; i++) CHECK(shop_room_hits(room.dir, spelt[i]) == 0);
    CHECK(shop_room_hits(room.dir, "Küstenstadt") == 0 && problems(room.book, true) == 0);
    json_decref(document);
    text_free(&words);
    shop_room_end(&room);
}

static void an_erasure_waits_for_a_reader_and_is_finished_by_the_next(void) {
    struct shop_room room;
    struct erasure done;
    struct book *reader;
    make(&room);
    SHOP_DOES(book_open(room.dir, shop_room_how(&room, 0), &reader, &shop_fault));
    SHOP_DOES(book_look(reader, &shop_fault));
    sqlite3_busy_timeout(book_database(room.book), 50);
    SHOP_DOES(erase_customer(room.book, filled.customer.id, &done, &shop_fault));
    CHECK(done.owed && problems(room.book, false) == 1);
    book_close(reader);
    book_close(room.book);
    SHOP_DOES(book_open(room.dir, shop_room_how(&room, 0), &room.book, &shop_fault));
    for (size_t i = 0; i < PERSONAL; i++) CHECK(shop_room_hits(room.dir, personal[i]) == 0);
    CHECK(problems(room.book, true) == 0);
    shop_room_end(&room);
}

static void a_backup_is_restored_whole(void) {
    struct shop_room room;
    char outside[256], file[600], place[600], before[600], after[600];
    struct backed_up backed;
    struct restored restored;
    struct exported exported;
    struct fault fault = {0};
    struct book *book;
    make(&room);
    shop_room_folder(outside, "outside");
    path_in(file, outside, "shop.backup");
    path_in(place, outside, "new/shop");
    path_in(before, outside, "before.zip");
    path_in(after, outside, "after.zip");
    SHOP_DOES(backup_write(room.book, file, NULL, &backed, &shop_fault));
    CHECK(backed.photographs == 3 && backed.jobs == 2 && backed.bytes == 43023);
    SHOP_DOES(export_write(room.book, before, NULL, &exported, &shop_fault));
    SHOP_DOES(restore_read(file, place, shop_room_how(&room, 0), NULL, 0, NULL, &restored, &shop_fault));
    CHECK(restored.photographs == 3 && restored.jobs == 2);
    CHECK(restore_read(file, place, shop_room_how(&room, 0), NULL, 0, NULL, &restored, &fault) ==
          STATUS_INPUT);
    CHECK(fault.word == WORD_RESTORE_NOT_EMPTY);
    SHOP_DOES(book_open(place, shop_room_how(&room, 0), &book, &shop_fault));
    CHECK(problems(book, true) == 0);
    SHOP_DOES(export_write(book, after, NULL, &exported, &shop_fault));
    CHECK(same_file(before, after));
    CHECK_TEXT(book_own_id(book), book_own_id(room.book));
    book_close(book);
    /* into the shop's own folder: refused */
    path_in(file, room.dir, "shop.backup");
    CHECK(backup_write(room.book, file, NULL, &backed, &fault) == STATUS_INPUT &&
          fault.word == WORD_BACKUP_INSIDE);
    shop_room_remove(outside);
    shop_room_end(&room);
}

/* One photograph gone, one changed: everything else is handed on, and each copy says what it lacks. */
static void a_lost_photograph_stops_no_copy(void) {
    struct shop_room room, empty;
    char outside[256], file[600], zip[600], place[600], path[PHOTOGRAPH_PATH];
    struct backed_up backed;
    struct restored restored;
    struct exported exported;
    struct imported imported;
    struct book *book;
    struct fault fault = {0};
    make(&room);
    shop_room_make(&empty, 0);
    shop_room_folder(outside, "outside");
    path_in(file, outside, "shop.backup");
    path_in(zip, outside, "shop.zip");
    path_in(place, outside, "new/shop");
    const int fd = open(photographs_path(room.dir, filled.photograph[0], path), O_WRONLY);
    CHECK(fd >= 0 && pwrite(fd, "x", 1, 30000) == 1);
    close(fd);
    unlink(photographs_path(room.dir, filled.photograph[1], path));
    SHOP_DOES(backup_write(room.book, file, NULL, &backed, &shop_fault));
    CHECK(backed.lost.count == 2 && backed.photographs == 1 && backed.jobs == 2);
    SHOP_DOES(restore_read(file, place, shop_room_how(&room, 0), NULL, 0, NULL, &restored, &shop_fault));
    CHECK(restored.lost == 2 && restored.jobs == 2 && restored.photographs == 1);
    SHOP_DOES(book_open(place, shop_room_how(&room, 0), &book, &shop_fault));
    CHECK(problems(book, false) == 2);
    /* the same pictures, come again, heal it, and the next backup is whole */
    const struct bytes one = shop_room_picture(room.arena, 1, 40000),
                       two = shop_room_picture(room.arena, 2, 3000);
    char sha256[SHA256_TEXT];
    SHOP_DOES(book_begin(book, &shop_fault));
    SHOP_DOES(photographs_keep(book, &one, sha256, &shop_fault));
    SHOP_DOES(photographs_keep(book, &two, sha256, &shop_fault));
    SHOP_DOES(book_commit(book, &shop_fault));
    CHECK(problems(book, true) == 0);
    SHOP_DOES(backup_write(book, file, NULL, &backed, &shop_fault));
    CHECK(backed.lost.count == 0 && backed.photographs == 3);
    book_close(book);
    /* an export goes on, too; a shop that has lost some of its own can still take one */
    SHOP_DOES(export_write(room.book, zip, NULL, &exported, &shop_fault));
    CHECK(exported.lost.count == 2);
    SHOP_DOES(import_read(empty.book, zip, NULL, &imported, &shop_fault));
    CHECK(imported.lost == 2 && problems(empty.book, false) == 2);
    SHOP_DOES(import_read(room.book, zip, NULL, &imported, &shop_fault));
    CHECK(imported.lost == 0 && imported.added == 0);
    /* over the living shop */
    SHOP_DOES(backup_write(room.book, file, NULL, &backed, &shop_fault));
    SHOP_DOES(restore_over(room.book, file, shop_room_how(&room, 0), NULL, 0, NULL, &restored, &shop_fault));
    CHECK(restored.lost == 2 && problems(room.book, false) == 2);
    /* what the backup itself has lost is held against it */
    sqlite3 *bent;
    CHECK(sqlite3_open(file, &bent) == SQLITE_OK);
    CHECK(sqlite3_exec(bent, "DELETE FROM kept_bytes", NULL, NULL, NULL) == SQLITE_OK);
    sqlite3_close(bent);
    path_in(place, outside, "third");
    CHECK(restore_read(file, place, shop_room_how(&room, 0), NULL, 0, NULL, &restored, &fault) ==
              STATUS_INPUT &&
          fault.word == WORD_BACKUP_UNSOUND);
    shop_room_remove(outside);
    shop_room_end(&empty);
    shop_room_end(&room);
}

static void an_old_backup_forgets_again(void) {
    struct shop_room room;
    char outside[256], file[600], place[600];
    struct backed_up backed;
    struct restored restored;
    struct erasure done;
    struct book *book;
    make(&room);
    shop_room_folder(outside, "outside");
    path_in(file, outside, "shop.backup");
    path_in(place, outside, "shop");
    SHOP_DOES(backup_write(room.book, file, NULL, &backed, &shop_fault));
    SHOP_DOES(erase_customer(room.book, filled.customer.id, &done, &shop_fault));
    /* over the living shop, which knows the tombstone */
    SHOP_DOES(restore_over(room.book, file, shop_room_how(&room, 0), NULL, 0, NULL, &restored, &shop_fault));
    CHECK(restored.erased.rows > 0);
    for (size_t i = 0; i < PERSONAL; i++) CHECK(shop_room_hits(room.dir, personal[i]) == 0);
    CHECK(problems(room.book, true) == 0);
    /* into an empty place, told who */
    const char *const forget[] = {filled.customer.id};
    SHOP_DOES(restore_read(file, place, shop_room_how(&room, 0), forget, 1, NULL, &restored, &shop_fault));
    for (size_t i = 0; i < PERSONAL; i++) CHECK(shop_room_hits(place, personal[i]) == 0);
    SHOP_DOES(book_open(place, shop_room_how(&room, 0), &book, &shop_fault));
    CHECK(problems(book, true) == 0);
    book_close(book);
    shop_room_remove(outside);
    shop_room_end(&room);
}

static void an_export_goes_in_and_comes_out_the_same(void) {
    struct shop_room room, other;
    char outside[256], first[600], second[600];
    struct exported exported;
    struct imported imported;
    make(&room);
    shop_room_make(&other, 9);
    shop_room_folder(outside, "outside");
    path_in(first, outside, "first.zip");
    path_in(second, outside, "second.zip");
    SHOP_DOES(export_write(room.book, first, NULL, &exported, &shop_fault));
    SHOP_DOES(import_read(other.book, first, NULL, &imported, &shop_fault));
    CHECK(imported.added == exported.rows && imported.renewed == 0 && imported.kept == 0 &&
          imported.photographs == 3);
    SHOP_DOES(export_write(other.book, second, NULL, &exported, &shop_fault));
    CHECK(same_file(first, second));
    SHOP_DOES(import_read(other.book, first, NULL, &imported, &shop_fault));
    CHECK(imported.added == 0 && imported.renewed == 0 && imported.kept == exported.rows);
    /* into itself: nothing changes, the numbers of its own among it */
    SHOP_DOES(import_read(room.book, first, NULL, &imported, &shop_fault));
    CHECK(imported.added == 0 && imported.renewed == 0);
    CHECK(problems(room.book, true) == 0 && problems(other.book, true) == 0);
    /* foreign numbers are kept, and ours begin at 1 */
    struct job_row job, mine = {.title = "ours"};
    SHOP_DOES(job_store_find(other.book, "1", other.arena, &job, &shop_fault));
    CHECK_TEXT(job.origin, book_own_id(room.book));
    char id[ID_LENGTH + 1];
    SHOP_DOES(book_begin(other.book, &shop_fault));
    SHOP_DOES(job_store_add(other.book, &mine, &shop_fault));
    fill_invoice(other.book, mine.id, "x", id);
    SHOP_DOES(book_commit(other.book, &shop_fault));
    CHECK(mine.number == 1);
    SHOP_DOES(job_store_find(other.book, "1", other.arena, &job, &shop_fault));
    CHECK_TEXT(job.title, "ours");
    /* and back: two vans' books merge */
    SHOP_DOES(export_write(other.book, second, NULL, &exported, &shop_fault));
    SHOP_DOES(import_read(room.book, second, NULL, &imported, &shop_fault));
    CHECK(imported.added == 3 && problems(room.book, true) == 0); /* the job, its invoice, their book */
    SHOP_DOES(export_write(room.book, first, NULL, &exported, &shop_fault));
    CHECK(same_file(first, second));
    shop_room_remove(outside);
    shop_room_end(&other);
    shop_room_end(&room);
}

static void the_later_change_wins_and_the_erased_stay_erased(void) {
    struct shop_room room, other;
    char outside[256], early[600], late[600];
    struct exported exported;
    struct imported imported;
    struct erasure done;
    make(&room);
    shop_room_make(&other, 9);
    shop_room_folder(outside, "outside");
    path_in(early, outside, "early.zip");
    path_in(late, outside, "late.zip");
    SHOP_DOES(export_write(room.book, early, NULL, &exported, &shop_fault));
    SHOP_DOES(import_read(other.book, early, NULL, &imported, &shop_fault));
    struct job_row job;
    SHOP_DOES(job_store_find(room.book, "2", room.arena, &job, &shop_fault));
    job.title = "settee, port side";
    SHOP_DOES(book_begin(room.book, &shop_fault));
    SHOP_DOES(job_store_change(room.book, &job, &shop_fault));
    SHOP_DOES(book_commit(room.book, &shop_fault));
    SHOP_DOES(export_write(room.book, late, NULL, &exported, &shop_fault));
    SHOP_DOES(import_read(other.book, late, NULL, &imported, &shop_fault));
    CHECK(imported.renewed == 1 && imported.added == 0);
    SHOP_DOES(import_read(other.book, early, NULL, &imported, &shop_fault));
    CHECK(imported.renewed == 0);
    SHOP_DOES(job_store_find(other.book, job.id, room.arena, &job, &shop_fault));
    CHECK_TEXT(job.title, "settee, port side");
    /* erased here: an old export brings nobody back, and a new one carries the tombstone there */
    SHOP_DOES(erase_customer(room.book, filled.customer.id, &done, &shop_fault));
    SHOP_DOES(import_read(room.book, early, NULL, &imported, &shop_fault));
    for (size_t i = 0; i < PERSONAL; i++) CHECK(shop_room_hits(room.dir, personal[i]) == 0);
    CHECK(problems(room.book, true) == 0);
    SHOP_DOES(export_write(room.book, late, NULL, &exported, &shop_fault));
    SHOP_DOES(import_read(other.book, late, NULL, &imported, &shop_fault));
    CHECK(imported.erased.rows > 0);
    for (size_t i = 0; i < PERSONAL; i++) CHECK(shop_room_hits(other.dir, personal[i]) == 0);
    CHECK(problems(other.book, true) == 0);
    shop_room_remove(outside);
    shop_room_end(&other);
    shop_room_end(&room);
}

int main(void) {
    RUN(the_filling_has_a_row_in_every_table);
    RUN(logs_only_grow);
    RUN(a_crosslinked_pot_never_goes_back);
    RUN(a_pot_that_is_crosslinked_leaves_the_shelf);
    RUN(numbers_have_no_gap);
    RUN(a_customer_is_erased_from_every_byte);
    RUN(a_name_of_other_letters_is_erased_from_every_byte);
    RUN(an_erasure_waits_for_a_reader_and_is_finished_by_the_next);
    RUN(a_backup_is_restored_whole);
    RUN(a_lost_photograph_stops_no_copy);
    RUN(an_old_backup_forgets_again);
    RUN(an_export_goes_in_and_comes_out_the_same);
    RUN(the_later_change_wins_and_the_erased_stay_erased);
    return check_done();
}
