/* Candidates: the best opaque mix of the shelf for each of the leather colours (paint/leather.h), alike ones
 * dropped; of them the seventeen that cover the set. Neutrals: the best mix for L* 95, 84, 72, 60, 48, 35,
 * 22; a shelf reaches the ends as far as it can, which is fine: they are measured. */
#include "flow/card_recipes.h"
#include "colour/difference.h"
#include "paint/leather.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { CARD_COLOURS = 17, CARD_NEUTRALS = 7, CARD_MIX_TONERS = 3, CARD_GREY_TONERS = 2 };
static const double neutral_l[CARD_NEUTRALS] = {95, 84, 72, 60, 48, 35, 22};
static const double alike_de00 = 1.5;
static const double least_dose = .01; /* what a small batch can be weighed to */

static enum status best_mix(const struct surroundings *around, const struct match_task *wish, struct lab lab,
                            struct match_recipe *out, struct fault *fault) {
    struct match_task task = *wish;
    struct match_result result;
    task.target = (struct reading){.geometry = wish->shelf->geometry, .lab = lab};
    task.film.geometry = wish->shelf->geometry;
    const enum status status = match_run(&task, around->work, around->arena, &result, fault);
    if (status == STATUS_OK) *out = result.recipe[0];
    return status;
}

static bool is_new(const struct lab seen[], size_t count, struct lab lab) {
    for (size_t i = 0; i < count; i++)
        if (difference_de00(seen[i], lab) < alike_de00) return false;
    return true;
}

static enum status find_neutrals(const struct surroundings *around, const struct match_task *wish,
                                 struct card_recipes *out, struct fault *fault) {
    for (int i = 0; i < CARD_NEUTRALS; i++) {
        const struct lab lab = {neutral_l[i], 0, 0, {LIGHT_D65, OBSERVER_10}};
        struct match_recipe mix;
        const enum status status = best_mix(around, wish, lab, &mix, fault);
        if (status != STATUS_OK) return status;
        const bool again = i > 0 && difference_de00(mix.lab, out->of[out->count - 1].mix.lab) < alike_de00;
        if (again) continue; /* the shelf ends here */
        char id[16];
        snprintf(id, sizeof id, "n%d", i + 1);
        out->of[out->count].patch = arena_text(around->arena, id, strlen(id));
        out->of[out->count++].mix = mix;
    }
    return STATUS_OK;
}

static enum status find_colours(const struct surroundings *around, const struct match_task *wish,
                                struct card_recipes *out, struct fault *fault) {
    struct match_recipe *mix = arena_need(around->arena, LEATHER_COLOURS, sizeof *mix);
    struct lab lab[LEATHER_COLOURS];
    size_t count = 0, chosen[CARD_COLOURS];
    const int greys = out->count;
    for (size_t i = 0; i < LEATHER_COLOURS; i++) {
        const enum status status = best_mix(around, wish, leather_lab(i), &mix[count], fault);
        if (status != STATUS_OK) return status;
        lab[count] = mix[count].lab;
        bool is_grey = false; /* the neutrals have it already */
        for (int g = 0; g < greys; g++)
            is_grey = is_grey || difference_de00(out->of[g].mix.lab, lab[count]) < alike_de00;
        if (!is_grey && is_new(lab, count, lab[count])) count++;
        work_report(around->work, (double)(i + 1) / LEATHER_COLOURS);
    }
    const size_t n = leather_cover(lab, count, CARD_COLOURS, chosen, &out->rms_de00);
    for (size_t i = 0; i < n; i++) {
        char id[24];
        snprintf(id, sizeof id, "c%zu", i + 1);
        out->of[out->count].patch = arena_text(around->arena, id, strlen(id));
        out->of[out->count++].mix = mix[chosen[i]];
    }
    return STATUS_OK;
}

static bool has_recipe(const struct card_recipes *recipes, const char *patch) {
    for (int i = 0; i < recipes->count; i++)
        if (strcmp(recipes->of[i].patch, patch) == 0) return true;
    return false;
}

static void drop_unmade(const struct card_recipes *recipes, struct photo_card *card) {
    int n = 0;
    for (int i = 0; i < card->patches; i++)
        if (card->patch[i].role == PATCH_BLACK_TRAP || has_recipe(recipes, card->patch[i].id))
            card->patch[n++] = card->patch[i];
    card->patches = n;
}

/* Greys are of white and black alone where the shelf has both. */
static void keep_greys(const struct shelf *shelf, struct match_task *task) {
    bool white = false, black = false;
    for (size_t i = 0; i < shelf->count; i++) {
        white = white || shelf->toner[i].role == ROLE_WHITE;
        black = black || shelf->toner[i].role == ROLE_BLACK;
    }
    for (size_t i = 0; i < shelf->count && white && black; i++)
        task->exclude[i] = shelf->toner[i].role == ROLE_COLOUR;
}

enum status card_recipes_find(const struct surroundings *around, const struct shelf *shelf, double batch_g,
                              double scale_step_g, struct photo_card *card, struct card_recipes *out,
                              struct fault *fault) {
    struct match_task task;
    match_task_preset(&task, shelf);
    task.max_toners = CARD_MIX_TONERS;
    task.batch_g = batch_g, task.scale_step_g = scale_step_g;
    task.cost_weight = 0;
    task.light_count = 1;
    task.top = 1;
    *out = (struct card_recipes){0};
    struct match_task grey = task;
    grey.max_toners = CARD_GREY_TONERS;
    keep_greys(shelf, &grey);
    task.minimum_dose = least_dose;
    enum status status = find_neutrals(around, &grey, out, fault);
    if (status == STATUS_OK) status = find_colours(around, &task, out, fault);
    if (status == STATUS_OK) drop_unmade(out, card);
    return status;
}
