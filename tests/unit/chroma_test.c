/* Light of coloured material without its gloss: gloss of the torch's own white changes nothing. */
#include "check.h"
#include "surface/chroma.h"

static double light_of(const struct chroma *c, const double v[3]) {
    return c->weight[0] * v[0] + c->weight[1] * v[1] + c->weight[2] * v[2];
}

static void gloss_changes_nothing_on_coloured_material(void) {
    const double cognac[3] = {.24, .105, .045};
    const struct chroma c = chroma_of(cognac);
    CHECK(c.strength > CHROMA_STRONG);
    CHECK_NEAR(light_of(&c, cognac), .13, 1e-12); /* its mean */
    for (double gloss = 0; gloss < .5; gloss += .1) {
        const double v[3] = {.7 * .24 + gloss, .7 * .105 + gloss, .7 * .045 + gloss};
        CHECK_NEAR(light_of(&c, v), .7 * .13, 1e-12);
    }
}

static void grey_and_black_take_all_light(void) {
    const double grey[3] = {.2, .21, .19}, black[3] = {0, 0, 0}, v[3] = {.3, .6, .9};
    CHECK(chroma_of(grey).strength < CHROMA_STRONG);
    const struct chroma c = chroma_of(grey), d = chroma_of(black);
    CHECK_NEAR(light_of(&c, v), .6, 1e-12);
    CHECK_NEAR(light_of(&d, v), .6, 1e-12);
}

int main(void) {
    RUN(gloss_changes_nothing_on_coloured_material);
    RUN(grey_and_black_take_all_light);
    return check_done();
}
