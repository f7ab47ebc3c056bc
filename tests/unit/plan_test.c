/* The gate and the plan: properties over every craft, place, airbag answer, material, damage and condition.
 * What each step says is common practice; the airbag rules are those of vehicle makers' manuals and 49 USC
 * 30122; moulding marks ISO 11469 with the symbols of ISO 1043-1. */
#include "check.h"
#include "trade/grit.h"
#include "trade/record.h"

static struct plan_case usual(void) {
    return (struct plan_case){.gate = {CRAFT_BOAT, PLACE_SEAT, AIRBAG_NO, FIRE_NONE_NEEDED},
                              .material = MATERIAL_PIGMENTED,
                              .damages = BIT(DAMAGE_WORN) | BIT(DAMAGE_CRACK),
                              .recoloured = TOLD_NO,
                              .edge = ENDS_AT_BREAK,
                              .sprayed = true,
                              .drying_index = 1,
                              .flash_min = (double)NAN,
                              .glue_min = (double)NAN,
                              .pot_life_min = (double)NAN,
                              .cure_days = (double)NAN};
}

static bool has_step(const struct plan *plan, enum word word) {
    for (size_t i = 0; i < plan->count; i++)
        if (plan->step[i].word == word) return true;
    return false;
}

static bool has_task(const struct plan *plan, enum task task) {
    for (size_t i = 0; i < plan->count; i++)
        if (plan->step[i].task == task) return true;
    return false;
}

static bool has_caution(const struct plan *plan, enum word word) {
    for (size_t i = 0; i < plan->caution_count; i++)
        if (plan->caution[i] == word) return true;
    return false;
}

static bool gate_says(const struct gate *gate, enum word word) {
    for (size_t i = 0; i < gate->count; i++)
        if (gate->word[i] == word) return true;
    return false;
}

static void the_gate_stops_what_it_must(void) {
    for (int c = 0; c < CRAFT_COUNT; c++)
        for (int p = 0; p < PLACE_COUNT; p++)
            for (int a = 0; a < 3; a++)
                for (int f = 0; f < 3; f++) {
                    const struct gate_case in = {(enum craft)c, (enum place_of_work)p, (enum airbag)a,
                                                 (enum fire_rating)f};
                    struct gate gate;
                    gate_judge(&in, &gate);
                    const unsigned craft = craft_traits(in.craft), place = place_of_work_traits(in.place);
                    const bool may_hold = (craft & TRAIT_AIRBAGS) && (place & TRAIT_AIRBAGS);
                    if (craft & TRAIT_DECLINED) CHECK(gate.answer == GATE_STOP);
                    if (may_hold && a == AIRBAG_UNKNOWN)
                        CHECK(gate.answer == GATE_STOP && gate_says(&gate, WORD_GATE_AIRBAG_UNKNOWN));
                    if (p == PLACE_BELT || p == PLACE_PRETENSIONER || p == PLACE_CHILD_SEAT)
                        CHECK(gate.answer == GATE_STOP);
                    if (a == AIRBAG_YES && (place & TRAIT_COVER)) CHECK(gate.answer == GATE_STOP);
                    if (a == AIRBAG_YES && gate.answer != GATE_STOP)
                        CHECK(gate.airbag_near && gate_says(&gate, WORD_GATE_AIRBAG_SEAM));
                    if ((craft & TRAIT_FIRE_RATED) && f == FIRE_NOT_ASKED) CHECK(gate.answer != GATE_OPEN);
                    if (c == CRAFT_ELECTRIC_CAR) CHECK(gate_says(&gate, WORD_GATE_HIGH_VOLTAGE));
                    CHECK(gate.answer == GATE_OPEN || gate.count > 0);
                    CHECK(gate.count < GATE_WORDS_MOST);
                }
    /* seats, wheel pad, dash doors, pillar trims, belts and pretensioners of a car: unknown stops */
    static const enum place_of_work asked[] = {PLACE_SEAT,   PLACE_WHEEL_PAD, PLACE_DASH_DOOR,
                                               PLACE_PILLAR, PLACE_BELT,      PLACE_PRETENSIONER};
    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
        struct gate gate;
        gate_judge(&(struct gate_case){CRAFT_CAR, asked[i], AIRBAG_UNKNOWN, FIRE_NONE_NEEDED}, &gate);
        CHECK(gate.answer == GATE_STOP);
    }
}

