/* The plan: from material, finish, damage and place to steps in order, with waits and cautions.
 *
 * steps.def holds one row per step: on which materials, for which damages, under which conditions; the plan
 * is the rows that hold, in the order of the table. No plan is without a test in a hidden place. Refused
 * (NO): what the gate stops; metal and pearl flake; bonded leather that comes apart; damage that only a coat
 * could mend on a material that carries none. Waits are common practice for 20 C and 50 % (the product's
 * sheet goes before), stretched by 1 / drying index (trade/air.h) where something dries. */
#ifndef RUSSET_TRADE_PLAN_H
#define RUSSET_TRADE_PLAN_H

#include "trade/cautions.h"
#include "trade/gate.h"
#include "trade/job_step.h"
#include "trade/labour.h"

enum wait {
    WAIT_NONE,
    WAIT_MAKER,
    WAIT_DRY,
    WAIT_NIGHT,
    WAIT_GLUE,
    WAIT_FILL,
    WAIT_FLASH,
    WAIT_POT,
    WAIT_HANDLE,
    WAIT_CURE,
    WAIT_COUNT
};
const char *wait_symbol(enum wait wait);

enum told { TOLD_NOT, TOLD_NO, TOLD_YES };
enum colour_edge { ENDS_AT_BREAK, ENDS_IN_FADE }; /* where each colour ends: at a break, or in a fade */

struct plan_case {
    struct gate_case gate;
    enum material material;
    enum look_of_finish look;
    uint32_t damages; /* BIT(DAMAGE_...) */
    bool perforated, ventilated, heated;
    enum told recoloured; /* before us */
    bool agreed_to_coat;  /* the customer knows that a coat changes aniline or bonded leather */
    enum colour_edge edge;
    bool sprayed;
    enum crosslinker crosslinker;
    const struct plastic *plastic;                       /* by its mark; NULL: none found */
    double drying_index;                                 /* 1: as at 20 C and 50 % */
    double flash_min, glue_min, pot_life_min, cure_days; /* of the product's sheets; NAN: the usual */
    unsigned coats;                                      /* 0: not known yet, 3 are reckoned */
};

struct plan_step {
    enum job_step stage;
    enum task task;
    enum word word;   /* its sentence */
    const char *grit; /* "P400", {1} of the sentence; "" when it names none */
    enum wait wait;
    double wait_min; /* 0 with WAIT_NONE */
};

enum { PLAN_STEPS_MOST = 80, PLAN_CAUTIONS_MOST = 32 };
struct plan {
    struct gate gate;
    enum material material;
    uint32_t damages;
    unsigned conditions; /* of plan_rules.h */
    bool coated;         /* false: cleaned, mended and fed only */
    size_t count;
    struct plan_step step[PLAN_STEPS_MOST];
    size_t caution_count;
    enum word caution[PLAN_CAUTIONS_MOST];
    double wait_min;  /* all waits but the full cure */
    double cure_days; /* before skin, a child seat or a cover */
};

/* NO with the reason when it is refused; plan->gate is filled even then. */
/* Where a child seat may be put: a seat of a vehicle. */
bool plan_is_seat_of_vehicle(enum craft craft, enum place_of_work place);
enum status plan_make(const struct plan_case *in, struct plan *out, struct fault *fault) MUST_USE;

/* The tasks of a plan, each once, in order. Returns how many. */
size_t plan_tasks(const struct plan *plan, enum task out[TASK_COUNT]);

#endif
