#include "server/upload_route.h"
#include "device/disk.h"
#include "formats/json_out.h"
#include "server/photo_route.h"
#include "shop/photographs.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { KEPT_S = 86400, MIB = 1 << 20 };

/* Pieces are written one after the other, by whichever thread they came. */
static pthread_mutex_t pen = PTHREAD_MUTEX_INITIALIZER;

static const char *path_of(const char *shop, const char *sha256, char out[PHOTOGRAPH_PATH]) {
    snprintf(out, PHOTOGRAPH_PATH, "%s/uploads%s%s", shop, *sha256 ? "/" : "", sha256);
    return out;
}

static long long size_of(const char *path) {
    struct stat info;
    return stat(path, &info) == 0 ? (long long)info.st_size : 0;
}

/* Bytes of all uploads, after those that nobody came back for are gone. */
static long long sweep(const char *shop) {
    char folder[PHOTOGRAPH_PATH], path[PHOTOGRAPH_PATH + 300];
    struct stat info;
    long long all = 0;
    DIR *open = opendir(path_of(shop, "", folder));
    for (const struct dirent *item; open && (item = readdir(open));) {
        snprintf(path, sizeof path, "%s/%s", folder, item->d_name);
        if (item->d_name[0] == '.' || stat(path, &info) != 0) continue;
        if (time(NULL) - info.st_mtime > KEPT_S)
            unlink(path);
        else
            all += (long long)info.st_size;
    }
    if (open) closedir(open);
    return all;
}

/* The open file when its bytes are those that its name says; else -1. */
static int open_whole(const char *path, const char *sha256) {
    char found[SHA256_TEXT] = "";
    const int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    if (fd < 0 || (sha256_of_file(disk_real(), fd, found) && strcmp(found, sha256) == 0)) return fd;
    close(fd);
    return -1;
}

static bool has_hash(const char *path, const char *sha256) {
    const int fd = open_whole(path, sha256);
    if (fd >= 0) close(fd);
    return fd >= 0;
}

struct piece {
    const char *shop, *sha256;
    unsigned long long size, offset;
    const struct bytes *bytes;
};

static enum status write_piece(const struct piece *piece, const char *path, struct fault *fault) {
    char folder[PHOTOGRAPH_PATH];
    if (mkdir(path_of(piece->shop, "", folder), 0700) != 0 && errno != EEXIST)
        return FAULT(fault, FILE_CANNOT_WRITE, folder, strerror(errno));
    const int fd = open(path, O_WRONLY | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (fd < 0) return FAULT(fault, FILE_CANNOT_WRITE, path, strerror(errno));
    const ssize_t n = pwrite(fd, piece->bytes->data, piece->bytes->size, (off_t)piece->offset);
    const int error = n < 0 ? errno : ENOSPC;
    if (n != (ssize_t)piece->bytes->size && ftruncate(fd, (off_t)piece->offset) != 0) unlink(path);
    close(fd);
    return n == (ssize_t)piece->bytes->size ? STATUS_OK
                                            : FAULT(fault, FILE_CANNOT_WRITE, path, strerror(error));
}

/* A piece that does not follow on what is here is not taken; the answer says what would. */
static enum status take(const struct piece *piece, long long *offset, struct fault *fault) {
    char path[PHOTOGRAPH_PATH];
    path_of(piece->shop, piece->sha256, path);
    *offset = size_of(path);
    if ((unsigned long long)*offset != piece->offset || piece->bytes->size == 0) return STATUS_OK;
    if (*offset == 0 && sweep(piece->shop) + (long long)piece->size > (long long)UPLOADS_MOST_MIB * MIB)
        return FAULT(fault, SERVER_UPLOADS_FULL, COUNT_TEXT(UPLOADS_MOST_MIB));
    const enum status status = write_piece(piece, path, fault);
    if (status != STATUS_OK) return status;
    *offset += (long long)piece->bytes->size;
    if ((unsigned long long)*offset < piece->size || has_hash(path, piece->sha256)) return STATUS_OK;
    unlink(path);
    return FAULT0(fault, SERVER_UPLOAD_OTHER);
}

static bool count_of(const struct call *call, const char *name, unsigned long long *out) {
    const char *text = call->query(call, name);
    return text && text_to_count(text, (unsigned long long)UPLOAD_MOST_MIB * MIB, out);
}

static enum status answer_piece(const struct call *call, const char *sha256, long long *offset,
                                struct fault *fault) {
    struct piece piece = {.shop = call->shop, .sha256 = sha256, .bytes = &call->body};
    char path[PHOTOGRAPH_PATH];
    if (!sha256_is_good(sha256)) return FAULT(fault, SHOP_NO_SUCH, "photograph", sha256);
    if (strcmp(call->method, "GET") == 0)
        return *offset = size_of(path_of(call->shop, sha256, path)), STATUS_OK;
    if (!count_of(call, "size", &piece.size) || !count_of(call, "offset", &piece.offset) || piece.size == 0 ||
        piece.offset + call->body.size > piece.size)
        return FAULT(fault, SERVER_UPLOAD_SIZE, COUNT_TEXT(UPLOAD_MOST_MIB));
    pthread_mutex_lock(&pen);
    const enum status status = take(&piece, offset, fault);
    pthread_mutex_unlock(&pen);
    return status;
}

static enum status answer_small(const struct call *call, const char *sha256, struct answer *answer,
                                struct fault *fault) {
    char path[PHOTOGRAPH_PATH];
    int fd;
    enum status status = upload_open(call->shop, sha256, &fd, fault);
    if (status != STATUS_OK) return status;
    close(fd);
    status = photo_route_small(call, path_of(call->shop, sha256, path), photo_route_size(call), &answer->body,
                               fault);
    if (status != STATUS_OK) return status;
    answer->code = 200;
    answer->type = "image/jpeg";
    return STATUS_OK;
}

void upload_route_answer(const struct call *call, struct answer *answer) {
    struct fault fault;
    long long offset = 0;
    const bool shown = strcmp(call->method, "GET") == 0 && photo_route_size(call);
    if (shown && answer_small(call, call->path + strlen("/api/upload/"), answer, &fault) == STATUS_OK) return;
    if (shown) {
        text_free(&answer->body);
        answer_fault(answer, &fault);
        return;
    }
    if (answer_piece(call, call->path + strlen("/api/upload/"), &offset, &fault) != STATUS_OK) {
        answer_fault(answer, &fault);
        return;
    }
    json_t *object = json_object();
    json_put_count(object, "offset", offset);
    answer_json(answer, 200, object);
}

enum status upload_open(const char *shop, const char *sha256, int *fd, struct fault *fault) {
    char path[PHOTOGRAPH_PATH];
    if (!sha256_is_good(sha256)) return FAULT(fault, SHOP_NO_SUCH, "photograph", sha256);
    *fd = open_whole(path_of(shop, sha256, path), sha256);
    return *fd >= 0 ? STATUS_OK : FAULT0(fault, SERVER_UPLOAD_NOT_HERE);
}

void upload_drop(const char *shop, const char *sha256) {
    char path[PHOTOGRAPH_PATH];
    if (sha256_is_good(sha256)) unlink(path_of(shop, sha256, path));
}
