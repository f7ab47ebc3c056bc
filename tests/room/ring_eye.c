#include "room/ring_eye.h"
#include "colour/difference.h"
#include <stdio.h>
#include <stdlib.h>

static const double DAB_G = 2;

struct lab ring_eye_sees(const struct spectrum *r) {
    return lab_of_spectrum(r, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
}

static double sum_of(const double *g) {
    double sum = 0;
    for (int i = 0; i < ROOM_MOST; i++) sum += g[i];
    return sum;
}

/* A dab as it really is: its share of the pot, and the pinches as the scale lets through. */
static struct lab see_dab(const struct pot_shop *shop, const struct pot *pot, const struct dab *dab) {
    struct pot small = {0};
    struct spectrum seen;
    for (int i = 0; i < ROOM_MOST; i++) small.real_g[i] = pot->real_g[i] / sum_of(pot->real_g) * dab->pot_g;
    struct addition poured[ADJUST_ADDITIONS_MOST];
    for (size_t i = 0; i < dab->count; i++) {
        poured[i] = dab->addition[i];
        if (dab->let_down[i]) poured[i].mass_g /= RING_LET_DOWN;
    }
    struct pot pinch = {0};
    pot_pour(shop, &pinch, poured, dab->count);
    for (size_t i = 0; i < dab->count; i++) /* of a let-down a tenth is toner; its binder stands beside it */
        if (dab->let_down[i]) pinch.real_g[dab->addition[i].toner] *= RING_LET_DOWN;
    for (int i = 0; i < ROOM_MOST; i++) small.real_g[i] += pinch.real_g[i];
    pot_spectrum(shop, &small, &seen);
    return ring_eye_sees(&seen);
}

/* The eye's answer: one dab, or two. */
static size_t judge(const struct pot_shop *shop, const struct pot *pot, const struct ring *ring,
                    struct lab part, int nearest[2]) {
    double seen[RING_DABS_MOST];
    int best = 0, next = -1;
    for (int i = 0; i < (int)ring->count; i++) {
        seen[i] =
            difference_de00(part, see_dab(shop, pot, &ring->dab[i])) + EYE_NOISE * room_normal(shop->room);
        if (seen[i] < seen[best]) best = i;
    }
    for (int i = 0; i < (int)ring->count; i++)
        if (i != best && (next < 0 || seen[i] < seen[next])) next = i;
    nearest[0] = best, nearest[1] = next;
    return next >= 0 && seen[next] - seen[best] < EYE_THRESHOLD ? 2 : 1;
}

double ring_eye_off(const struct pot_shop *shop, const struct pot *pot, struct lab part) {
    struct spectrum seen;
    pot_spectrum(shop, pot, &seen);
    return difference_de00(part, ring_eye_sees(&seen));
}

static void must(enum status status, const struct fault *fault) {
    if (status == STATUS_OK) return;
    fprintf(stderr, "%s\n", fault->text);
    abort();
}

void ring_eye_once(struct pot_shop *shop, const struct match_task *task, struct pot *pot, struct lab part,
                   struct heard *story, size_t *heard, double *told) {
    struct arena *arena = arena_new();
    struct adjust_task ask = {.match = *task,
                              .pot_g = pot->written_g,
                              .taken_g = pot->taken_g,
                              .pot_limit_g = 120,
                              .tolerance = 0.5,
                              .doubt = doubt_usual};
    struct fault fault = {0};
    struct ring ring;
    struct ring_answer answer;
    int nearest[2];
    const struct ring_story so_far = {story, *heard};
    must(ring_run(&ask, DAB_G, 0, so_far, NULL, arena, &ring, &fault), &fault);
    const size_t named = judge(shop, pot, &ring, part, nearest);
    const double left = sum_of(pot->real_g);
    for (int i = 0; i < ROOM_MOST; i++) pot->real_g[i] *= 1 - ring.spends_g / left;
    pot->taken_g += ring.spends_g;
    ask.taken_g = pot->taken_g;
    must(ring_hear(&ask, &ring, so_far, nearest, named, NULL, arena, &answer, &fault), &fault);
    pot_pour(shop, pot, answer.addition, answer.count);
    story[(*heard)++] = answer.heard;
    *told = answer.rest_de00;
    arena_free(arena);
}
