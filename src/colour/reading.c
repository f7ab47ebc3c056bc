/* Geometry names (CIE 15:2018, section 5.2): di:8 and 8:di include the specular component (sci), de:8 and
 * 8:de leave it out (sce), 45:0 and 0:45 likewise by their angles. A bare "d/8" is taken as included, which
 * is how it is commonly meant. */
#include "colour/reading.h"
#include "base/text.h"
#include <assert.h>
#include <string.h>

static const char *const names[] = {"unknown", "sci", "sce", "45-0", "photo"};

static const struct {
    const char *name;
    enum geometry geometry;
} others[] = {
    {"spin", GEOMETRY_SCI},    {"di8", GEOMETRY_SCI},   {"8di", GEOMETRY_SCI},   {"d8", GEOMETRY_SCI},
    {"8d", GEOMETRY_SCI},      {"d8i", GEOMETRY_SCI},   {"d0", GEOMETRY_SCI},    {"spex", GEOMETRY_SCE},
    {"de8", GEOMETRY_SCE},     {"8de", GEOMETRY_SCE},   {"d8e", GEOMETRY_SCE},   {"450", GEOMETRY_45_0},
    {"045", GEOMETRY_45_0},    {"45a0", GEOMETRY_45_0}, {"45c0", GEOMETRY_45_0}, {"45x0", GEOMETRY_45_0},
    {"045a", GEOMETRY_45_0},   {"045c", GEOMETRY_45_0}, {"045x", GEOMETRY_45_0}, {"camera", GEOMETRY_PHOTO},
    {"photo", GEOMETRY_PHOTO}, {"sci", GEOMETRY_SCI},   {"sce", GEOMETRY_SCE},
};

const char *geometry_name(enum geometry geometry) {
    assert(geometry <= GEOMETRY_PHOTO);
    return names[geometry];
}

/* The letters and figures of a name: "45/0", "45:0" and "45\u00b0:0\u00b0" are one. */
static void squeeze(const char *name, char out[16]) {
    size_t n = 0;
    for (; *name && n < 15; name++) {
        const bool is_figure = *name >= '0' && *name <= '9';
        const bool is_letter = (*name >= 'a' && *name <= 'z') || (*name >= 'A' && *name <= 'Z');
        if (is_figure || is_letter) out[n++] = *name;
    }
    out[n] = 0;
}

bool geometry_from_name(const char *name, enum geometry *out) {
    char short_name[16];
    squeeze(name, short_name);
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        if (text_same_ignoring_case(short_name, others[i].name)) return *out = others[i].geometry, true;
    if (!text_same_ignoring_case(name, names[GEOMETRY_UNKNOWN])) return false;
    return *out = GEOMETRY_UNKNOWN, true;
}
