/* A photograph in pieces, so that a connection that is lost in the middle costs only the piece it carried.
 *
 *     GET  /api/upload/SHA256                       {"offset": 3145728}: so much is here
 *     GET  /api/upload/SHA256?small=1600            when it is whole: made small, as photo_route.h does it,
 *                                                   for what a browser cannot show (HEIC, raw); not kept
 *     POST /api/upload/SHA256?size=N&offset=M       the bytes from M on; answered with the offset that is
 * next
 *
 * The name is the SHA-256 of the whole; when the last byte is here and it is another, all of it is thrown
 * away. What is here lies in SHOP/uploads for a day, or until a run names it ({"upload": "SHA256"}) and has
 * kept it; it is no part of the book, and an erasure or `shop check --tidy` sweeps it. */
#ifndef RUSSET_SERVER_UPLOAD_ROUTE_H
#define RUSSET_SERVER_UPLOAD_ROUTE_H

#include "server/call.h"

enum { UPLOAD_MOST_MIB = 256, UPLOADS_MOST_MIB = 2048 };
route_answer upload_route_answer;

/* One that is whole, as an open file for the caller to close; INPUT when it is not here. */
enum status upload_open(const char *shop, const char *sha256, int *fd, struct fault *fault) MUST_USE;
void upload_drop(const char *shop, const char *sha256);

#endif
