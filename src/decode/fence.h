/* What a decoder may still do: compute, within limits, and write to what it already holds. */
#ifndef RUSSET_DECODE_FENCE_H
#define RUSSET_DECODE_FENCE_H

#include <stdbool.h>
#include <stddef.h>

/* Ends with the parent, no new privileges, limits of memory (file_bytes of it for the mapped file), time,
 * files and cores. Before anything of the file is looked at. */
bool fence_limits(size_t file_bytes);
/* From here on only the calls of the list; every other ends the process. Sanitized builds only limit. */
bool fence_close(void);

#endif
