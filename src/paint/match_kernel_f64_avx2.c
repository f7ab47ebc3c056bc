/* The match's kernel in double, with AVX2; called only where the processor has it. The bits are those of the
 * other build. */
#if defined(__x86_64__)
#define REAL double
#define INTEGER long long
#define REAL_IS_FLOAT 0
#define KERNEL_NAME match_kernel_f64_avx2
#include "paint/match_kernel_body.h"
#else
typedef int match_kernel_f64_is_for_another_machine;
#endif
