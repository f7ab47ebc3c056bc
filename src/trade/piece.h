/* What lies on the bench: the craft that it comes from, the place in it, the material, its finish, the
 * damage. The lists are tables (.def files) with where each row's knowledge comes from: P published, CP
 * common practice, M from memory; everything that is CP or M is an editable default. */
#ifndef RUSSET_TRADE_PIECE_H
#define RUSSET_TRADE_PIECE_H

#include "base/fault.h"
#include <stdbool.h>
#include <stdint.h>

/* May this material carry a coat? */
enum coating { COATED_YES, COATED_AGREED /* only when the customer wants the changed look */, COATED_NEVER };

enum craft {
#define CRAFT(id, symbol, name, traits) CRAFT_##id,
#include "trade/crafts.def"
#undef CRAFT
    CRAFT_COUNT
};
enum place_of_work {
#define PLACE(id, symbol, name, traits) PLACE_##id,
#include "trade/places.def"
#undef PLACE
    PLACE_COUNT
};
enum material {
#define MATERIAL(id, symbol, name, family, coating) MATERIAL_##id,
#include "trade/materials.def"
#undef MATERIAL
    MATERIAL_COUNT
};
enum damage {
#define DAMAGE(id, symbol, name, falls_short_ppm, mark) DAMAGE_##id,
#include "trade/damages.def"
#undef DAMAGE
    DAMAGE_COUNT
};
enum material_family { FAMILY_LEATHER, FAMILY_FABRIC, FAMILY_PLASTIC };
enum look_of_finish { LOOK_PLAIN, LOOK_METAL, LOOK_PEARL };

/* Traits of crafts and places. */
enum {
    TRAIT_AIRBAGS = 1,       /* craft: may hold airbags; place: may hold one there */
    TRAIT_DECLINED = 2,      /* craft: no work on it */
    TRAIT_FIRE_RATED = 4,    /* craft: its trim has to pass a fire test */
    TRAIT_HIGH_VOLTAGE = 8,  /* craft: a traction battery */
    TRAIT_NEVER_COATED = 16, /* place: nothing is coated, glued or filled there, airbag or not */
    TRAIT_COVER = 32,        /* place: with an airbag, the part itself is its lid */
    TRAIT_TOUCHED = 64       /* place: skin lies on it for long */
};

#define BIT(x) (UINT32_C(1) << (x))

unsigned craft_traits(enum craft craft);
unsigned place_of_work_traits(enum place_of_work place);
const char *craft_symbol(enum craft craft), *craft_name(enum craft craft);
const char *place_of_work_symbol(enum place_of_work place), *place_of_work_name(enum place_of_work place);
const char *material_symbol(enum material material), *material_name(enum material material);
const char *damage_symbol(enum damage damage), *damage_name(enum damage damage);
enum material_family material_family(enum material material);
enum coating material_coating(enum material material);
/* The chance, in parts per million, that a repair of it falls short of what the customer wanted. */
int32_t damage_falls_short_ppm(enum damage damage);

/* By symbol. USAGE that names what is known. */
enum status craft_read(const char *symbol, enum craft *out, struct fault *fault) MUST_USE;
enum status place_of_work_read(const char *symbol, enum place_of_work *out, struct fault *fault) MUST_USE;
enum status material_read(const char *symbol, enum material *out, struct fault *fault) MUST_USE;
enum status damage_read(const char *symbol, enum damage *out, struct fault *fault) MUST_USE;

/* Hard plastic by the mark moulded into it: ">ABS<", ">PP+EPDM-TV20<" (ISO 11469; symbols ISO 1043-1). */
struct plastic {
    char symbol[16]; /* of the first polymer */
    const char *name;
    bool promoter; /* a polyolefin or alike: nothing holds without adhesion promoter */
    bool crazes;   /* strong solvents craze or crack it */
    bool olefin_blend;
};
/* INPUT when it is no such mark, or a polymer that is not on the list (then: test, promoter, hidden place).
 */
enum status plastic_of_mark(const char *mark, struct plastic *out, struct fault *fault) MUST_USE;

/* Telling materials apart in a hidden place. */
enum water_drop { DROP_NOT_TRIED, DROP_STANDS, DROP_DARKENS_SLOWLY, DROP_SOAKS_IN };
enum scuff { SCUFF_NOT_TRIED, SCUFF_NO_MARK, SCUFF_LIGHTENS_AND_RUBS_BACK, SCUFF_STAYS, SCUFF_NAP_TURNS };
enum back { BACK_NOT_SEEN, BACK_FIBRES, BACK_GROUND_FIBRES_ON_WEB, BACK_WOVEN_OR_KNIT };
struct material_tests {
    enum water_drop drop;
    enum scuff scuff;
    enum back back;
    bool stretches_soft; /* of a woven or knit back: soft and warm to the hand, not stiff and cold */
};
/* The material that the tests speak for; false when they do not decide. */
bool material_of_tests(const struct material_tests *tests, enum material *out);

#endif
