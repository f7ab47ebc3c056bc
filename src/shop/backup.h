/* A backup is one file: a copy of the book made by SQLite's online backup while others may go on writing,
 * with one table more, kept_bytes, that holds the photographs. Any SQLite opens it. It is written beside its
 * place, looked through (integrity, every photograph's hash), synced and renamed. */
#ifndef RUSSET_SHOP_BACKUP_H
#define RUSSET_SHOP_BACKUP_H

#include "base/work.h"
#include "shop/erase.h"
#include "shop/photographs.h"

struct backed_up {
    size_t photographs, jobs;
    unsigned long long bytes;
    struct lost_photographs lost; /* not in it, because they are not in the shop any more */
};
enum status backup_write(struct book *book, const char *path, struct work *work, struct backed_up *out,
                         struct fault *fault) MUST_USE;

struct restored {
    size_t photographs, jobs;
    size_t lost; /* photographs that the shop had lost before this backup was made */
    struct erasure erased;
};
/* Into a folder that is not there or is empty: it appears at once, whole. forget: ids of customers who were
 * erased after the backup was made. */
enum status restore_read(const char *path, const char *dir, struct book_how how, const char *const *forget,
                         size_t forget_count, struct work *work, struct restored *out,
                         struct fault *fault) MUST_USE;
/* In place of what the open book holds, in one transaction; its tombstones stay in force. */
enum status restore_over(struct book *live, const char *path, struct book_how how, const char *const *forget,
                         size_t forget_count, struct work *work, struct restored *out,
                         struct fault *fault) MUST_USE;

#endif
