#include "server/stream.h"
#include "base/memory.h"
#include <errno.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

struct stream {
    pthread_mutex_t lock;
    pthread_cond_t more;
    struct text waiting;
    bool ended, left;
    int holders;
    void (*gone)(void *context);
    void *context;
};

struct stream *stream_new(void (*gone)(void *context), void *context) {
    struct stream *stream = memory_need(1, sizeof *stream);
    pthread_mutex_init(&stream->lock, NULL);
    pthread_condattr_t steady; /* a clock that is set back holds nobody up */
    pthread_condattr_init(&steady);
    pthread_condattr_setclock(&steady, CLOCK_MONOTONIC);
    pthread_cond_init(&stream->more, &steady);
    pthread_condattr_destroy(&steady);
    stream->holders = 2;
    stream->gone = gone;
    stream->context = context;
    return stream;
}

void stream_let_go(struct stream *stream) {
    pthread_mutex_lock(&stream->lock);
    const int left = --stream->holders;
    pthread_mutex_unlock(&stream->lock);
    if (left > 0) return;
    pthread_mutex_destroy(&stream->lock);
    pthread_cond_destroy(&stream->more);
    text_free(&stream->waiting);
    memory_free(stream);
}

void stream_send(struct stream *stream, const char *event, const char *data) {
    pthread_mutex_lock(&stream->lock);
    if (!stream->left) text_format(&stream->waiting, "event: %s\ndata: %s\n\n", event, data);
    pthread_cond_signal(&stream->more);
    pthread_mutex_unlock(&stream->lock);
}

enum { PIECE_BYTES = 16 * 1024, WAITING_MOST = 16 * PIECE_BYTES };

static void send_piece(struct stream *stream, const char *piece, size_t n) {
    pthread_mutex_lock(&stream->lock);
    while (stream->waiting.length > WAITING_MOST && !stream->left)
        pthread_cond_wait(&stream->more, &stream->lock);
    if (!stream->left) text_add_bytes(&stream->waiting, piece, n);
    pthread_cond_broadcast(&stream->more);
    pthread_mutex_unlock(&stream->lock);
}

void stream_send_file(struct stream *stream, const char *event, int fd) {
    char piece[PIECE_BYTES];
    const int head = snprintf(piece, sizeof piece, "event: %s\ndata: ", event);
    send_piece(stream, piece, (size_t)head);
    ssize_t n;
    for (off_t at = 0; (n = pread(fd, piece, sizeof piece, at)) > 0; at += n)
        send_piece(stream, piece, (size_t)n);
    send_piece(stream, "\n\n", 2);
}

void stream_end(struct stream *stream) {
    pthread_mutex_lock(&stream->lock);
    stream->ended = true;
    pthread_cond_signal(&stream->more);
    pthread_mutex_unlock(&stream->lock);
}

static void wait_for_more(struct stream *stream, int wait_ms) {
    struct timespec until;
    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += wait_ms / 1000;
    until.tv_nsec += (long)(wait_ms % 1000) * 1000000;
    if (until.tv_nsec >= 1000000000) until.tv_sec++, until.tv_nsec -= 1000000000;
    while (stream->waiting.length == 0 && !stream->ended)
        if (pthread_cond_timedwait(&stream->more, &stream->lock, &until) == ETIMEDOUT) return;
}

long stream_take(struct stream *stream, char *to, size_t most, int wait_ms) {
    pthread_mutex_lock(&stream->lock);
    wait_for_more(stream, wait_ms);
    const size_t n = stream->waiting.length < most ? stream->waiting.length : most;
    if (n) {
        memcpy(to, stream->waiting.data, n);
        stream->waiting.length -= n;
        memmove(stream->waiting.data, stream->waiting.data + n, stream->waiting.length + 1);
        pthread_cond_broadcast(&stream->more); /* there is room again */
    }
    const bool over = n == 0 && stream->ended;
    pthread_mutex_unlock(&stream->lock);
    return over ? -1 : (long)n;
}

void stream_leave(struct stream *stream) {
    pthread_mutex_lock(&stream->lock);
    const bool early = !stream->ended && !stream->left;
    stream->left = true;
    stream->waiting.length = 0;
    pthread_cond_broadcast(&stream->more);
    pthread_mutex_unlock(&stream->lock);
    if (early && stream->gone) stream->gone(stream->context);
}

bool stream_is_left(struct stream *stream) {
    pthread_mutex_lock(&stream->lock);
    const bool left = stream->left;
    pthread_mutex_unlock(&stream->lock);
    return left;
}
