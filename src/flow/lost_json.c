#include "flow/lost_json.h"
#include "flow/note.h"
#include "formats/json_out.h"

enum status lost_put(json_t *reply, const struct lost_photographs *lost, struct fault *fault) {
    json_t *names = json_array();
    for (size_t i = 0; i < lost->count && i < LOST_NAMED; i++)
        json_array_append_new(names, json_string(lost->name[i]));
    json_put_count(reply, "lost", (long long)lost->count);
    json_put(reply, "lost_names", names);
    if (!lost->count) return STATUS_OK;
    return FAULT(fault, PHOTOGRAPHS_LOST, COUNT_TEXT((long long)lost->count), lost->name[0]);
}
