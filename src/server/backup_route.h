/* POST /api/backup: the whole shop as one file, the same as `russet shop backup` writes. */
#ifndef RUSSET_SERVER_BACKUP_ROUTE_H
#define RUSSET_SERVER_BACKUP_ROUTE_H

#include "server/call.h"

route_answer backup_route_answer;

#endif
