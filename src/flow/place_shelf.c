#include "flow/place.h"
#include "formats/shelf_json.h"

enum status place_read_shelf(const struct surroundings *around, const char *path, struct shelf *out,
                             struct fault *fault) {
    struct bytes bytes;
    const enum status status = disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, fault);
    return status == STATUS_OK ? shelf_read(&bytes, around->arena, out, fault) : status;
}
