#include "server/backup_route.h"
#include "flow/operation.h"
#include "server/server.h"
#include "shop/backup.h"
#include "shop/photographs.h"
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* Written beside the shop's folder, opened, and unlinked: it is gone when the last byte was sent, whatever
 * happens. */
static enum status backup_make(const struct call *call, int *fd, struct fault *fault) {
    struct surroundings around;
    server_surroundings(call, NULL, NULL, call->arena, &around);
    unsigned char random[8];
    char name[2 * sizeof random + 1], path[PHOTOGRAPH_PATH];
    randombytes_buf(random, sizeof random);
    sodium_bin2hex(name, sizeof name, random, sizeof random);
    size_t end = strlen(around.shop_dir);
    while (end > 1 && around.shop_dir[end - 1] == '/') end--;
    snprintf(path, sizeof path, "%.*s-backup-%s.tmp", (int)end, around.shop_dir, name);
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
