#include "server/daemon.h"
#include "server/stream.h"
#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

enum {
    CONNECTIONS = 96,
    CONNECTIONS_OF_ONE = 48,
    IDLE_S = 20,
    EVENT_BYTES = 16 * 1024,
    KEEP_ALIVE_MS = 10000
};

/* All bodies that are being read or acted on: what several phones send at once stays within bodies_most. */
static _Atomic size_t bodies;

struct exchange { /* what MHD keeps for one request */
    const struct daemon_settings *settings;
    struct call call;
    struct text body;
    time_t begun;
    int refused;
};

static time_t seconds(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec;
}

static const char *header_of(const struct call *call, const char *name) {
    return MHD_lookup_connection_value(call->connection, MHD_HEADER_KIND, name);
}

static const char *query_of(const struct call *call, const char *name) {
    return MHD_lookup_connection_value(call->connection, MHD_GET_ARGUMENT_KIND, name);
}

/* ---- sending ---- */

static ssize_t stream_reader(void *context, uint64_t position, char *to, size_t most) {
    (void)position;
    const long n = stream_take(context, to, most, KEEP_ALIVE_MS);
    if (n < 0) return MHD_CONTENT_READER_END_OF_STREAM;
    if (n > 0) return n;
    static const char still_there[] = ": \n\n";
    if (most < sizeof still_there) return 0;
    memcpy(to, still_there, sizeof still_there - 1);
    return (ssize_t)(sizeof still_there - 1);
}

static void stream_closed(void *context) {
    stream_leave(context);
    stream_let_go(context);
}

/* Scripts, styles and pictures are the server's own only; nothing may frame the page; nothing is guessed. */
static void add_shared_headers(struct MHD_Response *response) {
    MHD_add_response_header(
        response, "Content-Security-Policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
        "connect-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'");
    MHD_add_response_header(response, "X-Content-Type-Options", "nosniff");
    MHD_add_response_header(response, "Referrer-Policy", "no-referrer");
    MHD_add_response_header(response, "Cross-Origin-Opener-Policy", "same-origin");
    MHD_add_response_header(response, "Cross-Origin-Resource-Policy", "same-origin");
}

static struct MHD_Response *response_of(struct answer *answer) {
    if (answer->stream)
        return MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, EVENT_BYTES, stream_reader, answer->stream,
                                                 stream_closed);
    if (answer->file) {
        struct stat state;
        return fstat(answer->file, &state) == 0
                   ? MHD_create_response_from_fd64((uint64_t)state.st_size, answer->file)
                   : NULL;
    }
    if (answer->fixed)
        return MHD_create_response_from_buffer_with_free_callback(answer->fixed_size,
                                                                  (void *)(uintptr_t)answer->fixed, NULL);
    return MHD_create_response_from_buffer(answer->body.length,
                                           answer->body.data ? answer->body.data : (void *)(uintptr_t) "",
                                           MHD_RESPMEM_MUST_COPY);
}

static void add_own_headers(struct MHD_Response *response, const struct answer *answer) {
    if (answer->type) MHD_add_response_header(response, "Content-Type", answer->type);
    if (answer->cookie) MHD_add_response_header(response, "Set-Cookie", answer->cookie);
    if (answer->location) MHD_add_response_header(response, "Location", answer->location);
    MHD_add_response_header(response, "Cache-Control", answer->etag ? "private, no-cache" : "no-store");
    if (answer->etag) MHD_add_response_header(response, "ETag", answer->etag);
    if (!answer->file_name) {
        /* A browser led straight to an answer of the API saves it and shows nothing (ASVS 4.0.3, 14.4.2). */
        if (answer->type && strcmp(answer->type, "application/json") == 0)
            MHD_add_response_header(response, "Content-Disposition", "attachment; filename=\"api.json\"");
        return;
    }
    char value[200];
    snprintf(value, sizeof value, "attachment; filename=\"%.150s\"", answer->file_name);
    MHD_add_response_header(response, "Content-Disposition", value);
}

static enum MHD_Result send_answer(struct MHD_Connection *connection, struct answer *answer) {
    struct MHD_Response *response = response_of(answer);
    if (!response) return MHD_NO;
    add_shared_headers(response);
    add_own_headers(response, answer);
    const enum MHD_Result queued = MHD_queue_response(connection, (unsigned)answer->code, response);
    MHD_destroy_response(response);
    text_free(&answer->body);
    return queued;
}

static enum MHD_Result send_refusal(struct MHD_Connection *connection, int code) {
    struct answer answer = {0};
    struct fault fault;
    FAULT(&fault, SERVER_REFUSED, COUNT_TEXT(code));
    answer_fault(&answer, &fault);
    answer.code = code;
    return send_answer(connection, &answer);
}

/* ---- reading ---- */

static int refuse_early(struct exchange *exchange) {
    const int code = exchange->settings->refuse(&exchange->call);
    if (code) return code;
    const char *length = header_of(&exchange->call, "Content-Length");
    unsigned long long n;
    const size_t most = exchange->settings->body_most(&exchange->call);
    if (length && !text_to_count(length, ~0ULL >> 1, &n)) return 400;
    return length && n > most ? 413 : 0;
}

