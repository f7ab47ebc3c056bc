#include "server/certificate.h"
#include <arpa/inet.h>
#include <gnutls/gnutls.h>
#include <gnutls/x509.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

enum { YEARS = 5, FILE_MIB = 1 };

static gnutls_datum_t datum(const char *text) {
    return (gnutls_datum_t){(unsigned char *)(uintptr_t)text, (unsigned)strlen(text)};
}

static bool names_address(gnutls_x509_crt_t crt, const char *address) {
    return gnutls_x509_crt_check_hostname(crt, address) != 0 &&
           gnutls_x509_crt_get_expiration_time(crt) > time(NULL) + 86400;
}

static int fill_certificate(gnutls_x509_crt_t crt, gnutls_x509_privkey_t key, const char *address) {
    unsigned char serial[16];
    randombytes_buf(serial, sizeof serial);
    serial[0] &= 0x7f;
    struct in_addr ip;
    int code = gnutls_x509_crt_set_version(crt, 3);
    if (code >= 0) code = gnutls_x509_crt_set_serial(crt, serial, sizeof serial);
    if (code >= 0) code = gnutls_x509_crt_set_activation_time(crt, time(NULL) - 86400);
    if (code >= 0) code = gnutls_x509_crt_set_expiration_time(crt, time(NULL) + YEARS * 365L * 86400);
    if (code >= 0) code = gnutls_x509_crt_set_dn(crt, "CN=russet", NULL);
    if (code >= 0 && inet_pton(AF_INET, address, &ip) == 1)
        code =
            gnutls_x509_crt_set_subject_alt_name(crt, GNUTLS_SAN_IPADDRESS, &ip, sizeof ip, GNUTLS_FSAN_SET);
    if (code >= 0) code = gnutls_x509_crt_set_basic_constraints(crt, 0, -1);
    if (code >= 0) code = gnutls_x509_crt_set_key(crt, key);
    if (code >= 0) code = gnutls_x509_crt_sign2(crt, crt, key, GNUTLS_DIG_SHA256, 0);
    return code;
}

static const char *take(gnutls_datum_t *pem, struct arena *arena) {
    const char *text = arena_text(arena, (const char *)pem->data, pem->size);
    sodium_memzero(pem->data, pem->size);
    gnutls_free(pem->data);
    return text;
}

static int make(const char *address, struct arena *arena, struct certificate *out) {
    gnutls_x509_privkey_t key;
    gnutls_x509_crt_t crt;
    gnutls_datum_t pem;
    int code = gnutls_x509_privkey_init(&key);
    if (code < 0) return code;
    code = gnutls_x509_crt_init(&crt);
    if (code < 0) return gnutls_x509_privkey_deinit(key), code;
    code = gnutls_x509_privkey_generate(key, GNUTLS_PK_ECDSA,
                                        GNUTLS_CURVE_TO_BITS(GNUTLS_ECC_CURVE_SECP256R1), 0);
    if (code >= 0) code = fill_certificate(crt, key, address);
    if (code >= 0 && (code = gnutls_x509_privkey_export2(key, GNUTLS_X509_FMT_PEM, &pem)) >= 0)
        out->key_pem = take(&pem, arena);
    if (code >= 0 && (code = gnutls_x509_crt_export2(crt, GNUTLS_X509_FMT_PEM, &pem)) >= 0)
        out->certificate_pem = take(&pem, arena);
    gnutls_x509_crt_deinit(crt);
    gnutls_x509_privkey_deinit(key);
    return code;
}

static void write_fingerprint(gnutls_x509_crt_t crt, char out[96]) {
    unsigned char digest[32];
    size_t size = sizeof digest;
    out[0] = 0;
    if (gnutls_x509_crt_get_fingerprint(crt, GNUTLS_DIG_SHA256, digest, &size) < 0) return;
    for (size_t i = 0; i < size; i++) sprintf(out + 3 * i, "%02X%s", digest[i], i + 1 < size ? ":" : "");
}

/* Is the kept one still good for this address? */
static bool is_good(struct certificate *one, const char *address) {
    gnutls_x509_crt_t crt;
    if (gnutls_x509_crt_init(&crt) < 0) return false;
    const gnutls_datum_t pem = datum(one->certificate_pem);
    const bool good =
        gnutls_x509_crt_import(crt, &pem, GNUTLS_X509_FMT_PEM) >= 0 && names_address(crt, address);
    if (good) write_fingerprint(crt, one->fingerprint);
    gnutls_x509_crt_deinit(crt);
    return good;
}

static const char *file_in(const char *folder, const char *name, struct arena *arena) {
    struct text text = {0};
    text_format(&text, "%s/%s", folder, name);
    const char *kept = arena_text(arena, text.data, text.length);
    text_free(&text);
    return kept;
}

static const char *read_text(const struct disk *disk, const char *file, struct arena *arena) {
    struct bytes bytes;
    if (!disk_has(file) || disk_read(disk, file, FILE_MIB, arena, &bytes, NULL) != STATUS_OK) return "";
    return (const char *)bytes.data;
}

/* Created for its owner alone before anything is in it. */
static enum status write_secret(const struct disk *disk, const char *file, const char *text,
                                struct fault *fault) {
    const mode_t before = umask(077);
    const enum status status = disk_write(disk, file, text, strlen(text), fault);
    umask(before);
    return status;
}

enum status certificate_get(const char *folder, const char *address, const struct disk *disk,
                            struct arena *arena, struct certificate *out, struct fault *fault) {
    const char *key = file_in(folder, "key.pem", arena), *crt = file_in(folder, "certificate.pem", arena);
    *out = (struct certificate){read_text(disk, key, arena), read_text(disk, crt, arena), ""};
    if (out->key_pem[0] && is_good(out, address)) return STATUS_OK;
    const int code = make(address, arena, out);
    if (code < 0) return FAULT(fault, SERVER_NO_CERTIFICATE, gnutls_strerror(code));
    enum status status = write_secret(disk, key, out->key_pem, fault);
    if (status == STATUS_OK) status = write_secret(disk, crt, out->certificate_pem, fault);
    if (status == STATUS_OK && !is_good(out, address)) return FAULT(fault, SERVER_NO_CERTIFICATE, address);
    return status;
}
