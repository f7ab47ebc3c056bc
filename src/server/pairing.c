#include "server/pairing.h"
#include "formats/json_in.h"
#include "formats/json_out.h"
#include <pthread.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

enum { TICKETS = 4 };

struct pairing {
    pthread_mutex_t lock;
    const struct disk *disk;
    struct clock clock;
    char *file;
    json_t *devices; /* [{id, name, digest}] */
    char ticket[TICKETS][GATE_TOKEN + 1];
    unsigned next_ticket;
    char code[PAIRING_CODE + 1];
    long long code_ends_ms;
    int tries;
};

/* ---- the list, kept ---- */

static enum status load(struct pairing *pairing, struct fault *fault) {
    pairing->devices = json_array();
    if (!disk_has(pairing->file)) return STATUS_OK;
    struct arena *arena = arena_new();
    struct bytes bytes;
    json_t *read = NULL;
    enum status status = disk_read(pairing->disk, pairing->file, 1, arena, &bytes, fault);
    if (status == STATUS_OK) status = json_read(&bytes, &read, fault);
    if (status == STATUS_OK && json_is_array(json_object_get(read, "devices"))) {
        json_decref(pairing->devices);
        pairing->devices = json_incref(json_object_get(read, "devices"));
    }
    json_decref(read);
    arena_free(arena);
    return status;
}

static enum status keep(struct pairing *pairing, struct fault *fault) {
    json_t *object = json_start("devices");
    json_object_set(object, "devices", pairing->devices);
    struct text text = {0};
    enum status status = json_finish(object, &text, fault);
    if (status == STATUS_OK) status = disk_write(pairing->disk, pairing->file, text.data, text.length, fault);
    if (status == STATUS_OK) chmod(pairing->file, 0600);
    text_free(&text);
    json_decref(object);
    return status;
}

enum status pairing_open(const char *folder, const struct disk *disk, struct clock clock,
                         struct pairing **out, struct fault *fault) {
    struct pairing *pairing = memory_need(1, sizeof *pairing);
    pthread_mutex_init(&pairing->lock, NULL);
    pairing->disk = disk;
    pairing->clock = clock;
    struct text file = {0};
    text_format(&file, "%s/devices.json", folder);
    pairing->file = file.data;
    const enum status status = load(pairing, fault);
    if (status != STATUS_OK) return pairing_close(pairing), status;
    *out = pairing;
    return STATUS_OK;
}

void pairing_close(struct pairing *pairing) {
    if (!pairing) return;
    pthread_mutex_destroy(&pairing->lock);
    json_decref(pairing->devices);
    free(pairing->file);
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
    char digest[65], id[17];
    gate_make_token(cookie);
    gate_digest(cookie, digest);
    memcpy(id, digest, 16);
    id[16] = 0;
    json_array_append_new(pairing->devices, json_pack("{s:s,s:s%,s:s}", "id", id, "name", name,
                                                      strnlen(name, 60), "digest", digest));
    const enum status status = keep(pairing, fault);
    if (status != STATUS_OK) json_array_remove(pairing->devices, json_array_size(pairing->devices) - 1);
    return status;
}

enum status pairing_admit(struct pairing *pairing, const char *ticket_or_code, const char *name,
                          char cookie[GATE_TOKEN + 1], struct fault *fault) {
    pthread_mutex_lock(&pairing->lock);
    const bool let_in = strlen(ticket_or_code) == PAIRING_CODE ? use_code(pairing, ticket_or_code)
                                                               : use_ticket(pairing, ticket_or_code);
    const enum status status =
        let_in ? add_device(pairing, text_is_utf8(name, strlen(name)) ? name : "device", cookie, fault)
               : FAULT0(fault, SERVER_NOT_PAIRED);
    pthread_mutex_unlock(&pairing->lock);
    return status;
}

/* ---- devices ---- */

const char *pairing_device(struct pairing *pairing, const char *cookie, struct arena *arena) {
    char digest[65];
    gate_digest(cookie, digest);
    const char *found = NULL;
    pthread_mutex_lock(&pairing->lock);
    for (size_t i = 0; i < json_array_size(pairing->devices); i++) {
        const json_t *device = json_array_get(pairing->devices, i);
        const char *kept = json_string_value(json_object_get(device, "digest"));
        const char *id = json_string_value(json_object_get(device, "id"));
        if (kept && id && gate_same(kept, digest)) found = arena_text(arena, id, strlen(id));
    }
    pthread_mutex_unlock(&pairing->lock);
    return found;
}

json_t *pairing_list(struct pairing *pairing, const char *own_id) {
    json_t *list = json_array();
    pthread_mutex_lock(&pairing->lock);
    for (size_t i = 0; i < json_array_size(pairing->devices); i++) {
        const json_t *device = json_array_get(pairing->devices, i);
        const char *id = json_string_value(json_object_get(device, "id"));
        json_array_append_new(list, json_pack("{s:s,s:O,s:b}", "id", id ? id : "", "name",
                                              json_object_get(device, "name"), "own",
                                              id && own_id && strcmp(id, own_id) == 0));
    }
    pthread_mutex_unlock(&pairing->lock);
    return list;
}

enum status pairing_revoke(struct pairing *pairing, const char *id, struct fault *fault) {
    pthread_mutex_lock(&pairing->lock);
    enum status status = FAULT0(fault, SERVER_NO_SUCH_DEVICE);
    for (size_t i = 0; i < json_array_size(pairing->devices); i++) {
        const char *kept = json_string_value(json_object_get(json_array_get(pairing->devices, i), "id"));
        if (!kept || strcmp(kept, id) != 0) continue;
        json_array_remove(pairing->devices, i);
        status = keep(pairing, fault);
        break;
    }
    pthread_mutex_unlock(&pairing->lock);
    return status;
}
