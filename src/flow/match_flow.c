/* `russet match`: reads the shelf, the target and the wishes; matches; says no with its reasons when the best
 * is over the tolerance. */
#include "base/text.h"
#include "flow/match_put.h"
#include "flow/match_task_flow.h"
#include "flow/note.h"
#include "flow/place.h"
#include "flow/pot_flow.h"
#include "formats/about_json.h"
#include "formats/json_out.h"
#include "paint/calibrate.h"
#include "paint/match_doubt.h"
#include <math.h>
#include <string.h>

extern operation_flow match_flow;

/* dE00 for a sentence. */
#define DE_TEXT(x) de_text((char[40]){0}, (x))
static const char *de_text(char out[40], double x) {
    snprintf(out, 40, "%.2f", x);
    return out;
}

/* ---- wishes ---- */

static int binder_of(const struct shelf *shelf) {
    for (size_t i = 0; i < shelf->count; i++)
        if (shelf->toner[i].role == ROLE_BINDER) return (int)i;
    return -1;
}

static enum status read_binder(const struct request *request, struct match_task *task, struct fault *fault) {
    size_t count;
    const double *number = request_numbers(request, "--binder-fraction", &count);
    if (count == 0) return STATUS_OK;
    if (count > 2) return FAULT(fault, MATCH_BINDER_NUMBERS, COUNT_TEXT((long long)count));
    if (binder_of(task->shelf) < 0) return FAULT0(fault, MATCH_NO_BINDER);
    task->binder_low = number[0];
    task->binder_high = number[count - 1];
    return STATUS_OK;
}

static enum status read_most(const struct request *request, struct match_task *task, struct fault *fault) {
    size_t count;
    const struct part_text *part = request_parts(request, "--most", &count);
    for (size_t i = 0; i < count; i++) {
        const int at = shelf_find(task->shelf, part[i].id);
        if (at < 0) return unknown_toner(task->shelf, "--most", part[i].id, fault);
        if (at == binder_of(task->shelf)) return FAULT(fault, MATCH_BINDER_NOT_SO, part[i].id);
        task->most[at] = part[i].value;
    }
    return STATUS_OK;
}

static enum status read_stock(const struct surroundings *around, const struct request *request,
                              struct match_task *task, json_t *reply, struct fault *fault) {
    struct bytes bytes;
    struct fault note;
    bool noted = false;
    const char *path = request_text(request, "--stock");
    if (!path) return STATUS_OK;
    enum status status = disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, fault);
    if (status == STATUS_OK) status = stock_read(&bytes, task->shelf, task->stock_g, &noted, &note, fault);
    if (status == STATUS_OK && noted) json_add_note(reply, &note);
    return status;
}

/* The batch is a whole number of the scale's steps. */
static void read_batch(const struct request *request, struct match_task *task, json_t *reply) {
    const double wanted = request_number(request, "--batch-g", task->batch_g),
                 steps = floor(wanted / task->scale_step_g + .5);
    task->batch_g = wanted;
    if (steps < 1 || fabs(steps * task->scale_step_g - wanted) <= 1e-9 * wanted) return;
    task->batch_g = steps * task->scale_step_g;
    NOTE(reply, MATCH_NOTE_BATCH, NUMBER_TEXT(wanted), NUMBER_TEXT(task->batch_g));
}

static enum status read_wishes(const struct surroundings *around, const struct request *request,
                               struct match_task *task, json_t *reply, struct fault *fault) {
    enum status status = toners_from_request(request, "--require", task->shelf, task->require, fault);
    const int binder = binder_of(task->shelf);
    if (status == STATUS_OK && binder >= 0 && task->require[binder])
        status = FAULT(fault, MATCH_BINDER_NOT_SO, task->shelf->toner[binder].id);
    if (status == STATUS_OK) status = read_binder(request, task, fault);
    if (status == STATUS_OK) status = read_most(request, task, fault);
    if (status == STATUS_OK) status = read_stock(around, request, task, reply, fault);
    task->max_toners = (size_t)request_number(request, "--max-toners", MATCH_TONERS_MOST);
    task->minimum_dose = request_number(request, "--minimum-dose", 0);
    task->top = (size_t)request_number(request, "--top", 10);
    task->audit = request_flag(request, "--audit");
    task->bench_order = task->let_downs = true;
    task->film_most_um = fmax(task->film_most_um - request_number(request, "--old-film-um", 0), 0);
    task->tolerance = request_number(request, "--tolerance", 1);
    read_batch(request, task, reply);
    return status;
}

