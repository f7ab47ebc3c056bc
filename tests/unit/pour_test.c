/* The pour plan: weighing facts (sources in weighing.c), windows checked by the prediction itself, order,
 * let-downs, and the pot as it stands. */
#include "colour/difference.h"
#include "invented_recipe.h"
#include "paint/rescue.h"

/* USP <41>: 820 d for .10 %; .01 g -> 8.2 g. Uncertainty of 40, 8, 1.5 and .5 g with u = .01 g in each
 * reading: facts computed from sqrt 2 u. */
static void the_scale_says_what_the_pharmacopoeia_says(void) {
    const struct scale scale = {.01, 0};
    CHECK_NEAR(weighing_least_net_g(&scale, .001), 8.2, .04);
    CHECK_NEAR(weighing_addition_sd(&scale), .41 * .01, 1e-4);
    const struct scale noisy = {1e-9, .01};
    const double grams[] = {40, 8, 1.5, .5}, percent[] = {.035, .111 * 1.6, .648 * 1.455, 1.98 * 1.4285};
    CHECK_NEAR(100 * weighing_addition_sd(&noisy) / grams[0], percent[0], .001);
    CHECK_NEAR(weighing_addition_sd(&noisy), .01 * sqrt(2), 1e-9);
    CHECK_NEAR(weighing_slip_g(0), .05, 0); /* one drop, USP <1101> */
}

static void the_grid_is_kept(void) {
    static const double steps[] = {.001, .01, .05, .1, .5, 1};
    static const int decimals[] = {3, 2, 2, 1, 1, 0};
    for (int k = 0; k < 6; k++) {
        const struct scale scale = {steps[k], 0};
        CHECK(weighing_decimals(&scale) == decimals[k]);
        for (int n = 0; n < 3000; n++) {
            const double g = n * steps[k];
            CHECK_NEAR(weighing_round(&scale, g), g, 1e-9);
            CHECK_NEAR(weighing_round_down(&scale, g), g, 1e-9);
            CHECK_NEAR(weighing_round_up(&scale, g), g, 1e-9);
            CHECK(weighing_round_down(&scale, g + .4 * steps[k]) < g + 1e-9);
            CHECK(weighing_round_up(&scale, g + .4 * steps[k]) > g + .9 * steps[k]);
        }
    }
    CHECK(weighing_round(&(struct scale){.01, 0}, .42) == .42);
}

static double total_of(const struct pour_plan *plan, size_t count) {
    double total = 0;
    for (size_t i = 0; i < count; i++) total += plan->toner_g[i];
    return total;
}

static void check_sums(const struct pour_task *task, const struct pour_plan *plan) {
    double reading = 0;
    for (size_t j = 0; j < plan->count; j++) {
        reading += plan->step[j].g;
        CHECK_NEAR(plan->step[j].reading_g, reading, 1e-9);
        CHECK(plan->step[j].g > 0);
        CHECK_NEAR(plan->step[j].g, weighing_round(&task->scale, plan->step[j].g), 1e-9);
    }
    CHECK_NEAR(reading, task->batch_g, 1e-6);
    CHECK_NEAR(plan->total_g, task->batch_g, 1e-6);
    CHECK_NEAR(total_of(plan, task->recipe->shelf.count), task->batch_g, 1e-6);
    CHECK_AT_MOST(difference_de00(plan->lab, pour_lab(task->recipe, plan->toner_g)), .25);
}

/* Missing one reading by its window, the next pour taking it back or not, costs at most its share; asked of
 * predict. */