/* Every combination of what can be told about a piece (the gate kept open, or beside an airbag). */
typedef void visit(const struct plan_case *in, const struct plan *plan, enum status status,
                   const struct fault *fault);
static void sweep(visit *look) {
    for (int m = 0; m < MATERIAL_COUNT; m++)
        for (int d = -1; d < DAMAGE_COUNT; d++)
            for (unsigned bits = 0; bits < 512; bits++) {
                struct plan_case in = usual();
                in.material = (enum material)m;
                in.damages = d < 0 ? 0 : BIT(d) | (bits & 256 ? BIT(DAMAGE_WORN) : 0);
                in.perforated = bits & 1, in.ventilated = bits & 2, in.agreed_to_coat = bits & 4;
                in.edge = bits & 8 ? ENDS_IN_FADE : ENDS_AT_BREAK;
                in.recoloured = bits & 16 ? TOLD_NOT : TOLD_NO;
                in.crosslinker = bits & 32 ? CROSSLINKER_UNKNOWN : CROSSLINKER_NONE;
                in.heated = bits & 64;
                if (bits & 128)
                    in.gate = (struct gate_case){CRAFT_CAR, PLACE_SEAT, AIRBAG_YES, FIRE_NONE_NEEDED};
                struct plan plan = {0};
                struct fault fault = {0};
                const enum status status = plan_make(&in, &plan, &fault);
                look(&in, &plan, status, &fault);
            }
}

static void look_at(const struct plan_case *in, const struct plan *plan, enum status status,
                    const struct fault *fault) {
    if (status != STATUS_OK) {
        CHECK(status == STATUS_NO && fault->status == STATUS_NO && fault->text[0]);
        return;
    }
    CHECK(has_step(plan, WORD_STEP_HIDDEN_PLACE)); /* no plan without a hidden-place test */
    CHECK(plan->caution[0] == WORD_PLAN_SHEETS_FIRST);
    for (size_t i = 1; i < plan->count; i++) CHECK(plan->step[i].stage >= plan->step[i - 1].stage);
    for (size_t i = 0; i < plan->count; i++)
        CHECK(plan->step[i].wait_min >= 0 && plan->step[i].wait_min < 1e5);
    if (plan->gate.airbag_near) {
        CHECK(has_step(plan, WORD_STEP_MAKE_SAFE) && has_step(plan, WORD_STEP_SWITCH_ON));
        CHECK(has_step(plan, WORD_STEP_MASK_AIRBAG_SEAM) && has_caution(plan, WORD_PLAN_AIRBAG));
    }
    if (in->perforated) {
        CHECK(!has_step(plan, WORD_STEP_FILL) && !has_step(plan, WORD_STEP_SAND_FILL) &&
              !has_step(plan, WORD_STEP_COAT_THIN));
        CHECK(has_step(plan, WORD_STEP_VENTILATION_OFF) && !has_step(plan, WORD_STEP_CLEAN));
        if (plan->coated) CHECK(has_step(plan, WORD_STEP_HOLES));
    }
    if (material_coating(in->material) == COATED_NEVER) CHECK(!plan->coated && !has_task(plan, TASK_COAT));
    if (material_coating(in->material) == COATED_AGREED) CHECK(plan->coated == in->agreed_to_coat);
    CHECK(plan->coated == has_task(plan, TASK_COAT) && plan->coated == has_task(plan, TASK_SHEEN));
    CHECK(plan->coated == (has_step(plan, WORD_STEP_HAND_OVER) || has_step(plan, WORD_STEP_HAND_OVER_ROOM)) &&
          (plan->cure_days > 0) == plan->coated);
    if (plan->coated)
        CHECK(has_step(plan, in->edge == ENDS_IN_FADE ? WORD_STEP_END_IN_FADE : WORD_STEP_END_AT_BREAK));
    if (in->recoloured == TOLD_NOT && plan->coated) CHECK(has_step(plan, WORD_STEP_SOLVENT_RUB));
    if (in->crosslinker && plan->coated)
        CHECK(has_step(plan, WORD_STEP_CROSSLINK) && has_caution(plan, WORD_CAUTION_ISOCYANATE));
    if (in->material == MATERIAL_PVC) CHECK(has_caution(plan, WORD_PLAN_PLASTICISER));
    if (material_family(in->material) == FAMILY_PLASTIC && plan->coated)
        CHECK(has_step(plan, WORD_STEP_PROMOTER)); /* no mark */
}