/* ---- why not ---- */

/* First-light dE00 of another match; INFINITY when it has none. */
static double other_de00(const struct match_task *task, const struct surroundings *around) {
    struct match_result *result = arena_need(around->arena, 1, sizeof *result);
    if (match_run(task, around->work, around->arena, result, NULL) != STATUS_OK) return (double)INFINITY;
    return match_first_de00(&result->recipe[0], task);
}

static struct match_task *varied(const struct match_task *task, struct arena *arena) {
    struct match_task *other = arena_need(arena, 1, sizeof *other);
    *other = *task;
    other->top = 1;
    other->audit = false;
    other->on_grid = false;
    return other;
}

/* "lighter, redder": from the recipe to the target. */
static void say_lack(const struct match_recipe *r, const struct match_task *task, char out[80]) {
    const double d[3] = {task->target.lab.l - r->lab.l, task->target.lab.a - r->lab.a,
                         task->target.lab.b - r->lab.b};
    static const char *const name[3][2] = {
        {"darker", "lighter"}, {"greener", "redder"}, {"bluer", "yellower"}};
    const double most = fmax(fabs(d[0]), fmax(fabs(d[1]), fabs(d[2])));
    size_t at = 0;
    out[0] = 0;
    for (int i = 0; i < 3; i++)
        if (fabs(d[i]) >= .4 * most)
            at += (size_t)snprintf(out + at, 80 - at, "%s%s", at ? ", " : "", name[i][d[i] > 0]);
}

static bool is_held_back(const struct match_task *task) {
    bool held = task->minimum_dose > 0;
    for (size_t i = 0; i < task->shelf->count; i++)
        held |= task->require[i] || task->exclude[i] || task->most[i] < 1 || isfinite(task->stock_g[i]);
    return held;
}

static struct match_task *let_loose(const struct match_task *task, struct arena *arena) {
    struct match_task *other = varied(task, arena);
    other->minimum_dose = 0;
    for (size_t i = 0; i < SHELF_MOST; i++) {
        other->require[i] = other->exclude[i] = false;
        other->most[i] = 1;
        other->stock_g[i] = (double)INFINITY;
    }
    return other;
}

/* Each reason is tried: the same match without the scale, in a film that hides, for the first light alone,
 * without the wishes. */
static void say_why_not(const struct surroundings *around, const struct match_task *task,
                        const struct match_recipe *best, double tolerance, json_t *reply) {
    struct match_task *other = varied(task, around->arena);
    size_t reasons = 0;
    double de = other_de00(other, around);
    if (de <= tolerance) NOTE(reply, MATCH_NO_WEIGHING, DE_TEXT(de)), reasons++;
    other->film.film_um = (double)INFINITY;
    if (isfinite(task->film.film_um) && (de = other_de00(other, around)) <= tolerance)
        NOTE(reply, MATCH_NO_HIDING, DE_TEXT(de)), reasons++;
    other->film = task->film;
    other->light_count = 1;
    if (!reasons && task->light_count > 1 && task->target.has_spectrum &&
        (de = other_de00(other, around)) <= tolerance)
        NOTE(reply, MATCH_NO_LIGHTS, light_name(task->light[0]->view.light), DE_TEXT(de)), reasons++;
    if (is_held_back(task) && (de = other_de00(let_loose(task, around->arena), around)) <= tolerance)
        NOTE(reply, MATCH_NO_BOUNDS, DE_TEXT(de)), reasons++;
    if (reasons) return;
    char lack[80];
    say_lack(best, task, lack);
    NOTE(reply, MATCH_NO_GAMUT, DE_TEXT(match_first_de00(best, task)), lack);
}

/* ---- notes that ride along ---- */

static const double guessed_sd = .5; /* of ln strength: never seen .7, two photographed dabs .2 to .4 */

/* A recipe of toners that only a label named: nobody has seen them. */
static bool is_guessed(const struct match_task *task, const struct match_recipe *recipe) {
    bool guessed = false;
    for (size_t i = 0; i < recipe->recipe.count; i++) {
        const struct toner *toner = &task->shelf->toner[recipe->recipe.toner[i]];
        guessed =
            guessed || (toner->role != ROLE_BINDER && toner->prior.on && toner->strength_sd > guessed_sd);
    }
    return guessed;
}

