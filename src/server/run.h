/* One run of an operation for the page (run_route.h tells what a request is): its arguments and files out of
 * the request, the operation on a disk in memory, and what goes back. */
#ifndef RUSSET_SERVER_RUN_H
#define RUSSET_SERVER_RUN_H

#include "flow/operation.h"
#include "server/call.h"

/* It outlives the call when its progress is streamed. */
struct run {
    struct call call; /* of it only server and shop are used */
    struct arena *arena;
    const struct operation *operation;
    enum paper paper;
    const char *own;   /* the paper that the flow writes by itself: its name */
    const char *asked; /* key of the request, or NULL */
    json_t *body;
    struct stream *stream; /* NULL when nobody hears how far it is */
    struct work *work;
    double shown;
};

/* Runs it in this process and fills the answer: with a reply, or with why not. */
void run_here(struct run *run, struct answer *answer);

#endif
