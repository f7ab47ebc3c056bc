/* TIFF 6.0 section 2 and EXIF 2.32, 4.6: a header, then directories of twelve-byte entries. Only the first
 * directory and the EXIF and interoperability directories that it names are looked at, each once. */
#include "decode/exif.h"
#include <stdint.h>
#include <string.h>

struct tiff {
    const unsigned char *data;
    size_t size;
    bool big_endian;
};

struct links {
    uint32_t exif, interoperability;
};

static uint32_t number(const struct tiff *t, size_t at, int bytes) {
    uint32_t value = 0;
    for (int i = 0; i < bytes; i++) {
        const size_t k = at + (size_t)(t->big_endian ? i : bytes - 1 - i);
        value = value << 8 | (k < t->size ? t->data[k] : 0U);
    }
    return value;
}

static void read_entry(const struct tiff *t, size_t at, struct exif *out, struct links *links) {
    const uint32_t type = number(t, at + 2, 2), value = number(t, at + 8, type == 3 ? 2 : 4);
    switch (number(t, at, 2)) {
    case 254:
        out->reduced = value & 1;
        break;
    case 259:
        out->compression = value;
        break;
    case 262:
        out->photometric = value;
        break;
    case 274:
        out->orientation = value >= 1 && value <= 8 ? (int)value : 1;
        break;
    case 330:
        out->other = true;
        break;
    case 34665:
        links->exif = value;
        break;
    case 50706:
        out->dng = true;
        break;
    case 40961:
        out->says_srgb = value == 1;
        break;
    case 40965:
        links->interoperability = value;
        break;
    default:
        break;
    }
}

static void read_directory(const struct tiff *t, size_t at, struct exif *out, struct links *links) {
    if (at < 8 || at + 2 > t->size) return;
    const size_t count = number(t, at, 2);
    for (size_t i = 0; i < count && at + 2 + 12 * (i + 1) <= t->size; i++)
        read_entry(t, at + 2 + 12 * i, out, links);
}

/* Entry 1 of the interoperability directory holds four letters. */
static bool is_r03(const struct tiff *t, size_t at) {
    if (at < 8 || at + 2 > t->size) return false;
    const size_t count = number(t, at, 2);
    for (size_t i = 0; i < count && at + 2 + 12 * (i + 1) <= t->size; i++)
        if (number(t, at + 2 + 12 * i, 2) == 1) return memcmp(t->data + at + 2 + 12 * i + 8, "R03", 3) == 0;
    return false;
}

void exif_read(const unsigned char *tiff, size_t n, struct exif *out) {
    *out = (struct exif){.orientation = 1, .photometric = 65535, .compression = 65535};
    if (n < 8 || (memcmp(tiff, "II", 2) != 0 && memcmp(tiff, "MM", 2) != 0)) return;
    const struct tiff t = {tiff, n, tiff[0] == 'M'};
    struct links links = {0, 0};
    read_directory(&t, number(&t, 4, 4), out, &links);
    const struct exif first = *out;
    if (links.exif) read_directory(&t, links.exif, out, &links);
    out->orientation = first.orientation;
    out->photometric = first.photometric;
    out->compression = first.compression;
    out->reduced = first.reduced;
    out->other = first.other;
    out->dng = first.dng;
    out->says_adobe = !out->says_srgb && is_r03(&t, links.interoperability);
}
