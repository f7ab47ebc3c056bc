#include "server/pairing.h"
#include "formats/json_out.h"
#include "shop/setting_store.h"
#include <pthread.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>

enum { TICKETS = 4, DEVICE_NAME_MOST = 60, SEEN_EVERY_MS = 3600000 };

struct pairing {
    pthread_mutex_t lock;
    struct clock clock;
    struct book *book; /* stays open for its devices */
    char ticket[TICKETS][GATE_TOKEN + 1];
    unsigned next_ticket;
    char code[PAIRING_CODE + 1];
    long long code_ends_ms;
    int tries;
};

/* ---- the book's devices ---- */

enum status pairing_open(const char *shop, struct book_how how, struct clock clock, struct pairing **out,
                         struct fault *fault) {
    struct pairing *pairing = memory_need(1, sizeof *pairing);
    pthread_mutex_init(&pairing->lock, NULL);
    pairing->clock = clock;
    const enum status status = book_open(shop, how, &pairing->book, fault);
    if (status != STATUS_OK) return pairing_close(pairing), status;
    *out = pairing;
    return STATUS_OK;
}

void pairing_close(struct pairing *pairing) {
    if (!pairing) return;
    pthread_mutex_destroy(&pairing->lock);
    book_close(pairing->book);
    sodium_memzero(pairing, sizeof *pairing);
    memory_free(pairing);
}

/* ---- tickets and codes ---- */

const char *pairing_ticket(struct pairing *pairing, struct arena *arena) {
    pthread_mutex_lock(&pairing->lock);
    char *ticket = pairing->ticket[pairing->next_ticket++ % TICKETS];
    gate_make_token(ticket);
    const char *copy = arena_text(arena, ticket, GATE_TOKEN);
    pthread_mutex_unlock(&pairing->lock);
    return copy;
}

void pairing_new_code(struct pairing *pairing, char code[PAIRING_CODE + 1]) {
    pthread_mutex_lock(&pairing->lock);
    snprintf(pairing->code, sizeof pairing->code, "%06u", randombytes_uniform(1000000));
    pairing->code_ends_ms = pairing->clock.now_ms(pairing->clock.self) + PAIRING_MINUTES * 60000LL;
    pairing->tries = 0;
    memcpy(code, pairing->code, sizeof pairing->code);
    pthread_mutex_unlock(&pairing->lock);
}

static bool use_ticket(struct pairing *pairing, const char *ticket) {
    for (int i = 0; i < TICKETS; i++) {
        if (!pairing->ticket[i][0] || !gate_same(pairing->ticket[i], ticket)) continue;
        sodium_memzero(pairing->ticket[i], sizeof pairing->ticket[i]);
        return true;
    }
    return false;
}

static bool use_code(struct pairing *pairing, const char *code) {
    if (!pairing->code[0]) return false;
    const bool old = pairing->clock.now_ms(pairing->clock.self) > pairing->code_ends_ms;
    const bool right = !old && gate_same(pairing->code, code);
    if (right || old || ++pairing->tries >= PAIRING_TRIES)
        sodium_memzero(pairing->code, sizeof pairing->code);
    return right;
}

static enum status add_device(struct pairing *pairing, const char *name, char cookie[GATE_TOKEN + 1],
                              struct fault *fault) {
    char short_name[DEVICE_NAME_MOST + 1];
    struct device_row device = {.name = short_name};
    gate_make_token(cookie);
    gate_digest(cookie, device.secret_sha256);
    snprintf(short_name, sizeof short_name, "%s", name);
    for (size_t n = strlen(short_name); n && !text_is_utf8(short_name, n);) short_name[--n] = 0;
    if (!short_name[0]) snprintf(short_name, sizeof short_name, "device");
    enum status status = book_begin(pairing->book, fault);
    if (status != STATUS_OK) return status;
    return book_end(pairing->book, setting_store_pair(pairing->book, &device, fault), fault);
}

