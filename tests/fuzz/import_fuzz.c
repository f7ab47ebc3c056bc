/* An export of another shop joined to this one. A first byte '!' means text in place of a ZIP file: members,
 * each "== NAME" on a line and its bytes below, packed here, so that what is behind the checksums is reached
 * ("=~ NAME": deflated). Whatever it is, it is joined whole or refused in one sentence, and the book opens
 * afterwards. */
#include "fuzz_help.h"
#include "mutate.h"
#include "shop/check.h"
#include "shop/import.h"
#include "shop_fuzz.h"
#include <ctype.h>
#include <sodium.h>
#include <zip.h>

static char outside[300];

static void remove_outside(void) {
    unlink(outside);
}

int LLVMFuzzerInitialize(int *argc, char ***argv);
int LLVMFuzzerInitialize(int *argc, char ***argv) {
    (void)argc, (void)argv;
    if (sodium_init() < 0) abort();
    fuzz_shop_make();
    fuzz_shop_keep();
    snprintf(outside, sizeof outside, "%s.zip", fuzz_shop.dir);
    atexit(remove_outside);
    return 0;
}

static const uint8_t *next_member(const uint8_t *at, const uint8_t *end) {
    for (const uint8_t *line = at; (line = memmem(line, (size_t)(end - line), "\n=", 2)); line++)
        if (end - line > 3 && (line[2] == '=' || line[2] == '~') && line[3] == ' ') return line + 1;
    return end;
}

static void pack(const uint8_t *at, const uint8_t *end) {
    int code;
    char name[80];
    zip_t *zip = zip_open(outside, ZIP_CREATE | ZIP_TRUNCATE, &code);
    MUST(zip);
    while (end - at > 3 && at[0] == '=' && (at[1] == '=' || at[1] == '~') && at[2] == ' ') {
        const uint8_t *stop = next_member(at, end), *line = memchr(at, '\n', (size_t)(stop - at));
        if (!line) break;
        snprintf(name, sizeof name, "%.*s", (int)(line - at - 3), (const char *)at + 3);
        zip_source_t *source = zip_source_buffer(zip, line + 1, (size_t)(stop - line - 1), 0);
        const zip_int64_t i = zip_file_add(zip, name, source, 0);
        if (i < 0) zip_source_free(source);
        if (i >= 0)
            zip_set_file_compression(zip, (zip_uint64_t)i, at[1] == '~' ? ZIP_CM_DEFLATE : ZIP_CM_STORE, 0);
        at = stop;
    }
    if (zip_close(zip) != 0) zip_discard(zip);
}

static void put(const uint8_t *data, size_t size) {
    const int fd = open(outside, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    MUST(fd >= 0 && write(fd, data, size) == (ssize_t)size);
    close(fd);
}

/* After an import that was accepted, every reference of the book holds. */
static void must_be_whole(struct book *book) {
    struct arena *arena = arena_new();
    struct checked checked;
    struct fault fault;
    MUST(check_book(book, arena, NULL, &checked, &fault) == STATUS_OK);
    MUST(checked.problem_count == checked.photographs.missing_count);
    json_decref(checked.rows);
    arena_free(arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct fault fault = {0};
    struct imported imported;
    struct book *book;
    fuzz_shop_again();
    unlink(outside);
    if (size > 0 && data[0] == '!')
        pack(data + 1, data + size);
    else
        put(data, size);
    if (access(outside, F_OK) != 0) return 0; /* no member: no file */
    MUST(book_open(fuzz_shop.dir, fuzz_shop_how(), &book, &fault) == STATUS_OK);
    const enum status status = import_read(book, outside, NULL, &imported, &fault);
    if (status == STATUS_OK) {
        must_be_whole(book);
    } else {
        must_be_sentence(status, &fault);
    }
    book_close(book);
    return 0;
}

/* ---- mutations: a value of a row, a key that stands elsewhere, rows and members moved ---- */

enum { KEY = 36 };

static bool is_key_at(const uint8_t *at) {
    for (int i = 0; i < KEY; i++)
        if ((i == 8 || i == 13 || i == 18 || i == 23) ? at[i] != '-' : !isxdigit(at[i])) return false;
    return true;
}

/* The key that stands at or after some place; 0: none (a file begins with '!'). */
static size_t some_key(const uint8_t *data, size_t size, struct luck *luck) {
    for (size_t i = 1 + luck_below(luck, size); i + KEY <= size; i++)
        if (is_key_at(data + i)) return i;
    return 0;
}

static size_t change_key(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    const size_t from = some_key(data, size, luck), to = some_key(data, size, luck);
    (void)most;
    if (!from || !to) return 0;
    memmove(data + to, data + from, KEY);
    return size;
}

static struct range member_at(const uint8_t *data, size_t size, size_t at) {
    struct range r = {1, size};
    for (const uint8_t *next = data + 1; next < data + size; r.from = (size_t)(next - data)) {
        next = next_member(next, data + size);
        r.to = (size_t)(next - data);
        if (r.to > at) break;
    }
    return r;
}

static size_t change_row(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    struct range row = line_at(data, size, luck_below(luck, size));
    if (row.to > row.from && data[row.to - 1] == '\n') row.to--;
    if (row.to == row.from || data[row.from] != '{') return 0;
    return mutate_part(data, size, most, row.from, row.to, mutate_json, luck);
}

static size_t mutate_import(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    if (size < 8 || data[0] != '!') return 0;
    struct range one = member_at(data, size, luck_below(luck, size));
    switch (luck_below(luck, 8)) {
    case 0:
        return change_key(data, size, most, luck);
    case 1:
        return copy_range(data, size, most, member_at(data, size, luck_below(luck, size)), one);
    case 2:
        if (one.from + 1 < size) data[one.from + 1] ^= '=' ^ '~';
        return size;
    case 3:
        return 1 + mutate_line(data + 1, size - 1, most - 1, luck);
    default:
        return change_row(data, size, most, luck);
    }
}

MUTATE_BY(mutate_import);
