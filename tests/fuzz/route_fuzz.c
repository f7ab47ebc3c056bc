/* Every route of the page's server, asked without a network: requests one after the other on one shop, each
 *
 *     METHOD /path?query
 *     Header: value            (a Host, an Origin, the cookie of a paired device and JSON's kind are there
 *                               unless they are given)
 *
 *     body
 *     == (a line of its own)   the next one
 *
 * The shop has a shelf, a job with a recipe and a pot; "@shelf", "@spot", "@match" and "@pour" in a body
 * stand for such documents. Whatever comes, the answer is of HTTP's own codes and of a known kind, an error
 * is one sentence, JSON is JSON, and the book opens afterwards. */
#include "flow/operation.h"
#include "fuzz_help.h"
#include "request_fuzz.h"
#include "server/gate.h"
#include "server/helper.h"
#include "server/pairing.h"
#include "server/routes.h"
#include "shelf_fuzz.h"
#include "shop_fuzz.h"
#include <sodium.h>
#include <unistd.h>

enum { REQUESTS_MOST = 6, HEADERS_MOST = 8, HOST_PORT = 8080 };

struct asking {
    const char *method, *path, *query;
    const char *name[HEADERS_MOST], *value[HEADERS_MOST];
    size_t headers;
};

static struct server server;
static struct asking asking;
static char cookie[GATE_TOKEN + 40];

/* ---- what the daemon does ---- */

static const char *header_of(const struct call *call, const char *name) {
    (void)call;
    for (size_t i = 0; i < asking.headers; i++)
        if (strcasecmp(asking.name[i], name) == 0) return asking.value[i];
    if (strcmp(name, "Host") == 0) return "127.0.0.1:8080";
    if (strcmp(name, "Origin") == 0) return "http://127.0.0.1:8080";
    if (strcmp(name, "Cookie") == 0) return cookie;
    if (strcmp(name, "Content-Type") == 0) return "application/json";
    return NULL;
}

/* name=value&name=value; nothing is decoded: the bytes come as they are. */
static const char *query_of(const struct call *call, const char *name) {
    const size_t n = strlen(name);
    for (const char *at = asking.query; at && *at;) {
        const char *stop = strchrnul(at, '&');
        if (strncmp(at, name, n) == 0 && at[n] == '=')
            return arena_text(call->arena, at + n + 1, (size_t)(stop - at) - n - 1);
        at = *stop ? stop + 1 : stop;
    }
    return NULL;
}

/* ---- what must hold of any answer ---- */

static void must_be_answer(const struct answer *answer) {
    static const int codes[] = {200, 303, 304, 400, 401, 403, 404, 409, 413, 415, 421, 422, 500, 503, 507};
    bool known = false;
    for (size_t i = 0; i < sizeof codes / sizeof *codes; i++) known = known || answer->code == codes[i];
    MUST(known);
    MUST(!answer->stream);
    if (!answer->type || strncmp(answer->type, "application/json", 16) != 0 || answer->fixed || answer->file)
        return;
    json_t *object = json_loadb(answer->body.data, answer->body.length, JSON_ALLOW_NUL, NULL);
    MUST(json_is_object(object) || (json_is_array(object) && answer->code == 200));
    if (answer->code >= 400) {
        const char *text = json_string_value(json_object_get(json_object_get(object, "error"), "text"));
        MUST(text && strlen(text) > 10);
    }
    json_decref(object);
}

/* ---- photographs are worked on in a process of their own, which takes a tenth of a second to start ---- */

enum { HELPED_ONE_IN = 64 };
static bool helped;

void __real_helper_run(struct run *run, struct answer *answer);
void __wrap_helper_run(struct run *run, struct answer *answer);
void __wrap_helper_run(struct run *run, struct answer *answer) {
    if (helped)
        __real_helper_run(run, answer);
    else
        run_here(run, answer);
}

/* ---- documents by name ---- */

static struct text document[REQUEST_DOCUMENTS];

