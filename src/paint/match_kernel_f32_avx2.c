/* The match's kernel in float, with AVX2; called only where the processor has it. The bits are those of the
 * other build. */
#if defined(__x86_64__)
#define REAL float
#define INTEGER int
#define REAL_IS_FLOAT 1
#define KERNEL_NAME match_kernel_f32_avx2
#include "paint/match_kernel_body.h"
#else
typedef int match_kernel_f32_is_for_another_machine;
#endif
