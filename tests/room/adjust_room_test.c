/* Correction in the spray room: 14 toners fitted from the usual drawdowns, lots that then drift by 8 % (more
 * or less pigment in the bottle; LONG also K and S apart), what `russet match` puts first, 60 g and .01 g, 5
 * % film spread and instrument noise on every card, 2 g taken for each; a pot of at most 120 g. Targets are
 * leathers of other pigments, films of 32 um over crust. Whether a target is out of reach is asked as well
 * for other leathers of the same family with little room in the pot. */
#include "check.h"
#include "room/pot_room.h"

struct tally {
    double first[64], second[64], third[64];
    size_t count, reachable, wrongly_refused, unreachable, refused;
};

static const double TOLERANCE = 0.5, LIMIT_G = 120, tight_g[] = {72, 64};
enum { FAMILIES = 8 }; /* target i + 8 is of the same family: another tan for a tan */

static void leather(struct room *room, size_t i, struct spectrum *out) {
    double mass_g[ROOM_MOST];
    const struct room_film film = room_film_plain(32, ROOM_CRUST);
    room_target(room, i, mass_g);
    room_spray(room, mass_g, &film, out);
}

static enum status adjust(const struct match_task *task, const struct pot *pot, const struct card *card,
                          size_t cards, double limit_g, double tolerance, struct adjust_result *out) {
    struct fault fault = {0};
    struct arena *arena = arena_new();
    const struct adjust_task ask = {.match = *task,
                                    .pot_g = pot->written_g,
                                    .taken_g = pot->taken_g,
                                    .pot_limit_g = limit_g,
                                    .card = card,
                                    .cards = cards,
                                    .tolerance = tolerance,
                                    .refined_part = isfinite(tolerance) ? ADJUST_REFINED : 0,
                                    .doubt = doubt_usual};
    const enum status status = adjust_run(&ask, NULL, arena, out, &fault);
    if (status != STATUS_OK) printf("  %s\n", fault.text);
    arena_free(arena);
    return status;
}

/* The best that this pot could become: the shelf as it really is (fitted without noise after the drift) and a
 * perfect card. */
static double best_possible(const struct pot_shop *shop, const struct shelf *real,
                            const struct match_task *task, const struct pot *pot, double limit_g) {
    struct pot perfect = *pot;
    struct match_task known = *task;
    struct adjust_result found;
    struct card card = {.film = task->film};
    double part[ROOM_MOST], sum = 0;
    known.shelf = real;
    for (int i = 0; i < ROOM_MOST; i++) sum += pot->real_g[i];
    for (int i = 0; i < ROOM_MOST; i++) part[i] = pot->real_g[i] / sum, perfect.written_g[i] = pot->real_g[i];
    perfect.taken_g = 0;
    card.part = part;
    pot_spectrum(shop, pot, &card.measured);
    if (adjust(&known, &perfect, &card, 1, limit_g, (double)INFINITY, &found) != STATUS_OK) return NAN;
    return found.de00_after;
}

static bool fit_real(struct pot_shop *shop, struct shelf *real) {
    struct room_plan plan = room_plan_usual();
    struct fit_report report;
    plan.film_spread = 0;
    return room_fit(shop->room, &plan, shop->arena, real, &report);
}

/* Is it said beforehand whether the target can be met inside the limit? A case between .9 and 1.1 of the
 * tolerance is nobody's fault. */
static void count_answer(double best, bool reaches, struct tally *tally) {
    if (best > 0.9 * TOLERANCE && best < 1.1 * TOLERANCE) return;
    if (best > TOLERANCE)
        tally->unreachable++, tally->refused += !reaches;
    else
        tally->reachable++, tally->wrongly_refused += !reaches;
}

/* Another leather of the same family is asked of the pot, with little room in it. */
static void ask_for_a_cousin(const struct pot_shop *shop, const struct shelf *real,
                             const struct match_task *task, const struct pot *pot, const struct card *card,
                             size_t number, double limit_g, struct tally *tally) {
    struct match_task cousin = *task;
    struct adjust_result found;
    leather(shop->room, number, &cousin.target.reflectance);
    cousin.target.lab = lab_of_spectrum(&cousin.target.reflectance, task->light[0]);
    CHECK(adjust(&cousin, pot, card, 1, limit_g, TOLERANCE, &found) == STATUS_OK);
    count_answer(best_possible(shop, real, &cousin, pot, limit_g), found.reaches, tally);
}