/* "@shelf" and the others for what they stand for; the caller frees it. */
static struct text with_documents(const char *at, const char *end) {
    struct text out = {0};
    while (at < end) {
        const char *mark = memmem(at, (size_t)(end - at), "\"@", 2);
        text_add_bytes(&out, at, (size_t)((mark ? mark : end) - at));
        at = mark ? mark : end;
        size_t taken = 0;
        for (size_t i = 0; mark && i < REQUEST_DOCUMENTS && !taken; i++) {
            const size_t n = strlen(request_documents[i]);
            if ((size_t)(end - at) < n + 2 || memcmp(at + 1, request_documents[i], n) != 0 ||
                at[n + 1] != '"')
                continue;
            if (!document[i].length) continue;
            text_add_bytes(&out, document[i].data, document[i].length);
            taken = n + 2;
        }
        if (mark && !taken) text_add_bytes(&out, at, taken = 1);
        at += taken;
    }
    return out;
}

static json_t **reply_wanted; /* where the starting requests want theirs */

/* Seconds of work that nobody's bytes steer; the same table again. */
static bool is_left_out(const char *path) {
    return strcmp(path, "/api/demo") == 0 || (strcmp(path, "/api/operations") == 0 && !helped);
}

static void ask(const struct bytes *body) {
    struct call call = {.server = &server,
                        .arena = arena_new(),
                        .method = asking.method,
                        .path = asking.path,
                        .body = *body,
                        .header = header_of,
                        .query = query_of};
    struct answer answer = {.code = 200};
    const bool left_out = is_left_out(call.path);
    const int refused = routes_refuse(&call);
    MUST(refused == 0 || (refused >= 400 && refused < 500));
    if (!refused && !left_out && body->size <= routes_body_most(&call)) {
        routes_answer(&call, &answer);
        must_be_answer(&answer);
        if (reply_wanted) *reply_wanted = json_loadb(answer.body.data, answer.body.length, 0, NULL);
    }
    if (answer.file > 0) close(answer.file);
    text_free(&answer.body);
    arena_free(call.arena);
}

/* ---- bytes to requests ---- */

static char *cut(char *at, char *end, char **next) { /* a line, ended where it stands */
    char *stop = memchr(at, '\n', (size_t)(end - at));
    *next = stop ? stop + 1 : end;
    if (stop) *stop = 0;
    return at;
}

static void read_first(char *line) {
    char *path = strchr(line, ' '), *query;
    asking.method = line;
    asking.path = "/";
    asking.query = NULL;
    if (!path) return;
    *path++ = 0;
    if ((query = strchr(path, '?'))) *query++ = 0;
    asking.path = path;
    asking.query = query;
}

/* text ends with a zero byte at end. */
static void ask_one(char *text, char *end) {
    char *at = text, *colon;
    asking = (struct asking){0};
    read_first(cut(at, end, &at));
    while (at < end) {
        char *line = cut(at, end, &at);
        if (!*line) break;
        if (asking.headers == HEADERS_MOST || !(colon = strchr(line, ':'))) continue;
        *colon = 0;
        asking.name[asking.headers] = line;
        asking.value[asking.headers++] = colon + 1 + (colon[1] == ' ');
    }
    struct text whole = with_documents(at, end);
    const struct bytes body = {(unsigned char *)(whole.data ? whole.data : at), whole.length, "the request"};
    ask(&body);
    text_free(&whole);
}

/* ---- what the shop begins with ---- */

/* What is replied is the document of that name; -1: of none. */
static void begin(const char *request, int of_name) {
    json_t *answer = NULL, *reply;
    char *text = strdup(request);
    reply_wanted = &answer;
    ask_one(text, text + strlen(text));
    reply_wanted = NULL;
    reply = json_object_get(answer, "reply");
    if (!reply) fprintf(stderr, "%s: not done\n", request);
    MUST(reply);
    if (of_name >= 0) {
        char *written = json_dumps(reply, JSON_COMPACT);
        text_add(&document[of_name], written);
        free(written);
    }
    json_decref(answer);
    free(text);
}

