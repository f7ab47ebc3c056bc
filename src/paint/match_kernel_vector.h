/* The vectors of the match's kernels and what is reckoned in them without libm: exact square roots, exp and
 * cube roots from IEEE operations alone, so that every lane of every build gives the same bits. Included by
 * match_kernel_body.h, once for float and once for double; REAL, INTEGER and the constants are set by the
 * file that includes that. */
#pragma GCC diagnostic ignored "-Wpsabi"
#include "paint/match_model.h"
#include <stddef.h>
#include <string.h>
#if defined(__SSE2__)
#include <immintrin.h>
#endif

typedef REAL vec __attribute__((vector_size(32)));
typedef INTEGER mask __attribute__((vector_size(32)));
enum { LANES = 32 / (int)sizeof(REAL), SLOTS = MATCH_SLOTS, PAIRS = SLOTS * (SLOTS + 1) / 2 };
#define IN static inline __attribute__((always_inline))
#define R(x) ((REAL)(x))
#if defined(__clang__)
#define UNROLL _Pragma("unroll")
#else
#define UNROLL _Pragma("GCC unroll 8")
#endif

IN vec splat(REAL x) {
    return (vec){0} + x;
}

IN vec pick(mask m, vec yes, vec no) {
    return (vec)(((mask)yes & m) | ((mask)no & ~m));
}

IN vec larger(vec a, vec b) {
    return pick(a > b, a, b);
}

IN vec smaller(vec a, vec b) {
    return pick(a < b, a, b);
}

IN vec size_of(vec a) {
    return larger(a, -a);
}

/* Correctly rounded in every branch. */
IN vec root(vec x) {
#if defined(__AVX__) && REAL_IS_FLOAT
    return (vec)_mm256_sqrt_ps((__m256)x);
#elif defined(__AVX__)
    return (vec)_mm256_sqrt_pd((__m256d)x);
#elif defined(__SSE2__) && REAL_IS_FLOAT
    __m128 half[2];
    memcpy(half, &x, sizeof x);
    half[0] = _mm_sqrt_ps(half[0]);
    half[1] = _mm_sqrt_ps(half[1]);
    memcpy(&x, half, sizeof x);
    return x;
#elif defined(__SSE2__)
    __m128d half[2];
    memcpy(half, &x, sizeof x);
    half[0] = _mm_sqrt_pd(half[0]);
    half[1] = _mm_sqrt_pd(half[1]);
    memcpy(&x, half, sizeof x);
    return x;
#else
    for (int i = 0; i < LANES; i++)
        x[i] = REAL_IS_FLOAT ? R(__builtin_sqrtf((float)x[i])) : R(__builtin_sqrt((double)x[i]));
    return x;
#endif
}

/* exp(-t), t >= 0: t = n ln 2 + r with |r| <= ln 2 / 2, Taylor in r, 2^-n by its bits. */
IN vec exp_minus(vec t) {
    const REAL most = REAL_IS_FLOAT ? R(80) : R(600),
               magic = REAL_IS_FLOAT ? R(12582912) : R(6755399441055744.0);
    const vec x = -smaller(t, splat(most));
    const vec shifted = x * R(1.4426950408889634) + magic, n = shifted - magic;
    const vec r = (x - n * R(0.693145751953125)) - n * R(1.42860682030941723e-6);
    vec p = REAL_IS_FLOAT ? splat(R(1.0 / 720)) : splat(R(1.0 / 39916800));
    if (!REAL_IS_FLOAT) {
        p = p * r + R(1.0 / 3628800);
        p = p * r + R(1.0 / 362880);
        p = p * r + R(1.0 / 40320);
        p = p * r + R(1.0 / 5040);
        p = p * r + R(1.0 / 720);
    }
    p = p * r + R(1.0 / 120);
    p = p * r + R(1.0 / 24);
    p = p * r + R(1.0 / 6);
    p = p * r + R(0.5);
    p = p * r + R(1);
    p = p * r + R(1);
    return (vec)((mask)p + ((mask)shifted << (REAL_IS_FLOAT ? 23 : 52)));
}

/* Cube root of x > 0: a guess from the bits of its float, then Halley's steps. */
IN vec cube_root(vec x) {
    typedef float narrow __attribute__((vector_size(4 * LANES)));
    typedef int narrow_bits __attribute__((vector_size(4 * LANES)));
    const narrow small = __builtin_convertvector(x, narrow);
    const narrow third = __builtin_convertvector((narrow_bits)small, narrow) * 0.333333333f + 709921077.0f;
    vec y = __builtin_convertvector((narrow) __builtin_convertvector(third, narrow_bits), vec);
    for (int i = 0; i < (REAL_IS_FLOAT ? 2 : 3); i++) {
        const vec cube = y * y * y;
        y = y * (cube + x + x) / (cube + cube + x);
    }
    return y;
}
