#include "flow/adjust_against.h"
#include "formats/json_in.h"

static enum status read_one(const json_t *one, struct json_place at, struct against *out,
                            struct fault *fault) {
    static const char *const key[3] = {"dl", "da", "db"};
    enum status status = STATUS_OK;
    for (int k = 0; k < 3 && status == STATUS_OK; k++)
        status = json_get_number(one, key[k], -200, 200, at, &out->dlab[k], fault);
    if (status == STATUS_OK)
        status = json_get_number(one, "difference_u95_de00", 0, 200, at, &out->u95_de00, fault);
    if (status == STATUS_OK)
        status = json_get_number(one, "unlike_u95_de00", 0, 200, at, &out->unlike_de00, fault);
    return status;
}

enum status against_read(const struct surroundings *around, const char *path, struct against *out,
                         struct fault *fault) {
    struct bytes bytes;
    json_t *root = NULL;
    enum status status = disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, fault);
    if (status == STATUS_OK) status = json_read(&bytes, &root, fault);
    if (status == STATUS_OK) status = json_check_kind(root, "reading", path, fault);
    const json_t *list = json_object_get(root, "against");
    const size_t places = json_array_size(list);
    if (status == STATUS_OK && places == 0) status = FAULT(fault, ADJUST_AGAINST_NONE, path);
    if (status == STATUS_OK && places > 1)
        status = FAULT(fault, ADJUST_AGAINST_MANY, path, COUNT_TEXT(places));
    if (status == STATUS_OK)
        status = read_one(json_array_get(list, 0), (struct json_place){path, "against[0]"}, out, fault);
    json_decref(root);
    return status;
}
