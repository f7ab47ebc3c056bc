#include "flow/colour_of_reply.h"

struct lab lab_of_reply(const json_t *array) {
    return (struct lab){json_number_value(json_array_get(array, 0)),
                        json_number_value(json_array_get(array, 1)),
                        json_number_value(json_array_get(array, 2)),
                        {LIGHT_D65, OBSERVER_10}};
}

void spectrum_of_reply(const json_t *array, struct spectrum *out) {
    for (size_t b = 0; b < BANDS; b++) out->band[b] = json_number_value(json_array_get(array, b));
}
