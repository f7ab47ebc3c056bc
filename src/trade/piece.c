#include "trade/piece.h"
#include "base/text.h"
#include <ctype.h>
#include <stdio.h>
#include <string.h>

struct row {
    const char *symbol, *name;
    int a, b; /* what the table says about it */
};

static const struct row crafts[] = {
#define CRAFT(id, symbol, name, traits) {symbol, name, traits, 0},
#include "trade/crafts.def"
#undef CRAFT
};
static const struct row places[] = {
#define PLACE(id, symbol, name, traits) {symbol, name, traits, 0},
#include "trade/places.def"
#undef PLACE
};
static const struct row materials[] = {
#define MATERIAL(id, symbol, name, family, coating) {symbol, name, family, coating},
#include "trade/materials.def"
#undef MATERIAL
};
static const struct row damages[] = {
#define DAMAGE(id, symbol, name, falls_short_ppm, mark) {symbol, name, falls_short_ppm, 0},
#include "trade/damages.def"
#undef DAMAGE
};

unsigned craft_traits(enum craft craft) {
    return (unsigned)crafts[craft].a;
}
unsigned place_of_work_traits(enum place_of_work place) {
    return (unsigned)places[place].a;
}
const char *craft_symbol(enum craft craft) {
    return crafts[craft].symbol;
}
const char *craft_name(enum craft craft) {
    return crafts[craft].name;
}
const char *place_of_work_symbol(enum place_of_work place) {
    return places[place].symbol;
}
const char *place_of_work_name(enum place_of_work place) {
    return places[place].name;
}
const char *material_symbol(enum material material) {
    return materials[material].symbol;
}
const char *material_name(enum material material) {
    return materials[material].name;
}
const char *damage_symbol(enum damage damage) {
    return damages[damage].symbol;
}
const char *damage_name(enum damage damage) {
    return damages[damage].name;
}
enum material_family material_family(enum material material) {
    return (enum material_family)materials[material].a;
}
enum coating material_coating(enum material material) {
    return (enum coating)materials[material].b;
}
int32_t damage_falls_short_ppm(enum damage damage) {
    return damages[damage].a;
}

/* As the trade says it. */
static const char *const said[][2] = {
    {"vinyl", "pvc"}, {"arm", "cushion"}, {"back", "cushion"}, {"armrest", "console"}};

static enum status find(const char *what, const struct row row[], size_t count, const char *symbol,
                        size_t *at, struct fault *fault) {
    const char *wanted = symbol;
    for (size_t i = 0; i < sizeof said / sizeof *said; i++)
        if (strcmp(symbol, said[i][0]) == 0) wanted = said[i][1];
    char known[320] = "";
    size_t n = 0;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(row[i].symbol, wanted) == 0) {
            *at = i;
            return STATUS_OK;
        }
        if (n < sizeof known - 32)
            n += (size_t)snprintf(known + n, sizeof known - n, "%s%s", i ? " " : "", row[i].symbol);
    }
    return FAULT(fault, PIECE_UNKNOWN, what, symbol, known);
}

#define READ(function, type, what, rows, count)                                 \
    enum status function(const char *symbol, type *out, struct fault *fault) {  \
        size_t at = 0;                                                          \
        const enum status status = find(what, rows, count, symbol, &at, fault); \
        if (status == STATUS_OK) *out = (type)at;                               \
        return status;                                                          \
    }
READ(craft_read, enum craft, "craft", crafts, CRAFT_COUNT)
READ(place_of_work_read, enum place_of_work, "place", places, PLACE_COUNT)
READ(material_read, enum material, "material", materials, MATERIAL_COUNT)
READ(damage_read, enum damage, "damage", damages, DAMAGE_COUNT)

static const struct plastic plastics[] = {
#define PLASTIC(symbol, name, promoter, crazes) {symbol, name, promoter, crazes, false},
#include "trade/plastics.def"
#undef PLASTIC
};

static const struct plastic *plastic_named(const char *name, size_t n) {
    for (size_t i = 0; i < sizeof plastics / sizeof plastics[0]; i++)
        if (strlen(plastics[i].symbol) == n && strncmp(plastics[i].symbol, name, n) == 0) return &plastics[i];
    return NULL;
}

/* One polymer of a blend: the symbol, then perhaps a dash and the filler: "PP-TV20". Longest match first, so
 * that "PE-HD" is not read as PE with a filler. */
static const struct plastic *plastic_of_part(const char *part, size_t n) {
    const struct plastic *whole = plastic_named(part, n);
    const char *dash = memchr(part, '-', n);
    if (whole || !dash) return whole;
    const char *second = memchr(dash + 1, '-', n - (size_t)(dash + 1 - part));
    const struct plastic *longer = second ? plastic_named(part, (size_t)(second - part)) : NULL;
    return longer ? longer : plastic_named(part, (size_t)(dash - part));
}

/* Upper case, without the brackets and blanks. */
static size_t bare_mark(const char *mark, char out[64]) {
    size_t n = 0;
    for (; *mark && n < 63; mark++)
        if (!strchr("<> \t()", *mark)) out[n++] = (char)toupper((unsigned char)*mark);
    out[n] = 0;
    return n;
}

enum status plastic_of_mark(const char *mark, struct plastic *out, struct fault *fault) {
    char bare[64];
    struct plastic found = {{0}, NULL, false, false, false};
    if (!bare_mark(mark, bare)) return FAULT(fault, PLASTIC_MARK_UNKNOWN, mark);
    for (const char *part = bare; *part;) {
        const size_t n = strcspn(part, "+");
        const struct plastic *one = plastic_of_part(part, n);
        if (!one) return FAULT(fault, PLASTIC_MARK_UNKNOWN, mark);
        if (!found.name)
            found = *one;
        else
            found.olefin_blend = found.olefin_blend || one->promoter;
        found.promoter = found.promoter || one->promoter;
        found.crazes = found.crazes || one->crazes;
        part += n + (part[n] == '+');
    }
    *out = found;
    return STATUS_OK;
}

/* The back decides what leather is; drop and scuff decide its finish. CP. */
bool material_of_tests(const struct material_tests *tests, enum material *out) {
    if (tests->back == BACK_GROUND_FIBRES_ON_WEB) return *out = MATERIAL_BONDED, true;
    if (tests->back == BACK_WOVEN_OR_KNIT)
        return *out = tests->stretches_soft ? MATERIAL_PU : MATERIAL_PVC, true; /* in doubt: plasticiser */
    if (tests->scuff == SCUFF_NAP_TURNS) return *out = MATERIAL_SUEDE, true;
    if (tests->scuff == SCUFF_LIGHTENS_AND_RUBS_BACK) return *out = MATERIAL_PULL_UP, true;
    if (tests->drop == DROP_NOT_TRIED || tests->scuff == SCUFF_NOT_TRIED) return false;
    if (tests->drop == DROP_SOAKS_IN) return *out = MATERIAL_ANILINE, true;
    if (tests->drop == DROP_DARKENS_SLOWLY) return *out = MATERIAL_SEMI_ANILINE, true;
    return *out = MATERIAL_PIGMENTED, true;
}
