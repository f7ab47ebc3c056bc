#define KERNEL_NAME fit_kernel_base
#include "paint/fit_kernel_body.h"

const struct fit_kernel *fit_kernel_choose(void) {
#if defined(__x86_64__)
    if (__builtin_cpu_supports("avx2")) return &fit_kernel_avx2;
#endif
    return &fit_kernel_base;
}
