/* The loops of the fit with AVX2; called only where the processor has it. The bits are those of the other
 * build. */
#if defined(__x86_64__)
#define KERNEL_NAME fit_kernel_avx2
#include "paint/fit_kernel_body.h"
#else
typedef int fit_kernel_is_for_another_machine;
#endif
