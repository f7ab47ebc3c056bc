#include "server/scale_route.h"
#include "device/scale_watch.h"
#include "server/stream.h"
#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { LOOKERS = 16, WAIT_MS = 200, REOPEN_US = 500000, CHUNK = 512, EVENT = 160 };

struct scale_feed {
    struct scale_port port;
    bool has_pattern;
    struct scale_pattern pattern;
    pthread_t thread;
    pthread_mutex_t lock;
    struct stream *looker[LOOKERS];
    bool stopping;
    char last[EVENT]; /* the state, for those who come later */
};

static bool is_stopping(struct scale_feed *feed) {
    pthread_mutex_lock(&feed->lock);
    const bool stopping = feed->stopping;
    pthread_mutex_unlock(&feed->lock);
    return stopping;
}

static void tell(struct scale_feed *feed, const char *event, const char *data) {
    pthread_mutex_lock(&feed->lock);
    if (strcmp(event, "state") == 0) snprintf(feed->last, sizeof feed->last, "%s", data);
    for (int i = 0; i < LOOKERS; i++)
        if (feed->looker[i]) stream_send(feed->looker[i], event, data);
    pthread_mutex_unlock(&feed->lock);
}

static void tell_state(struct scale_feed *feed, const char *state) {
    char data[EVENT];
    snprintf(data, sizeof data, "{\"state\":\"%s\"}", state);
    if (strcmp(data, feed->last) != 0) tell(feed, "state", data);
}

static void tell_reading(struct scale_feed *feed, const struct scale_heard *heard) {
    char data[EVENT];
    snprintf(data, sizeof data, "{\"g\":%.6g,\"step_g\":%.6g,\"still\":%s}", heard->mass_g, heard->step_g,
             !heard->told   ? "null"
             : heard->still ? "true"
                            : "false");
    tell_state(feed, "here");
    tell(feed, "reading", data);
}

static void hear(struct scale_feed *feed, const struct scale_heard *heard) {
    switch (heard->news) {
    case NEWS_READING:
        tell_reading(feed, heard);
        return;
    case NEWS_OVERLOAD:
        tell_state(feed, "overload");
        return;
    case NEWS_UNDERLOAD:
        tell_state(feed, "underload");
        return;
    case NEWS_TROUBLE:
        tell_state(feed, "trouble");
        return;
    case NEWS_NO_MASS:
        tell_state(feed, "no mass");
        return;
    case NEWS_NO_UNIT:
    case NEWS_NONSENSE:
        tell_state(feed, "unread");
        return;
    case NEWS_NONE:
        return;
    }
}

static void take_bytes(struct scale_feed *feed, struct scale_cut *cut, struct scale_watch *watch,
                       const unsigned char *bytes, size_t size) {
    for (size_t at = 0; at < size;) {
        bool whole;
        size_t n;
        at += scale_cut_feed(cut, bytes + at, size - at, &whole, &n);
        if (!whole) continue;
        const struct scale_said said = feed->has_pattern ? scale_pattern_read(&feed->pattern, cut->line, n)
                                                         : scale_line_read(cut->line, n);
        const struct scale_heard heard = scale_watch_line(watch, &said);
        hear(feed, &heard);
    }
}

/* Until the port is gone or the server stops. */
static void read_port(struct scale_feed *feed) {
    struct scale_cut cut = {0};
    struct scale_watch watch = {0};
    unsigned char bytes[CHUNK];
    while (!is_stopping(feed)) {
        size_t came = 0;
        const enum port_came what = feed->port.read(feed->port.self, bytes, sizeof bytes, WAIT_MS, &came);
        if (what == PORT_GONE || what == PORT_ENDED) return;
        if (what == PORT_BYTES) take_bytes(feed, &cut, &watch, bytes, came);
    }
}

static void *run_feed(void *context) {
    struct scale_feed *feed = context;
    while (!is_stopping(feed)) {
        if (feed->port.open(feed->port.self, NULL) == STATUS_OK) {
            read_port(feed);
            feed->port.close(feed->port.self);
        }
        tell_state(feed, "gone");
        if (!is_stopping(feed)) usleep(REOPEN_US);
    }
    return NULL;
}

enum status scale_feed_start(const char *port_name, const char *pattern, int baud, struct scale_feed **out,
                             struct fault *fault) {
    *out = NULL;
    if (!port_name) return STATUS_OK;
    struct scale_pattern made;
    if (pattern) {
        const enum status status = scale_pattern_make(&made, pattern, fault);
        if (status != STATUS_OK) return status;
    }
    struct scale_feed *feed = memory_need(1, sizeof *feed);
    feed->port = scale_port_real(port_name, baud, false);
    feed->has_pattern = pattern != NULL;
    if (pattern) feed->pattern = made;
    pthread_mutex_init(&feed->lock, NULL);
    if (pthread_create(&feed->thread, NULL, run_feed, feed) != 0) {
        memory_free(feed);
        return FAULT0(fault, SERVER_BUSY);
    }
    *out = feed;
    return STATUS_OK;
}

void scale_feed_stop(struct scale_feed *feed) {
    if (!feed) return;
    pthread_mutex_lock(&feed->lock);
    feed->stopping = true;
    for (int i = 0; i < LOOKERS; i++)
        if (feed->looker[i]) stream_end(feed->looker[i]);
    pthread_mutex_unlock(&feed->lock);
    pthread_join(feed->thread, NULL);
}

void scale_feed_free(struct scale_feed *feed) {
    if (!feed) return;
    for (int i = 0; i < LOOKERS; i++)
        if (feed->looker[i]) stream_let_go(feed->looker[i]);
    scale_port_free(feed->port);
    pthread_mutex_destroy(&feed->lock);
    memory_free(feed);
}

/* The place of a looker who has gone is found again here; nobody else frees one. */
static int free_place(struct scale_feed *feed) {
    for (int i = 0; i < LOOKERS; i++) {
        if (feed->looker[i] && stream_is_left(feed->looker[i])) {
            stream_let_go(feed->looker[i]);
            feed->looker[i] = NULL;
        }
        if (!feed->looker[i]) return i;
    }
    return -1;
}

void scale_feed_answer(struct scale_feed *feed, struct answer *answer) {
    struct fault fault;
    if (!feed) {
        FAULT0(&fault, SERVER_NO_SCALE);
        answer_fault(answer, &fault);
        answer->code = 404;
        return;
    }
    pthread_mutex_lock(&feed->lock);
    const int place = feed->stopping ? -1 : free_place(feed);
    struct stream *stream = place < 0 ? NULL : stream_new(NULL, NULL);
    if (stream) feed->looker[place] = stream;
    if (stream && feed->last[0]) stream_send(stream, "state", feed->last);
    pthread_mutex_unlock(&feed->lock);
    if (!stream) {
        FAULT0(&fault, SERVER_BUSY);
        answer_fault(answer, &fault);
        return;
    }
    answer->code = 200;
    answer->type = "text/event-stream";
    answer->stream = stream;
}
