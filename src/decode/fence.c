#include "decode/fence.h"
#include <errno.h>
#include <sched.h>
#include <seccomp.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>

enum { MOST_MEMORY_MIB = 2560, MOST_CPU_S = 120 };

static bool limit(__rlimit_resource_t what, rlim_t value) {
    const struct rlimit both = {value, value};
    return setrlimit(what, &both) == 0;
}

bool fence_limits(size_t file_bytes) {
    bool done = prctl(PR_SET_PDEATHSIG, SIGKILL) == 0 && prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 &&
                limit(RLIMIT_CORE, 0) && limit(RLIMIT_FSIZE, 0) && limit(RLIMIT_CPU, MOST_CPU_S) &&
                limit(RLIMIT_NOFILE, 16);
#ifdef RUSSET_SANITIZED /* the sanitizer's shadow is larger than any limit */
    (void)file_bytes;
#else
    done = done && limit(RLIMIT_AS, ((rlim_t)MOST_MEMORY_MIB << 20) + file_bytes);
#endif
    return done;
}

#ifdef RUSSET_SANITIZED
bool fence_close(void) {
    return true;
}
#else
static const int allowed[] = {
    SCMP_SYS(read),
    SCMP_SYS(pread64),
    SCMP_SYS(lseek),
    SCMP_SYS(close),
    SCMP_SYS(fstat),
    SCMP_SYS(sendto),
    SCMP_SYS(recvfrom),
    SCMP_SYS(munmap),
    SCMP_SYS(mremap),
    SCMP_SYS(madvise),
    SCMP_SYS(brk),
    SCMP_SYS(futex),
    SCMP_SYS(exit),
    SCMP_SYS(exit_group),
    SCMP_SYS(clock_gettime),
    SCMP_SYS(clock_nanosleep),
    SCMP_SYS(rt_sigreturn),
    SCMP_SYS(rt_sigprocmask),
    SCMP_SYS(rt_sigaction),
    SCMP_SYS(getrandom),
    SCMP_SYS(sched_yield),
    SCMP_SYS(getpid),
    SCMP_SYS(gettid),
    SCMP_SYS(tgkill),
    SCMP_SYS(set_robust_list),
    SCMP_SYS(rseq),
    SCMP_SYS(sched_getaffinity),
    SCMP_SYS(gettimeofday),
    SCMP_SYS(restart_syscall),
    SCMP_SYS(getrusage),
    SCMP_SYS(times),
};
/* Asked by libraries in passing; they do without. */
static const int denied[] = {
    SCMP_SYS(openat),        SCMP_SYS(open),          SCMP_SYS(access),    SCMP_SYS(faccessat),
    SCMP_SYS(readlink),      SCMP_SYS(newfstatat),    SCMP_SYS(stat),      SCMP_SYS(write),
    SCMP_SYS(writev),        SCMP_SYS(sysinfo),       SCMP_SYS(uname),     SCMP_SYS(sched_setscheduler),
    SCMP_SYS(sched_setattr), SCMP_SYS(sched_getattr), SCMP_SYS(prctl),     SCMP_SYS(ioctl),
    SCMP_SYS(fcntl),         SCMP_SYS(statx),         SCMP_SYS(prlimit64),
};

/* Memory never becomes code. */
static int allow_memory(scmp_filter_ctx filter) {
    const struct scmp_arg_cmp no_code = SCMP_A2(SCMP_CMP_MASKED_EQ, PROT_EXEC, 0);
    const int failed = seccomp_rule_add_array(filter, SCMP_ACT_ALLOW, SCMP_SYS(mmap), 1, &no_code);
    return failed ? failed : seccomp_rule_add_array(filter, SCMP_ACT_ALLOW, SCMP_SYS(mprotect), 1, &no_code);
}

/* Threads, but no processes; clone3 hides its flags, so libraries are told to do without it. */
static int allow_threads(scmp_filter_ctx filter) {
    const struct scmp_arg_cmp thread = SCMP_A0(SCMP_CMP_MASKED_EQ, CLONE_THREAD, CLONE_THREAD);
    const int failed = seccomp_rule_add_array(filter, SCMP_ACT_ALLOW, SCMP_SYS(clone), 1, &thread);
    return failed ? failed : seccomp_rule_add(filter, SCMP_ACT_ERRNO(ENOSYS), SCMP_SYS(clone3), 0);
}

static int add_rules(scmp_filter_ctx filter) {
    int failed = allow_memory(filter);
    if (!failed) failed = allow_threads(filter);
    for (size_t i = 0; !failed && i < sizeof allowed / sizeof allowed[0]; i++)
        failed = seccomp_rule_add(filter, SCMP_ACT_ALLOW, allowed[i], 0);
    for (size_t i = 0; !failed && i < sizeof denied / sizeof denied[0]; i++)
        failed = seccomp_rule_add(filter, SCMP_ACT_ERRNO(EACCES), denied[i], 0);
    return failed;
}

bool fence_close(void) {
    scmp_filter_ctx filter = seccomp_init(SCMP_ACT_KILL_PROCESS);
    if (!filter) return false;
    int failed = seccomp_attr_set(filter, SCMP_FLTATR_CTL_TSYNC, 1);
    if (!failed) failed = add_rules(filter);
    if (!failed) failed = seccomp_load(filter);
    seccomp_release(filter);
    return !failed;
}
#endif