static void begin_shop(void) {
    static const char shelf_file[] =
        "\"files\":{\"t\":{\"document\":\"@shelf\"},\"s\":{\"document\":\"@spot\"}}}";
    char request[600];
    write_shelf(&document[0]);
    text_add(
        &document[1],
        "{\"kind\":\"reading\",\"format\":1,\"geometry\":\"sci\",\"reflectance\":[0.05,0.05,0.05,0.05,0.05,"
        "0.06,0.06,0.06,0.07,0.08,0.09,0.1,0.12,0.15,0.2,0.25,0.3,0.34,0.37,0.4,0.42,0.43,0.44,0.45,"
        "0.45,0.46,0.46,0.46,0.46,0.47,0.47],\"lab\":[50,20,30]}");
    snprintf(request, sizeof request,
             "POST /api/run/match\n\n{\"arguments\":{\"--toners\":\"t\",\"--target\":\"s\",\"--top\":2,"
             "\"--batch-g\":60},%s",
             shelf_file);
    begin(request, 2);
    begin(
        "POST /api/run/pour\n\n{\"arguments\":{\"--recipe\":\"m#1\",\"--batch-g\":60,\"--all-poured\":true},"
        "\"files\":{\"m\":{\"document\":\"@match\"}}}",
        3);
    snprintf(request, sizeof request, "POST /api/run/shelf/keep\n\n{\"arguments\":{\"TONERS\":\"t\"},%s",
             shelf_file);
    begin(request, -1);
    begin("POST /api/run/job/new\n\n{\"arguments\":{\"--title\":\"Armchair\",\"--customer\":\"demo "
          "customer\",\"--piece\":[\"cushion\"],"
          "\"--colour\":[\"cognac\"]}}",
          -1);
    begin(
        "POST /api/run/shelf/receive\n\n{\"arguments\":{\"TONER\":\"white\",\"--lot\":\"W-1\",\"--g\":500}}",
        -1);
    begin("POST /api/run/job/log\n\n{\"arguments\":{\"JOB\":\"1\",\"FILE\":\"m\",\"--colour\":\"cognac\"},"
          "\"files\":{\"m\":{\"document\":\"@match\"}}}",
          -1);
    begin("POST /api/run/job/log\n\n{\"arguments\":{\"JOB\":\"1\",\"FILE\":\"p\",\"--colour\":\"cognac\"},"
          "\"files\":{\"p\":{\"document\":\"@pour\"}}}",
          -1);
}

static void pair(struct pairing *pairing) {
    struct arena *arena = arena_new();
    struct fault fault;
    char token[GATE_TOKEN + 1];
    if (pairing_admit(pairing, pairing_ticket(pairing, arena), "bench", token, &fault) != STATUS_OK) abort();
    snprintf(cookie, sizeof cookie, "russet=%s", token);
    arena_free(arena);
}

int LLVMFuzzerInitialize(int *argc, char ***argv);
int LLVMFuzzerInitialize(int *argc, char ***argv) {
    if (helper_is_this(*argc, *argv))
        _exit(helper_main()); /* a run of photographs starts this program again */
    static struct surroundings around;
    static struct serve_settings settings;
    static char demo[300];
    struct fault fault;
    if (sodium_init() < 0) abort();
    fuzz_shop_make();
    const struct book_how how = fuzz_shop_how();
    around =
        (struct surroundings){.disk = disk_real(), .arena = arena_new(), .clock = how.clock, .ids = how.ids};
    settings = (struct serve_settings){.shop = fuzz_shop.dir};
    snprintf(demo, sizeof demo, "%s/demo", fuzz_shop.dir);
    server =
        (struct server){.around = &around, .settings = &settings, .demo = demo, .names = {"127.0.0.1:8080"}};
    if (pairing_open(fuzz_shop.dir, how, clock_real(), &server.pairing, &fault) != STATUS_OK) abort();
    pair(server.pairing);
    begin_shop();
    pairing_close(server.pairing);
    fuzz_shop_keep();
    return 0;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const char between[] = "\n==\n";
    struct fault fault;
    char *text = malloc(size + 1), *at = text, *end = text + size;
    memcpy(text, data, size);
    *end = 0;
    helped = fuzz_is_chosen(HELPED_ONE_IN, data, size);
    fuzz_shop_again();
    if (pairing_open(fuzz_shop.dir, fuzz_shop_how(), clock_real(), &server.pairing, &fault) != STATUS_OK)
        abort();
    for (int i = 0; i < REQUESTS_MOST && at < end; i++) {
        char *stop = memmem(at, (size_t)(end - at), between, 4), *next = stop ? stop + 4 : end;
        if (!stop) stop = end;
        *stop = 0;
        ask_one(at, stop);
        at = next;
    }
    pairing_close(server.pairing);
    fuzz_shop_is_sound(data, size);
    free(text);
    return 0;
}

MUTATE_BY(mutate_requests);