static void try_target(struct pot_shop *shop, const struct shelf *real, size_t i, struct tally *tally) {
    struct spectrum target;
    struct match_task task;
    struct pot pot;
    struct card card[2];
    struct adjust_result found;
    double part[2][ROOM_MOST];
    leather(shop->room, i, &target);
    if (!(pot_match(shop, &target, &task, &pot) >= 0)) return;
    const size_t n = tally->count++;
    tally->first[n] = pot_truth(shop, &pot, &target);
    pot_card(shop, &pot, &card[0], part[0]);
    const double best = best_possible(shop, real, &task, &pot, LIMIT_G);
    for (size_t k = 0; k < sizeof tight_g / sizeof tight_g[0]; k++)
        ask_for_a_cousin(shop, real, &task, &pot, card, i + FAMILIES * (k + 1), tight_g[k], tally);
    CHECK(adjust(&task, &pot, card, 1, LIMIT_G, TOLERANCE, &found) == STATUS_OK);
    count_answer(best, found.reaches, tally);
    pot_pour(shop, &pot, found.addition, found.count);
    tally->second[n] = best > TOLERANCE ? (double)NAN : pot_truth(shop, &pot, &target);
    pot_card(shop, &pot, &card[1], part[1]);
    CHECK(adjust(&task, &pot, card, 2, LIMIT_G, TOLERANCE, &found) == STATUS_OK);
    pot_pour(shop, &pot, found.addition, found.count);
    tally->third[n] = best > TOLERANCE ? (double)NAN : pot_truth(shop, &pot, &target);
}

static size_t keep_known(double *value, size_t n) {
    size_t kept = 0;
    for (size_t i = 0; i < n; i++)
        if (!isnan(value[i])) value[kept++] = value[i];
    return kept;
}

static void correct(unsigned long long first_seed, int rooms, size_t targets, enum drift_kind kind) {
    static struct tally all;
    static double first[2000], second[2000], third[2000];
    size_t n = 0;
    all = (struct tally){0};
    for (int r = 0; r < rooms; r++) {
        struct pot_shop shop;
        struct shelf real;
        struct tally tally = {0};
        CHECK(pot_shop_open(first_seed + (unsigned long long)r, 0.08, 0, kind, &shop));
        CHECK(fit_real(&shop, &real));
        for (size_t i = 0; i < targets; i++) try_target(&shop, &real, i, &tally);
        for (size_t i = 0; i < tally.count; i++, n++)
            first[n] = tally.first[i], second[n] = tally.second[i], third[n] = tally.third[i];
        all.reachable += tally.reachable, all.wrongly_refused += tally.wrongly_refused;
        all.unreachable += tally.unreachable, all.refused += tally.refused;
        pot_shop_close(&shop);
    }
    const size_t second_n = keep_known(second, n), third_n = keep_known(third, n);
    printf("  figure: %zu pots: first shot median %.3f p95 %.3f\n", n, room_quantile(first, n, .5),
           room_quantile(first, n, .95));
    printf("  figure: after one addition median %.3f p95 %.3f; after two %.3f p95 %.3f (reachable ones)\n",
           room_quantile(second, second_n, .5), room_quantile(second, second_n, .95),
           room_quantile(third, third_n, .5), room_quantile(third, third_n, .95));
    printf("  figure: reachable %zu, wrongly called not %zu; unreachable %zu, called so %zu\n", all.reachable,
           all.wrongly_refused, all.unreachable, all.refused);
    CHECK_AT_MOST(room_quantile(second, second_n, .5), .20);
    CHECK_AT_MOST(room_quantile(second, second_n, .95), .65);
    CHECK_AT_MOST(room_quantile(third, third_n, .5), .12);
    CHECK_AT_MOST(room_quantile(third, third_n, .95), .40);
    CHECK(20 * all.wrongly_refused <= all.reachable);
    CHECK(10 * all.refused >= 8 * all.unreachable);
}

/* The first shop of the long list. Medians of forty pots of one shop lie between .09 and .16 after two
 * (docs/correct.md): it is the eight shops below that answer what was asked. */
static void pots_are_corrected(void) {
    correct(21, 1, 40, DRIFT_WHOLE);
}

static void LONG_pots_of_eight_shops(void) {
    correct(21, 8, 40, DRIFT_WHOLE);
}

static void LONG_pots_of_eight_shops_whose_scattering_drifts_apart(void) {
    correct(21, 8, 40, DRIFT_APART);
}

int main(void) {
    RUN(pots_are_corrected);
    RUN(LONG_pots_of_eight_shops);
    RUN(LONG_pots_of_eight_shops_whose_scattering_drifts_apart);
    return check_done();
}