static void every_plan_keeps_the_rules(void) {
    sweep(look_at);
}

/* What must happen for a damage that is not refused: at least one of these steps. */
static void every_damage_has_an_operation(void) {
    static const enum task mends[DAMAGE_COUNT][3] = {
        [DAMAGE_WORN] = {TASK_COAT, TASK_COAT, TASK_COAT},
        [DAMAGE_FADED] = {TASK_COAT, TASK_COAT, TASK_COAT},
        [DAMAGE_SCUFF] = {TASK_SAND, TASK_FEED, TASK_SAND},
        [DAMAGE_SHINE] = {TASK_SAND, TASK_FEED, TASK_SAND},
        [DAMAGE_CRACK] = {TASK_FILL, TASK_HOLES, TASK_FILL},
        [DAMAGE_CUT] = {TASK_GLUE, TASK_SUB_PATCH, TASK_GLUE},
        [DAMAGE_HOLE] = {TASK_SUB_PATCH, TASK_SUB_PATCH, TASK_SUB_PATCH},
        [DAMAGE_BURN] = {TASK_SUB_PATCH, TASK_SUB_PATCH, TASK_SUB_PATCH},
        [DAMAGE_FLAP] = {TASK_GLUE, TASK_GLUE, TASK_GLUE},
        [DAMAGE_PEELING] = {TASK_SAND, TASK_STRIP_STICKY, TASK_SAND},
        [DAMAGE_GRAIN_LOST] = {TASK_GRAIN, TASK_FEED, TASK_GRAIN},
        [DAMAGE_DYE] = {TASK_STRIP_DYE, TASK_STRIP_DYE, TASK_STRIP_DYE},
        [DAMAGE_BODY_OIL] = {TASK_DRAW_OIL, TASK_DRAW_OIL, TASK_DRAW_OIL},
        [DAMAGE_SILICONE] = {TASK_STRIP_SILICONE, TASK_STRIP_SILICONE, TASK_STRIP_SILICONE},
        [DAMAGE_MOULD] = {TASK_KILL_MOULD, TASK_KILL_MOULD, TASK_KILL_MOULD},
        [DAMAGE_STAIN] = {TASK_TREAT_STAIN, TASK_TREAT_STAIN, TASK_TREAT_STAIN},
        [DAMAGE_STICKY] = {TASK_STRIP_STICKY, TASK_STRIP_STICKY, TASK_STRIP_STICKY}};
    for (int d = 0; d < DAMAGE_COUNT; d++) {
        int planned = 0;
        for (int m = 0; m < MATERIAL_COUNT; m++)
            for (int p = 0; p < 2; p++) {
                struct plan_case in = usual();
                in.material = (enum material)m;
                in.damages = BIT(d);
                in.perforated = p;
                in.agreed_to_coat = true;
                struct plan plan = {0};
                struct fault fault;
                if (plan_make(&in, &plan, &fault) != STATUS_OK) continue;
                planned++;
                CHECK(has_task(&plan, mends[d][0]) || has_task(&plan, mends[d][1]) ||
                      has_task(&plan, mends[d][2]));
                /* tested, and stripped or sealed */
                if (BIT(d) &
                    (BIT(DAMAGE_DYE) | BIT(DAMAGE_BODY_OIL) | BIT(DAMAGE_MOULD) | BIT(DAMAGE_SILICONE)))
                    CHECK(!plan.coated || has_step(&plan, WORD_STEP_SEAL_SOURCE));
                CHECK(damage_falls_short_ppm((enum damage)d) > 0);
            }
        CHECK(planned > 0);
    }
}

