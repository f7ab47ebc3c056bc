#include "formats/x3p_out.h"
#include "base/memory.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- checksums ---- */

uint32_t crc32_of(const void *data, size_t n) {
    const unsigned char *p = data;
    uint32_t table[256], crc = 0xFFFFFFFFU;
    for (uint32_t i = 0; i < 256; i++) {
        table[i] = i;
        for (int k = 0; k < 8; k++) table[i] = table[i] & 1 ? 0xEDB88320U ^ (table[i] >> 1) : table[i] >> 1;
    }
    for (size_t i = 0; i < n; i++) crc = table[(crc ^ p[i]) & 255] ^ (crc >> 8);
    return crc ^ 0xFFFFFFFFU;
}

static uint32_t turned(uint32_t x, int by) {
    return (x << by) | (x >> (32 - by));
}

/* RFC 1321, 3.4: four rounds of sixteen steps; the constants are those of a sine. */
static void md5_block(const unsigned char *p, const uint32_t sine[64], uint32_t s[4]) {
    static const int by[4][4] = {{7, 12, 17, 22}, {5, 9, 14, 20}, {4, 11, 16, 23}, {6, 10, 15, 21}};
    static const int first[4] = {0, 1, 5, 0}, step[4] = {1, 5, 3, 7};
    uint32_t x[16], a = s[0], b = s[1], c = s[2], d = s[3];
    for (size_t i = 0; i < 16; i++)
        x[i] = p[4 * i] | (uint32_t)p[4 * i + 1] << 8 | (uint32_t)p[4 * i + 2] << 16 |
               (uint32_t)p[4 * i + 3] << 24;
    for (int i = 0; i < 64; i++) {
        const int round = i / 16;
        const uint32_t f = round == 0   ? (b & c) | (~b & d)
                           : round == 1 ? (b & d) | (c & ~d)
                           : round == 2 ? b ^ c ^ d
                                        : c ^ (b | ~d);
        const uint32_t sum = a + f + x[(first[round] + step[round] * i) % 16] + sine[i];
        a = d, d = c, c = b, b += turned(sum, by[round][i % 4]);
    }
    s[0] += a, s[1] += b, s[2] += c, s[3] += d;
}

void md5_hex(const void *data, size_t n, char out[33]) {
    uint32_t sine[64], state[4] = {0x67452301U, 0xefcdab89U, 0x98badcfeU, 0x10325476U};
    const unsigned char *p = data;
    unsigned char last[128] = {0};
    size_t done = 0;
    for (int i = 0; i < 64; i++) sine[i] = (uint32_t)floor(4294967296. * fabs(sin(i + 1)));
    for (; done + 64 <= n; done += 64) md5_block(p + done, sine, state);
    const size_t rest = n - done, padded = rest < 56 ? 64 : 128;
    if (rest) memcpy(last, p + done, rest);
    last[rest] = 0x80;
    for (size_t i = 0; i < 8; i++) last[padded - 8 + i] = (unsigned char)((uint64_t)n * 8 >> 8 * i);
    for (size_t at = 0; at < padded; at += 64) md5_block(last + at, sine, state);
    for (size_t i = 0; i < 16; i++) snprintf(out + 2 * i, 3, "%02x", (state[i / 4] >> 8 * (i % 4)) & 255);
}

/* ---- the container: stored, dated 1980-01-01 as ZIP's first day ---- */

struct member {
    const char *name;
    const void *data;
    size_t n, at;
    uint32_t crc;
};

static void put_number(struct text *out, uint32_t value, int bytes) {
    char v[4];
    for (int i = 0; i < bytes; i++) v[i] = (char)(unsigned char)(value >> 8 * i);
    text_add_bytes(out, v, (size_t)bytes);
}

static void put_common(struct text *out, const struct member *m) {
    static const uint32_t day = 0x21; /* 1980-01-01 */
    put_number(out, 20, 2), put_number(out, 0, 2), put_number(out, 0, 2), put_number(out, 0, 2);
    put_number(out, day, 2), put_number(out, m->crc, 4);
    put_number(out, (uint32_t)m->n, 4), put_number(out, (uint32_t)m->n, 4);
    put_number(out, (uint32_t)strlen(m->name), 2), put_number(out, 0, 2);
}