static bool has_binder(const struct shelf *shelf) {
    bool has = false;
    for (size_t i = 0; i < shelf->count; i++) has = has || shelf->toner[i].role == ROLE_BINDER;
    return has;
}

static const char *um_text(char out[40], const struct match_recipe *recipe) {
    if (isfinite(recipe->film_um_to_hide))
        snprintf(out, 40, "%.0f µm", recipe->film_um_to_hide);
    else
        snprintf(out, 40, "more than 1 mm");
    return out;
}

/* Toners that were asked for and are there for that alone, at the least that they may be. */
static void note_tokens(const struct match_task *task, const struct match_recipe *best, json_t *reply) {
    const double least_g = fmax(task->scale_step_g, task->minimum_dose * task->batch_g);
    for (size_t i = 0; i < best->recipe.count; i++)
        if (task->require[best->recipe.toner[i]] && best->recipe.mass_g[i] < least_g + task->scale_step_g / 2)
            NOTE(reply, MATCH_NOTE_TOKEN, task->shelf->toner[best->recipe.toner[i]].id,
                 NUMBER_TEXT(best->recipe.mass_g[i]));
}

static bool is_shown(const struct shelf *shelf, int toner) {
    bool shown = shelf->toner[toner].role == ROLE_BINDER;
    for (size_t i = 0; i < shelf->cards; i++) shown = shown || shelf->card[i].part[toner] > 0;
    return shown;
}

static const double UNSURE = .5; /* dE00 (one sd) from which a first card is worth a small cup */

/* A shelf that has learnt knows how far its cards leave the first recipe unsure. */
static void note_unsure(const struct match_task *task, const struct match_recipe *best, json_t *reply) {
    if (task->shelf->cards == 0) return;
    struct match_task judged = *task;
    struct calibration *sure = calibration_of_shelf(task->shelf, &doubt_learning);
    struct text names = {0};
    double part[SHELF_MOST];
    judged.sure = sure;
    recipe_spread(&best->recipe, task->shelf, part);
    const double spread = match_spread(&judged, part);
    calibration_free(sure);
    if (spread < UNSURE) return;
    for (size_t i = 0; i < best->recipe.count; i++)
        if (!is_shown(task->shelf, best->recipe.toner[i]))
            text_format(&names, "%s%s", names.length ? ", " : "",
                        task->shelf->toner[best->recipe.toner[i]].id);
    if (names.length)
        NOTE(reply, MATCH_NOTE_UNSEEN, names.data, DE_TEXT(spread));
    else
        NOTE(reply, MATCH_NOTE_UNSURE, DE_TEXT(spread));
    text_free(&names);
}

/* An opaque film may be mixed as rich as the limits allow: how soon the first recipe then hides. */
static void note_less_binder(const struct match_task *task, const struct match_recipe *best, int binder,
                             json_t *reply) {
    const struct shelf *shelf = task->shelf;
    double part[SHELF_MOST];
    recipe_spread(&best->recipe, shelf, part);
    if (binder < 0 || !isfinite(best->film_um_to_hide) || part[binder] < task->binder_low + .02) return;
    const double now = part[binder], more = (1 - task->binder_low) / (1 - now);
    for (size_t i = 0; i < shelf->count; i++) {
        part[i] *= (int)i == binder ? task->binder_low / now : more;
        if (part[i] > fmin(task->most[i], task->stock_g[i] / task->batch_g)) return;
    }
    const double film = predict_film_to_hide(shelf, part, task->film.geometry, task->film.sheen_gu,
                                             task->backing, task->backing_count);
    const double coats = predict_coats(film, task->coat_um);
    if (coats >= predict_coats(best->film_um_to_hide, task->coat_um)) return;
    NOTE(reply, MATCH_NOTE_LESS_BINDER, NUMBER_TEXT(round(100 * now)),
         NUMBER_TEXT(round(100 * task->binder_low)), NUMBER_TEXT(task->binder_low), NUMBER_TEXT(coats),
         NUMBER_TEXT(round(film)));
}

/* A stock that is silent of a toner does not limit it: many shops keep no lots of some. */
static void note_silent_stock(const struct match_task *task, const struct match_result *result,
                              json_t *reply) {
    struct text silent = {0};
    bool said[SHELF_MOST] = {false};
    for (size_t r = 0; r < result->count; r++)
        for (size_t i = 0; i < result->recipe[r].recipe.count; i++) {
            const int toner = result->recipe[r].recipe.toner[i];
            if (isfinite(task->stock_g[toner]) || said[toner]) continue;
            said[toner] = true;
            text_format(&silent, "%s%s", silent.length ? ", " : "", task->shelf->toner[toner].id);
        }
    if (silent.length) NOTE(reply, MATCH_NOTE_STOCK_SILENT, silent.data);
    text_free(&silent);
}

