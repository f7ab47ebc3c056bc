/* One HTTP request, whole, and its answer. The daemon reads the request (bounded, with an overall deadline)
 * before any of it is acted on; a route fills the answer; the daemon sends it with the headers that every
 * answer carries. */
#ifndef RUSSET_SERVER_CALL_H
#define RUSSET_SERVER_CALL_H

#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"
#include <jansson.h>

struct server;
struct call {
    struct server *server;
    const char *method, *path; /* path: decoded, without the query */
    struct bytes body;
    const char *device; /* id of the device that asks; NULL: not paired */
    const char *shop;   /* the folder of the shop that it works in: the shop's own, or the demo's */
    const char *accept;
    const char *peer;    /* the address that asks; NULL: not known */
    struct arena *arena; /* freed when the answer was sent */
    const char *(*header)(const struct call *call, const char *name); /* NULL when not sent */
    const char *(*query)(const struct call *call, const char *name);
    void *connection;
};

/* What an answer that is still being made sends piece by piece (server-sent events). */
struct stream;

struct answer {
    int code;
    const char *type;  /* media type */
    struct text body;  /* freed by the daemon */
    const void *fixed; /* instead of body: bytes of the program itself */
    size_t fixed_size;
    int file;              /* instead of body, when not 0: an open file, closed when it was sent */
    struct stream *stream; /* instead of both */
    const char *cookie;    /* Set-Cookie, or NULL */
    const char *location;  /* of a redirect, or NULL */
    const char *etag;      /* NULL: never kept by the browser */
    const char *file_name; /* NULL, or the name to save as */
};

typedef void route_answer(const struct call *call, struct answer *answer);

/* The ways an answer is filled. */
void answer_json(struct answer *answer, int code, json_t *object); /* takes the reference */
void answer_fault(struct answer *answer, const struct fault *fault);
void answer_text(struct answer *answer, int code, const char *type, const char *text);

#endif
