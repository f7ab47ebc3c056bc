#include "camera/cards.h"
#include "base/memory.h"
#include "check.h"
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

struct part {
    const char *id;
    double g;
};
struct mix {
    const char *name;
    struct part part[5];
};

/* What `russet card --kind own` picks from the shelf that the room's usual drawdowns give (20 g, half
 * binder); printed by the program, kept here so that every trial starts at once. */
static const struct mix picked[24] = {
    {"n1", {{"white", 7.99}, {"black", 0.01}}},
    {"n2", {{"white", 7.95}, {"black", 0.05}}},
    {"n3", {{"white", 7.79}, {"black", 0.21}}},
    {"n4", {{"white", 7.44}, {"black", 0.56}}},
    {"n5", {{"white", 6.70}, {"black", 1.30}}},
    {"n6", {{"white", 4.70}, {"black", 3.30}}},
    {"n7", {{"black", 8.00}}},
    {"c1", {{"white", 7.25}, {"brown-oxide", 0.21}, {"yellow", 0.54}}},
    {"c2", {{"brown-oxide", 0.36}, {"yellow-deep", 6.43}, {"orange", 1.21}}},
    {"c3", {{"black", 0.85}, {"orange", 5.77}, {"red", 1.38}}},
    {"c4", {{"black", 0.42}, {"red", 7.58}}},
    {"c5", {{"red", 7.73}, {"ultramarine", 0.27}}},
    {"c6", {{"yellow", 0.20}, {"green", 0.59}, {"ultramarine", 7.21}}},
    {"c7", {{"white", 0.23}, {"yellow", 0.54}, {"ultramarine", 7.23}}},
    {"c8", {{"white", 5.02}, {"brown-oxide", 0.38}, {"ultramarine", 2.60}}},
    {"c9", {{"yellow", 2.18}, {"magenta", 4.20}, {"blue", 1.62}}},
    {"c10", {{"yellow", 4.71}, {"yellow-deep", 1.47}, {"blue", 1.82}}},
    {"c11", {{"white", 0.58}, {"yellow", 1.85}, {"ultramarine", 5.57}}},
    {"c12", {{"yellow-oxide", 1.57}, {"red-oxide", 0.22}, {"yellow", 6.21}}},
    {"c13", {{"white", 3.36}, {"brown-oxide", 3.88}, {"blue", 0.76}}},
    {"c14", {{"white", 6.35}, {"brown-oxide", 1.45}, {"green", 0.20}}},
    {"c15", {{"white", 0.21}, {"magenta", 7.13}, {"violet", 0.66}}},
    {"c16", {{"white", 6.71}, {"red-oxide", 1.06}, {"ultramarine", 0.23}}},
    {"c17", {{"orange", 7.54}, {"green", 0.46}}},
};

/* The kinds of leather that the shelf's own toners are mixed to by hand. */
static const struct mix kinds[17] = {
    {"cream", {{"white", 100}, {"yellow-oxide", 6}}},
    {"sand", {{"white", 100}, {"yellow-oxide", 22}, {"brown-oxide", 6}}},
    {"tan", {{"white", 45}, {"yellow-oxide", 50}, {"red-oxide", 8}, {"black", .6}}},
    {"cognac", {{"yellow-oxide", 60}, {"red-oxide", 12}, {"orange", 10}, {"black", .8}}},
    {"saddle", {{"brown-oxide", 40}, {"yellow-oxide", 40}, {"white", 8}}},
    {"brown", {{"brown-oxide", 70}, {"yellow-oxide", 12}, {"black", 2}}},
    {"dark brown", {{"brown-oxide", 60}, {"black", 10}}},
    {"brown black", {{"brown-oxide", 30}, {"black", 40}}},
    {"red", {{"red", 60}, {"red-oxide", 14}}},
    {"oxblood", {{"red-oxide", 40}, {"magenta", 14}, {"black", 5}}},
    {"burgundy", {{"magenta", 30}, {"black", 12}}},
    {"navy", {{"ultramarine", 40}, {"black", 10}, {"white", 3}}},
    {"blue", {{"blue", 3}, {"ultramarine", 24}, {"white", 40}, {"black", 5}}},
    {"green", {{"green", 14}, {"yellow-oxide", 30}, {"black", 5}}},
    {"olive", {{"yellow-oxide", 40}, {"black", 5}, {"green", 2}, {"white", 20}}},
    {"blue grey", {{"white", 60}, {"ultramarine", 12}, {"black", 4}}},
    {"warm grey", {{"white", 50}, {"brown-oxide", 14}, {"black", 3}}},
};

