#include "device/child.h"
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

bool child_find(const char *name, char path[PATH_MAX]) {
    static const char *const folders[] = {"", "../", "../libexec/russet/"};
    char here[PATH_MAX];
    const ssize_t n = readlink("/proc/self/exe", here, sizeof here - 1);
    if (n <= 0) return false;
    here[n] = 0;
    char *slash = strrchr(here, '/');
    if (!slash) return false;
    slash[1] = 0;
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        const int wrote = snprintf(path, PATH_MAX, "%s%s%s", here, folders[i], name);
        if (wrote > 0 && wrote < PATH_MAX && access(path, X_OK) == 0) return true;
    }
    return false;
}

/* Files are first lifted over the numbers that they will get, so that none is overwritten before it is used.
 */
static int lift_files(const int *files, size_t count, int lifted[CHILD_MOST_FILES]) {
    for (size_t i = 0; i < count; i++) {
        lifted[i] = fcntl(files[i], F_DUPFD_CLOEXEC, 3 + CHILD_MOST_FILES);
        if (lifted[i] < 0) {
            while (i > 0) close(lifted[--i]);
            return -1;
        }
    }
    return 0;
}

/* One thread, plain numbers, one pool of memory; of our own surroundings only what a sanitized build needs is
 * handed on, nothing that steers a loader or a library. */
enum { ENVIRONMENT_MOST = 8 };
static void make_environment(char *to[ENVIRONMENT_MOST]) {
    static char fixed[][24] = {"LC_ALL=C", "OMP_NUM_THREADS=1", "MALLOC_ARENA_MAX=1"};
    static const char *const kept[] = {"ASAN_OPTIONS=", "UBSAN_OPTIONS=", "LSAN_OPTIONS="};
    size_t count = 0;
    for (size_t i = 0; i < sizeof fixed / sizeof fixed[0]; i++) to[count++] = fixed[i];
    for (char **e = environ; e && *e; e++)
        for (size_t i = 0; i < sizeof kept / sizeof kept[0]; i++)
            if (strncmp(*e, kept[i], strlen(kept[i])) == 0 && count < ENVIRONMENT_MOST - 1) to[count++] = *e;
    to[count] = NULL;
}

static int spawn(const char *path, const char *name, const int *lifted, size_t count, pid_t *pid) {
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t attributes;
    posix_spawn_file_actions_init(&actions);
    posix_spawnattr_init(&attributes);
    posix_spawn_file_actions_addopen(&actions, 0, "/dev/null", O_RDWR, 0);
    posix_spawn_file_actions_adddup2(&actions, 0, 1);
#ifndef RUSSET_SANITIZED /* a sanitizer's report must be seen */
    posix_spawn_file_actions_adddup2(&actions, 0, 2);
#endif
    for (size_t i = 0; i < count; i++) posix_spawn_file_actions_adddup2(&actions, lifted[i], 3 + (int)i);
    posix_spawn_file_actions_addclosefrom_np(&actions, 3 + (int)count);
    sigset_t none, usual;
    sigemptyset(&none);
    sigfillset(&usual);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnattr_setsigdefault(&attributes, &usual);
    posix_spawnattr_setpgroup(&attributes, 0);
    posix_spawnattr_setflags(&attributes,
                             POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
    char called[32];
    snprintf(called, sizeof called, "%s", name);
    char *const arguments[] = {called, NULL};
    char *environment[ENVIRONMENT_MOST];
    make_environment(environment);
    const int error = posix_spawn(pid, path, &actions, &attributes, arguments, environment);
    posix_spawn_file_actions_destroy(&actions);
    posix_spawnattr_destroy(&attributes);
    return error;
}

bool child_start(const char *path, const char *name, const int *files, size_t count, struct child *out) {
    int lifted[CHILD_MOST_FILES] = {-1, -1, -1, -1};
    if (count > CHILD_MOST_FILES || lift_files(files, count, lifted) != 0) return false;
    const int error = spawn(path, name, lifted, count, &out->pid);
    for (size_t i = 0; i < count; i++) close(lifted[i]);
    errno = error;
    return error == 0;
}

double child_clock_s(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Short waits, so that a request to stop is seen whichever thread the signal met. */
enum child_heard child_hear(int socket, void *record, size_t size, double until_s, const struct work *work) {
    for (;;) {
        if (work && work_is_cancelled(work)) return CHILD_STOPPED;
        const double left = until_s - child_clock_s();
        if (left <= 0) return CHILD_LATE;
        struct pollfd wait = {.fd = socket, .events = POLLIN};
        const int ready = poll(&wait, 1, left < .2 ? 1 + (int)(1000 * left) : 200);
        if (ready < 0 && errno != EINTR) return CHILD_SILENT;
        if (ready <= 0) continue;
        const ssize_t n = recv(socket, record, size, MSG_DONTWAIT | MSG_TRUNC);
        /* Reset: it left without reading our last word; its own last word may still be here. */
        if (n < 0 && (errno == EINTR || errno == EAGAIN || errno == ECONNRESET)) continue;
        return n == (ssize_t)size ? CHILD_SAID : n > 0 ? CHILD_BABBLED : CHILD_SILENT;
    }
}

/* A child that has fallen silent is about to be gone, and how it went is worth knowing; but not worth waiting
 * for one that only closed its ears. */
static void await_end(struct child *child, int *status) {
    const struct timespec pause = {.tv_nsec = 5000000};
    for (int i = 0; i < 200; i++) {
        const pid_t ended = waitpid(child->pid, status, WNOHANG);
        if (ended == child->pid || (ended < 0 && errno != EINTR)) {
            child->pid = 0;
            return;
        }
        nanosleep(&pause, NULL);
    }
}

enum child_end child_finish(struct child *child, bool kill_it, int *code) {
    int status = 0;
    if (!kill_it) await_end(child, &status);
    if (child->pid > 0) kill(child->pid, SIGKILL);
    while (child->pid > 0)
        if (waitpid(child->pid, &status, 0) >= 0 || errno != EINTR) child->pid = 0;
    *code = WIFEXITED(status) ? WEXITSTATUS(status) : WTERMSIG(status);
    if (WIFEXITED(status)) return CHILD_LEFT;
    if (*code == SIGSYS) return CHILD_FORBIDDEN;
    return *code == SIGXCPU ? CHILD_OUT_OF_TIME : CHILD_CRASHED;
}