static void check_shares(const struct pour_task *task, const struct pour_plan *plan) {
    const struct pour_recipe *recipe = task->recipe;
    double shares = 0;
    for (size_t j = 0; j < plan->count; j++) {
        const struct pour_step *step = &plan->step[j];
        for (int way = 0; way < 4; way++) {
            double mass[RECIPE_TONERS_MOST];
            memcpy(mass, plan->toner_g, sizeof mass);
            const double miss = way % 2 ? step->plus_g : -step->minus_g;
            pour_add(recipe, step->toner, step->let_down.fraction, miss, mass);
            if (way > 1 && j + 1 < plan->count)
                pour_add(recipe, step[1].toner, step[1].let_down.fraction, -miss, mass);
            for (size_t i = 0; i < recipe->shelf.count; i++)
                mass[i] = fmax(0, mass[i]); /* nobody pours less */
            CHECK_AT_MOST(difference_de00(plan->grid_lab, pour_lab(recipe, mass)), step->share_de00 + 1e-9);
        }
        shares += step->share_de00;
        CHECK(step->plus_g >= weighing_smallest_window(&task->scale) - 1e-9);
    }
    CHECK_AT_MOST(plan->worst_de00,
                  shares * 1.15 + .02 + plan->let_down_de00 + difference_de00(plan->lab, plan->grid_lab));
}

/* A let-down of which toner and binder were each weighed as well as the scale lets one. */
static double fraction_stirred(const struct pour_task *task, const struct pour_step *step,
                               unsigned long long *seed) {
    const struct let_down *made = &step->let_down;
    if (made->fraction >= 1) return 1;
    const double two_sd = 2 * weighing_addition_sd(&task->scale);
    const double toner_g = made->toner_g + two_sd * (2 * check_random(seed) - 1),
                 binder_g = made->binder_g + two_sd * (2 * check_random(seed) - 1);
    return toner_g / (toner_g + binder_g);
}

/* Random misses inside the windows and of the let-downs: the pot stays inside the tolerance whenever no
 * window is below the scale. */
static void check_box(const struct pour_task *task, const struct pour_plan *plan, unsigned long long *seed) {
    for (int n = 0; n < 60; n++) {
        double mass[RECIPE_TONERS_MOST], before = 0;
        memcpy(mass, plan->toner_g, sizeof mass);
        const bool readings = n % 2;
        for (size_t j = 0; j < plan->count; j++) {
            const struct pour_step *step = &plan->step[j];
            const double miss = -step->minus_g + (step->minus_g + step->plus_g) * check_random(seed);
            const double stirred = fraction_stirred(task, step, seed), planned = step->let_down.fraction;
            pour_add(task->recipe, step->toner, planned, -step->g, mass);
            pour_add(task->recipe, step->toner, stirred, step->g + miss - before, mass);
            before = readings ? miss : 0;
        }
        for (size_t i = 0; i < task->recipe->shelf.count; i++) mass[i] = fmax(0, mass[i]);
        CHECK_AT_MOST(difference_de00(plan->lab, pour_lab(task->recipe, mass)),
                      plan->worst_de00 * 1.02 + .005);
    }
}

static void a_window_costs_its_share_and_the_box_the_allowance(void) {
    unsigned long long seed = 3;
    int open = 0, let_downs = 0, below = 0;
    double worst = 0;
    for (int n = 0; n < 150; n++) {
        const struct pour_recipe recipe = invent_recipe(2 + (size_t)(6 * check_random(&seed)), &seed);
        struct pour_task task =
            invent_task(&recipe, n % 2 ? 6 + 20 * check_random(&seed) : 15 + 100 * check_random(&seed));
        task.let_downs = n % 2;
        struct pour_plan plan;
        pour_plan_make(&task, &plan);
        check_sums(&task, &plan);
        check_shares(&task, &plan);
        check_box(&task, &plan, &seed);
        for (size_t j = 0; j < plan.count; j++) let_downs += plan.step[j].let_down.fraction < 1;
        below += plan.scale_too_coarse;
        if (plan.scale_too_coarse) continue;
        open++;
        worst = fmax(worst, plan.worst_de00 / plan.allowance_de00);
        CHECK_AT_MOST(plan.worst_de00, plan.allowance_de00);
    }
    printf("  figure: 150 plans: %d wholly inside the allowance (worst corner %.0f %% of it), %d with a "
           "window below the scale, %d let-downs\n",
           open, 100 * worst, below, let_downs);
    CHECK(open > 80 && let_downs > 5);
}