static void spray(struct room *room, const struct mix *mix, double much, struct spectrum *out) {
    double mass_g[ROOM_MOST] = {0}, sum = 0;
    for (int i = 0; i < 5 && mix->part[i].id; i++) {
        const double g = mix->part[i].g * (i % 2 ? much : 1 / much);
        mass_g[room_find(room, mix->part[i].id)] += g;
        sum += g;
    }
    mass_g[ROOM_BINDER] = 1.5 * sum;
    const struct room_film film = {INFINITY, ROOM_WHITE, GEOMETRY_45_0, 15};
    room_spray(room, mass_g, &film, out);
}

static const struct mix *pick_of(const char *patch) {
    for (int i = 0; i < 24; i++)
        if (strcmp(picked[i].name, patch) == 0) return &picked[i];
    assert(false);
    return picked;
}

static void know(struct room *room, struct photo_patch *patch, const struct spectrum *truth) {
    patch->reflectance = *truth;
    if (room) room_read(room, &patch->reflectance);
    patch->known = KNOWN_SPECTRUM;
    patch->lab = lab_of_spectrum(&patch->reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
}

void card_own(struct room *room, struct photo_card *card, struct spectrum truth[CARD_PATCHES_MOST]) {
    photo_card_own(card);
    for (int i = 0; i < card->patches; i++) {
        struct photo_patch *patch = &card->patch[i];
        if (patch->role == PATCH_BLACK_TRAP)
            for (int b = 0; b < BANDS; b++) truth[i].band[b] = .003;
        else
            spray(room, pick_of(patch->id), 1, &truth[i]);
        know(room, patch, &truth[i]);
    }
}

const char *leather_colour(struct room *room, int i, struct spectrum *out) {
    if (i >= LEATHER_LIKE) { /* the card's kinds of colour, but not its mixes */
        const int k = i - LEATHER_LIKE;
        spray(room, &kinds[k % 17], k < 17 ? 1.35 : .7, out);
        return kinds[k % 17].name;
    }
    double mass_g[ROOM_MOST];
    assert(i < LEATHERS);
    const struct room_film film = {INFINITY, ROOM_WHITE, GEOMETRY_45_0, 15};
    const char *name = i < ROOM_TARGETS ? room_target(room, (size_t)i, mass_g)
                                        : room_black(room, (size_t)(i - ROOM_TARGETS), mass_g);
    room_spray(room, mass_g, &film, out);
    return name;
}

/* A chart differs from the mean of many by print and age: a smooth change of 2 % (about .7 dE00). */
static void a_chart_at_hand(const struct spectrum *mean, unsigned long long *random, struct spectrum *out) {
    double bend[3];
    for (int k = 0; k < 3; k++) {
        double sum = -6;
        for (int i = 0; i < 12; i++) sum += check_random(random);
        bend[k] = .02 * sum / sqrt(2);
    }
    for (int b = 0; b < BANDS; b++) {
        const double t = 3.14159265358979 * (b + .5) / BANDS;
        out->band[b] = mean->band[b] * exp(bend[0] + bend[1] * cos(t) + bend[2] * cos(2 * t));
    }
}

void card_classic(struct photo_card *card, struct spectrum truth[CARD_PATCHES_MOST]) {
    struct photo_card *chart = memory_need(1, sizeof *chart);
    photo_card_chart24(14, chart);
    photo_card_frame(chart, card);
    memory_free(chart);
    unsigned long long random = 5;
    for (int i = 0; i < 24; i++) a_chart_at_hand(&chart_seen[i], &random, &truth[i]);
}
