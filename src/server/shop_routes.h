/* What the shop keeps as files, for paired devices.
 *
 *     GET  /api/photo/SHA256   a photograph as it was taken; only pictures that a browser shows have their
 * type POST /api/backup         the whole shop as one file, the same as `russet shop backup` writes */
#ifndef RUSSET_SERVER_SHOP_ROUTES_H
#define RUSSET_SERVER_SHOP_ROUTES_H

#include "server/call.h"

route_answer photo_route_answer;
route_answer backup_route_answer;

#endif
