#include "trade/plan_rules.h"
#include <math.h>

static const char *const waits[WAIT_COUNT] = {"none", "maker", "dry", "night",  "glue",
                                              "fill", "flash", "pot", "handle", "cure"};
/* Minutes, common practice. */
static const double usual_wait[WAIT_COUNT] = {0, 3, 30, 720, 60, 45, 10, 240, 240, 0};
static const double usual_cure_days = 7;
static const unsigned usual_coats = 3;

const char *wait_symbol(enum wait wait) {
    return waits[wait];
}

static const struct step_row {
    enum word word;
    enum job_step stage;
    enum task task;
    struct rule rule;
    const char *grit;
    enum wait wait;
} steps[] = {
#define STEP(word, stage, task, materials, damages, needs, unless, grit, wait) \
    {WORD_##word, JOB_##stage, TASK_##task, {materials, damages, needs, unless}, grit, WAIT_##wait},
#include "trade/steps.def"
#undef STEP
};
static const struct {
    enum word word;
    struct rule rule;
} cautions[] = {
#define CAUTION(word, materials, damages, needs, unless) {WORD_##word, {materials, damages, needs, unless}},
#include "trade/cautions.def"
#undef CAUTION
};
enum { STEP_COUNT = sizeof steps / sizeof steps[0], CAUTION_COUNT = sizeof cautions / sizeof cautions[0] };

/* Damage that cleaning, gluing and feeding can mend; the rest needs a coat. */
static const uint32_t mended_bare =
    D(SCUFF) | D(SHINE) | D(FLAP) | D(DYE) | D(BODY_OIL) | D(SILICONE) | D(MOULD) | D(STAIN) | D(STICKY);

static bool is_coated(const struct plan_case *in) {
    const enum coating coating = material_coating(in->material);
    return coating == COATED_YES || (coating == COATED_AGREED && in->agreed_to_coat);
}

static unsigned condition(bool holds, unsigned bit) {
    return holds ? bit : 0;
}

static unsigned plastic_conditions(const struct plan_case *in) {
    if (material_family(in->material) != FAMILY_PLASTIC) return 0;
    return condition(!in->plastic || in->plastic->promoter, LOW_ENERGY) |
           condition(!in->plastic || in->plastic->crazes, CRAZES);
}

static unsigned coat_conditions(const struct plan_case *in) {
    const bool any = in->crosslinker != CROSSLINKER_NONE, unknown = in->crosslinker == CROSSLINKER_UNKNOWN;
    return condition(is_coated(in), COATED) | condition(any, CROSSLINKED) |
           condition(unknown || in->crosslinker == CROSSLINKER_ISOCYANATE, ISOCYANATE) |
           condition(unknown || in->crosslinker == CROSSLINKER_AZIRIDINE, AZIRIDINE) |
           condition(in->edge == ENDS_IN_FADE, FADES) | condition(in->sprayed, SPRAYED);
}

bool plan_is_seat_of_vehicle(enum craft craft, enum place_of_work place) {
    const unsigned in = craft_traits(craft), at = place_of_work_traits(place);
    return (in & TRAIT_AIRBAGS) && (at & TRAIT_AIRBAGS) && (at & TRAIT_TOUCHED);
}

static unsigned conditions_of(const struct plan_case *in, const struct gate *gate) {
    const unsigned craft = craft_traits(in->gate.craft);
    const bool seat = plan_is_seat_of_vehicle(in->gate.craft, in->gate.place);
    return coat_conditions(in) | plastic_conditions(in) | condition(in->perforated, PERFORATED) |
           condition(in->perforated || in->ventilated, AIRED) | condition(in->heated, HEATED) |
           condition(gate->airbag_near, AIRBAG_NEAR) | condition(gate->high_voltage, HIGH_VOLTAGE) |
           condition(in->recoloured == TOLD_NOT, RECOLOUR_NOT_TOLD) |
           condition(in->recoloured != TOLD_NO, RECOLOUR_MAY_BE) | condition(seat, SEAT_WITH_DEVICES) |
           condition((craft & TRAIT_FIRE_RATED) != 0, FIRE_RATED);
}

static enum status refuse(const struct plan_case *in, const struct gate *gate, struct fault *fault) {
    if (gate->answer == GATE_STOP) {
        fault_set(fault, gate->word[0], (const char *const[]){NULL});
        if (fault) fault->status = STATUS_NO;
        return STATUS_NO;
    }
    if (in->look == LOOK_METAL || in->look == LOOK_PEARL) return FAULT0(fault, PLAN_FLAKE);
    if (in->material == MATERIAL_BONDED && (in->damages & D(PEELING)))
        return FAULT0(fault, PLAN_BONDED_PEELS);
    for (int d = 0; d < DAMAGE_COUNT; d++)
        if ((in->damages & ~mended_bare & BIT(d)) && material_coating(in->material) == COATED_NEVER)
            return FAULT(fault, PLAN_CARRIES_NO_COAT, material_name(in->material),
                         damage_name((enum damage)d));
    for (int d = 0; d < DAMAGE_COUNT; d++)
        if ((in->damages & ~mended_bare & BIT(d)) && !is_coated(in))
            return FAULT(fault, PLAN_COAT_NOT_AGREED, material_name(in->material),
                         damage_name((enum damage)d));
    return STATUS_OK;
}

static double by_sheet(double said, double usual) {
    return said >= 0 ? said : usual;
}

/* Coats flash one after the other; what dries takes longer in damp air. */
static double wait_of(const struct plan_case *in, const struct step_row *row) {
    const double slower = in->drying_index > 0.1 ? 1 / in->drying_index : 10;
    const bool coats = row->word == WORD_STEP_COAT_THIN || row->word == WORD_STEP_COAT_PERFORATED;
    switch (row->wait) {
    case WAIT_FLASH:
        return by_sheet(in->flash_min, usual_wait[WAIT_FLASH]) * slower *
               (coats ? (in->coats ? in->coats : usual_coats) : 1);
    case WAIT_DRY:
    case WAIT_FILL:
    case WAIT_HANDLE:
        return usual_wait[row->wait] * slower;
    case WAIT_GLUE:
        return by_sheet(in->glue_min, usual_wait[WAIT_GLUE]);
    case WAIT_POT:
        return by_sheet(in->pot_life_min, usual_wait[WAIT_POT]);
    case WAIT_CURE:
        return by_sheet(in->cure_days, usual_cure_days) * 1440;
    case WAIT_NONE:
    case WAIT_MAKER:
    case WAIT_NIGHT:
    case WAIT_COUNT:
        break;
    }
    return usual_wait[row->wait];
}

/* A pot's life is a limit and the full cure comes after the job: neither is waited for. */
static bool is_waited_for(enum wait wait) {
    return wait != WAIT_POT && wait != WAIT_CURE;
}

static void add_step(const struct plan_case *in, const struct step_row *row, struct plan *plan) {
    struct plan_step *step = &plan->step[plan->count++];
    *step = (struct plan_step){row->stage, row->task, row->word, row->grit, row->wait, wait_of(in, row)};
    if (is_waited_for(row->wait)) plan->wait_min += step->wait_min;
}

_Static_assert((int)STEP_COUNT <= (int)PLAN_STEPS_MOST && (int)CAUTION_COUNT <= (int)PLAN_CAUTIONS_MOST,
               "a plan holds every row");

enum status plan_make(const struct plan_case *in, struct plan *out, struct fault *fault) {
    struct plan plan = {.coated = is_coated(in)};
    gate_judge(&in->gate, &plan.gate);
    out->gate = plan.gate;
    const enum status status = refuse(in, &plan.gate, fault);
    if (status != STATUS_OK) return status;
    const unsigned conditions = conditions_of(in, &plan.gate);
    for (size_t i = 0; i < STEP_COUNT; i++)
        if (rule_holds(&steps[i].rule, in->material, in->damages, conditions)) add_step(in, &steps[i], &plan);
    for (size_t i = 0; i < CAUTION_COUNT; i++)
        if (rule_holds(&cautions[i].rule, in->material, in->damages, conditions))
            plan.caution[plan.caution_count++] = cautions[i].word;
    plan.material = in->material;
    plan.damages = in->damages;
    plan.conditions = conditions;
    plan.cure_days = plan.coated ? by_sheet(in->cure_days, usual_cure_days) : 0;
    *out = plan;
    return STATUS_OK;
}

size_t plan_tasks(const struct plan *plan, enum task out[TASK_COUNT]) {
    bool there[TASK_COUNT] = {false};
    size_t n = 0;
    for (size_t i = 0; i < plan->count; i++) {
        const enum task task = plan->step[i].task;
        if (!there[task]) out[n++] = task;
        there[task] = true;
    }
    return n;
}
