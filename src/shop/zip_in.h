/* A ZIP file from a stranger: its members by name, each bounded. */
#ifndef RUSSET_SHOP_ZIP_IN_H
#define RUSSET_SHOP_ZIP_IN_H

#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"
#include <stdbool.h>
#include <sys/types.h>

enum { ZIP_MEMBERS_MOST = 1000000, ZIP_RATIO_MOST = 400, ZIP_LINE_MIB = 64, ZIP_TOTAL_GIB = 256 };

struct zip_in;

/* INPUT: no ZIP file, a name twice, a name that leaves the folder, encrypted, unpacks to far more than it
 * holds. */
enum status zip_in_open(const char *path, struct zip_in **out, struct fault *fault) MUST_USE;
void zip_in_close(struct zip_in *zip); /* NULL is fine */

size_t zip_in_count(const struct zip_in *zip);
const char *zip_in_name(const struct zip_in *zip, size_t at); /* until zip_in_close */
bool zip_in_has(const struct zip_in *zip, const char *name);

/* The whole member, at most most_mib. */
enum status zip_in_read(struct zip_in *zip, const char *name, size_t most_mib, struct arena *arena,
                        struct bytes *out, struct fault *fault) MUST_USE;
/* The same piece by piece: a disk_feed (device/disk.h) from a member that is open; -1 also when its checksum
 * does not hold. */
struct zip_member;
enum status zip_in_member(struct zip_in *zip, const char *name, struct zip_member **out,
                          struct fault *fault) MUST_USE;
ssize_t zip_member_feed(void *member, void *to, size_t n);
void zip_member_close(struct zip_member *member);
/* Line by line, without the line ends, each at most ZIP_LINE_MIB; ends at the first that is not OK. */
typedef enum status zip_line(void *to, const char *line, size_t size, size_t number, struct fault *fault);
enum status zip_in_lines(struct zip_in *zip, const char *name, zip_line *take, void *to,
                         struct fault *fault) MUST_USE;

#endif