static void the_bed_comes_first_and_the_strongest_next(void) {
    unsigned long long seed = 9;
    for (int n = 0; n < 60; n++) {
        const struct pour_recipe recipe = invent_recipe(3 + (size_t)(4 * check_random(&seed)), &seed);
        struct pour_task task = invent_task(&recipe, 60);
        struct pour_plan plan;
        pour_plan_make(&task, &plan);
        CHECK(recipe.shelf.toner[plan.step[0].toner].role == ROLE_BINDER && plan.step[0].first_part);
        CHECK(plan.step[plan.count - 1].rest && plan.step[plan.count - 1].toner == plan.step[0].toner);
        /* a slip of the first toner in the cup costs at least what the same slip of any later one costs */
        double last = (double)INFINITY;
        for (size_t j = 1; j + 1 < plan.count; j++) {
            double mass[RECIPE_TONERS_MOST];
            memcpy(mass, plan.toner_g, sizeof mass);
            mass[plan.step[j].toner] += .02 * weighing_slip_g(plan.step[j].g);
            const double risk = difference_de00(pour_lab(&recipe, plan.toner_g), pour_lab(&recipe, mass));
            CHECK_AT_MOST(risk, last * 1.05 + 1e-3);
            last = risk;
        }
    }
}

static struct pour_recipe tinted_white(double black) {
    unsigned long long seed = 21;
    struct pour_recipe r = invent_recipe(3, &seed);
    snprintf(invented_toner[1].id, sizeof invented_toner[1].id, "black");
    for (int b = 0; b < BANDS; b++) invented_toner[1].k[b] = 2;
    r.part[0] = .5 - black;
    r.part[1] = black;
    r.part[2] = .5;
    return r;
}

/* Found by the first shots of 15 g: the pour after a wide window was smaller than it, and the pot of that
 * miss held less than nothing of a toner. */
static void a_pour_smaller_than_its_window_is_planned(void) {
    unsigned long long seed = 15;
    int small = 0;
    for (int n = 0; n < 400; n++) {
        struct pour_recipe recipe = invent_recipe((size_t)(3 + n % 3), &seed);
        double sum = 0;
        for (size_t i = 1; i + 1 < recipe.shelf.count; i++)
            recipe.part[i] *= pow(10, -3 * check_random(&seed));
        for (size_t i = 0; i < recipe.shelf.count; i++) sum += recipe.part[i];
        for (size_t i = 0; i < recipe.shelf.count; i++) recipe.part[i] /= sum;
        struct pour_task task = invent_task(&recipe, 15);
        task.let_downs = n % 2;
        task.scale.step_g = n % 4 < 2 ? .01 : .1;
        struct pour_plan plan;
        pour_plan_make(&task, &plan);
        CHECK(plan.count > 0 && isfinite(plan.worst_de00) && fabs(plan.total_g - 15) < .5);
        for (size_t j = 0; j + 1 < plan.count; j++)
            small += plan.step[j + 1].g < fmax(plan.step[j].plus_g, plan.step[j].minus_g);
    }
    printf("  figure: %d pours after a window that is wider than they are\n", small);
}