enum status pairing_admit(struct pairing *pairing, const char *ticket_or_code, const char *name,
                          char cookie[GATE_TOKEN + 1], struct fault *fault) {
    pthread_mutex_lock(&pairing->lock);
    const bool let_in = strlen(ticket_or_code) == PAIRING_CODE ? use_code(pairing, ticket_or_code)
                                                               : use_ticket(pairing, ticket_or_code);
    const enum status status =
        let_in ? add_device(pairing, name, cookie, fault) : FAULT0(fault, SERVER_NOT_PAIRED);
    pthread_mutex_unlock(&pairing->lock);
    return status;
}

/* ---- devices ---- */

/* That it was here is written down once an hour; when that cannot be done, nothing is lost. */
static void stamp(struct pairing *pairing, const struct device_row *device) {
    if (book_now_ms(pairing->book) - device->seen_ms < SEEN_EVERY_MS) return;
    if (book_begin(pairing->book, NULL) != STATUS_OK) return;
    const enum status status = setting_store_seen(pairing->book, device->id, NULL);
    if (book_end(pairing->book, status, NULL) != STATUS_OK) return;
}

/* Counted from when it was last here, or paired; what the clock put into the future counts as now. */
static bool has_slept(const struct pairing *pairing, const struct device_row *device) {
    const long long here_ms = device->seen_ms > device->paired_ms ? device->seen_ms : device->paired_ms;
    return book_now_ms(pairing->book) - here_ms > PAIRING_SLEEP_DAYS * 86400000LL;
}

static void send_away(struct pairing *pairing, const struct device_row *device) {
    if (book_begin(pairing->book, NULL) != STATUS_OK) return;
    const enum status status = setting_store_revoke(pairing->book, device->id, NULL);
    if (book_end(pairing->book, status, NULL) != STATUS_OK) return;
}

const char *pairing_device(struct pairing *pairing, const char *cookie, struct arena *arena) {
    char digest[SHA256_TEXT];
    struct device_row device;
    bool found = false;
    gate_digest(cookie, digest);
    pthread_mutex_lock(&pairing->lock);
    const enum status status = setting_store_device(pairing->book, digest, arena, &device, &found, NULL);
    found = found && status == STATUS_OK && gate_same(device.secret_sha256, digest);
    const bool slept = found && has_slept(pairing, &device);
    if (slept)
        send_away(pairing, &device);
    else if (found)
        stamp(pairing, &device);
    pthread_mutex_unlock(&pairing->lock);
    return found && !slept ? arena_text(arena, device.id, strlen(device.id)) : NULL;
}

static json_t *device_json(const struct device_row *device, const char *own_id) {
    json_t *object = json_object();
    char text[WALL_TIME_TEXT];
    json_put_text(object, "id", device->id);
    json_put_text(object, "name", device->name);
    json_put_text(object, "paired", wall_time_write(device->paired_ms, text));
    json_put_text(object, "seen", device->seen_ms ? wall_time_write(device->seen_ms, text) : NULL);
    json_put_flag(object, "own", own_id && strcmp(device->id, own_id) == 0);
    return object;
}

json_t *pairing_list(struct pairing *pairing, const char *own_id) {
    struct arena *arena = arena_new();
    struct device_row *device;
    size_t count = 0;
    json_t *list = json_array();
    pthread_mutex_lock(&pairing->lock);
    if (setting_store_devices(pairing->book, arena, &device, &count, NULL) != STATUS_OK) count = 0;
    pthread_mutex_unlock(&pairing->lock);
    for (size_t i = 0; i < count; i++)
        if (!device[i].revoked_ms && !has_slept(pairing, &device[i]))
            json_array_append_new(list, device_json(&device[i], own_id));
    arena_free(arena);
    return list;
}

enum status pairing_revoke(struct pairing *pairing, const char *id, struct fault *fault) {
    pthread_mutex_lock(&pairing->lock);
    enum status status = book_begin(pairing->book, fault);
    if (status == STATUS_OK)
        status = book_end(pairing->book, setting_store_revoke(pairing->book, id, fault), fault);
    pthread_mutex_unlock(&pairing->lock);
    return status == STATUS_INPUT ? FAULT0(fault, SERVER_NO_SUCH_DEVICE) : status;
}