static void what_is_refused_says_why(void) {
    struct plan plan;
    struct fault fault;
    struct plan_case in = usual();
    in.look = LOOK_METAL;
    CHECK(plan_make(&in, &plan, &fault) == STATUS_NO && fault.word == WORD_PLAN_FLAKE);
    in.look = LOOK_PEARL;
    CHECK(plan_make(&in, &plan, &fault) == STATUS_NO && fault.word == WORD_PLAN_FLAKE);
    in = usual();
    in.material = MATERIAL_BONDED;
    in.agreed_to_coat = true;
    in.damages = BIT(DAMAGE_PEELING);
    CHECK(plan_make(&in, &plan, &fault) == STATUS_NO && fault.word == WORD_PLAN_BONDED_PEELS);
    in = usual();
    in.material = MATERIAL_SUEDE;
    CHECK(plan_make(&in, &plan, &fault) == STATUS_NO && fault.word == WORD_PLAN_CARRIES_NO_COAT);
    in.damages = BIT(DAMAGE_BODY_OIL);
    CHECK(plan_make(&in, &plan, &fault) == STATUS_OK && !plan.coated &&
          has_caution(&plan, WORD_PLAN_NOT_COATED));
    in = usual();
    in.material = MATERIAL_ANILINE;
    CHECK(plan_make(&in, &plan, &fault) == STATUS_NO && fault.word == WORD_PLAN_COAT_NOT_AGREED);
    in.agreed_to_coat = true;
    CHECK(plan_make(&in, &plan, &fault) == STATUS_OK && plan.coated &&
          has_caution(&plan, WORD_PLAN_ANILINE_CHANGES));
    in = usual();
    in.gate = (struct gate_case){CRAFT_CAR, PLACE_SEAT, AIRBAG_UNKNOWN, FIRE_NONE_NEEDED};
    CHECK(plan_make(&in, &plan, &fault) == STATUS_NO && fault.word == WORD_GATE_AIRBAG_UNKNOWN);
    CHECK(plan.gate.answer == GATE_STOP);
    in.gate = (struct gate_case){CRAFT_RAIL, PLACE_SEAT, AIRBAG_NO, FIRE_NONE_NEEDED};
    CHECK(plan_make(&in, &plan, &fault) == STATUS_NO && fault.word == WORD_GATE_CRAFT_DECLINED);
}

static void waits_follow_the_sheets_and_the_air(void) {
    struct plan dry, damp, by_sheet;
    struct fault fault;
    struct plan_case in = usual();
    CHECK(plan_make(&in, &dry, &fault) == STATUS_OK && dry.cure_days == 7);
    in.drying_index = .5;
    CHECK(plan_make(&in, &damp, &fault) == STATUS_OK);
    CHECK_NEAR(damp.wait_min / dry.wait_min, 2, 1e-12); /* nothing but drying is waited for here */
    in = usual();
    in.flash_min = 20, in.cure_days = 14, in.coats = 5, in.crosslinker = CROSSLINKER_AZIRIDINE,
    in.pot_life_min = 90;
    CHECK(plan_make(&in, &by_sheet, &fault) == STATUS_OK && by_sheet.cure_days == 14);
    for (size_t i = 0; i < by_sheet.count; i++) {
        const struct plan_step *step = &by_sheet.step[i];
        if (step->word == WORD_STEP_COAT_THIN) CHECK_NEAR(step->wait_min, 100, 1e-9);
        if (step->word == WORD_STEP_CROSSLINK) CHECK(step->wait == WAIT_POT && step->wait_min == 90);
    }
    CHECK(has_caution(&by_sheet, WORD_CAUTION_AZIRIDINE) && !has_caution(&by_sheet, WORD_CAUTION_ISOCYANATE));
}

