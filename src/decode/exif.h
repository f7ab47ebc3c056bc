/* The few words of a TIFF directory (also the one inside EXIF) that decide how a picture is read. */
#ifndef RUSSET_DECODE_EXIF_H
#define RUSSET_DECODE_EXIF_H

#include <stdbool.h>
#include <stddef.h>

struct exif {
    int orientation; /* 1..8; 1 when it says nothing */
    bool says_srgb;  /* ColorSpace 1 (EXIF 2.32, tag 40961) */
    bool says_adobe; /* ColorSpace not 1 and interoperability R03 (DCF 2.0 optional colour space) */
    bool dng;        /* DNGVersion is there */
    bool reduced;    /* the first directory is a reduced picture (NewSubfileType bit 0) */
    bool other;      /* it has further pictures (SubIFDs) */
    unsigned photometric, compression; /* of the first directory; 65535: missing */
};

/* tiff[0..n) begins with the byte order. Never reads outside; anything unsound counts as missing. */
void exif_read(const unsigned char *tiff, size_t n, struct exif *out);

#endif
