/* GET /api/photo/SHA256: a photograph as it was taken; with ?small=320 or ?small=1600 made small, as JPEG, so
 * that every browser shows every kind that russet reads (HEIC, TIFF, raw). The small ones are made from the
 * rows of the decoding child as they come, a few MiB at a time, and lie in thumbnails/ of the shop until the
 * photograph is erased. */
#ifndef RUSSET_SERVER_PHOTO_ROUTE_H
#define RUSSET_SERVER_PHOTO_ROUTE_H

#include "server/call.h"

route_answer photo_route_answer;

/* Which of the two sizes was asked for; 0: as it was taken. */
int photo_route_size(const struct call *call);
/* A photograph in a file of the machine made small, with how many of its pixels one is as a comment. */
enum status photo_route_small(const struct call *call, const char *path, int size, struct text *out,
                              struct fault *fault) MUST_USE;

#endif
