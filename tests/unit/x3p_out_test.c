/* X3P: the digests against RFC 1321's own test suite and the usual check value of CRC-32; the container read
 * back by libzip, its heights bit by bit. */
#include "check.h"
#include "formats/x3p_out.h"
#include <zip.h>

static void digests_are_those_published(void) {
    static const char *const of[][2] = {
        {"", "d41d8cd98f00b204e9800998ecf8427e"},
        {"a", "0cc175b9c0f1b6a831c399e269772661"},
        {"abc", "900150983cd24fb0d6963f7d28e17f72"},
        {"message digest", "f96b697d7cb7938d525a2f31aaf161d0"},
        {"abcdefghijklmnopqrstuvwxyz", "c3fcd3d76192e4007dfb496cca67e13b"},
        {"12345678901234567890123456789012345678901234567890123456789012345678901234"
         "567890",
         "57edf4a22be3c955ac49da2e2107b67a"}};
    for (int i = 0; i < 6; i++) {
        char digest[33];
        md5_hex(of[i][0], strlen(of[i][0]), digest);
        CHECK(strcmp(digest, of[i][1]) == 0);
    }
    CHECK(crc32_of("123456789", 9) == 0xCBF43926U);
}

static size_t read_member(zip_t *zip, const char *name, void *out, size_t room) {
    zip_file_t *file = zip_fopen(zip, name, 0);
    CHECK(file);
    if (!file) return 0;
    const zip_int64_t n = zip_fread(file, out, room); /* libzip checks the CRC at the end */
    char beyond;
    CHECK(zip_fread(file, &beyond, 1) == 0);
    CHECK(zip_fclose(file) == 0);
    return n > 0 ? (size_t)n : 0;
}

static void another_reader_finds_the_heights(void) {
    double z[24 * 17], got[24 * 17];
    for (int i = 0; i < 24 * 17; i++) z[i] = .01 * sin(.3 * i);
    const struct relief relief = {24, 17, .05, z};
    struct text bytes = {0};
    x3p_out(&relief, &bytes);
    zip_error_t error;
    zip_source_t *source = zip_source_buffer_create(bytes.data, bytes.length, 0, &error);
    zip_t *zip = source ? zip_open_from_source(source, ZIP_RDONLY | ZIP_CHECKCONS, &error) : NULL;
    CHECK(zip && zip_get_num_entries(zip, 0) == 3);
    if (!zip) return;
    CHECK(read_member(zip, "bindata/data.bin", got, sizeof got) == sizeof got);
    for (int i = 0; i < 24 * 17; i++) CHECK(got[i] == z[i] / 1000);
    char xml[4000] = "", sum[100] = "", digest[33];
    const size_t n = read_member(zip, "main.xml", xml, sizeof xml - 1);
    read_member(zip, "md5checksum.hex", sum, sizeof sum - 1);
    md5_hex(xml, n, digest);
    CHECK(strncmp(sum, digest, 32) == 0);
    md5_hex(got, sizeof got, digest);
    CHECK(strstr(xml, digest) && strstr(xml, "<SizeX>24</SizeX><SizeY>17</SizeY>"));
    CHECK(strstr(xml, "<Increment>5.000000000e-05</Increment>"));
    zip_discard(zip);
    text_free(&bytes);
}

int main(void) {
    RUN(digests_are_those_published);
    RUN(another_reader_finds_the_heights);
    return check_done();
}
