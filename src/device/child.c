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

/* Only what a sanitized build needs is handed on; nothing that steers a loader or a library is. */
static void keep_environment(char *kept[8]) {
    static const char *const names[] = {"ASAN_OPTIONS=", "UBSAN_OPTIONS=", "LSAN_OPTIONS="};
    size_t count = 0;
    for (char **e = environ; e && *e; e++)
        for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
            if (strncmp(*e, names[i], strlen(names[i])) == 0 && count < 7) kept[count++] = *e;
    kept[count] = NULL;
}

static int spawn(const char *path, const int *lifted, size_t count, pid_t *pid) {
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
    char name[] = "russet-decode";
    char *const arguments[] = {name, NULL};
    char *kept[8];
    keep_environment(kept);
    const int error = posix_spawn(pid, path, &actions, &attributes, arguments, kept);
    posix_spawn_file_actions_destroy(&actions);
    posix_spawnattr_destroy(&attributes);
    return error;
}

bool child_start(const char *path, const int *files, size_t count, struct child *out) {
    int lifted[CHILD_MOST_FILES] = {-1, -1, -1, -1};
    if (count > CHILD_MOST_FILES || lift_files(files, count, lifted) != 0) return false;
    const int error = spawn(path, lifted, count, &out->pid);
    for (size_t i = 0; i < count; i++) close(lifted[i]);
    errno = error;
    return error == 0;
}

static double now_s(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Short waits, so that a request to stop is seen whichever thread the signal met. */
enum child_heard child_hear(int socket, void *record, size_t size, double seconds, const struct work *work) {
    const double until = now_s() + seconds;
    for (;;) {
        if (work && work_is_cancelled(work)) return CHILD_STOPPED;
        const double left = until - now_s();
        if (left <= 0) return CHILD_LATE;
        struct pollfd wait = {.fd = socket, .events = POLLIN};
        const int ready = poll(&wait, 1, left < .2 ? 1 + (int)(1000 * left) : 200);
        if (ready < 0 && errno != EINTR) return CHILD_SILENT;
        if (ready <= 0) continue;
        const ssize_t n = recv(socket, record, size, MSG_DONTWAIT | MSG_TRUNC);
        if (n < 0 && (errno == EINTR || errno == EAGAIN)) continue;
        return n == (ssize_t)size ? CHILD_SAID : CHILD_SILENT;
    }
}

enum child_end child_finish(struct child *child, bool kill_it, int *code) {
    int status = 0;
    if (kill_it) kill(child->pid, SIGKILL);
    while (waitpid(child->pid, &status, 0) < 0)
        if (errno != EINTR) return CHILD_CRASHED;
    *code = WIFEXITED(status) ? WEXITSTATUS(status) : WTERMSIG(status);
    if (WIFEXITED(status)) return CHILD_LEFT;
    if (*code == SIGSYS) return CHILD_FORBIDDEN;
    return *code == SIGXCPU ? CHILD_OUT_OF_TIME : CHILD_CRASHED;
}
