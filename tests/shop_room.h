/* A shop of its own for a test, in a folder that is gone afterwards; and what fills it (all invented). */
#ifndef RUSSET_TESTS_SHOP_ROOM_H
#define RUSSET_TESTS_SHOP_ROOM_H

#include "shop/customer_store.h"
#include "shop/document.h"
#include "shop/entry_store.h"
#include "shop/finish_store.h"
#include "shop/invoice_store.h"
#include "shop/job_store.h"
#include "shop/pot_store.h"
#include "shop/price_store.h"
#include "shop/quote_store.h"
#include "shop/setting_store.h"
#include "shop/toner_store.h"
#include <errno.h>
#include <ftw.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct shop_room {
    char dir[256];
    long long ms; /* the clock */
    struct arena *arena;
    struct book *book;
};

static inline struct book_how shop_room_how(struct shop_room *room, unsigned long long seed) {
    return (struct book_how){.disk = disk_real(),
                             .clock = wall_clock_fake(&room->ms, "Europe/Vienna"),
                             .ids = seed ? id_source_seeded(seed) : id_source_real()};
}

static inline void shop_room_folder(char dir[256], const char *name) {
    const char *base = getenv("TMPDIR");
    if (!base || !*base) base = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp"; /* memory: many a sync */
    snprintf(dir, 256, "%.200s/russet-%s-XXXXXX", base, name);
    if (!mkdtemp(dir)) abort();
}

/* Opens an empty shop; seed 0: keys of the kernel. */
static inline void shop_room_make(struct shop_room *room, unsigned long long seed) {
    struct fault fault = {0};
    *room = (struct shop_room){.ms = 1773496800000LL, .arena = arena_new()};
    shop_room_folder(room->dir, "shop");
    struct book_how how = shop_room_how(room, seed);
    how.make = true;
    if (book_open(room->dir, how, &room->book, &fault) != STATUS_OK) {
        fprintf(stderr, "%s\n", fault.text);
        abort();
    }
}

/* ---- a snapshot: the files of a shop as they lie there, its log with them, as a pulled plug would leave it
 * ---- */

static const char *shop_room_from, *shop_room_to;

static inline int shop_room_copy_one(const char *path, const struct stat *info, int flag, struct FTW *at) {
    char target[700];
    (void)at;
    const char *name = path + strlen(shop_room_from);
    if (strstr(name, "-shm")) return 0; /* of the processes that have it open */
    snprintf(target, sizeof target, "%s%s", shop_room_to, name);
    if (flag == FTW_D) return mkdir(target, 0700) == 0 || errno == EEXIST ? 0 : 1;
    FILE *from = fopen(path, "rb"), *to = fopen(target, "wb");
    char *data = malloc((size_t)info->st_size + 1);
    const bool good = from && to && data &&
                      fread(data, 1, (size_t)info->st_size, from) == (size_t)info->st_size &&
                      fwrite(data, 1, (size_t)info->st_size, to) == (size_t)info->st_size;
    free(data);
    if (from) fclose(from);
    return (to && fclose(to) != 0) || !good;
}

/* A room that begins as that snapshot; its book is not open yet. */
static inline void shop_room_of(struct shop_room *room, const char *snapshot) {
    *room = (struct shop_room){.ms = 1773496800000LL, .arena = arena_new()};
    shop_room_folder(room->dir, "shop");
    shop_room_from = snapshot;
    shop_room_to = room->dir;
    if (nftw(snapshot, shop_room_copy_one, 20, FTW_PHYS) != 0) abort();
}

static inline int shop_room_remove_one(const char *path, const struct stat *info, int flag, struct FTW *at) {
    (void)info, (void)flag, (void)at;
    return remove(path);
}

static inline void shop_room_remove(const char *dir) {
    nftw(dir, shop_room_remove_one, 20, FTW_DEPTH | FTW_PHYS);
}

static inline void shop_room_end(struct shop_room *room) {
    book_close(room->book);
    arena_free(room->arena);
    shop_room_remove(room->dir);
}

/* In how many files of the folder the bytes stand. */
static const char *shop_room_needle;
static size_t shop_room_found;

static inline int shop_room_search_one(const char *path, const struct stat *info, int flag, struct FTW *at) {
    (void)at;
    if (flag != FTW_F) return 0;
    FILE *file = fopen(path, "rb");
    char *data = malloc((size_t)info->st_size + 1);
    const size_t n = file && data ? fread(data, 1, (size_t)info->st_size, file) : 0;
    shop_room_found += n && memmem(data, n, shop_room_needle, strlen(shop_room_needle)) != NULL;
    free(data);
    if (file) fclose(file);
    return 0;
}

static inline size_t shop_room_hits(const char *dir, const char *needle) {
    shop_room_needle = needle;
    shop_room_found = 0;
    nftw(dir, shop_room_search_one, 20, FTW_PHYS);
    return shop_room_found;
}

/* A call that must go well, with &shop_fault for its sentence. */
static struct fault shop_fault __attribute__((unused));
#define SHOP_DOES(call)                                                           \
    do {                                                                          \
        if ((call) != STATUS_OK) check_fail(__FILE__, __LINE__, shop_fault.text); \
    } while (0)

/* A picture of that many bytes that begins as a JPEG does; what follows depends on the number. */
static inline struct bytes shop_room_picture(struct arena *arena, unsigned number, size_t size) {
    unsigned char *data = arena_need(arena, size, 1);
    unsigned long long state = 88172645463325252ULL + number;
    for (size_t i = 0; i < size; i++) data[i] = (unsigned char)(256 * check_random(&state));
    memcpy(data, "\xff\xd8\xff\xe0", 4);
    return (struct bytes){data, size, "picture.jpg"};
}

#endif
