/* The truth of these tests is a shelf whose curves were bent by known factors: what the calibration must find
 * again. */
#include "check.h"
#include "colour/difference.h"
#include "paint/calibrate.h"

/* Cards without noise from the model itself: trusted more than the usual ones. */
static const struct doubt sure = {.strength_sd = 0.08,
                                  .scatter_sd = 0.04,
                                  .shape_sd = 0.03,
                                  .film_sd = 0.05,
                                  .noise_floor = 3e-4,
                                  .noise_share = 0.004};

enum { TONERS = 5, CARDS = 12 };

static struct toner shelf_toner[TONERS], true_toner[TONERS];
static struct shelf shelf = {
    .count = TONERS, .toner = shelf_toner, .geometry = GEOMETRY_SCI, .surface = {.k1 = 0.04, .k2 = 0.6}};
static struct shelf truth = {
    .count = TONERS, .toner = true_toner, .geometry = GEOMETRY_SCI, .surface = {.k1 = 0.04, .k2 = 0.6}};
static double part[CARDS][TONERS];
static struct card card[CARDS];

/* white, black, yellow, red, binder: smooth invented curves per um. */
static void make_shelf(void) {
    static const char *const id[TONERS] = {"white", "black", "yellow", "red", "binder"};
    for (int i = 0; i < TONERS; i++) {
        snprintf(shelf_toner[i].id, sizeof shelf_toner[i].id, "%s", id[i]);
        for (int b = 0; b < BANDS; b++) {
            const double nm = 400 + 10 * b;
            const double edge = 1 / (1 + exp((nm - (i == 2 ? 500 : 600)) / 12));
            shelf_toner[i].k[b] = i == 0 ? 2e-4 : i == 1 ? 0.6 : i == 4 ? 1e-5 : 0.002 + 0.25 * edge;
            shelf_toner[i].s[b] = i == 0 ? 0.45 : i == 1 ? 0.01 : i == 4 ? 0 : 0.06;
        }
    }
    memcpy(true_toner, shelf_toner, sizeof true_toner);
}

static void make_cards(double film_um, unsigned long long seed) {
    for (int c = 0; c < CARDS; c++) {
        double sum = 0;
        for (int i = 0; i < TONERS; i++)
            sum += part[c][i] = (i == 4 ? 0.5 : 1) * (0.05 + check_random(&seed)) * (i == 1 ? 0.1 : 1);
        for (int i = 0; i < TONERS; i++) part[c][i] /= sum;
        card[c] = (struct card){.part = part[c],
                                .film = {.film_um = film_um, .geometry = GEOMETRY_SCI, .sheen_gu = NAN}};
        for (int b = 0; b < BANDS; b++) card[c].film.backing.band[b] = 0.3;
        predict_reflectance(&truth, part[c], &card[c].film, &card[c].measured);
    }
}

static void strengths_are_found_again(void) {
    static const double factor[TONERS] = {1.05, 0.92, 1.1, 0.95, 1};
    make_shelf();
    for (int i = 0; i < TONERS; i++)
        for (int b = 0; b < BANDS; b++) true_toner[i].k[b] *= factor[i], true_toner[i].s[b] *= factor[i];
    make_cards(30, 5);
    struct calibration *c = calibration_new(&shelf, card, CARDS, 1, &sure);
    for (size_t i = 0; i < 4; i++) {
        double sd;
        CHECK_NEAR(calibration_strength(c, i, 0, &sd), log(factor[i]), 0.02);
        CHECK(sd > 0 && sd < 0.06);
    }
    for (size_t i = 0; i < CARDS; i++) CHECK_AT_MOST(calibration_card_de00(c, i), 0.1);
    calibration_free(c);
}

static void a_bent_curve_is_learnt_as_shape_and_not_as_strength(void) {
    make_shelf();
    for (int b = 0; b < BANDS; b++) true_toner[3].k[b] *= exp(0.05 * cos(M_PI * 2 * (b + 0.5) / BANDS));
    make_cards(30, 6);
    struct calibration *c = calibration_new(&shelf, card, CARDS, 1, &sure);
    double sd;
    CHECK_NEAR(calibration_strength(c, 3, 0, &sd), 0, 0.02);
    struct shelf learnt = shelf;
    struct toner toner[TONERS];
    learnt.toner = toner;
    calibration_apply(c, 0, &learnt);
    for (int b = 4; b < 18; b++) CHECK_NEAR(toner[3].k[b] / true_toner[3].k[b], 1, 0.03);
    calibration_free(c);
}

/* One thick card among twelve; if all were thick, the toners would rightly be taken for stronger. */
static void a_thick_film_is_not_taken_for_a_strong_toner(void) {
    make_shelf();
    make_cards(12, 7);
    struct film_case thick = card[3].film;
    thick.film_um = 12 * 1.08;
    predict_reflectance(&truth, part[3], &thick, &card[3].measured);
    struct calibration *c = calibration_new(&shelf, card, CARDS, 1, &sure);
    CHECK(log(calibration_film_factor(c, 3)) > 0.03); /* the prior's 5 % pulls it in */
    CHECK_NEAR(log(calibration_film_factor(c, 4)), 0, 0.01);
    for (size_t i = 0; i < CARDS; i++) CHECK_AT_MOST(calibration_card_de00(c, i), 0.1);
    calibration_free(c);
}

static void lots_are_kept_apart(void) {
    static int lots[CARDS][TONERS];
    make_shelf();
    make_cards(30, 8);
    for (int i = 0; i < CARDS; i++) {
        lots[i][2] = i % 2;
        card[i].lot = lots[i];
        for (int b = 0; b < BANDS; b++) {
            true_toner[2].k[b] = shelf_toner[2].k[b] * (i % 2 ? 1.1 : 1);
            true_toner[2].s[b] = shelf_toner[2].s[b] * (i % 2 ? 1.1 : 1);
        }
        predict_reflectance(&truth, part[i], &card[i].film, &card[i].measured);
    }
    struct calibration *c = calibration_new(&shelf, card, CARDS, 2, &sure);
    double sd;
    const double difference = calibration_strength(c, 2, 1, &sd) - calibration_strength(c, 2, 0, &sd);
    CHECK_NEAR(difference, log(1.1), 0.025);
    calibration_free(c);
}

static void without_a_card_the_doubt_of_the_shelf_remains(void) {
    make_shelf();
    make_cards(30, 9);
    double cov[3][3], later[3][3];
    struct calibration *prior = calibration_new(&shelf, NULL, 0, 1, &sure);
    calibration_lab_cov(prior, part[0], &card[0].film, 0, cov);
    calibration_free(prior);
    struct calibration *after = calibration_new(&shelf, card, 1, 1, &sure);
    calibration_lab_cov(after, part[0], &card[0].film, 0, later);
    calibration_free(after);
    for (int i = 0; i < 3; i++) CHECK(cov[i][i] > 4 * later[i][i] && later[i][i] > 0);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) CHECK_NEAR(cov[i][j], cov[j][i], 1e-9);
}

int main(void) {
    RUN(strengths_are_found_again);
    RUN(a_bent_curve_is_learnt_as_shape_and_not_as_strength);
    RUN(a_thick_film_is_not_taken_for_a_strong_toner);
    RUN(lots_are_kept_apart);
    RUN(without_a_card_the_doubt_of_the_shelf_remains);
    return check_done();
}
