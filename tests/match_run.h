/* A match on an invented shelf, for the tests that look at what comes out. */
#ifndef RUSSET_TESTS_MATCH_RUN_H
#define RUSSET_TESTS_MATCH_RUN_H

#include "match_shelf.h"

static inline struct match_task task_for(const struct shelf *shelf, size_t target, bool opaque) {
    struct match_task task;
    match_task_preset(&task, shelf);
    task.film = match_film(opaque);
    task.target = match_target(shelf, target, &task.film);
    return task;
}

static inline struct match_result run(const struct match_task *task, struct arena *arena) {
    struct match_result result = {0};
    struct fault fault = {0};
    CHECK(match_run(task, NULL, arena, &result, &fault) == STATUS_OK);
    if (fault.text[0]) fprintf(stderr, "  %s\n", fault.text);
    return result;
}

#endif
