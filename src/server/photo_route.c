#include "server/photo_route.h"
#include "flow/picture_flow.h"
#include "formats/picture_out.h"
#include "server/server.h"
#include "shop/photographs.h"
#include <pthread.h>
#include <semaphore.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { DECODERS = 2 };
static const int sizes[] = {320, 1600};

/* So many photographs are decoded at once, of those that are made large one; the others wait their turn. */
static sem_t decoders;
static pthread_mutex_t large = PTHREAD_MUTEX_INITIALIZER;
static pthread_once_t once = PTHREAD_ONCE_INIT;
static void make_decoders(void) {
    sem_init(&decoders, 0, DECODERS);
}

int photo_route_size(const struct call *call) {
    const char *text = call->query(call, "small");
    for (size_t i = 0; text && i < sizeof sizes / sizeof *sizes; i++)
        if (atoi(text) == sizes[i]) return sizes[i];
    return 0;
}

/* How many photograph pixels one of its pixels is, as a comment (ITU-T T.81, COM) behind the JFIF head: the
 * page turns taps into places of the photograph by it. */
static void add_jpeg(const struct text *jpeg, int step, struct text *out) {
    enum { HEAD = 20 }; /* SOI, and APP0 of 16 bytes with its marker */
    char words[24];
    const int n = snprintf(words, sizeof words, "step %d", step);
    const unsigned char marker[] = {0xff, 0xfe, 0, (unsigned char)(n + 2)};
    text_add_bytes(out, jpeg->data, HEAD);
    text_add_bytes(out, marker, sizeof marker);
    text_add_bytes(out, words, (size_t)n);
    text_add_bytes(out, jpeg->data + HEAD, jpeg->length - HEAD);
}

/* Where the shop keeps it is nobody's affair: "The photograph: is damaged ...". */
static void unname(struct fault *fault, const char *path) {
    static const char name[] = "The photograph"; /* shorter than any path with a hash in it */
    const size_t n = strlen(path);
    if (strncmp(fault->text, path, n) != 0 || n < sizeof name) return;
    memcpy(fault->text, name, sizeof name - 1);
    memmove(fault->text + sizeof name - 1, fault->text + n, strlen(fault->text + n) + 1);
}

enum status photo_route_small(const struct call *call, const char *path, int size, struct text *out,
                              struct fault *fault) {
    struct surroundings around;
    struct screen_picture small;
    struct work *work = work_new(1, NULL, NULL);
    server_surroundings(call, NULL, work, call->arena, &around);
    around.disk = around.shop_disk;
    pthread_once(&once, make_decoders);
    const bool is_large = size > sizes[0];
    if (is_large) pthread_mutex_lock(&large);
    while (sem_wait(&decoders) != 0) continue;
    int step = 1;
    enum status status = picture_load_small(&around, path, size, &small, &step, fault);
    sem_post(&decoders);
    if (status != STATUS_OK) unname(fault, path);
    work_free(work);
    struct text jpeg = {0};
    if (status == STATUS_OK) status = picture_out_jpeg(&small, &jpeg, fault);
    if (is_large) pthread_mutex_unlock(&large);
    if (status == STATUS_OK) add_jpeg(&jpeg, step, out);
    text_free(&jpeg);
    return status;
}

static enum status small_bytes(const struct call *call, struct book *book, const char *sha256, int size,
                               struct text *out, struct fault *fault) {
    struct bytes bytes;
    char path[PHOTOGRAPH_PATH];
    if (photographs_small_read(book, sha256, size, call->arena, &bytes)) {
        text_add_bytes(out, bytes.data, bytes.size);
        return STATUS_OK;
    }
    enum status status =
        photo_route_small(call, photographs_path(call->shop, sha256, path), size, out, fault);
    if (status != STATUS_OK) return status;
    status = book_begin(book, fault); /* with the pen, so that no erasure comes between */
    if (status != STATUS_OK) return status;
    bytes = (struct bytes){(const unsigned char *)out->data, out->length, sha256};
    return book_end(book, photographs_small_keep(book, sha256, size, &bytes, fault), fault);
}

static void give(const struct call *call, struct answer *answer, const char *media, const char *etag) {
    answer->type = media;
    answer->etag = arena_text(call->arena, etag, strlen(etag));
    const char *known = call->header(call, "If-None-Match");
    if (!known || strcmp(known, etag) != 0) return;
    text_free(&answer->body);
    if (answer->file) close(answer->file), answer->file = 0;
    answer->code = 304;
}

static enum status answer_small(const struct call *call, const char *sha256, int size, struct answer *answer,
                                struct fault *fault) {
    struct book *book;
    char etag[SHA256_TEXT + 20];
    if (!sha256_is_good(sha256)) return FAULT(fault, SHOP_NO_SUCH, "photograph", sha256);
    enum status status = server_book(call, &book, fault);
    if (status == STATUS_OK) status = small_bytes(call, book, sha256, size, &answer->body, fault);
    book_close(book);
    snprintf(etag, sizeof etag, "\"%s-%d\"", sha256, size);
    if (status == STATUS_OK) give(call, answer, "image/jpeg", etag);
    return status;
}

/* What it is is told by its bytes; a safety data sheet in PDF is among them. */
static enum status answer_whole(const struct call *call, const char *sha256, struct answer *answer,
                                struct fault *fault) {
    unsigned char head[32];
    char etag[SHA256_TEXT + 4];
    int fd;
    const enum status status = server_photo_file(call, sha256, false, &fd, fault);
    if (status != STATUS_OK) return status;
    const ssize_t n = pread(fd, head, sizeof head, 0);
    const char *media = photographs_media(head, n > 0 ? (size_t)n : 0);
    snprintf(etag, sizeof etag, "\"%s\"", sha256);
    answer->file = fd;
    give(call, answer, media ? media : "application/octet-stream", etag);
    return STATUS_OK;
}

void photo_route_answer(const struct call *call, struct answer *answer) {
    struct fault fault;
    const char *sha256 = call->path + strlen("/api/photo/");
    const int size = photo_route_size(call);
    const enum status status =
        size ? answer_small(call, sha256, size, answer, &fault) : answer_whole(call, sha256, answer, &fault);
    if (status == STATUS_OK) return;
    text_free(&answer->body);
    answer_fault(answer, &fault);
}
