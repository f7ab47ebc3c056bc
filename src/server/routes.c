/* The routes, and who may use them.
 *
 *     GET  / and the page's own places     the page (nothing of the shop is in it)
 *     GET  /?ticket=T                      trades the ticket of the printed address for a cookie, once
 *     GET  /api/me                         paired or not
 *     POST /api/pair                       {"code", "name"} -> a cookie
 *  paired devices only:
 *     POST /api/pairing                    a new code, the address, its QR picture, the fingerprint
 *     GET  /api/devices, POST /api/devices/revoke {"id"}
 *     GET  /api/operations                 the table
 *     POST /api/run/VERB, /api/paper/VERB  run_route.h
 *     GET  /api/photo/SHA256, /api/scale   photo_route.h; scale_route.h
 *     GET, POST /api/upload/SHA256         upload_route.h
 *     POST /api/demo                       {"on": true}: this device works in the demo's shop, until false
 *     POST /api/backup                     the whole shop as one file (backup_route.h) */
#include "server/routes.h"
#include "formats/json_in.h"
#include "formats/json_out.h"
#include "server/backup_route.h"
#include "server/demo_route.h"
#include "server/gate.h"
#include "server/pages.h"
#include "server/pairing.h"
#include "server/photo_route.h"
#include "server/run_route.h"
#include "server/scale_route.h"
#include "server/server.h"
#include "server/upload_route.h"
#include <qrencode.h>
#include <stdio.h>
#include <string.h>

/* What is larger comes in pieces (upload_route.h): a body lies in memory some times over while it is read. */
enum { BODY_MOST_MIB = 8, OPEN_BODY_MOST = 4096 };

struct route {
    const char *method, *path; /* path ending in '/': everything below it */
    bool open;                 /* for devices that are not paired too */
    bool json;                 /* a body is JSON and says so */
    route_answer *answer;
};

/* ---- routes ---- */

/* The zone in which the shop counts its days, for who is let in: the page tells times by it. */
static void put_zone(const struct call *call, json_t *me) {
    struct book *book;
    if (!call->device || server_book(call, &book, NULL) != STATUS_OK) return;
    json_put_text(me, "zone", book_zone(book));
    book_close(book);
}

static void answer_me(const struct call *call, struct answer *answer) {
    json_t *me = json_pack("{s:b,s:b,s:b,s:s?,s:n}", "paired", call->device != NULL, "tls",
                           server_has_tls(call->server), "demo", call->shop == call->server->demo, "version",
                           call->device ? RUSSET_VERSION : NULL, "zone");
    put_zone(call, me);
    answer_json(answer, 200, me);
}

static void say(const struct call *call, const struct fault *what) {
    door_say(&call->server->door, &call->server->around->clock, call, what);
}

/* "__Host-": the browser itself holds it to this host, this path and TLS (RFC 6265bis, 4.1.3.2). */
static const char *cookie_name(const struct server *server) {
    return server_has_tls(server) ? "__Host-russet" : "russet";
}

static const char *cookie_text(const struct call *call, const char *token) {
    struct text text = {0};
    text_format(&text, "%s=%s; Path=/; HttpOnly; SameSite=Strict; Max-Age=31536000%s",
                cookie_name(call->server), token, server_has_tls(call->server) ? "; Secure" : "");
    const char *kept = arena_text(call->arena, text.data, text.length);
    text_free(&text);
    return kept;
}

static void admit(const struct call *call, const char *secret, const char *name, struct answer *answer) {
    char token[GATE_TOKEN + 1];
    struct fault fault, said;
    const enum status status = pairing_admit(call->server->pairing, secret, name, token, &fault);
    if (status == STATUS_OK)
        FAULT(&said, SERVER_SAID_IN, name);
    else
        FAULT0(&said, SERVER_SAID_WRONG);
    say(call, &said);
    if (status == STATUS_NO) door_refuse(&call->server->door, &call->server->around->clock);
    if (status != STATUS_OK) {
        answer_fault(answer, &fault);
        if (status == STATUS_NO) answer->code = 403;
        return;
    }
    answer->cookie = cookie_text(call, token);
    answer_json(answer, 200, json_pack("{s:b}", "paired", 1));
}

static json_t *body_of(const struct call *call, struct answer *answer) {
    json_t *body = NULL;
    struct fault fault;
    if (json_read(&call->body, &body, &fault) != STATUS_OK) answer_fault(answer, &fault);
    return body;
}

static const char *text_in(const json_t *body, const char *key) {
    const char *text = json_string_value(json_object_get(body, key));
    return text ? text : "";
}

