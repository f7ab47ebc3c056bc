/* The shop's settings by name, each a JSON document; and the devices that were paired. */
#ifndef RUSSET_SHOP_SETTING_STORE_H
#define RUSSET_SHOP_SETTING_STORE_H

#include "shop/photographs.h"

/* *document is NULL when that setting was never made; else one line of JSON in the arena. */
enum status setting_store_get(struct book *book, const char *name, struct arena *arena, const char **document,
                              struct fault *fault) MUST_USE;
/* When it was changed last; 0 when it was never made. */
enum status setting_store_changed(struct book *book, const char *name, long long *ms,
                                  struct fault *fault) MUST_USE;
/* With the pen. */
enum status setting_store_put(struct book *book, const char *name, const char *document,
                              struct fault *fault) MUST_USE;

struct device_row {
    char id[ID_LENGTH + 1];
    const char *name;
    char secret_sha256[SHA256_TEXT];          /* the secret itself is never kept */
    long long paired_ms, seen_ms, revoked_ms; /* 0: never */
};
enum status setting_store_pair(struct book *book, struct device_row *device, struct fault *fault) MUST_USE;
/* The device of that secret that was not revoked; *found tells whether there is one. */
enum status setting_store_device(struct book *book, const char *secret_sha256, struct arena *arena,
                                 struct device_row *out, bool *found, struct fault *fault) MUST_USE;
enum status setting_store_devices(struct book *book, struct arena *arena, struct device_row **out,
                                  size_t *count, struct fault *fault) MUST_USE;
/* It was here just now. With the pen. */
enum status setting_store_seen(struct book *book, const char *id, struct fault *fault) MUST_USE;
enum status setting_store_revoke(struct book *book, const char *id, struct fault *fault) MUST_USE;

#endif
