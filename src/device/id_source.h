/* New keys: UUIDv7 (RFC 9562 section 5.7), 48 bits of milliseconds, then 12 bits that count within a
 * millisecond (section 6.2, method 1), then 62 random bits. Keys of one source rise. The random bits come
 * from the kernel. A seeded source is for transcripts that must repeat: its 12 bits are the turn, and the
 * count stands in the next 14, so that keys rise also when the clock stands still from one program to the
 * next. */
#ifndef RUSSET_DEVICE_ID_SOURCE_H
#define RUSSET_DEVICE_ID_SOURCE_H

#include <stdbool.h>

enum { ID_LENGTH = 36 };

struct id_source {
    bool seeded;
    unsigned long long seed, state;
    long long last_ms;
    unsigned turn, count;
};

struct id_source id_source_real(void);
struct id_source id_source_seeded(unsigned long long seed);
/* Starts a seeded source anew at turn n, so that two programs that follow each other with one seed make
 * different keys. Nothing for the real one. */
void id_source_turn(struct id_source *source, unsigned long long n);

void id_source_next(struct id_source *source, long long ms, char id[ID_LENGTH + 1]);
/* Lower-case hexadecimal with the four dashes in their places; any version. */
bool id_is_good(const char *id);

#endif