static bool note_let_downs(const struct match_task *task, const struct match_recipe *best, json_t *reply) {
    for (size_t i = 0; i < best->recipe.count; i++)
        if (best->let_down[i]) {
            NOTE(reply, MATCH_NOTE_LET_DOWN, task->shelf->toner[best->recipe.toner[i]].id,
                 NUMBER_TEXT(best->recipe.mass_g[i]), NUMBER_TEXT(MATCH_LET_DOWN * best->recipe.mass_g[i]));
            return true;
        }
    return false;
}

static void add_notes(const struct match_task *task, const struct match_result *result, json_t *reply) {
    const struct match_recipe *best = &result->recipe[0];
    note_unsure(task, best, reply);
    note_tokens(task, best, reply);
    const bool planned = note_let_downs(task, best, reply);
    if (is_guessed(task, best)) NOTE0(reply, MATCH_NOTE_GUESSED);
    if (!has_binder(task->shelf)) NOTE0(reply, MATCH_NOTE_NO_BINDER);
    if (!task->target.has_spectrum) NOTE0(reply, MATCH_NOTE_LAB_ONLY);
    if (task->target.has_cov || task->target.has_band) NOTE0(reply, MATCH_NOTE_EXPECTED);
    if (isinf(task->film.film_um)) NOTE0(reply, MATCH_NOTE_OPAQUE);
    if (isinf(task->film.film_um)) note_less_binder(task, best, result->binder, reply);
    if (isfinite(task->film.film_um) && best->contrast_ratio < PREDICT_HIDES)
        NOTE(reply, MATCH_NOTE_THIN, NUMBER_TEXT(task->film.film_um),
             NUMBER_TEXT(floor(best->contrast_ratio * 1e3 + .5) / 1e3), um_text((char[40]){0}, best));
    if (best->film_um_to_hide > task->film_most_um - MATCH_CLEAR_UM)
        NOTE(reply, MATCH_NOTE_BURIED, um_text((char[40]){0}, best),
             NUMBER_TEXT(fmax(task->film_most_um - MATCH_CLEAR_UM, 0)));
    if (best->weighing_de00_p95 > MATCH_BLUR && planned)
        NOTE(reply, MATCH_NOTE_BLUR_STILL, DE_TEXT(best->weighing_de00_p95), NUMBER_TEXT(best->min_batch_g));
    else if (best->weighing_de00_p95 > MATCH_BLUR)
        NOTE(reply, MATCH_NOTE_BLUR, DE_TEXT(best->weighing_de00_p95), NUMBER_TEXT(best->min_batch_g),
             DE_TEXT(best->weighing_de00_p95_let_down));
    if (result->count < task->top) NOTE(reply, MATCH_NOTE_FEWER, COUNT_TEXT((long long)result->count));
}

enum status match_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                       struct fault *fault) {
    struct shelf *shelf = arena_need(around->arena, 1, sizeof *shelf);
    struct match_task *task = arena_need(around->arena, 1, sizeof *task);
    struct match_result *result = arena_need(around->arena, 1, sizeof *result);
    const double tolerance = request_number(request, "--tolerance", 1);
    *reply = json_start("match");
    json_put_text(*reply, "target", request_text(request, "--target"));
    enum status status = place_read_shelf(around, request_text(request, "--toners"), shelf, fault);
    if (status == STATUS_OK)
        status = match_task_noted(around, request, shelf, place_geometry(request), *reply, task, fault);
    if (status == STATUS_OK) status = read_wishes(around, request, task, *reply, fault);
    if (status == STATUS_OK) status = match_run(task, around->work, around->arena, result, fault);
    if (status != STATUS_OK) return status;
    match_put(*reply, task, result, tolerance);
    add_notes(task, result, *reply);
    if (request_text(request, "--stock")) note_silent_stock(task, result, *reply);
    if (match_first_de00(&result->recipe[0], task) <= tolerance) return STATUS_OK;
    say_why_not(around, task, &result->recipe[0], tolerance, *reply);
    return STATUS_NO;
}