static void a_strong_toner_under_the_scale_is_let_down(void) {
    const struct pour_recipe recipe = tinted_white(.002);
    struct pour_task task = invent_task(&recipe, 15);
    struct pour_plan plan, pure;
    task.let_downs = true;
    pour_plan_make(&task, &plan);
    const struct pour_step *black = &plan.step[1];
    CHECK(black->toner == 1);
    CHECK_NEAR(black->let_down.fraction, .1, 0);
    CHECK_NEAR(black->g, .30, .011); /* .03 g of black in .30 g of let-down */
    CHECK_NEAR(plan.toner_g[1], .03, .0011);
    CHECK_NEAR(plan.toner_g[2], 7.5, .02); /* the binder in all, what comes with the let-down among it */
    CHECK_NEAR(black->let_down.toner_g + black->let_down.binder_g, black->let_down.make_g, 1e-9);
    CHECK(black->let_down.make_g >= 1.25 * black->g);
    CHECK_NEAR(black->let_down.toner_g, .1 * black->let_down.make_g, 1e-9);
    check_sums(&task, &plan);
    task.let_downs = false;
    pour_plan_make(&task, &pure);
    CHECK(pure.step[1].let_down.fraction >= 1 && pure.step[1].below_scale);
    CHECK(pure.worst_de00 > plan.worst_de00);
    printf("  figure: .03 g black in 15 g: worst pot %.2f dE00 poured pure, %.2f let down\n", pure.worst_de00,
           plan.worst_de00);
}

/* No more is stirred than the let-down's own error asks for: its toner weighed to 1 in 50, all of them within
 * a fifth of the allowance. */
static void no_more_is_stirred_than_its_error_asks(void) {
    static const double steps[] = {.01, .1};
    for (int k = 0; k < 2; k++) {
        unsigned long long seed = 17;
        double stirred = 0;
        int count = 0;
        for (int n = 0; n < 60; n++) {
            const struct pour_recipe recipe = tinted_white(.002 + .03 * check_random(&seed));
            struct pour_task task = invent_task(&recipe, 20);
            struct pour_plan plan;
            task.scale.step_g = steps[k];
            task.let_downs = true;
            pour_plan_make(&task, &plan);
            for (size_t j = 0; j < plan.count; j++) {
                const struct let_down *made = &plan.step[j].let_down;
                struct let_down less;
                if (made->fraction >= 1) continue;
                CHECK(made->toner_g >= weighing_least_net_g(&task.scale, .02) * .9);
                CHECK_AT_MOST(plan.let_down_de00, .2 * plan.allowance_de00 + 1e-9);
                CHECK_AT_MOST(pour_let_down_make(&task, plan.toner_g, plan.step[j].toner, plan.step[j].g,
                                                 2 * plan.allowance_de00, &less),
                              2 * plan.allowance_de00);
                CHECK(less.make_g <= made->make_g);
                stirred += made->make_g;
                count++;
            }
        }
        printf("  figure: 20 g, %g g scale: %d let-downs, %.1f g stirred on average\n", steps[k], count,
               count ? stirred / count : 0);
        CHECK(count > 10 && stirred / count < (k ? 60 : 12));
    }
}

static void one_toner_alone_is_one_pour(void) {
    unsigned long long seed = 4;
    struct pour_recipe recipe = invent_recipe(2, &seed);
    recipe.shelf.count = 1;
    recipe.part[0] = 1;
    struct pour_task task = invent_task(&recipe, 40);
    struct pour_plan plan;
    struct pour_state state;
    pour_plan_make(&task, &plan);
    CHECK(plan.count == 1);
    CHECK_NEAR(plan.step[0].g, 40, 1e-9);
    pour_look(&task, &plan, &state);
    CHECK(state.next == 0);
    CHECK_NEAR(state.next_g, 40, 1e-9);
}