static void put_zip(struct text *out, struct member *m, size_t members) {
    const size_t begin = out->length;
    for (size_t i = 0; i < members; i++) {
        m[i].at = out->length - begin, m[i].crc = crc32_of(m[i].data, m[i].n);
        put_number(out, 0x04034b50U, 4), put_common(out, &m[i]);
        text_add(out, m[i].name), text_add_bytes(out, m[i].data, m[i].n);
    }
    const size_t list = out->length - begin;
    for (size_t i = 0; i < members; i++) {
        put_number(out, 0x02014b50U, 4), put_number(out, 20, 2), put_common(out, &m[i]);
        put_number(out, 0, 2), put_number(out, 0, 2), put_number(out, 0, 2), put_number(out, 0, 4);
        put_number(out, (uint32_t)m[i].at, 4), text_add(out, m[i].name);
    }
    const size_t end = out->length - begin;
    put_number(out, 0x06054b50U, 4), put_number(out, 0, 4);
    put_number(out, (uint32_t)members, 2), put_number(out, (uint32_t)members, 2);
    put_number(out, (uint32_t)(end - list), 4), put_number(out, (uint32_t)list, 4), put_number(out, 0, 2);
}

/* ---- what is in it ---- */

static void put_xml(struct text *xml, const struct relief *relief, const char *digest) {
    char step[40];
    snprintf(step, sizeof step, "%.9e", relief->step_mm / 1000);
    text_add(xml, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                  "<p:ISO5436_2 xmlns:p=\"http://www.opengps.eu/2008/ISO5436_2\">\n"
                  "<Record1><Revision>ISO5436 - 2000</Revision><FeatureType>SUR</FeatureType><Axes>\n");
    for (int i = 0; i < 2; i++)
        text_format(xml,
                    "<C%c><AxisType>I</AxisType><DataType>D</DataType><Increment>%s</Increment>"
                    "<Offset>0</Offset></C%c>\n",
                    "XY"[i], step, "XY"[i]);
    text_add(
        xml,
        "<CZ><AxisType>A</AxisType><DataType>D</DataType><Increment>1</Increment><Offset>0</Offset></CZ>\n"
        "</Axes></Record1>\n");
    text_format(
        xml,
        "<Record3><MatrixDimension><SizeX>%d</SizeX><SizeY>%d</SizeY><SizeZ>1</SizeZ></MatrixDimension>\n"
        "<DataLink><PointDataLink>bindata/data.bin</PointDataLink>"
        "<MD5ChecksumPointData>%s</MD5ChecksumPointData></DataLink></Record3>\n"
        "<Record4><ChecksumFile>md5checksum.hex</ChecksumFile></Record4>\n</p:ISO5436_2>\n",
        relief->width, relief->height, digest);
}

void x3p_out(const struct relief *relief, struct text *bytes) {
    const size_t n = (size_t)relief->width * (size_t)relief->height;
    unsigned char *data = memory_need(n, 8);
    struct text xml = {0};
    char digest[33];
    for (size_t i = 0; i < n; i++) {
        const double metres = relief->z_mm[i] / 1000;
        uint64_t bits;
        memcpy(&bits, &metres, 8);
        for (size_t k = 0; k < 8; k++) data[8 * i + k] = (unsigned char)(bits >> 8 * k);
    }
    md5_hex(data, 8 * n, digest);
    put_xml(&xml, relief, digest);
    md5_hex(xml.data, xml.length, digest);
    struct text sum = {0};
    text_format(&sum, "%s *main.xml\n", digest);
    struct member member[] = {{"main.xml", xml.data, xml.length, 0, 0},
                              {"bindata/data.bin", data, 8 * n, 0, 0},
                              {"md5checksum.hex", sum.data, sum.length, 0, 0}};
    put_zip(bytes, member, 3);
    text_free(&xml), text_free(&sum), memory_free(data);
}
