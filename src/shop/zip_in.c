#include "shop/zip_in.h"
#include <stdlib.h>
#include <string.h>
#include <zip.h>

enum { CHUNK = 64 * 1024, SMALL = 1024 * 1024, SHOWN_MOST = 200 };

struct zip_in {
    zip_t *zip;
    size_t count;
    const char *path;
};

static enum status no_zip(const char *path, int code, struct fault *fault) {
    zip_error_t error;
    zip_error_init_with_code(&error, code);
    const enum status status = code == ZIP_ER_OPEN || code == ZIP_ER_NOENT
                                   ? FAULT(fault, FILE_CANNOT_OPEN, path, zip_error_strerror(&error))
                                   : FAULT(fault, ZIP_BROKEN, path, zip_error_strerror(&error));
    zip_error_fini(&error);
    return status;
}

/* Relative, forward, and of plain signs: nothing that any system could take for a way out. */
static bool is_plain_name(const char *name) {
    if (*name == '/' || strstr(name, "..") || strstr(name, "//")) return false;
    return *name &&
           strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-/") == strlen(name);
}

/* A name as a sentence can quote it: libzip lets pass what is no UTF-8, and a terminal obeys control signs.
 */
static const char *shown(const char *name, char out[SHOWN_MOST]) {
    const bool text = text_is_utf8(name, strlen(name));
    size_t n = 0;
    for (; name[n] && n + 1 < SHOWN_MOST; n++) {
        const unsigned char c = (unsigned char)name[n];
        out[n] = (char)(c < ' ' || c == 0x7f || (c >= 0x80 && !text) ? '?' : c);
    }
    while (n && !text_is_utf8(out, n)) n--; /* cut inside a letter */
    out[n] = 0;
    return out;
}

/* Deflate cannot pass 1032 to 1, and rows of a shop stay far below; small members may be anything. */
static bool is_bomb(const zip_stat_t *member) {
    return member->size > SMALL && member->size / ZIP_RATIO_MOST > member->comp_size;
}

static enum status check_member(const struct zip_in *zip, zip_uint64_t at, unsigned long long *total,
                                struct fault *fault) {
    const zip_uint64_t all = ZIP_STAT_NAME | ZIP_STAT_SIZE | ZIP_STAT_COMP_SIZE;
    zip_stat_t member;
    if (zip_stat_index(zip->zip, at, 0, &member) != 0 || (member.valid & all) != all)
        return FAULT(fault, ZIP_BROKEN, zip->path, zip_strerror(zip->zip));
    if (!is_plain_name(member.name))
        return FAULT(fault, ZIP_NAME, zip->path, shown(member.name, (char[SHOWN_MOST]){0}));
    if ((member.valid & ZIP_STAT_ENCRYPTION_METHOD) && member.encryption_method != ZIP_EM_NONE)
        return FAULT(fault, ZIP_SECRET, zip->path, member.name);
    *total += member.size;
    if (is_bomb(&member) || *total >> 30 >= ZIP_TOTAL_GIB)
        return FAULT(fault, ZIP_BOMB, zip->path, member.name);
    return STATUS_OK;
}

static enum status check_members(struct zip_in *zip, struct fault *fault) {
    const zip_int64_t count = zip_get_num_entries(zip->zip, 0);
    unsigned long long total = 0;
    enum status status = STATUS_OK;
    if (count < 0 || count > ZIP_MEMBERS_MOST)
        return FAULT(fault, ZIP_MEMBERS, zip->path, COUNT_TEXT(ZIP_MEMBERS_MOST));
    zip->count = (size_t)count;
    for (size_t i = 0; status == STATUS_OK && i < zip->count; i++) {
        status = check_member(zip, i, &total, fault);
        const char *name = zip_in_name(zip, i);
        if (status == STATUS_OK && zip_name_locate(zip->zip, name, 0) != (zip_int64_t)i)
            status = FAULT(fault, ZIP_TWICE, zip->path, name);
    }
    return status;
}

enum status zip_in_open(const char *path, struct zip_in **out, struct fault *fault) {
    struct zip_in *zip = memory_need(1, sizeof *zip);
    int code = 0;
    zip->path = path;
    zip->zip = zip_open(path, ZIP_RDONLY | ZIP_CHECKCONS, &code);
    const enum status status = zip->zip ? check_members(zip, fault) : no_zip(path, code, fault);
    *out = zip;
    if (status == STATUS_OK) return status;
    zip_in_close(zip);
    *out = NULL;
    return status;
}

