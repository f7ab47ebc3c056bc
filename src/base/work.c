#include "base/work.h"
#include "base/memory.h"
#include <pthread.h>
#include <stdatomic.h>
#include <unistd.h>

enum { MOST_THREADS = 16 };

struct work {
    unsigned threads;
    work_progress *progress;
    void *user;
    atomic_bool cancelled;
};

struct round {
    struct work *work;
    work_task *task;
    void *context;
    size_t chunks;
    atomic_size_t next;
};

struct work *work_new(unsigned threads, work_progress *progress, void *user) {
    struct work *work = memory_need(1, sizeof *work);
    const long cores = sysconf(_SC_NPROCESSORS_ONLN);
    if (threads == 0) threads = cores > 0 ? (unsigned)cores : 1;
    work->threads = threads > MOST_THREADS ? MOST_THREADS : threads;
    work->progress = progress;
    work->user = user;
    atomic_init(&work->cancelled, false);
    return work;
}

void work_free(struct work *work) {
    memory_free(work);
}

bool work_is_cancelled(const struct work *work) {
    return work && atomic_load_explicit(&work->cancelled, memory_order_relaxed);
}

bool work_take_cancel(struct work *work) {
    return atomic_exchange_explicit(&work->cancelled, false, memory_order_relaxed);
}

void work_cancel(struct work *work) {
    atomic_store_explicit(&work->cancelled, true, memory_order_relaxed);
}

void work_report(struct work *work, double done) {
    if (work && work->progress) work->progress(work->user, done);
}

static void *take_chunks(void *arg) {
    struct round *round = arg;
    while (!work_is_cancelled(round->work)) {
        const size_t chunk = atomic_fetch_add(&round->next, 1);
        if (chunk >= round->chunks) break;
        round->task(round->context, chunk);
    }
    return NULL;
}

void work_run(struct work *work, size_t chunks, work_task *task, void *context) {
    struct round round = {.work = work, .task = task, .context = context, .chunks = chunks};
    atomic_init(&round.next, 0);
    const size_t wanted = work ? work->threads : 1;
    const size_t helpers = (wanted < chunks ? wanted : chunks) - (chunks ? 1 : 0);
    pthread_t thread[MOST_THREADS];
    size_t started = 0;
    /* A thread that cannot be started is no error: this one takes its chunks. */
    while (started < helpers && pthread_create(&thread[started], NULL, take_chunks, &round) == 0) started++;
    take_chunks(&round);
    for (size_t i = 0; i < started; i++) pthread_join(thread[i], NULL);
}
