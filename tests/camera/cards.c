#include "camera/cards.h"
#include "base/memory.h"
#include "colour/difference.h"
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

/* White and black with a little umber-like brown against the blue of the tint: light to dark. */
static const struct mix neutrals[7] = {
    {"n1", {{"white", 100}}},
    {"n2", {{"white", 100}, {"black", .25}, {"brown-oxide", .12}}},
    {"n3", {{"white", 100}, {"black", .9}, {"brown-oxide", .4}}},
    {"n4", {{"white", 100}, {"black", 2.6}, {"brown-oxide", .9}}},
    {"n5", {{"white", 100}, {"black", 7}, {"brown-oxide", 2.5}}},
    {"n6", {{"white", 100}, {"black", 20}, {"brown-oxide", 6}}},
    {"n7", {{"white", 24}, {"black", 30}, {"brown-oxide", 4}}},
};

static const struct mix colours[17] = {
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
    mass_g[ROOM_BINDER] = sum;
    const struct room_film film = {INFINITY, ROOM_WHITE, GEOMETRY_45_0, 15};
    room_spray(room, mass_g, &film, out);
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
        const int number = (int)strtol(patch->id + 1, NULL, 10);
        if (patch->role == PATCH_BLACK_TRAP)
            for (int b = 0; b < BANDS; b++) truth[i].band[b] = .003;
        else
            spray(room, patch->role == PATCH_NEUTRAL ? &neutrals[number - 1] : &colours[number - 1], 1,
                  &truth[i]);
        know(room, patch, &truth[i]);
    }
}

const char *leather_colour(struct room *room, int i, struct spectrum *out) {
    if (i >= LEATHER_LIKE) { /* the card's kinds of colour, but not its mixes */
        const int k = i - LEATHER_LIKE;
        spray(room, &colours[k % 17], k < 17 ? 1.35 : .7, out);
        return colours[k % 17].name;
    }
    double mass_g[ROOM_MOST];
    assert(i < LEATHERS);
    const struct room_film film = {INFINITY, ROOM_WHITE, GEOMETRY_45_0, 15};
    const char *name = i < ROOM_TARGETS ? room_target(room, (size_t)i, mass_g)
                                        : room_black(room, (size_t)(i - ROOM_TARGETS), mass_g);
    room_spray(room, mass_g, &film, out);
    return name;
}

void card_classic(struct photo_card *card, struct spectrum truth[CARD_PATCHES_MOST]) {
    struct photo_card *chart = memory_need(1, sizeof *chart);
    photo_card_chart24(14, chart);
    photo_card_frame(chart, card);
    memory_free(chart);
    for (int i = 0; i < 24; i++) truth[i] = chart_seen[i];
}
