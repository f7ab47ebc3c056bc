/* The book of a shop: one SQLite file (book.sqlite) with the photographs beside it.
 *
 *     struct book *book;
 *     status = book_open(dir, how, &book, fault);
 *     if (status == STATUS_OK) status = book_begin(book, fault);      takes the one pen: others wait
 *     if (status == STATUS_OK) status = job_store_add(book, &job, fault);
 *     status = book_end(book, status, fault);                         commits what went well, else puts it
 * back book_close(book);
 *
 * What book_commit or book_end returned OK for is on the disk (WAL, synchronous FULL). Reading needs no
 * transaction; book_look gives several reads one and the same moment. */
#ifndef RUSSET_SHOP_BOOK_H
#define RUSSET_SHOP_BOOK_H

#include "base/fault.h"
#include "base/memory.h"
#include "device/disk.h"
#include "device/id_source.h"
#include "device/wall_clock.h"
#include <stdbool.h>

enum { BOOK_SCHEMA = 4, BOOK_APPLICATION = 0x72757373 }; /* "russ" */

struct book;

struct book_how {
    bool make; /* a new book; refused where one is */
    const struct disk *disk;
    struct wall_clock clock;
    struct id_source ids;
    const char *asked; /* key of the request that this is for, or NULL (shop/asked_store.h) */
};

/* INPUT: no shop there, not a book of ours, written by a newer russet, one is there already (make).
 * MACHINE: the disk. */
enum status book_open(const char *dir, struct book_how how, struct book **out, struct fault *fault) MUST_USE;
void book_close(struct book *book); /* NULL is fine; an open transaction is put back */

/* The pen: waits up to ten seconds for another program to put it down. INPUT BOOK_ASKED: this request was
 * carried out before. */
enum status book_begin(struct book *book, struct fault *fault) MUST_USE;
enum status book_commit(struct book *book, struct fault *fault) MUST_USE;
void book_rollback(struct book *book);
/* One moment for several reads; ended by book_rollback. */
enum status book_look(struct book *book, struct fault *fault) MUST_USE;
/* Commits when status is OK, else puts back; hands on what went wrong first. */
enum status book_end(struct book *book, enum status status, struct fault *fault) MUST_USE;

/* Makes a folder for its owner alone, with the folders above it; errno tells why not. */
bool book_make_folders(const char *dir);

long long book_now_ms(const struct book *book);
/* The shop's own zone when it has set one, else the machine's (device/wall_clock.h). What is kept is UTC;
 * days and clocks are told in the zone. */
const char *book_zone(const struct book *book);
int book_offset_s(struct book *book, long long ms); /* seconds east of UTC in that zone at that moment */
const char *book_day(struct book *book, int days, char out[WALL_DAY_TEXT]); /* so many days from today */
const char *book_own_id(const struct book *book);                           /* of this book, for `origin` */
const char *book_asked(const struct book *book); /* the key of the request, or NULL */
void book_new_id(struct book *book, char id[ID_LENGTH + 1]);
const char *book_dir(const struct book *book);
const struct disk *book_disk(const struct book *book);

#endif
