/* The start and end of the server, and what its routes ask of the shop (the routes: routes.c). */
#include "server/server.h"
#include "server/certificate.h"
#include "server/daemon.h"
#include "server/demo_route.h"
#include "server/pairing.h"
#include "server/routes.h"
#include "server/scale_route.h"
#include "server/upload_route.h"
#include "shop/entry_store.h"
#include <arpa/inet.h>
#include <malloc.h>
#include <signal.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { BODIES_MOST_MIB = 24, DEADLINE_S = 120 };

/* ---- for the routes ---- */

bool server_has_tls(const struct server *server) {
    return server->certificate.key_pem != NULL;
}

const char *server_demo(const struct server *server) {
    return server->demo;
}

struct pairing *server_pairing(struct server *server) {
    return server->pairing;
}

/* What opens another shop, or writes where it likes on the machine, is for the command line. */
bool server_serves(const struct operation *operation) {
    static const char *const of_the_shop[] = {"shop pricing", "shop zone", "shop check",
                                              "shop erase-customer"};
    for (size_t i = 0; i < sizeof of_the_shop / sizeof *of_the_shop; i++)
        if (strcmp(operation->verb, of_the_shop[i]) == 0) return true;
    return strcmp(operation->verb, "serve") != 0 && strncmp(operation->verb, "shop ", 5) != 0;
}

void server_surroundings(const struct call *call, const struct disk *disk, struct work *work,
                         struct arena *arena, struct surroundings *out) {
    *out = *call->server->around;
    out->disk = disk;
    out->shop_disk = call->server->around->disk;
    out->shop_dir = call->shop;
    out->work = work;
    out->arena = arena;
}

enum status server_book(const struct call *call, struct book **out, struct fault *fault) {
    const struct surroundings *around = call->server->around;
    const struct book_how how = {.disk = around->disk, .clock = around->clock, .ids = around->ids};
    return book_open(call->shop, how, out, fault);
}

enum status server_entry_bytes(const struct call *call, const char *id, struct arena *arena,
                               struct bytes *out, struct fault *fault) {
    struct book *book;
    struct entry_row entry;
    enum status status = server_book(call, &book, fault);
    if (status != STATUS_OK) return status;
    status = entry_store_get(book, id, arena, &entry, fault);
    if (status == STATUS_OK)
        *out = (struct bytes){(const unsigned char *)entry.document, strlen(entry.document), id};
    book_close(book);
    return status;
}

/* What arrived in pieces may be kept already, by a request whose answer was lost. */
enum status server_photo_file(const struct call *call, const char *sha256, bool upload, int *fd,
                              struct fault *fault) {
    struct book *book;
    if (!sha256_is_good(sha256)) return FAULT(fault, SHOP_NO_SUCH, "photograph", sha256);
    enum status status = server_book(call, &book, fault);
    if (status != STATUS_OK) return status;
    status = photographs_open(book, sha256, fd, fault);
    book_close(book);
    return status != STATUS_OK && upload ? upload_open(call->shop, sha256, fd, fault) : status;
}

bool server_asked(const struct call *call, const char *key, struct asked_row *made) {
    struct book *book;
    bool found = false;
    if (server_book(call, &book, NULL) != STATUS_OK) return false;
    const bool read = asked_store_get(book, key, made, &found, NULL) == STATUS_OK;
    book_close(book);
    return read && found;
}

/* ---- start and end ---- */

static const char *name_of(const char *host, unsigned port, struct arena *arena) {
    char name[80];
    snprintf(name, sizeof name, "%s:%u", host, port);
    return arena_text(arena, name, strlen(name));
}

static void set_names(struct server *server) {
    struct arena *arena = server->around->arena;
    size_t n = 0;
    if (server->settings->listen) server->names[n++] = name_of(server->settings->listen, server->port, arena);
    server->names[n++] = name_of("127.0.0.1", server->port, arena);
    server->names[n++] = name_of("localhost", server->port, arena);
    server->names[n] = NULL;
}

static void tell_address(struct server *server) {
    const char *ticket = pairing_ticket(server->pairing, server->around->arena);
    printf("%s://%s/?ticket=%s\n", server_has_tls(server) ? "https" : "http", server->names[0], ticket);
    if (server_has_tls(server)) printf("certificate %s\n", server->certificate.fingerprint);
    fflush(stdout);
}

/* Until the work is cancelled (Ctrl-C, SIGTERM). */
static void wait_until_stopped(const struct work *work) {
    while (!work_is_cancelled(work)) usleep(100000);
}

static enum status run_daemon(struct server *server, struct fault *fault) {
    const struct daemon_settings settings = {.address = server->settings->listen ? server->settings->listen
                                                                                 : "127.0.0.1",
                                             .port = server->settings->port,
                                             .key_pem = server->certificate.key_pem,
                                             .certificate_pem = server->certificate.certificate_pem,
                                             .answer = routes_answer,
                                             .refuse = routes_refuse,
                                             .body_most = routes_body_most,
                                             .deadline_s = DEADLINE_S,
                                             .bodies_most = (size_t)BODIES_MOST_MIB << 20,
                                             .server = server};
    struct MHD_Daemon *daemon;
    const enum status status = daemon_start(&settings, &daemon, &server->port, fault);
    if (status != STATUS_OK) return status;
    set_names(server);
    tell_address(server);
    wait_until_stopped(server->around->work);
    scale_feed_stop(
        server->scale); /* before the daemon: it ends the streams that the daemon's threads wait for */
    MHD_stop_daemon(daemon);
    (void)work_take_cancel(server->around->work); /* to be stopped is how it ends, and no failure */
    return STATUS_OK;
}

/* Each connection has a thread of its own, and the C library would keep a heap for each and grow what it
 * keeps there with the largest photograph that it has met. */
static void use_little_memory(void) {
    mallopt(M_ARENA_MAX, 2);
    mallopt(M_MMAP_THRESHOLD, 256 * 1024);
}

enum status server_serve(const struct surroundings *around, const struct serve_settings *settings,
                         struct fault *fault) {
    if (sodium_init() < 0) return FAULT0(fault, SERVER_NO_RANDOM);
    struct in_addr address;
    if (settings->listen && inet_pton(AF_INET, settings->listen, &address) != 1)
        return FAULT(fault, SERVER_ADDRESS, settings->listen);
    signal(SIGPIPE, SIG_IGN);
    use_little_memory();
    struct server server = {.around = around, .settings = settings};
    door_open(&server.door);
    server.demo = demo_folder(settings->shop, around->arena);
    const struct book_how how = {.disk = around->disk, .clock = around->clock, .ids = around->ids};
    enum status status = STATUS_OK;
    if (settings->listen)
        status = certificate_get(settings->shop, settings->listen, around->disk, around->arena,
                                 &server.certificate, fault);
    if (status == STATUS_OK) status = pairing_open(settings->shop, how, clock_real(), &server.pairing, fault);
    if (status == STATUS_OK)
        status = scale_feed_start(settings->scale, settings->pattern, settings->baud, &server.scale, fault);
    if (status == STATUS_OK) status = run_daemon(&server, fault);
    scale_feed_free(server.scale);
    pairing_close(server.pairing);
    door_close(&server.door);
    return status;
}