static const char *peer_of(struct MHD_Connection *connection, struct arena *arena) {
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
    char text[INET_ADDRSTRLEN];
    struct sockaddr_in at;
    if (!info || !info->client_addr || info->client_addr->sa_family != AF_INET) return NULL;
    memcpy(&at, info->client_addr, sizeof at);
    if (!inet_ntop(AF_INET, &at.sin_addr, text, sizeof text)) return NULL;
    return arena_text(arena, text, strlen(text));
}

static struct exchange *exchange_begin(const struct daemon_settings *settings,
                                       struct MHD_Connection *connection, const char *url,
                                       const char *method) {
    struct exchange *exchange = memory_need(1, sizeof *exchange);
    exchange->settings = settings;
    exchange->begun = seconds();
    struct arena *arena = arena_new();
    exchange->call = (struct call){.server = settings->server,
                                   .arena = arena,
                                   .connection = connection,
                                   .peer = peer_of(connection, arena),
                                   .method = arena_text(arena, method, strlen(method)),
                                   .path = arena_text(arena, url, strlen(url)),
                                   .header = header_of,
                                   .query = query_of};
    exchange->call.accept = header_of(&exchange->call, "Accept");
    return exchange;
}

static enum MHD_Result take_body(struct exchange *exchange, const char *data, size_t *size) {
    if (seconds() - exchange->begun > exchange->settings->deadline_s)
        return MHD_NO; /* too slow: the line is cut */
    if (exchange->body.length + *size > exchange->settings->body_most(&exchange->call))
        exchange->refused = 413;
    else if (!exchange->refused && atomic_fetch_add(&bodies, *size) + *size > exchange->settings->bodies_most)
        atomic_fetch_sub(&bodies, *size), exchange->refused = 503;
    else if (!exchange->refused)
        text_add_bytes(&exchange->body, data, *size);
    *size = 0;
    return MHD_YES;
}

static enum MHD_Result on_request(void *context, struct MHD_Connection *connection, const char *url,
                                  const char *method, const char *version, const char *data, size_t *size,
                                  void **kept) {
    (void)version;
    struct exchange *exchange = *kept;
    if (!exchange) {
        *kept = exchange = exchange_begin(context, connection, url, method);
        exchange->refused = refuse_early(exchange);
        return exchange->refused ? send_refusal(connection, exchange->refused) : MHD_YES;
    }
    if (*size) return take_body(exchange, data, size);
    if (exchange->refused) return send_refusal(connection, exchange->refused);
    exchange->call.body =
        (struct bytes){(const unsigned char *)(exchange->body.data ? exchange->body.data : ""),
                       exchange->body.length, "the request"};
    struct answer answer = {.code = 200};
    exchange->settings->answer(&exchange->call, &answer);
    return send_answer(connection, &answer);
}

static void on_end(void *context, struct MHD_Connection *connection, void **kept,
                   enum MHD_RequestTerminationCode why) {
    (void)context, (void)connection, (void)why;
    struct exchange *exchange = *kept;
    if (!exchange) return;
    atomic_fetch_sub(&bodies, exchange->body.length);
    text_free(&exchange->body);
    arena_free(exchange->call.arena);
    memory_free(exchange);
    *kept = NULL;
}

/* ---- starting ---- */

static unsigned port_of(struct MHD_Daemon *daemon) {
    const union MHD_DaemonInfo *info = MHD_get_daemon_info(daemon, MHD_DAEMON_INFO_BIND_PORT);
    return info ? info->port : 0;
}

enum status daemon_start(const struct daemon_settings *settings, struct MHD_Daemon **out, unsigned *port,
                         struct fault *fault) {
    struct sockaddr_in at = {.sin_family = AF_INET, .sin_port = htons((uint16_t)settings->port)};
    if (inet_pton(AF_INET, settings->address, &at.sin_addr) != 1)
        return FAULT(fault, SERVER_ADDRESS, settings->address);
    const struct MHD_OptionItem tls[] = {
        {MHD_OPTION_HTTPS_MEM_KEY, 0, (void *)(uintptr_t)settings->key_pem},
        {MHD_OPTION_HTTPS_MEM_CERT, 0, (void *)(uintptr_t)settings->certificate_pem},
        {MHD_OPTION_HTTPS_PRIORITIES, 0, (void *)(uintptr_t) "SECURE128:-VERS-ALL:+VERS-TLS1.3:+VERS-TLS1.2"},
        {MHD_OPTION_END, 0, NULL}};
    const struct MHD_OptionItem none[] = {{MHD_OPTION_END, 0, NULL}};
    const unsigned flags = MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_THREAD_PER_CONNECTION | MHD_USE_POLL |
                           (settings->key_pem ? MHD_USE_TLS : 0);
    *out =
        MHD_start_daemon(flags, (uint16_t)settings->port, NULL, NULL, on_request, (void *)(uintptr_t)settings,
                         MHD_OPTION_SOCK_ADDR, &at, MHD_OPTION_CONNECTION_LIMIT, (unsigned)CONNECTIONS,
                         MHD_OPTION_PER_IP_CONNECTION_LIMIT, (unsigned)CONNECTIONS_OF_ONE,
                         MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)IDLE_S, MHD_OPTION_NOTIFY_COMPLETED, on_end,
                         NULL, MHD_OPTION_ARRAY, settings->key_pem ? tls : none, MHD_OPTION_END);
    if (!*out)
        return FAULT(fault, SERVER_CANNOT_LISTEN, settings->address, COUNT_TEXT(settings->port),
                     strerror(errno));
    *port = port_of(*out);
    return STATUS_OK;
}
