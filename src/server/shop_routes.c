#include "server/shop_routes.h"
#include "flow/operation.h"
#include "server/server.h"
#include "shop/backup.h"
#include "shop/photographs.h"
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static const char *shown_type(const struct bytes *bytes) {
    const char *media = photographs_media(bytes->data, bytes->size);
    const bool shown = media && (strcmp(media, "image/jpeg") == 0 || strcmp(media, "image/png") == 0);
    return shown ? media : "application/octet-stream";
}

/* The name is the hash of the bytes: what a browser has kept of it never goes stale. */
void photo_route_answer(const struct call *call, struct answer *answer) {
    const char *sha256 = call->path + strlen("/api/photo/");
    struct bytes bytes;
    struct fault fault;
    if (server_shop_bytes(call->server, "photo", sha256, call->arena, &bytes, &fault) != STATUS_OK) {
        answer_fault(answer, &fault);
        answer->code = 404;
        return;
    }
    char tag[SHA256_TEXT + 2];
    snprintf(tag, sizeof tag, "\"%s\"", sha256);
    const char *known = call->header(call, "If-None-Match");
    answer->etag = arena_text(call->arena, tag, strlen(tag));
    answer->type = shown_type(&bytes);
    answer->code = known && strcmp(known, tag) == 0 ? 304 : 200;
    if (answer->code == 200) text_add_bytes(&answer->body, bytes.data, bytes.size);
}

/* Written beside the book, opened, and unlinked: it is gone when the last byte was sent, whatever happens. */
static enum status backup_make(const struct call *call, int *fd, struct fault *fault) {
    struct surroundings around;
    server_surroundings(call->server, NULL, NULL, call->arena, &around);
    unsigned char random[8];
    char name[2 * sizeof random + 1], path[PHOTOGRAPH_PATH];
    randombytes_buf(random, sizeof random);
    sodium_bin2hex(name, sizeof name, random, sizeof random);
    snprintf(path, sizeof path, "%s/backup-%s.tmp", around.shop_dir, name);
    struct book *book;
    struct backed_up made;
    const struct book_how how = {.disk = around.shop_disk, .clock = around.clock, .ids = around.ids};
    enum status status = book_open(around.shop_dir, how, &book, fault);
    if (status == STATUS_OK) status = backup_write(book, path, NULL, &made, fault);
    book_close(book);
    *fd = status == STATUS_OK ? open(path, O_RDONLY | O_CLOEXEC) : -1;
    unlink(path);
    return status;
}

void backup_route_answer(const struct call *call, struct answer *answer) {
    struct fault fault;
    int fd = -1;
    if (backup_make(call, &fd, &fault) != STATUS_OK) {
        answer_fault(answer, &fault);
        return;
    }
    answer->code = fd < 0 ? 500 : 200;
    answer->type = "application/octet-stream";
    answer->file_name = "shop.backup";
    answer->file = fd < 0 ? 0 : fd;
}
