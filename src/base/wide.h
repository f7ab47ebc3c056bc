/* A body that is compiled twice, plainly and for AVX2: written once as INLINE, called by a plain function and
 * by a WIDE one. Neither fuses nor reorders anything, so both give the same numbers. */
#ifndef RUSSET_BASE_WIDE_H
#define RUSSET_BASE_WIDE_H

#if defined(__x86_64__)
#define WIDE __attribute__((target("avx2")))
#else
#define WIDE
#endif
#define INLINE static inline __attribute__((always_inline))

#endif
