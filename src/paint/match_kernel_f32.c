/* The match's kernel in float, for any machine. The bits are those of the other build. */
#define REAL float
#define INTEGER int
#define REAL_IS_FLOAT 1
#define KERNEL_NAME match_kernel_f32_base
#include "paint/match_kernel_body.h"
