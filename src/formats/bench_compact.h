/* The compact recipe of the QR code (part of formats/bench_json; nobody else needs it). */
#ifndef RUSSET_FORMATS_BENCH_COMPACT_H
#define RUSSET_FORMATS_BENCH_COMPACT_H

#include "formats/bench_json.h"

enum status bench_compact_read(const json_t *compact, const char *file, struct arena *arena,
                               struct bench_recipe *out, struct fault *fault) MUST_USE;
/* A name as it may stand on paper: cut to whole characters, control characters as blanks. */
void bench_toner_name(struct toner *toner, const char *name);

/* Of one curve: 33 bytes. */
enum { CURVE_BYTES = 2 + BANDS };
void bench_curve_pack(const double curve[BANDS], unsigned char out[CURVE_BYTES]);
void bench_curve_unpack(const unsigned char in[CURVE_BYTES], double curve[BANDS]);

#endif
