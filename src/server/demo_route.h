/* POST /api/demo {"on": true}: from then on this device works in the demo's shop, until {"on": false}. The
 * demo is made the first time it is asked for, as `russet shop init --demo` makes it, in a folder of its own
 * inside the shop's: it appears whole or not at all, and the shop's own book, backups and exports know
 * nothing of it. */
#ifndef RUSSET_SERVER_DEMO_ROUTE_H
#define RUSSET_SERVER_DEMO_ROUTE_H

#include "server/call.h"

#define DEMO_COOKIE "russet-shop"
const char *demo_folder(const char *shop, struct arena *arena);
route_answer demo_route_answer;

#endif
