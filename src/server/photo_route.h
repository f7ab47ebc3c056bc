/* GET /api/photo/SHA256: a photograph as it was taken; with ?small=320 or ?small=1600 made small, as JPEG, so
 * that every browser shows every kind that russet reads (HEIC, TIFF, raw). The small ones are made from the
 * rows of the decoding child as they come, a few MiB at a time, and lie in thumbnails/ of the shop until the
 * photograph is erased. */
#ifndef RUSSET_SERVER_PHOTO_ROUTE_H
#define RUSSET_SERVER_PHOTO_ROUTE_H

#include "server/call.h"

route_answer photo_route_answer;

#endif