/* Pouring each step as told, from an empty cup to the end, never asks for anything else. */
static void the_plan_followed_is_the_plan(void) {
    unsigned long long seed = 15;
    for (int n = 0; n < 60; n++) {
        const struct pour_recipe recipe =
            n == 0 ? tinted_white(.002) : invent_recipe(2 + (size_t)(5 * check_random(&seed)), &seed);
        struct pour_task task = invent_task(&recipe, n == 0 ? 15 : 15 + 90 * check_random(&seed));
        task.let_downs = true;
        struct pour_plan plan;
        struct pour_state state;
        pour_plan_make(&task, &plan);
        for (size_t j = 0; j <= plan.count; j++) {
            memset(task.poured_g, 0, sizeof task.poured_g);
            memset(task.let_down_poured_g, 0, sizeof task.let_down_poured_g);
            if (j) over_pour(&task, &plan, j - 1, 0);
            pour_look(&task, &plan, &state);
            CHECK(state.next == (j < plan.count ? (int)j : -1));
            CHECK(!state.any_over && state.may_stay);
            double reading = state.reading_g; /* what is left, poured in order, gives the plan's readings */
            for (size_t k = j; k < plan.count; k++) {
                reading += state.left_g[k];
                CHECK_NEAR(reading, plan.step[k].reading_g, 1e-6 + 2 * task.scale.step_g * (double)(k - j));
            }
            for (size_t k = 0; k < j; k++) CHECK_NEAR(state.left_g[k], 0, 0);
            if (j == plan.count) continue;
            CHECK_NEAR(state.next_g, plan.step[j].g, 1e-6);
            CHECK_NEAR(state.next_reading_g, plan.step[j].reading_g, 1e-6);
        }
    }
}

static void a_dab_taken_out_shrinks_the_plan(void) {
    unsigned long long seed = 31;
    const struct pour_recipe recipe = invent_recipe(4, &seed);
    struct pour_task task = invent_task(&recipe, 60);
    struct pour_plan plan;
    struct pour_state state;
    pour_plan_make(&task, &plan);
    over_pour(&task, &plan, plan.count - 1, 0);
    task.taken_g = 6;
    pour_look(&task, &plan, &state);
    CHECK_NEAR(state.keep, .9, 1e-9);
    CHECK_NEAR(state.reading_g, 54, 1e-9);
    CHECK(state.next == -1 && !state.any_over);
    CHECK_AT_MOST(state.stay_de00, .05);
}

/* No pot limit, every toner, every stage, .05 to 5 g: the rescue is the recipe again. (GLPK:
 * tests/outside/rescue_test.c.) */
static void an_over_pour_is_mended(void) {
    unsigned long long seed = 41;
    double worst = 0;
    int cases = 0;
    for (int n = 0; n < 25; n++) {
        const struct pour_recipe recipe = invent_recipe(2 + (size_t)(5 * check_random(&seed)), &seed);
        struct pour_task task = invent_task(&recipe, 20 + 100 * check_random(&seed));
        struct pour_plan plan;
        pour_plan_make(&task, &plan);
        for (size_t j = 0; j < plan.count; j++)
            for (double over = .05; over < 5.1; over *= 2.15) {
                struct pour_state state;
                struct rescue rescue;
                if (!over_pour(&task, &plan, j, over)) continue;
                pour_look(&task, &plan, &state);
                CHECK(state.any_over == (over > plan.step[j].plus_g + 1e-9));
                rescue_whole(&task, &state, &rescue);
                CHECK_AT_MOST(rescue.de00, RESCUE_RESTORED_DE00);
                worst = fmax(worst, rescue.de00);
                cases++;
            }
    }
    printf("  figure: %d over-pours mended, worst %.3f dE00\n", cases, worst);
    CHECK(cases > 400);
}

int main(void) {
    RUN(the_scale_says_what_the_pharmacopoeia_says);
    RUN(the_grid_is_kept);
    RUN(a_window_costs_its_share_and_the_box_the_allowance);
    RUN(the_bed_comes_first_and_the_strongest_next);
    RUN(a_strong_toner_under_the_scale_is_let_down);
    RUN(a_pour_smaller_than_its_window_is_planned);
    RUN(no_more_is_stirred_than_its_error_asks);
    RUN(one_toner_alone_is_one_pour);
    RUN(the_plan_followed_is_the_plan);
    RUN(a_dab_taken_out_shrinks_the_plan);
    RUN(an_over_pour_is_mended);
    return check_done();
}
