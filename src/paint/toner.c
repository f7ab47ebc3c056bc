#include "paint/toner.h"
#include <string.h>

int shelf_find(const struct shelf *shelf, const char *id) {
    for (size_t i = 0; i < shelf->count; i++)
        if (strcmp(shelf->toner[i].id, id) == 0) return (int)i;
    return -1;
}

void shelf_mix(const struct shelf *shelf, const double part[], double k[BANDS], double s[BANDS]) {
    for (int b = 0; b < BANDS; b++) k[b] = s[b] = 0;
    for (size_t i = 0; i < shelf->count; i++) {
        const struct toner *toner = &shelf->toner[i];
        const double c = part[i], counted = c * (1 - toner->bend * c);
        for (int b = 0; b < BANDS; b++) {
            k[b] += c * toner->k[b];
            s[b] += counted * toner->s[b];
        }
    }
}
