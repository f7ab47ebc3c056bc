/* An export of another shop joined to this one. A first byte '!' means text in place of a ZIP file: members,
 * each "== NAME" on a line and its bytes below, packed here, so that what is behind the checksums is reached.
 * Whatever it is, it is joined whole or refused in one sentence, and the book opens afterwards. */
#include "fuzz_help.h"
#include "shop/check.h"
#include "shop/import.h"
#include "shop_fuzz.h"
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
    const uint8_t *found = memmem(at, (size_t)(end - at), "\n== ", 4);
    return found ? found + 1 : end;
}

static void pack(const uint8_t *at, const uint8_t *end) {
    int code;
    char name[80];
    zip_t *zip = zip_open(outside, ZIP_CREATE | ZIP_TRUNCATE, &code);
    MUST(zip);
    while (end - at > 3 && memcmp(at, "== ", 3) == 0) {
        const uint8_t *stop = next_member(at, end), *line = memchr(at, '\n', (size_t)(stop - at));
        if (!line) break;
        snprintf(name, sizeof name, "%.*s", (int)(line - at - 3), (const char *)at + 3);
        zip_source_t *source = zip_source_buffer(zip, line + 1, (size_t)(stop - line - 1), 0);
        const zip_int64_t i = zip_file_add(zip, name, source, 0);
        if (i < 0) zip_source_free(source);
        if (i >= 0) zip_set_file_compression(zip, (zip_uint64_t)i, ZIP_CM_STORE, 0);
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
