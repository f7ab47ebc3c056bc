/* Memory. A caller never checks for NULL: when memory runs out russet says so in one sentence and ends with
 * exit code 4 (docs/decisions.md: crash-only; everything that must last is written atomically beforehand).
 *
 * An arena owns everything that is made while one request is answered; it is freed in one go. */
#ifndef RUSSET_BASE_MEMORY_H
#define RUSSET_BASE_MEMORY_H

#include <stddef.h>

_Noreturn void memory_is_out(void); /* the sentence, and the end */

void *memory_need(size_t count, size_t size) __attribute__((malloc, returns_nonnull)); /* zeroed */
void *memory_grow(void *old, size_t count, size_t size) __attribute__((returns_nonnull));
void memory_free(void *p);

struct arena;
struct arena *arena_new(void) __attribute__((returns_nonnull));
void arena_free(struct arena *arena); /* NULL is fine */

/* Zeroed, aligned for any type; lives until arena_free. */
void *arena_need(struct arena *arena, size_t count, size_t size) __attribute__((malloc, returns_nonnull));
char *arena_text(struct arena *arena, const char *text, size_t n)
    __attribute__((returns_nonnull)); /* terminated copy */

#endif
