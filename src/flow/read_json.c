#include "flow/read_json.h"
#include "formats/json_in.h"

enum status read_json(const struct surroundings *around, const char *path, const char *kinds, json_t **out,
                      struct fault *fault) {
    struct bytes bytes;
    enum status status = disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, fault);
    if (status == STATUS_OK) status = json_read(&bytes, out, fault);
    if (status != STATUS_OK) return status;
    status = json_check_kind(*out, kinds, path, fault);
    if (status == STATUS_OK) return status;
    json_decref(*out);
    *out = NULL;
    return status;
}