static void grits_have_a_scale(void) {
    struct plan_case in = usual();
    struct plan plan;
    struct fault fault;
    struct grit grit;
    size_t named = 0;
    for (int m = 0; m < MATERIAL_COUNT; m++) {
        in.material = (enum material)m;
        in.damages = BIT(DAMAGE_SHINE) | BIT(DAMAGE_SCUFF);
        in.agreed_to_coat = true;
        if (plan_make(&in, &plan, &fault) != STATUS_OK) continue;
        for (size_t i = 0; i < plan.count; i++)
            if (*plan.step[i].grit) {
                named++;
                CHECK(grit_read(plan.step[i].grit, &grit, &fault) == STATUS_OK && grit.scale == GRIT_FEPA_P);
                CHECK(strstr(word_sentence(plan.step[i].word), "{1}") != NULL);
            } else
                CHECK(strstr(word_sentence(plan.step[i].word), "{1}") == NULL);
    }
    CHECK(named > 10);
}

static void moulding_marks_are_read(void) {
    static const struct {
        const char *mark, *name;
        bool promoter, crazes;
    } known[] = {{">ABS<", "ABS", false, true},
                 {">PP+EPDM-TV20<", "polypropylene", true, false},
                 {"> PC+ABS <", "polycarbonate", false, true},
                 {">pp-gf30<", "polypropylene", true, false},
                 {">PE-HD<", "high-density polyethylene", true, false},
                 {">PVC-P<", "soft PVC", false, false},
                 {">PA66-GF30<", "polyamide 66", true, false},
                 {">PUR<", "polyurethane", false, false},
                 {">ABS+PP<", "ABS", true, true},
                 {">PE-HD-GF10<", "high-density polyethylene", true, false}};
    struct plastic plastic;
    struct fault fault;
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        CHECK(plastic_of_mark(known[i].mark, &plastic, &fault) == STATUS_OK);
        CHECK_TEXT(plastic.name, known[i].name);
        CHECK(plastic.promoter == known[i].promoter && plastic.crazes == known[i].crazes);
    }
    static const char *const unknown[] = {"", "><", ">QQ<", "7", ">+<", ">PP++PE<", "an ashtray"};
    for (size_t i = 0; i < sizeof unknown / sizeof unknown[0]; i++)
        CHECK(plastic_of_mark(unknown[i], &plastic, &fault) == STATUS_USAGE);
    struct plan_case in = usual();
    struct plan plan;
    in.material = MATERIAL_HARD_PLASTIC;
    in.damages = BIT(DAMAGE_SCUFF);
    CHECK(plastic_of_mark(">ABS<", &plastic, &fault) == STATUS_OK);
    in.plastic = &plastic;
    CHECK(plan_make(&in, &plan, &fault) == STATUS_OK && !has_step(&plan, WORD_STEP_PROMOTER) &&
          has_caution(&plan, WORD_PLAN_CRAZES));
    CHECK(plastic_of_mark(">PP<", &plastic, &fault) == STATUS_OK);
    CHECK(plan_make(&in, &plan, &fault) == STATUS_OK && has_step(&plan, WORD_STEP_PROMOTER) &&
          !has_caution(&plan, WORD_PLAN_CRAZES));
}

static void materials_are_told_apart(void) {
    static const struct {
        struct material_tests tests;
        enum material want;
    } known[] = {{{DROP_STANDS, SCUFF_NO_MARK, BACK_FIBRES, false}, MATERIAL_PIGMENTED},
                 {{DROP_DARKENS_SLOWLY, SCUFF_NO_MARK, BACK_FIBRES, false}, MATERIAL_SEMI_ANILINE},
                 {{DROP_SOAKS_IN, SCUFF_STAYS, BACK_NOT_SEEN, false}, MATERIAL_ANILINE},
                 {{DROP_STANDS, SCUFF_LIGHTENS_AND_RUBS_BACK, BACK_FIBRES, false}, MATERIAL_PULL_UP},
                 {{DROP_SOAKS_IN, SCUFF_NAP_TURNS, BACK_FIBRES, false}, MATERIAL_SUEDE},
                 {{DROP_STANDS, SCUFF_NO_MARK, BACK_GROUND_FIBRES_ON_WEB, false}, MATERIAL_BONDED},
                 {{DROP_STANDS, SCUFF_NO_MARK, BACK_WOVEN_OR_KNIT, true}, MATERIAL_PU},
                 {{DROP_STANDS, SCUFF_NO_MARK, BACK_WOVEN_OR_KNIT, false}, MATERIAL_PVC}};
    enum material material;
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        CHECK(material_of_tests(&known[i].tests, &material) && material == known[i].want);
    CHECK(!material_of_tests(&(struct material_tests){.drop = DROP_STANDS}, &material));
    CHECK(!material_of_tests(&(struct material_tests){0}, &material));
}

