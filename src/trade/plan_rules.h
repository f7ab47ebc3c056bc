/* What the tables of the plan and of the record speak in; for their two readers only. */
#ifndef RUSSET_TRADE_PLAN_RULES_H
#define RUSSET_TRADE_PLAN_RULES_H

#include "trade/plan.h"

/* Conditions of the tables. */
enum {
    COATED = 1,
    PERFORATED = 2,
    AIRED = 4, /* perforated or ventilated */
    HEATED = 8,
    AIRBAG_NEAR = 16,
    HIGH_VOLTAGE = 32,
    CROSSLINKED = 64,
    ISOCYANATE = 128,
    AZIRIDINE = 256,
    RECOLOUR_NOT_TOLD = 512,
    RECOLOUR_MAY_BE = 1024,
    FADES = 2048,
    LOW_ENERGY = 4096, /* a plastic that needs promoter, or one without a mark */
    CRAZES = 8192,
    SPRAYED = 16384,
    SEAT_WITH_DEVICES = 32768,
    FIRE_RATED = 65536
};

#define M(id) BIT(MATERIAL_##id)
#define D(id) BIT(DAMAGE_##id)
#define TELLABLE (M(LEATHER_UNTOLD) | M(PIGMENTED) | M(SEMI_ANILINE) | M(ANILINE))
#define LEATHERS (TELLABLE | M(PULL_UP) | M(SUEDE) | M(COATED_SPLIT))
#define FABRICS (M(BONDED) | M(PU) | M(PVC))
#define PLASTICS (M(SOFT_TOUCH) | M(HARD_PLASTIC))
#define EVERY (LEATHERS | FABRICS | PLASTICS)
#define ANY 0

struct rule {
    uint32_t materials, damages;
    unsigned needs, unless;
};
/* One row's rule on a piece. */
static inline bool rule_holds(const struct rule *rule, enum material material, uint32_t damages,
                              unsigned conditions) {
    return (rule->materials & BIT(material)) && (!rule->damages || (rule->damages & damages)) &&
           (rule->needs & ~conditions) == 0 && (rule->unless & conditions) == 0;
}

#endif
