/* The match's kernel in double, for any machine. The bits are those of the other build. */
#define REAL double
#define INTEGER long long
#define REAL_IS_FLOAT 0
#define KERNEL_NAME match_kernel_f64_base
#include "paint/match_kernel_body.h"