void zip_in_close(struct zip_in *zip) {
    if (!zip) return;
    if (zip->zip) zip_discard(zip->zip);
    memory_free(zip);
}

size_t zip_in_count(const struct zip_in *zip) {
    return zip->count;
}

const char *zip_in_name(const struct zip_in *zip, size_t at) {
    return zip_get_name(zip->zip, at, 0);
}

bool zip_in_has(const struct zip_in *zip, const char *name) {
    return zip_name_locate(zip->zip, name, 0) >= 0;
}

static enum status open_member(struct zip_in *zip, const char *name, zip_file_t **out, struct fault *fault) {
    *out = zip_fopen(zip->zip, name, 0);
    return *out ? STATUS_OK : FAULT(fault, ZIP_MISSING, zip->path, name);
}

/* The checksum is compared by libzip when the end is reached. */
enum status zip_in_read(struct zip_in *zip, const char *name, size_t most_mib, struct arena *arena,
                        struct bytes *out, struct fault *fault) {
    zip_file_t *file;
    struct text all = {0};
    char chunk[CHUNK];
    enum status status = open_member(zip, name, &file, fault);
    zip_int64_t n = status == STATUS_OK;
    while (status == STATUS_OK && (n = zip_fread(file, chunk, sizeof chunk)) > 0) {
        text_add_bytes(&all, chunk, (size_t)n);
        if (all.length > most_mib << 20)
            status = FAULT(fault, FILE_TOO_LARGE, name, COUNT_TEXT((long long)most_mib));
    }
    if (status == STATUS_OK && n < 0) status = FAULT(fault, ZIP_BROKEN, zip->path, name);
    if (status == STATUS_OK)
        *out = (struct bytes){(unsigned char *)arena_text(arena, all.data ? all.data : "", all.length),
                              all.length, arena_text(arena, name, strlen(name))};
    if (file) zip_fclose(file);
    text_free(&all);
    return status;
}

/* libzip's own handle under a name of ours. */
enum status zip_in_member(struct zip_in *zip, const char *name, struct zip_member **out,
                          struct fault *fault) {
    zip_file_t *file;
    const enum status status = open_member(zip, name, &file, fault);
    *out = (struct zip_member *)file;
    return status;
}

ssize_t zip_member_feed(void *member, void *to, size_t n) {
    return (ssize_t)zip_fread((zip_file_t *)member, to, n);
}

void zip_member_close(struct zip_member *member) {
    if (member) zip_fclose((zip_file_t *)member);
}

/* Hands on the whole lines that have come and keeps the rest. */
static enum status hand_on(struct text *pending, size_t *number, zip_line *take, void *to,
                           struct fault *fault) {
    enum status status = STATUS_OK;
    char *at = pending->data, *end;
    size_t left = pending->length;
    while (status == STATUS_OK && left > 0 && (end = memchr(at, '\n', left))) {
        const size_t n = (size_t)(end - at);
        *end = 0;
        status = take(to, at, n, ++*number, fault);
        at += n + 1;
        left -= n + 1;
    }
    if (left < pending->length) memmove(pending->data, at, left);
    pending->length = left;
    return status;
}

enum status zip_in_lines(struct zip_in *zip, const char *name, zip_line *take, void *to,
                         struct fault *fault) {
    zip_file_t *file;
    struct text pending = {0};
    char chunk[CHUNK];
    size_t number = 0;
    enum status status = open_member(zip, name, &file, fault);
    zip_int64_t n = 0;
    while (status == STATUS_OK && (n = zip_fread(file, chunk, sizeof chunk)) > 0) {
        const bool whole = memchr(chunk, '\n', (size_t)n) != NULL;
        text_add_bytes(&pending, chunk, (size_t)n);
        if (whole) status = hand_on(&pending, &number, take, to, fault);
        if (status == STATUS_OK && pending.length >> 20 >= ZIP_LINE_MIB)
            status = FAULT(fault, FILE_TOO_LARGE, name, COUNT_TEXT(ZIP_LINE_MIB));
    }
    if (status == STATUS_OK && (n < 0 || pending.length)) status = FAULT(fault, ZIP_BROKEN, zip->path, name);
    if (file) zip_fclose(file);
    text_free(&pending);
    return status;
}
