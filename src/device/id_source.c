#include "device/id_source.h"
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>

struct id_source id_source_real(void) {
    return (struct id_source){0};
}

struct id_source id_source_seeded(unsigned long long seed) {
    return (struct id_source){.seeded = true, .seed = seed, .state = seed};
}

/* splitmix64 (Steele, Lea and Flood 2014). */
static uint64_t next_of(unsigned long long *state) {
    uint64_t z = *state += 0x9e3779b97f4a7c15ULL;
    z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ z >> 27) * 0x94d049bb133111ebULL;
    return z ^ z >> 31;
}

void id_source_turn(struct id_source *source, unsigned long long n) {
    unsigned long long mixed = source->seed ^ n * 0xd1342543de82ef95ULL;
    source->state = next_of(&mixed);
    source->turn = (unsigned)(n & 0xfff);
    source->count = 0;
    source->last_ms = 0;
}

/* getrandom() of so few bytes cannot fail once the kernel has started; if it does, a key that may be there
 * already would be worse than no program. */
static uint64_t random_bits(struct id_source *source) {
    uint64_t bits;
    if (source->seeded) return next_of(&source->state);
    if (getrandom(&bits, sizeof bits, 0) != (ssize_t)sizeof bits) abort();
    return bits;
}

/* The count begins anywhere in the lower half; when it is full, the clock is taken as one further. A seeded
 * count begins at 0. */
static void advance(struct id_source *source, long long ms) {
    const unsigned most = source->seeded ? 0x3fff : 0xfff;
    if (ms > source->last_ms) {
        source->last_ms = ms;
        source->count = source->seeded ? 0 : (unsigned)(random_bits(source) & 0x7ff);
    } else if (++source->count > most) {
        source->last_ms++;
        source->count = 0;
    }
}

void id_source_next(struct id_source *source, long long ms, char id[ID_LENGTH + 1]) {
    advance(source, ms);
    const uint64_t tail = random_bits(source), time = (uint64_t)source->last_ms;
    const unsigned head = (source->seeded ? source->turn : source->count) & 0xfff;
    const unsigned middle = (source->seeded ? source->count : (unsigned)(tail >> 48)) & 0x3fff;
    snprintf(id, ID_LENGTH + 1, "%08x-%04x-7%03x-%04x-%012llx", (unsigned)(time >> 16 & 0xffffffff),
             (unsigned)(time & 0xffff), head, 0x8000 | middle,
             (unsigned long long)(tail & 0xffffffffffffULL));
}

bool id_is_good(const char *id) {
    for (size_t i = 0; i < ID_LENGTH; i++) {
        const bool dash = i == 8 || i == 13 || i == 18 || i == 23;
        if (!id[i] || (dash ? id[i] != '-' : !strchr("0123456789abcdef", id[i]))) return false;
    }
    return id[ID_LENGTH] == 0;
}
