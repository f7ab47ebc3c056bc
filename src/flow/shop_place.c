#include "flow/shop_place.h"
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *joined(struct arena *arena, const char *folder, const char *rest) {
    struct text path = {0};
    text_format(&path, "%s%s", folder, rest);
    const char *copy = arena_text(arena, path.data, path.length);
    text_free(&path);
    return copy;
}

static const char *from_environment(const char *name) {
    const char *value = getenv(name);
    return value && *value ? value : NULL;
}

/* A relative XDG_DATA_HOME is to be ignored (XDG Base Directory Specification 0.8). */
enum status shop_place(const struct surroundings *around, const struct request *request, const char **dir,
                       struct fault *fault) {
    const char *said = request_text(request, "--shop"), *shop = from_environment("RUSSET_SHOP");
    const char *data = from_environment("XDG_DATA_HOME"), *home = from_environment("HOME");
    if (around->shop_dir)
        *dir = around->shop_dir;
    else if (said)
        *dir = said;
    else if (shop)
        *dir = shop;
    else if (data && *data == '/')
        *dir = joined(around->arena, data, "/russet");
    else if (home)
        *dir = joined(around->arena, home, "/.local/share/russet");
    else
        return FAULT0(fault, SHOP_NO_PLACE);
    return STATUS_OK;
}

enum status shop_clock(const struct surroundings *around, const struct request *request,
                       struct wall_clock *clock, struct fault *fault) {
    const char *now = request_text(request, "--now");
    *clock = around->clock;
    if (!now) return STATUS_OK;
    long long *ms = arena_need(around->arena, 1, sizeof *ms);
    if (!wall_time_read(now, ms)) return FAULT(fault, SHOP_NOW_WRONG, now);
    *clock = wall_clock_fake(ms, around->clock.zone);
    return STATUS_OK;
}

enum status shop_how(const struct surroundings *around, const struct request *request, struct book_how *how,
                     struct fault *fault) {
    *how = (struct book_how){.disk = around->shop_disk ? around->shop_disk : around->disk,
                             .ids = around->ids,
                             .asked = around->asked};
    return shop_clock(around, request, &how->clock, fault);
}

enum status shop_open(const struct surroundings *around, const struct request *request, struct book **book,
                      struct fault *fault) {
    struct book_how how;
    const char *dir;
    *book = NULL;
    enum status status = shop_how(around, request, &how, fault);
    if (status == STATUS_OK) status = shop_place(around, request, &dir, fault);
    return status == STATUS_OK ? book_open(dir, how, book, fault) : status;
}

static bool has_book(const char *dir) {
    char file[PATH_MAX];
    snprintf(file, sizeof file, "%s/book.sqlite", dir);
    return disk_has(file);
}

enum status shop_open_if_there(const struct surroundings *around, const struct request *request,
                               struct book **book, struct fault *fault) {
    const bool named = request_has(request, "--shop") || around->shop_dir;
    struct fault ignored;
    const char *dir;
    *book = NULL;
    if (!named && (shop_place(around, request, &dir, &ignored) != STATUS_OK || !has_book(dir)))
        return STATUS_OK;
    return shop_open(around, request, book, fault);
}

enum status shop_day_check(const char *name, const char *day, struct fault *fault) {
    long long ms;
    const bool good = !day || (strlen(day) == 10 && wall_time_read(day, &ms));
    return good ? STATUS_OK : FAULT(fault, JOB_DAY_WRONG, name, day);
}