static void answer_pair(const struct call *call, struct answer *answer) {
    json_t *body = body_of(call, answer);
    if (!body) return;
    admit(call, text_in(body, "code"), text_in(body, "name"), answer);
    json_decref(body);
}

/* The picture is black on white whatever the page's colours are: cameras want it so. */
static void draw_qr(const char *text, struct text *svg) {
    QRcode *code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);
    if (!code) return;
    const int n = code->width;
    text_format(svg,
                "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"-4 -4 %d %d\"><path fill=\"#fff\" "
                "d=\"M-4-4h%dv%dh-%dz\"/><path d=\"",
                n + 8, n + 8, n + 8, n + 8, n + 8);
    for (int y = 0; y < n; y++)
        for (int x = 0; x < n; x++)
            if (code->data[y * n + x] & 1) text_format(svg, "M%d %dh1v1h-1z", x, y);
    text_add(svg, "\"/></svg>");
    QRcode_free(code);
}

static void answer_pairing(const struct call *call, struct answer *answer) {
    struct server *server = call->server;
    char code[PAIRING_CODE + 1], address[128];
    struct fault said;
    pairing_new_code(server->pairing, code);
    FAULT0(&said, SERVER_SAID_CODE);
    say(call, &said);
    snprintf(address, sizeof address, "%s://%s/", server_has_tls(server) ? "https" : "http",
             server->names[0]);
    struct text qr = {0};
    draw_qr(address, &qr);
    answer_json(answer, 200,
                json_pack("{s:s,s:s,s:i,s:s,s:s}", "code", code, "address", address, "minutes",
                          PAIRING_MINUTES, "fingerprint", server->certificate.fingerprint, "qr",
                          qr.data ? qr.data : ""));
    text_free(&qr);
}

static void answer_devices(const struct call *call, struct answer *answer) {
    answer_json(answer, 200,
                json_pack("{s:o,s:o}", "devices", pairing_list(call->server->pairing, call->device),
                          "refused", door_refusals(&call->server->door)));
}

static void answer_revoke(const struct call *call, struct answer *answer) {
    json_t *body = body_of(call, answer);
    if (!body) return;
    struct fault fault, said;
    if (pairing_revoke(call->server->pairing, text_in(body, "id"), &fault) == STATUS_OK) {
        FAULT0(&said, SERVER_SAID_REVOKED);
        say(call, &said);
        answer_devices(call, answer);
    } else
        answer_fault(answer, &fault);
    json_decref(body);
}

static json_t *argument_json(const struct argument *a) {
    static const char *const types[] = {"flag",    "text", "file",  "number", "count",
                                        "numbers", "ids",  "parts", "choice"};
    static const char *const counts[] = {"one", "maybe", "some", "any"};
    return json_pack("{s:s,s:s,s:s,s:s,s:f,s:f,s:s,s:s}", "name", a->name, "type", types[a->type], "count",
                     counts[a->count], "unit", a->unit, "low", a->low, "high", a->high, "preset", a->preset,
                     "help", a->help);
}

static void answer_operations(const struct call *call, struct answer *answer) {
    (void)call;
    size_t count, arguments;
    const struct operation *o = operations_all(&count);
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        if (!server_serves(&o[i])) continue;
        const struct argument *a = operation_arguments(&o[i], &arguments);
        json_t *taken = json_array();
        for (size_t k = 0; k < arguments; k++) json_array_append_new(taken, argument_json(&a[k]));
        json_array_append_new(list, json_pack("{s:s,s:s,s:i,s:o}", "verb", o[i].verb, "summary", o[i].summary,
                                              "papers", (int)o[i].papers, "arguments", taken));
    }
    answer_json(answer, 200, json_pack("{s:o}", "operations", list));
}

static void answer_scale(const struct call *call, struct answer *answer) {
    scale_feed_answer(call->server->scale, answer);
}

static const struct route routes[] = {
    {"GET", "/api/scale", false, false, answer_scale},
    {"GET", "/api/photo/", false, false, photo_route_answer},
    {"GET", "/api/upload/", false, false, upload_route_answer},
    {"POST", "/api/upload/", false, false, upload_route_answer},
    {"POST", "/api/demo", false, true, demo_route_answer},
    {"GET", "/api/me", true, false, answer_me},
    {"POST", "/api/pair", true, true, answer_pair},
    {"POST", "/api/pairing", false, true, answer_pairing},
    {"GET", "/api/devices", false, false, answer_devices},
    {"POST", "/api/devices/revoke", false, true, answer_revoke},
    {"GET", "/api/operations", false, false, answer_operations},
    {"POST", "/api/run/", false, true, run_route_answer},
    {"POST", "/api/paper/", false, true, paper_route_answer},
    {"POST", "/api/backup", false, true, backup_route_answer},
};

