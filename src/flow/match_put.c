#include "flow/match_put.h"
#include "colour/difference.h"
#include "formats/bench_json.h"
#include "formats/json_out.h"
#include <math.h>

static int decimals_of(double step) {
    int n = 0;
    while (n < 6 && fabs(step - floor(step + .5)) > 1e-9 * step) {
        step *= 10;
        n++;
    }
    return n;
}

static void put_or_null(json_t *object, const char *key, double value, int digits) {
    if (isfinite(value))
        json_put_number(object, key, value, digits);
    else
        json_put_null(object, key);
}

static const char *light_of(const struct match_task *task, size_t i) {
    return light_name(task->light[i]->view.light);
}

/* Of a target that is only estimated: the difference to the middle of the estimate. What is to be expected
 * over all of it, by which recipes are ranked, is not got rid of by any recipe, so it cannot be what tells
 * whether one is inside the tolerance. */
static bool by_the_middle(const struct match_recipe *recipe, const struct match_task *task, double *de00) {
    const struct reading *target = &task->target;
    const struct view first = task->light[0]->view;
    if (!(target->has_cov || target->has_band) || first.light != LIGHT_D65 || first.observer != OBSERVER_10)
        return false;
    const struct lab middle =
        target->has_spectrum ? lab_of_spectrum(&target->reflectance, task->light[0]) : target->lab;
    *de00 = difference_de00(middle, recipe->lab);
    return true;
}

double match_first_de00(const struct match_recipe *recipe, const struct match_task *task) {
    double de00;
    if (task->light_count > 0 && by_the_middle(recipe, task, &de00)) return de00;
    for (size_t i = 0; i < task->light_count; i++)
        if (!isnan(recipe->de00[i])) return recipe->de00[i];
    /* a Lab-only target under lights without daylight: F is its dE00 but for the cost */
    return recipe->f - task->cost_weight * recipe->cost;
}

static json_t *parts_json(const struct match_recipe *r, const struct match_task *task) {
    json_t *parts = json_array();
    int digits = decimals_of(task->scale_step_g);
    for (size_t i = 0; i < r->recipe.count; i++)
        if (r->let_down[i]) digits = decimals_of(task->scale_step_g / MATCH_LET_DOWN);
    for (size_t i = 0; i < r->recipe.count; i++) {
        json_t *part = json_object();
        json_put_text(part, "toner", task->shelf->toner[r->recipe.toner[i]].id);
        json_put_number(part, "mass_fraction", r->recipe.part[i], DIGITS_FRACTION);
        json_put_number(part, "g", r->recipe.mass_g[i], digits);
        put_or_null(part, "ml", r->ml[i] > 0 ? r->ml[i] : (double)NAN, digits);
        json_put_flag(part, "hard_to_weigh", r->hard_to_weigh[i]);
        if (r->let_down[i]) json_put_flag(part, "let_down", true);
        json_array_append_new(parts, part);
    }
    return parts;
}

static json_t *by_light(const struct match_task *task, const double value[], size_t first) {
    json_t *object = json_object();
    for (size_t i = first; i < task->light_count; i++)
        put_or_null(object, light_of(task, i), value[i], DIGITS_LAB);
    return object;
}

static void put_hiding(json_t *object, const struct match_recipe *r, const struct match_task *task) {
    put_or_null(object, "contrast_ratio", r->contrast_ratio, DIGITS_FRACTION);
    put_or_null(object, "film_um_to_hide", r->film_um_to_hide, 2);
    if (isnan(r->film_um_to_hide))
        json_put_null(object, "hides");
    else
        json_put_flag(object, "hides", isfinite(r->film_um_to_hide));
    if (isfinite(r->film_um_to_hide))
        json_put_count(object, "coats_to_hide", (long long)predict_coats(r->film_um_to_hide, task->coat_um));
    else
        json_put_null(object, "coats_to_hide");
}

static json_t *recipe_json(const struct match_recipe *r, const struct match_task *task, size_t rank) {
    json_t *object = json_object();
    json_put_count(object, "rank", (long long)rank);
    json_put(object, "parts", parts_json(r, task));
    json_put_number(object, "f", r->f, DIGITS_LAB);
    json_put(object, "de00", by_light(task, r->de00, 0));
    json_put_number(object, "cost", r->cost, DIGITS_LAB);
    put_or_null(object, "rms_percent", r->rms_percent, DIGITS_LAB);
    json_put(object, "lab", json_lab(r->lab));
    json_put(object, "reflectance", json_spectrum(&r->reflectance));
    json_put(object, "metamerism", by_light(task, r->metamerism, 1));
    put_hiding(object, r, task);
    json_put_number(object, "weighing_de00_p95", r->weighing_de00_p95, DIGITS_LAB);
    json_put_number(object, "weighing_de00_p95_let_down", r->weighing_de00_p95_let_down, DIGITS_LAB);
    json_put_number(object, "min_batch_g", r->min_batch_g, decimals_of(task->scale_step_g));
    if (r->price_minor < 0)
        json_put_null(object, "price_minor");
    else
        json_put_count(object, "price_minor", r->price_minor);
    json_put_text(object, "currency",
                  task->shelf->currency[0] && r->price_minor >= 0 ? task->shelf->currency : NULL);
    return object;
}

static json_t *search_json(const struct match_search *search) {
    json_t *object = json_object();
    json_put_count(object, "subsets", (long long)search->subsets);
    json_put_count(object, "refined", (long long)search->refined);
    json_put_flag(object, "audited", search->audited);
    return object;
}

static void put_bench(json_t *object, const struct match_task *task, const struct match_result *result) {
    bool used[SHELF_MOST] = {false};
    for (size_t r = 0; r < result->count; r++)
        for (size_t i = 0; i < result->recipe[r].recipe.count; i++)
            used[result->recipe[r].recipe.toner[i]] = true;
    bench_put(object, task->shelf, used, &task->film, &task->target);
    json_t *bench = json_object_get(object, "bench"), *backings = json_array(), *lights = json_array();
    for (size_t i = 0; i < task->backing_count; i++)
        json_array_append_new(backings, json_spectrum(&task->backing[i]));
    for (size_t i = 0; i < task->light_count; i++)
        json_array_append_new(lights, json_string(light_of(task, i)));
    json_put(bench, "backings", backings);
    json_put(bench, "lights", lights);
    json_put(bench, "weights", json_numbers(task->light_weight, task->light_count, DIGITS_FRACTION));
    json_put_number(bench, "scale_step_g", task->scale_step_g, DIGITS_FRACTION);
    json_put_number(bench, "batch_g", task->batch_g, DIGITS_FRACTION);
    json_put_number(bench, "coat_um", task->coat_um, DIGITS_LAB);
    json_put_text(bench, "binder", result->binder >= 0 ? task->shelf->toner[result->binder].id : NULL);
}

void match_put(json_t *object, const struct match_task *task, const struct match_result *result,
               double tolerance) {
    json_t *recipes = json_array();
    for (size_t i = 0; i < result->count; i++)
        json_array_append_new(recipes, recipe_json(&result->recipe[i], task, i + 1));
    json_put(object, "recipes", recipes);
    json_put_number(object, "tolerance_de00", tolerance, DIGITS_LAB);
    json_put_flag(object, "inside_tolerance", match_first_de00(&result->recipe[0], task) <= tolerance);
    json_put(object, "search", search_json(&result->search));
    put_bench(object, task, result);
}
