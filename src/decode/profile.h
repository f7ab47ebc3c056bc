/* From the numbers of a file to linear light: curves per channel, and where their primaries lie.
 *
 * An ICC profile of matrix and curves (ICC.1:2010, 8.3.3) is taken as it is; of a profile with tables only
 * the response to neutral values is taken, for all channels. Without a profile: sRGB (IEC 61966-2-1), or the
 * gamma that a PNG tells. */
#ifndef RUSSET_DECODE_PROFILE_H
#define RUSSET_DECODE_PROFILE_H

#include "formats/picture_wire.h"
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct file_light {
    uint16_t curve8[3][256];
    uint16_t *curve16[3]; /* 65536 values each; made by light_widen */
    double to_srgb[9];
    unsigned clip; /* in linear light, the least of the three channels */
    bool raw, curve_known;
    int reduced; /* as struct picture */
    enum wire_note note;
    double gamma;           /* > 0: a power curve */
    bool bt709;             /* the camera curve of ITU-R BT.709 */
    void *profile_curve[3]; /* lcms2's; NULL: gamma or sRGB */
};

/* clip_code: 0..1, the value of the file at and over which a channel is burnt out. A profile that cannot be
 * used leaves sRGB and a note. */
void light_of_profile(struct file_light *light, const void *icc, size_t size, double clip_code);
/* A power curve with the primaries of sRGB (PNG gAMA). */
void light_of_gamma(struct file_light *light, double gamma, double clip_code);
/* sRGB; known: the file says so. */
void light_of_srgb(struct file_light *light, bool known, double clip_code);
/* The inverse of the camera curve of ITU-R BT.709-6 (also BT.601, BT.2020), primaries of sRGB. */
void light_of_bt709(struct file_light *light, double clip_code);
/* The primaries of P3 with the white of D65 (SMPTE EG 432-1) instead of those of sRGB. */
void light_with_p3(struct file_light *light);
void light_widen(struct file_light *light); /* for 16-bit values */
void light_end(struct file_light *light);

#endif