static const struct route *route_of(const struct call *call) {
    for (size_t i = 0; i < sizeof routes / sizeof *routes; i++) {
        const size_t n = strlen(routes[i].path);
        const bool below = routes[i].path[n - 1] == '/';
        const bool here =
            below ? strncmp(call->path, routes[i].path, n) == 0 : strcmp(call->path, routes[i].path) == 0;
        if (here && strcmp(call->method, routes[i].method) == 0) return &routes[i];
    }
    return NULL;
}

/* The printed address is opened again by bookmarks, by a browser that restores its tabs, by one that looks
 * ahead: who is in already goes in and is not made a device once more; who is not stands before the door, in
 * the page's own words. */
static void answer_ticket(const struct call *call, const char *ticket, struct answer *answer) {
    if (!call->device) admit(call, ticket, "this machine", answer);
    const bool in = answer->code == 200;
    text_free(&answer->body);
    answer->code = in ? 303 : 200;
    if (in)
        answer->location = "/";
    else if (pages_answer(call, answer) && answer->code == 200)
        answer->code = 403;
}

/* Another site's form cannot send this kind without asking first, and what comes is never guessed. */
static bool says_json(const struct call *call) {
    const char *kind = call->header(call, "Content-Type");
    return kind &&
           text_same_ignoring_case(arena_text(call->arena, kind, strcspn(kind, "; ")), "application/json");
}

static void answer_route(const struct route *route, const struct call *call, struct answer *answer) {
    if (!route->json || !call->body.size || says_json(call)) {
        route->answer(call, answer);
        return;
    }
    struct fault fault;
    FAULT0(&fault, SERVER_BODY_KIND);
    answer_fault(answer, &fault);
    answer->code = 415;
}

void routes_answer(const struct call *call, struct answer *answer) {
    const char *ticket = call->query(call, "ticket");
    if (ticket && strcmp(call->path, "/") == 0 && strcmp(call->method, "GET") == 0) {
        answer_ticket(call, ticket, answer);
        return;
    }
    const struct route *route = route_of(call);
    if (route) {
        answer_route(route, call, answer);
    } else if (!pages_answer(call, answer)) {
        struct fault fault;
        FAULT(&fault, SERVER_NO_SUCH_PAGE, call->path);
        answer_fault(answer, &fault);
        answer->code = 404;
    }
}

/* ---- who may ---- */

static bool changes(const struct call *call) {
    return strcmp(call->method, "GET") != 0 && strcmp(call->method, "HEAD") != 0;
}

static int refusal_of(struct call *call) {
    const struct server *server = call->server;
    if (!gate_host_is_ours(call->header(call, "Host"), server->names)) return 421;
    if (!gate_origin_is_ours(call->header(call, "Origin"), changes(call), server_has_tls(server),
                             server->names))
        return 403;
    const char *cookie = gate_cookie(call->header(call, "Cookie"), cookie_name(server), call->arena);
    if (cookie) call->device = pairing_device(server->pairing, cookie, call->arena);
    const char *shop = gate_cookie(call->header(call, "Cookie"), DEMO_COOKIE, call->arena);
    const bool in_demo = shop && strcmp(shop, "demo") == 0 && disk_is_folder(server->demo);
    call->shop = in_demo ? server->demo : server->settings->shop;
    const struct route *route = route_of(call);
    if (!route && text_starts(call->path, "/api/")) return 404;
    return route && !route->open && !call->device ? 401 : 0;
}

int routes_refuse(struct call *call) {
    const int code = refusal_of(call);
    struct fault said;
    if (code == 421)
        FAULT0(&said, SERVER_SAID_OTHER_NAME);
    else if (code == 403)
        FAULT0(&said, SERVER_SAID_OTHER_PAGE);
    else if (code == 401)
        FAULT0(&said, SERVER_SAID_UNKNOWN);
    else
        return code;
    say(call, &said);
    door_refuse(&call->server->door, &call->server->around->clock);
    return code;
}

size_t routes_body_most(const struct call *call) {
    const struct route *route = route_of(call);
    return !route || route->open ? OPEN_BODY_MOST : (size_t)BODY_MOST_MIB << 20;
}
