#include "base/memory.h"
#include "base/fault.h"
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void memory_is_out(void) {
    const char *sentence = word_sentence(WORD_MEMORY_OUT);
    static const char lead[] = "russet: ";
    /* The process ends here whatever write() says. */
    if (write(2, lead, sizeof lead - 1) >= 0 && write(2, sentence, strlen(sentence)) >= 0 &&
        write(2, "\n", 1) >= 0)
        _exit(4);
    _exit(4);
}

void *memory_need(size_t count, size_t size) {
    void *p = calloc(count ? count : 1, size ? size : 1);
    if (!p) memory_is_out();
    return p;
}

void *memory_grow(void *old, size_t count, size_t size) {
    if (size && count > SIZE_MAX / size) memory_is_out();
    void *p = realloc(old, (count && size) ? count * size : 1);
    if (!p) memory_is_out();
    return p;
}

void memory_free(void *p) {
    free(p);
}

/* Blocks grow with what is asked; each is aligned for max_align_t and zeroed. */
struct block {
    struct block *next;
    size_t used, size;
    max_align_t data[];
};

struct arena {
    struct block *head;
};

enum { BLOCK_BYTES = 64 * 1024 };

struct arena *arena_new(void) {
    return memory_need(1, sizeof(struct arena));
}

void arena_free(struct arena *arena) {
    if (!arena) return;
    for (struct block *b = arena->head; b;) {
        struct block *next = b->next;
        free(b);
        b = next;
    }
    free(arena);
}

static size_t round_up(size_t bytes) {
    const size_t a = sizeof(max_align_t);
    return (bytes + a - 1) / a * a;
}

void *arena_need(struct arena *arena, size_t count, size_t size) {
    if (size && count > (SIZE_MAX / 2) / size) memory_is_out();
    const size_t bytes = round_up((count && size) ? count * size : 1);
    struct block *b = arena->head;
    if (!b || b->size - b->used < bytes) {
        const size_t capacity = bytes > BLOCK_BYTES ? bytes : (size_t)BLOCK_BYTES;
        b = memory_need(1, sizeof(struct block) + capacity);
        b->size = capacity;
        b->next = arena->head;
        arena->head = b;
    }
    void *p = (char *)b->data + b->used;
    b->used += bytes;
    return p;
}

char *arena_text(struct arena *arena, const char *text, size_t n) {
    char *copy = arena_need(arena, n + 1, 1);
    if (n) memcpy(copy, text, n);
    return copy;
}
