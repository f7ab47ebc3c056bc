/* Photographs and safety data sheets as files named by the SHA-256 of their bytes: photographs/ab/cdef...
 * A file is written beside its place, synced and renamed, then its row commits: a row never names a file that
 * is not there. A file without a row (left by an interruption) is harmless and swept by photographs_tidy.
 * Thumbnails, which any program may make anew, are thumbnails/ab/cdef...-ANYTHING. */
#ifndef RUSSET_SHOP_PHOTOGRAPHS_H
#define RUSSET_SHOP_PHOTOGRAPHS_H

#include "base/text.h"
#include "device/disk.h"
#include "shop/book.h"
#include <sodium.h>

enum { SHA256_TEXT = 65, PHOTOGRAPH_MIB = 256, PHOTOGRAPH_PATH = 4200 };

void sha256_of(const void *data, size_t size, char out[SHA256_TEXT]);
/* Of an open file from its beginning, piece by piece; the file stands at its beginning again. False when it
 * cannot be read. */
bool sha256_of_file(const struct disk *disk, int fd, char out[SHA256_TEXT]);
bool sha256_is_good(const char *text);
/* The same of bytes that come piece by piece. */
struct sha256_sum {
    crypto_hash_sha256_state state;
};
void sha256_begin(struct sha256_sum *sum);
void sha256_add(struct sha256_sum *sum, const void *data, size_t size);
void sha256_end(struct sha256_sum *sum, char out[SHA256_TEXT]);

/* What the bytes are: "image/jpeg", "image/png", "image/tiff", "image/heif", "application/pdf"; NULL for
 * anything else. Told by content, never by name. */
const char *photographs_media(const unsigned char *data, size_t size);

/* Keeps the bytes (once, however often they come) and says under which name. With the pen. */
enum status photographs_keep(struct book *book, const struct bytes *bytes, char sha256[SHA256_TEXT],
                             struct fault *fault) MUST_USE;
/* The same for what stands under a path of a disk: copied piece by piece, so that it never lies in memory
 * whole. INPUT when it changes meanwhile. */
enum status photographs_keep_from(struct book *book, const struct disk *from, const char *path,
                                  char sha256[SHA256_TEXT], struct fault *fault) MUST_USE;
/* The file alone, for rows that come from elsewhere: bytes that a feed gives piece by piece, whose SHA-256 is
 * said to be that one. INPUT when it is not, when they are no picture, and when the feed fails. */
struct photograph_kind {
    const char *media;
    size_t size;
};
enum status photographs_keep_fed(struct book *book, disk_feed *feed, void *from, const char *name,
                                 const char *sha256, struct photograph_kind *kind,
                                 struct fault *fault) MUST_USE;
/* Puts right what a row from elsewhere says of the bytes. With the pen. */
enum status photographs_settle_row(struct book *book, const char *sha256, const char *media, size_t size,
                                   struct fault *fault) MUST_USE;
bool photographs_has(const struct book *book, const char *sha256, size_t size);
/* The bytes, compared with their name: INPUT when they were changed. */
enum status photographs_read(struct book *book, const char *sha256, struct arena *arena, struct bytes *out,
                             struct fault *fault) MUST_USE;
/* As an open file instead, for the caller to close. */
enum status photographs_open(struct book *book, const char *sha256, int *fd, struct fault *fault) MUST_USE;
const char *photographs_path(const char *dir, const char *sha256, char out[PHOTOGRAPH_PATH]);

/* A photograph made small, which any program may make anew. Read: false when it is not there. Keep: with the
 * pen, and only while the photograph has its row; INPUT when it has none (any more). */
bool photographs_small_read(struct book *book, const char *sha256, int size, struct arena *arena,
                            struct bytes *out);
enum status photographs_small_keep(struct book *book, const char *sha256, int size, const struct bytes *bytes,
                                   struct fault *fault) MUST_USE;

/* Photographs whose bytes are gone or were changed: a copy of the shop goes on without them and names them.
 */
enum { LOST_NAMED = 20 };
struct lost_photographs {
    size_t count;
    char name[LOST_NAMED][SHA256_TEXT]; /* the first of them */
};
void lost_add(struct lost_photographs *lost, const char *sha256);
/* Is that why photographs_read did not give them, and not a disk that fails? */
bool photographs_is_lost(const struct book *book, const char *sha256, const struct fault *why);

/* Removes every file, half-written file and thumbnail that no row names, and uploads. Takes the pen itself,
 * twice: the first time to make sure that no row that names one can come back. */
enum status photographs_tidy(struct book *book, size_t *removed, struct fault *fault) MUST_USE;

/* Looks at every file: each row's bytes are there and have their hash. The lists are the arena's. */
struct photographs_state {
    size_t count, orphans;
    unsigned long long bytes;
    size_t missing_count, changed_count;
    const char **missing, **changed;
};
enum status photographs_check(struct book *book, struct arena *arena, struct photographs_state *out,
                              struct fault *fault) MUST_USE;

#endif
