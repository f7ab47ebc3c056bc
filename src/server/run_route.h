/* POST /api/run/VERB: an operation of the table, for the page.
 *
 *     {"arguments": {"--toners": "shelf", "--batch-g": 60, "--ring": true, "FILE": ["a", "b"]},
 *      "files": {"shelf": {"document": {...}}, "a": {"text": "..."}, "b": {"base64": "..."},
 *                "spot": {"entry": "<id of an entry of a job>"}, "c": {"photo": "<SHA-256>"},
 *                "d": {"upload": "<SHA-256>"}}}
 *
 * The reply is {"status": "OK" or "NO", "reply": {...}, "written": {"overlay.png": "<base64>"}} or
 * {"error": {"id", "text"}}. A request that accepts text/event-stream gets progress while it runs, and the
 * same reply as its last event; whoever leaves early stops the work. POST /api/paper/VERB?as=pdf answers with
 * the paper.
 *
 * "asked": a key of the page's own making (16..64 letters, digits, '-'). A request with the same key is
 * carried out once, however often it comes; again it is answered with "again": true and the number that was
 * given.
 *
 * What reaches into the machine (--shop, --out, --scale, --log ...) is not the page's to say and is refused.
 */
#ifndef RUSSET_SERVER_RUN_ROUTE_H
#define RUSSET_SERVER_RUN_ROUTE_H

#include "server/call.h"

route_answer run_route_answer;
route_answer paper_route_answer;

#endif