static void symbols_are_read_again_and_unknown_ones_named(void) {
    struct fault fault;
    enum craft craft;
    enum place_of_work place;
    enum material material;
    enum damage damage;
    enum task task;
    for (int i = 0; i < CRAFT_COUNT; i++)
        CHECK(craft_read(craft_symbol((enum craft)i), &craft, &fault) == STATUS_OK && (int)craft == i);
    for (int i = 0; i < PLACE_COUNT; i++)
        CHECK(place_of_work_read(place_of_work_symbol((enum place_of_work)i), &place, &fault) == STATUS_OK &&
              (int)place == i);
    for (int i = 0; i < MATERIAL_COUNT; i++)
        CHECK(material_read(material_symbol((enum material)i), &material, &fault) == STATUS_OK &&
              (int)material == i);
    for (int i = 0; i < DAMAGE_COUNT; i++)
        CHECK(damage_read(damage_symbol((enum damage)i), &damage, &fault) == STATUS_OK && (int)damage == i);
    for (int i = 0; i < TASK_COUNT; i++)
        CHECK(task_read(task_symbol((enum task)i), &task, &fault) == STATUS_OK && (int)task == i);
    CHECK(damage_read("rust", &damage, &fault) == STATUS_USAGE && strstr(fault.text, "sticky") &&
          strstr(fault.text, "rust"));
    CHECK(place_of_work_read("", &place, &fault) == STATUS_USAGE && strstr(fault.text, "trim"));
}

/* The record of every plan: better not new, care, and a guarantee that says what it leaves out. */
static void look_at_record(const struct plan_case *in, const struct plan *plan, enum status status,
                           const struct fault *fault) {
    (void)fault;
    (void)in;
    if (status != STATUS_OK) return;
    enum word word[RECORD_WORDS_MOST];
    size_t n = record_words(plan, RECORD_EXPECT, word);
    CHECK(n > 0 && word[0] == (plan->coated ? WORD_EXPECT_BETTER : WORD_EXPECT_UNCOATED));
    n = record_words(plan, RECORD_CARE, word);
    CHECK(n >= 3 && n < RECORD_WORDS_MOST);
    n = record_words(plan, RECORD_CAUTION, word);
    CHECK(n < RECORD_WORDS_MOST && (!plan->gate.airbag_near || (n && word[0] == WORD_RECORD_AIRBAG)));
    enum task task[TASK_COUNT];
    size_t guaranteed = 0;
    n = plan_tasks(plan, task);
    for (size_t i = 0; i < n; i++) {
        const bool covers = task_guarantee_months(task[i]) > 0;
        CHECK(covers == (*word_sentence(task_exclusion(task[i])) != 0));
        guaranteed += covers;
    }
    CHECK(!plan->coated || guaranteed > 0);
}

static void every_record_says_what_it_must(void) {
    sweep(look_at_record);
}

int main(void) {
    RUN(the_gate_stops_what_it_must);
    RUN(every_plan_keeps_the_rules);
    RUN(every_damage_has_an_operation);
    RUN(what_is_refused_says_why);
    RUN(waits_follow_the_sheets_and_the_air);
    RUN(grits_have_a_scale);
    RUN(moulding_marks_are_read);
    RUN(materials_are_told_apart);
    RUN(symbols_are_read_again_and_unknown_ones_named);
    RUN(every_record_says_what_it_must);
    return check_done();
}
