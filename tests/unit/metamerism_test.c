/* The special metamerism index on the vectors of tests/data/checks: own Sprague weights within .005, the
 * supplied weights to their digits. */
#include "check_table.h"
#include "colour/metamerism.h"

static struct spectrum standard, metamer, paramer;

static void read_spectra(void) {
    const struct check_table *t = check_table_read("checks/metamer_pair_spectra.csv");
    CHECK(t->rows == BANDS + 1);
    for (int i = 0; i < BANDS; i++) {
        standard.band[i] = t->value[i + 1][1];
        metamer.band[i] = t->value[i + 1][2];
        paramer.band[i] = t->value[i + 1][3];
    }
}

static struct weights supplied(const char *light_text, enum light light) {
    char name[200];
    snprintf(name, sizeof name, "checks/own_E2022_10nm_%s_10deg_400-700.csv", light_text);
    const struct check_table *t = check_table_read(name);
    struct weights w = {.view = {light, OBSERVER_10}};
    struct spectrum diffuser;
    for (int i = 0; i < BANDS; i++) {
        w.x[i] = t->value[i][1], w.y[i] = t->value[i][2], w.z[i] = t->value[i][3];
        diffuser.band[i] = 1;
    }
    w.white = xyz_of(&diffuser, &w);
    return w;
}

static double named_number(const char *text) {
    return strtod(strchr(text, '=') + 1, NULL);
}

static void check_vectors(bool with_supplied, double tolerance) {
    static struct check_table t;
    t = *check_table_read("checks/metamerism_vectors.csv");
    CHECK(t.rows == 8);
    double worst = 0;
    for (int i = 0; i < t.rows; i++) {
        enum light light = LIGHT_D65;
        CHECK(light_from_name(t.text[i][1], &light));
        const struct weights d65 =
            with_supplied ? supplied("D65", LIGHT_D65) : *weights_of((struct view){LIGHT_D65, OBSERVER_10});
        const struct weights test =
            with_supplied ? supplied(t.text[i][1], light) : *weights_of((struct view){light, OBSERVER_10});
        const struct spectrum *sample = strcmp(t.text[i][0], "metamer") == 0 ? &metamer : &paramer;
        double index;
        CHECK(metamerism_index(&standard, sample, &d65, &test, &index));
        CHECK_NEAR(index, named_number(t.text[i][4]), tolerance);
        worst = fmax(worst, fabs(index - named_number(t.text[i][4])));
    }
    printf("  figure: special metamerism index, 8 vectors, %s weights: worst %.2g\n",
           with_supplied ? "supplied" : "own", worst);
}

static void own_weights_within_005(void) {
    check_vectors(false, .005);
}

/* The spectra are printed to 6 decimals, the vectors to 5: one unit of the last digit. */
static void supplied_weights_to_their_digits(void) {
    check_vectors(true, 1e-5);
}

static void the_same_colour_scaled_has_none(void) {
    struct spectrum darker;
    for (int i = 0; i < BANDS; i++) darker.band[i] = .8 * standard.band[i];
    const struct weights *d65 = weights_of((struct view){LIGHT_D65, OBSERVER_10}),
                         *a = weights_of((struct view){LIGHT_A, OBSERVER_10});
    double index;
    CHECK(metamerism_index(&standard, &darker, d65, a, &index));
    CHECK_NEAR(index, 0, 1e-12);
    CHECK(metamerism_index(&standard, &standard, d65, a, &index) && index == 0);
    CHECK(metamerism_index(&standard, &paramer, d65, d65, &index));
    CHECK_NEAR(index, 0, 1e-12);
}

static void black_without_light_has_no_factor(void) {
    const struct spectrum nothing = {{0}};
    const struct weights *d65 = weights_of((struct view){LIGHT_D65, OBSERVER_10}),
                         *a = weights_of((struct view){LIGHT_A, OBSERVER_10});
    double index = 7;
    CHECK(!metamerism_index(&standard, &nothing, d65, a, &index));
    CHECK(index == 0);
}

int main(void) {
    read_spectra();
    RUN(own_weights_within_005);
    RUN(supplied_weights_to_their_digits);
    RUN(the_same_colour_scaled_has_none);
    RUN(black_without_light_has_no_factor);
    return check_done();
}
