/* Memory for SQLite in the long runs: half of a run on a book went by in the sanitizer's allocator, for a
 * library that is not compiled with it. Blocks of a few sizes that are used again; what lies behind a block
 * and what was given back is poisoned, so that a reader that goes too far is still seen. */
#ifndef RUSSET_TESTS_SQLITE_FUZZ_H
#define RUSSET_TESTS_SQLITE_FUZZ_H

#include <sanitizer/asan_interface.h>
#include <sqlite3.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK_HEAD = 16, SLAB = 1 << 20, CLASSES = 40, LARGE = 1 << 18 };

struct block { /* stands before what is handed out; next is used while it is free */
    uint32_t size, of_class;
    struct block *next;
};
_Static_assert(sizeof(struct block) == BLOCK_HEAD, "sixteen bytes keep what follows aligned");

static struct block *block_free[CLASSES];
static char *slab_at, *slab_end;

/* 32, 64 .. 1024, then doubled; CLASSES: too large, of the machine. */
static inline uint32_t block_class(size_t n, size_t *room) {
    uint32_t class = n <= 1024 ? (uint32_t)((n + 31) / 32 + (n == 0)) : 32;
    *room = 32 * (size_t) class;
    while (*room < n && *room < LARGE) *room *= 2, class ++;
    if (*room >= n) return class - 1;
    *room = n;
    return CLASSES;
}

static inline struct block *block_cut(size_t room) {
    if ((size_t)(slab_end - slab_at) < room + BLOCK_HEAD) {
        slab_at = malloc(SLAB);
        if (!slab_at) abort();
        slab_end = slab_at + SLAB;
    }
    struct block *block = (struct block *)(void *)slab_at;
    slab_at += room + BLOCK_HEAD;
    return block;
}

static inline void *block_new(int n) {
    size_t room;
    const uint32_t class = block_class((size_t)n, &room);
    struct block *block = class < CLASSES ? block_free[class] : malloc(room + BLOCK_HEAD);
    if (!block)
        block = block_cut(room);
    else if (class < CLASSES)
        block_free[class] = block->next;
    block->size = (uint32_t)n, block->of_class = class;
    char *given = (char *)(block + 1);
    if (class < CLASSES) ASAN_POISON_MEMORY_REGION(given, room);
    ASAN_UNPOISON_MEMORY_REGION(given, (size_t)n);
    return given;
}

static inline struct block *block_of(void *given) {
    return (struct block *)given - 1;
}

static inline void block_end(void *given) {
    if (!given) return;
    struct block *block = block_of(given);
    if (block->of_class == CLASSES) {
        free(block);
        return;
    }
    ASAN_POISON_MEMORY_REGION(given, block->size);
    block->next = block_free[block->of_class];
    block_free[block->of_class] = block;
}

static inline void *block_again(void *given, int n) {
    void *other = block_new(n);
    const uint32_t had = block_of(given)->size;
    memcpy(other, given, had < (uint32_t)n ? had : (uint32_t)n);
    block_end(given);
    return other;
}

static inline int block_size(void *given) {
    return given ? (int)block_of(given)->size : 0;
}

static inline int block_round(int n) {
    return (n + 7) & ~7;
}

static inline int block_begin(void *context) {
    (void)context;
    return SQLITE_OK;
}

static inline void block_stop(void *context) {
    (void)context;
}

/* Before SQLite is used; it calls these under its own lock. */
static inline void sqlite_fuzz_memory(void) {
    static const sqlite3_mem_methods calls = {block_new,   block_end,   block_again, block_size,
                                              block_round, block_begin, block_stop,  NULL};
    if (sqlite3_config(SQLITE_CONFIG_MALLOC, &calls) != SQLITE_OK) abort();
}

#endif
