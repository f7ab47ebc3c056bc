/* A backup of a stranger. A first byte '!': what follows is SQL that is carried out on a good backup first,
 * so that it stays a database, with the shapes of its tables open to change; else edits of its bytes, six for
 * each: where (four), what is done, a value. Whatever it is, a whole shop comes of it that opens and passes
 * its check, or nothing and one sentence. */
#include "mutate.h"
#include "shop/backup.h"
#include "shop/check.h"
#include "shop_fuzz.h"
#include <sodium.h>

enum { EDIT = 6, EDITS_MOST = 64, PAGE = 4096 };

static char *good;
static size_t good_size;
static char file[320], place[320];

static void clean(void) {
    unlink(file);
    if (access(place, F_OK) == 0) shop_room_remove(place);
}

static void load(void) {
    FILE *from = fopen(file, "rb");
    MUST(from && fseek(from, 0, SEEK_END) == 0);
    good_size = (size_t)ftell(from);
    rewind(from);
    good = malloc(good_size);
    MUST(fread(good, 1, good_size, from) == good_size);
    fclose(from);
}

/* A job with a piece and a colour, so that tables are not all empty. */
static void fill(struct book *book) {
    struct fault fault = {0};
    struct job_row job = {.title = "Helm seat", .words = "", .place = "", .zone = "UTC"};
    MUST(book_begin(book, &fault) == STATUS_OK);
    MUST(book_end(book, job_store_add(book, &job, &fault), &fault) == STATUS_OK);
}

int LLVMFuzzerInitialize(int *argc, char ***argv);
int LLVMFuzzerInitialize(int *argc, char ***argv) {
    (void)argc, (void)argv;
    struct book *book;
    struct backed_up done;
    struct fault fault = {0};
    MUST(sodium_init() >= 0);
    fuzz_shop_make();
    snprintf(file, sizeof file, "%s.backup", fuzz_shop.dir);
    snprintf(place, sizeof place, "%s.place", fuzz_shop.dir);
    atexit(clean);
    MUST(book_open(fuzz_shop.dir, fuzz_shop_how(), &book, &fault) == STATUS_OK);
    fill(book);
    MUST(backup_write(book, file, NULL, &done, &fault) == STATUS_OK);
    book_close(book);
    load();
    return 0;
}

static void edit(char *bytes, size_t size, const uint8_t *how) {
    const size_t at = ((size_t)how[0] << 24 | (size_t)how[1] << 16 | (size_t)how[2] << 8 | how[3]) % size;
    const size_t page = at / PAGE * PAGE, other = (how[5] * PAGE) % size;
    switch (how[4] % 4) {
    case 0:
        bytes[at] = (char)how[5];
        break;
    case 1:
        bytes[at] ^= (char)(1 << how[5] % 8);
        break;
    case 2: /* where pages have their heads */
        bytes[page + how[5] % 24] = (char)how[3];
        break;
    default:
        if (page != other) memcpy(bytes + page, bytes + other, PAGE);
    }
}

static void write_bytes(const char *bytes, size_t size) {
    const int fd = open(file, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    MUST(fd >= 0 && write(fd, bytes, size) == (ssize_t)size);
    close(fd);
}

static void write_edited(const uint8_t *data, size_t size) {
    char *bytes = malloc(good_size);
    memcpy(bytes, good, good_size);
    for (size_t i = 0; i + EDIT <= size && i < EDIT * EDITS_MOST; i += EDIT) edit(bytes, good_size, data + i);
    write_bytes(bytes, size % EDIT == 1 ? good_size / 256 * data[size - 1] : good_size); /* cut off */
    free(bytes);
}

static int still(void *turns) {
    return --*(int *)turns < 0; /* a loop in SQL ends */
}

static void write_asked(const char *sql, size_t size) {
    static const char loose[] =
        "PRAGMA writable_schema = ON; PRAGMA foreign_keys = OFF; PRAGMA journal_mode = MEMORY;"
        "PRAGMA synchronous = OFF; PRAGMA ignore_check_constraints = ON; PRAGMA temp_store = MEMORY;";
    sqlite3 *database;
    int turns = 200;
    char *text = strndup(sql, size);
    write_bytes(good, good_size);
    MUST(sqlite3_open_v2(file, &database, SQLITE_OPEN_READWRITE, NULL) == SQLITE_OK);
    sqlite3_limit(database, SQLITE_LIMIT_ATTACHED, 0);
    sqlite3_limit(database, SQLITE_LIMIT_LENGTH, 1 << 20);
    sqlite3_exec(database, loose, NULL, NULL, NULL);
    sqlite3_progress_handler(database, 1000, still, &turns);
    sqlite3_exec(database, text, NULL, NULL, NULL);
    sqlite3_close(database);
    free(text);
}

/* What took its place is a shop like any. */
static void must_be_shop(void) {
    struct fault fault = {0};
    struct book *book;
    struct checked checked;
    struct arena *arena = arena_new();
    MUST(book_open_anew(place, fuzz_shop_how(), &book, &fault) == STATUS_OK);
    MUST(check_book(book, arena, NULL, &checked, &fault) == STATUS_OK);
    MUST(checked.problem_count == checked.photographs.missing_count);
    json_decref(checked.rows);
    book_close_wholly(book);
    arena_free(arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct restored done;
    struct fault fault = {0};
    clean();
    if (size > 0 && data[0] == '!')
        write_asked((const char *)data + 1, size - 1);
    else
        write_edited(data, size);
    const enum status status = restore_read(file, place, fuzz_shop_how(), NULL, 0, NULL, &done, &fault);
    if (status == STATUS_OK) {
        must_be_shop();
    } else {
        MUST((status == STATUS_INPUT || status == STATUS_MACHINE) && fault.word != WORD_NONE);
        MUST(strlen(fault.text) > 10 && text_is_utf8(fault.text, strlen(fault.text)));
        MUST(access(place, F_OK) != 0);
    }
    return 0;
}

/* ---- mutations ---- */

static size_t mutate_backup(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    if (size == 0 || data[0] != '!') return mutate_bytes(data, size, most, luck);
    return 1 + mutate_words(data + 1, size - 1, most - 1, luck);
}

MUTATE_BY(mutate_backup);
