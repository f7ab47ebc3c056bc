/* `adjust`: a pot, what its card measured (or what the eye said), and what to add. */
#include "colour/difference.h"
#include "flow/adjust_against.h"
#include "flow/match_task_flow.h"
#include "flow/place.h"
#include "flow/pot_flow.h"
#include "formats/json_in.h"
#include "formats/json_out.h"
#include "paint/eye.h"
#include "paint/prior_eye.h"
#include "paint/ring.h"
#include <math.h>
#include <string.h>

/* A word of the eye is rough: half a pot of paint for its last third is not worth it. */
static const double EYE_VOLUME_COSTS = 2;
static const double EYE_HALF = 0.5; /* so much of the way at least, or the addition is of no use */

struct desk {
    const struct surroundings *around;
    const struct request *request;
    struct shelf shelf;
    struct adjust_task task;
    struct result result; /* this card, when there is one */
    struct result half;   /* the same card over another ground, with --half */
    bool half_alike;
    double trust_sd;
    struct fault state_note, far_note;
    struct against against; /* with --against */
    double camera_off[3];   /* what was added to its difference: the camera's eye is not the CIE's */
    bool is_poured;         /* --recipe names what was poured, not what was planned */
    json_t *reply;
};

static const char *id_of(const struct desk *desk, int toner) {
    return desk->shelf.toner[toner].id;
}

static enum status check_ways(const struct request *request, struct fault *fault) {
    const int ways = request_has(request, "--measured") + request_has(request, "--against") +
                     request_has(request, "--by-eye") + request_flag(request, "--ring");
    const char *state = request_text(request, "--state");
    if (ways != 1) return FAULT0(fault, ADJUST_NEEDS_ONE_WAY);
    if (request_has(request, "--measured") && !request_has(request, "--target"))
        return FAULT0(fault, ADJUST_TARGET_MISSING);
    if (request_has(request, "--against") && strcmp(state, card_state_name(STATE_COATED)) != 0)
        return FAULT(fault, ADJUST_AGAINST_STATE, state);
    const bool half = request_has(request, "--half");
    if (half != request_has(request, "--half-backing") ||
        (half && !(request_has(request, "--measured") && request_has(request, "--film-um"))))
        return FAULT0(fault, ADJUST_HALF_ALONE);
    return STATUS_OK;
}

/* What was weighed in: --pot, or the grams of a recipe. */
static enum status read_pot(struct desk *desk, double pot_g[], struct fault *fault) {
    size_t count;
    const struct request *request = desk->request;
    const struct part_text *parts = request_parts(request, "--pot", &count);
    const char *recipe = request_text(request, "--recipe");
    if ((count > 0) == (recipe != NULL)) return FAULT0(fault, ADJUST_NEEDS_POT);
    if (!recipe) return pot_from_parts(&desk->shelf, parts, count, "--pot", pot_g, fault);
    return pot_from_recipe(desk->around, recipe, &desk->shelf, pot_g, &desk->is_poured, fault);
}

static enum status read_desk(struct desk *desk, struct fault *fault) {
    const struct request *request = desk->request;
    enum status status = check_ways(request, fault);
    if (status == STATUS_OK)
        status = place_read_shelf(desk->around, request_text(request, "--toners"), &desk->shelf, fault);
    if (status == STATUS_OK)
        status = match_task_from_request(desk->around, request, &desk->shelf, &desk->task.match, fault);
    if (status != STATUS_OK) return status;
    double *pot_g = arena_need(desk->around->arena, desk->shelf.count, sizeof *pot_g), sum = 0;
    status = read_pot(desk, pot_g, fault);
    for (size_t i = 0; i < desk->shelf.count; i++) sum += pot_g[i];
    desk->task.pot_g = pot_g;
    desk->task.taken_g = request_number(request, "--taken-g", 0);
    desk->task.pot_limit_g = request_number(request, "--pot-g", 1.5 * (sum - desk->task.taken_g));
    desk->task.tolerance = request_number(request, "--tolerance", 0.8);
    if (!request_flag(request, "--ring")) desk->task.refined_part = ADJUST_REFINED;
    desk->task.doubt = doubt_usual;
    return status;
}

static void note_state(struct desk *desk, enum card_state state) {
    const struct shift *shift = &desk->shelf.shift[state];
    desk->trust_sd = card_trust_sd(&desk->shelf, state);
    if (state == STATE_COATED) return;
    if (shift->pairs > 0)
        FAULT(&desk->state_note, NOTE_STATE_LEARNT, card_state_name(state), COUNT_TEXT(shift->pairs));
    else
        FAULT(&desk->state_note, NOTE_STATE_UNKNOWN, card_state_name(state));
}

/* Lots and films make 1 to 2 dE00 (docs/correct.md); over this a card or a pot is likely not what it is said
 * to be. A wet card may differ as much by itself. */
static const double CARD_FAR = 3;

static void note_far(struct desk *desk, const struct card *card, enum card_state state) {
    struct outlier far = {.de00 = learn_card_de00(&desk->shelf, card)};
    struct fault cause;
    char de00[24];
    if (!(far.de00 > CARD_FAR) || (state == STATE_WET && desk->shelf.shift[state].pairs == 0)) return;
    learn_cause(&desk->shelf, card, &far);
    snprintf(de00, sizeof de00, "%.1f", far.de00);
    FAULT(&desk->far_note, NOTE_CARD_FAR, de00, cause_text(&desk->shelf, &far, &cause));
}

/* A card's curve, or with `ground` what lies under it, read like the shelf. */
static enum status read_spectrum(const struct desk *desk, const char *option, bool ground,
                                 struct reading *out, struct fault *fault) {
    const char *place = request_text(desk->request, option);
    const enum geometry geometry = desk->task.match.film.geometry;
    const enum status status = place_read(desk->around, place, geometry, out, fault);
    if (status != STATUS_OK) return status;
    if (!out->has_spectrum)
        return fault_set(fault, ground ? WORD_BACKING_NEEDS_SPECTRUM : WORD_CARD_NEEDS_SPECTRUM,
                         (const char *const[]){place, NULL});
    if (out->geometry == geometry) return STATUS_OK;
    return fault_set(
        fault, ground ? WORD_BACKING_OTHER_GEOMETRY : WORD_CARD_OTHER_GEOMETRY,
        (const char *const[]){place, geometry_name(out->geometry), geometry_name(geometry), NULL});
}

static enum card_state state_of(const struct request *request) {
    for (int i = 0; i < STATE_COUNT; i++)
        if (strcmp(request_text(request, "--state"), card_state_name((enum card_state)i)) == 0)
            return (enum card_state)i;
    return STATE_COATED;
}

static const double ALIKE = 10; /* dE00 between two grounds under which a half tells little */

/* The same film over another ground: how far the ground shows through tells hiding from strength. */
static enum status read_half(struct desk *desk, struct card *card, struct fault *fault) {
    struct reading measured, ground;
    struct film_case film = desk->task.match.film;
    enum status status = read_spectrum(desk, "--half", false, &measured, fault);
    if (status == STATUS_OK) status = read_spectrum(desk, "--half-backing", true, &ground, fault);
    if (status != STATUS_OK) return status;
    const struct weights *day = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    desk->half_alike = difference_de00(lab_of_spectrum(&ground.reflectance, day),
                                       lab_of_spectrum(&film.backing, day)) < ALIKE;
    film.backing = ground.reflectance;
    desk->half = result_of_pot(&desk->shelf, desk->task.pot_g, state_of(desk->request), &film,
                               &measured.reflectance, desk->around->arena);
    return card_of_result(&desk->half, &desk->shelf, desk->around->arena, card, fault);
}

static enum status read_card(struct desk *desk, struct card *card, struct fault *fault) {
    struct reading measured;
    const enum card_state state = state_of(desk->request);
    enum status status = read_spectrum(desk, "--measured", false, &measured, fault);
    if (status != STATUS_OK) return status;
    note_state(desk, state);
    desk->result = result_of_pot(&desk->shelf, desk->task.pot_g, state, &desk->task.match.film,
                                 &measured.reflectance, desk->around->arena);
    status = card_of_result(&desk->result, &desk->shelf, desk->around->arena, card, fault);
    if (status == STATUS_OK) note_far(desk, card, state);
    return status;
}

/* Earlier cards first, this one last, its other half before it: what the model misses is taken from where the
 * job will be. */
static enum status read_cards(struct desk *desk, struct fault *fault) {
    struct result_set earlier = {0};
    enum status status = results_from_request(desk->around, desk->request, "--history", &earlier, fault);
    const bool measured = request_has(desk->request, "--measured"),
               half = request_has(desk->request, "--half");
    struct card *card = arena_need(desk->around->arena, earlier.count + 2, sizeof *card);
    for (size_t i = 0; i < earlier.count && status == STATUS_OK; i++)
        status = card_of_result(&earlier.result[i], &desk->shelf, desk->around->arena, &card[i], fault);
    if (status == STATUS_OK && half) status = read_half(desk, &card[earlier.count], fault);
    if (status == STATUS_OK && measured) status = read_card(desk, &card[earlier.count + half], fault);
    desk->task.card = card;
    desk->task.cards = earlier.count + half + measured;
    return status;
}

static json_t *additions_json(const struct desk *desk, const struct addition *add, size_t count) {
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++) {
        const struct toner *toner = &desk->shelf.toner[add[i].toner];
        json_t *entry = json_object();
        json_put_text(entry, "toner", toner->id);
        json_put_text(entry, "name", toner->name);
        json_put_number(entry, "g", add[i].mass_g, scale_decimals(desk->task.match.scale_step_g));
        json_put(entry, "window_g",
                 add[i].window_g > 0
                     ? json_number(add[i].window_g, scale_decimals(desk->task.match.scale_step_g) + 1)
                     : json_null());
        json_put(entry, "ml",
                 toner->density_g_ml > 0 ? json_number(add[i].mass_g / toner->density_g_ml, 3) : json_null());
        json_array_append_new(array, entry);
    }
    return array;
}

static json_t *pot_json(const struct desk *desk, const double pot_g[], const struct addition *add,
                        size_t count) {
    json_t *object = json_object();
    const int digits = scale_decimals(desk->task.match.scale_step_g);
    for (size_t i = 0; i < desk->shelf.count; i++) {
        double g = pot_g[i];
        for (size_t k = 0; k < count; k++) g += add[k].toner == (int)i ? add[k].mass_g : 0;
        if (g > 0) json_put_number(object, id_of(desk, (int)i), g, digits + 1);
    }
    return object;
}

static void put_start_over(struct desk *desk, const struct adjust_result *found) {
    if (isnan(found->start_over_g)) {
        json_put_null(desk->reply, "start_over");
        return;
    }
    json_t *over = json_object();
    json_put_number(over, "keep_g", found->start_over_g, scale_decimals(desk->task.match.scale_step_g));
    json_put(over, "additions", additions_json(desk, found->fresh, found->fresh_count));
    json_put(over, "de00_after",
             isnan(found->fresh_de00) ? json_null() : json_number(found->fresh_de00, DIGITS_LAB));
    json_put(desk->reply, "start_over", over);
}

/* "redder, darker": where the best that can be had still lies from the target. */
static const char *missing_words(struct lab error, char out[64]) {
    const double part[3] = {error.l, error.a, error.b};
    static const char *const up[] = {"lighter", "redder", "yellower"}, *const down[] = {"darker", "greener",
                                                                                        "bluer"};
    const double most = fmax(fabs(part[0]), fmax(fabs(part[1]), fabs(part[2])));
    size_t n = 0;
    out[0] = 0;
    for (int i = 0; i < 3; i++)
        if (fabs(part[i]) > 0.4 * most)
            n += (size_t)snprintf(out + n, 64 - n, "%s%s", n ? ", " : "", part[i] > 0 ? up[i] : down[i]);
    return out;
}

/* A recipe's grams are a plan. */
static void note_pot(struct desk *desk) {
    struct fault note;
    double sum = 0;
    if (!request_has(desk->request, "--recipe") || desk->is_poured) return;
    for (size_t i = 0; i < desk->shelf.count; i++) sum += desk->task.pot_g[i];
    FAULT(&note, NOTE_POT_AS_RECIPE, NUMBER_TEXT(round(100 * sum) / 100));
    json_add_note(desk->reply, &note);
}

static void note_against(struct desk *desk) {
    struct fault note;
    char like[24], unlike[24], off[24];
    const struct against *a = &desk->against;
    if (!request_has(desk->request, "--against")) return;
    snprintf(like, sizeof like, "%.1f", a->u95_de00);
    snprintf(unlike, sizeof unlike, "%.1f", a->unlike_de00);
    FAULT(&note, NOTE_AGAINST, like, unlike);
    json_add_note(desk->reply, &note);
    const double *d = desk->camera_off;
    snprintf(off, sizeof off, "%.1f", sqrt(d[0] * d[0] + d[1] * d[1] + d[2] * d[2]));
    if (desk->shelf.camera)
        FAULT(&note, NOTE_AGAINST_CAMERA, off);
    else
        FAULT0(&note, NOTE_AGAINST_BLIND);
    json_add_note(desk->reply, &note);
}

static void put_notes(struct desk *desk, const struct adjust_result *found) {
    struct fault note;
    char missing[64];
    note_pot(desk);
    note_against(desk);
    if (desk->state_note.text[0]) json_add_note(desk->reply, &desk->state_note);
    if (desk->far_note.text[0]) json_add_note(desk->reply, &desk->far_note);
    if (desk->half_alike) {
        FAULT0(&note, NOTE_HALF_ALIKE);
        json_add_note(desk->reply, &note);
    }
    /* an eye that sees a difference is not told that there is none */
    const bool by_eye = request_has(desk->request, "--by-eye");
    if (!by_eye && found->reaches && found->de00_now <= desk->task.tolerance) {
        FAULT0(&note, NOTE_NEAR_ENOUGH);
        json_add_note(desk->reply, &note);
    }
    if (found->count > 3) {
        FAULT(&note, NOTE_FOURTH, "at least 0.1");
        json_add_note(desk->reply, &note);
    }
    if (!found->reaches && found->lacks >= 0) {
        FAULT(&note, NOTE_LACKS, missing_words(found->error, missing), id_of(desk, found->lacks));
        json_add_note(desk->reply, &note);
    }
    if (by_eye) {
        FAULT0(&note, NOTE_EYE_LIGHT);
        json_add_note(desk->reply, &note);
        FAULT0(&note, NOTE_STIR_EYE);
    } else {
        FAULT0(&note, NOTE_STIR);
    }
    json_add_note(desk->reply, &note);
}

/* What the cup held, and what had left it: `job log --pot` compares. */
static void put_base(struct desk *desk) {
    double sum = 0;
    for (size_t i = 0; i < desk->shelf.count; i++) sum += desk->task.pot_g[i];
    json_put(desk->reply, "pot", pot_json(desk, desk->task.pot_g, NULL, 0));
    json_put_number(desk->reply, "pot_g", sum, 4);
    json_put_number(desk->reply, "taken_g", desk->task.taken_g, 4);
}

/* What was read, and what of it was the camera's. */
static void put_against(struct desk *desk) {
    json_t *a = json_object();
    json_put(a, "read_dlab", json_numbers(desk->against.dlab, 3, DIGITS_LAB));
    json_put(a, "camera_dlab",
             desk->shelf.camera ? json_numbers(desk->camera_off, 3, DIGITS_LAB) : json_null());
    json_put_number(a, "u95_de00", desk->against.u95_de00, DIGITS_LAB);
    json_put_number(a, "unlike_u95_de00", desk->against.unlike_de00, DIGITS_LAB);
    json_put(desk->reply, "against", a);
}

/* Both halves, for toners learn and --history. */
static void put_halves(struct desk *desk) {
    json_t *both = json_array();
    json_array_append_new(both, result_json(&desk->half));
    json_array_append_new(both, result_json(&desk->result));
    json_put(desk->reply, "results", both);
}

static void put_adjustment(struct desk *desk, const struct adjust_result *found) {
    json_t *reply = desk->reply = json_start("adjustment");
    char missing[64];
    json_put_flag(reply, "reaches", found->reaches);
    json_put(reply, "additions", additions_json(desk, found->addition, found->count));
    json_put_number(reply, "de00_before", found->de00_now, DIGITS_LAB);
    json_put_number(reply, "de00_after", found->de00_after, DIGITS_LAB);
    json_put(reply, "de00_after_p95",
             isnan(found->de00_after_p95) ? json_null() : json_number(found->de00_after_p95, DIGITS_LAB));
    json_put_number(reply, "tolerance", desk->task.tolerance, DIGITS_LAB);
    put_base(desk);
    json_put_number(reply, "remains_g", found->remains_g, 4);
    json_put_number(reply, "total_g", found->total_g, 4);
    json_put_number(reply, "pot_limit_g", desk->task.pot_limit_g, 4);
    const struct reading *target = &desk->task.match.target;
    json_put(reply, "target_lab", json_lab(target->lab));
    json_put(reply, "target_reflectance",
             target->has_spectrum ? json_spectrum(&target->reflectance) : json_null());
    json_put_number(reply, "scale_step_g", desk->task.match.scale_step_g, 6);
    json_put(reply, "lab_before", json_lab(found->now_lab));
    json_put(reply, "lab_after", json_lab(found->after_lab));
    json_put(reply, "reflectance_after", json_spectrum(&found->after));
    json_put(reply, "missing",
             found->reaches ? json_null() : json_string(missing_words(found->error, missing)));
    json_put_text(reply, "lacks", found->lacks >= 0 ? id_of(desk, found->lacks) : NULL);
    put_start_over(desk, found);
    /* What stands in the cup afterwards: the next --pot (nothing taken any more). */
    double *left = arena_need(desk->around->arena, desk->shelf.count, sizeof *left);
    adjust_remains(desk->task.pot_g, desk->shelf.count, desk->task.taken_g, left);
    json_put(reply, "pot_after", pot_json(desk, left, found->addition, found->count));
    if (request_has(desk->request, "--measured")) json_put(reply, "result", result_json(&desk->result));
    if (request_has(desk->request, "--against")) put_against(desk);
    if (request_has(desk->request, "--half")) put_halves(desk);
    put_notes(desk, found);
}

/* The pot as the shelf sees it; its parts are the arena's. */
static const double *see_pot(const struct desk *desk, struct spectrum *now) {
    const size_t count = desk->shelf.count;
    double *part = arena_need(desk->around->arena, count, sizeof *part);
    const double sum = adjust_remains(desk->task.pot_g, count, 0, part);
    for (size_t i = 0; i < count && sum > 0; i++) part[i] /= sum;
    predict_reflectance(&desk->shelf, part, &desk->task.match.film, now);
    return part;
}

/* The same after earlier cards. */
static const double *see_learnt_pot(const struct desk *desk, struct spectrum *now) {
    struct desk learnt = *desk;
    if (desk->task.cards == 0) return see_pot(desk, now);
    struct calibration *cards =
        calibration_new(&desk->shelf, desk->task.card, desk->task.cards, 1, &desk->task.doubt);
    learnt.shelf.toner = arena_need(desk->around->arena, desk->shelf.count, sizeof *learnt.shelf.toner);
    memcpy(learnt.shelf.toner, desk->shelf.toner, desk->shelf.count * sizeof *learnt.shelf.toner);
    calibration_apply(cards, 0, &learnt.shelf);
    calibration_free(cards);
    return see_pot(&learnt, now);
}

/* Where the pot stands is what a difference starts from: by definition where the shelf says. Told as a card,
 * so that only what the additions change is unsure. */
static void stand_on_pot(struct desk *desk, const double part[], const struct spectrum *now) {
    struct card *card = arena_need(desk->around->arena, desk->task.cards + 1, sizeof *card);
    for (size_t i = 0; i < desk->task.cards; i++) card[i] = desk->task.card[i];
    card[desk->task.cards++] = (struct card){.part = part, .film = desk->task.match.film, .measured = *now};
    desk->task.card = card;
}

/* A difference of two readings by one photograph becomes a target that is only a Lab: the pot as the shelf
 * sees it, less what was seen, and less what a camera that the shelf knows makes otherwise than an eye of the
 * dab, whose curve is known, and of the spot. */
static enum status target_by_photo(struct desk *desk, struct fault *fault) {
    const char *path = request_text(desk->request, "--against");
    const struct weights *camera = desk->shelf.camera;
    struct reading *target = &desk->task.match.target;
    struct spectrum now;
    const enum status status = against_read(desk->around, path, &desk->against, fault);
    if (status != STATUS_OK) return status;
    stand_on_pot(desk, see_learnt_pot(desk, &now), &now);
    const bool spot_known = target->has_spectrum && !target->has_band;
    if (camera)
        eye_less_camera_apart(camera, &now, spot_known ? &target->reflectance : NULL, desk->camera_off);
    struct lab wanted = lab_of_spectrum(&now, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    wanted.l -= desk->against.dlab[0] + desk->camera_off[0];
    wanted.a -= desk->against.dlab[1] + desk->camera_off[1];
    wanted.b -= desk->against.dlab[2] + desk->camera_off[2];
    wanted.l = fmin(fmax(wanted.l, 0), 100);
    *target = (struct reading){.geometry = desk->task.match.film.geometry, .lab = wanted};
    return STATUS_OK;
}

/* Words of the eye become a target that is only a Lab, beside the pot as the shelf sees it (with the earlier
 * cards, if any). */
static enum status target_by_eye(struct desk *desk, struct fault *fault) {
    struct spectrum now;
    see_pot(desk, &now);
    if (desk->task.cards) now = desk->task.card[desk->task.cards - 1].measured;
    struct reading wanted = {.geometry = desk->task.match.film.geometry};
    const struct lab from = lab_of_spectrum(&now, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    const enum status status = eye_words(request_text(desk->request, "--by-eye"), from, &wanted.lab, fault);
    desk->task.match.target = wanted;
    desk->task.volume_costs = EYE_VOLUME_COSTS;
    if (status == STATUS_OK)
        desk->task.tolerance = fmin(desk->task.tolerance, EYE_HALF * difference_de00(from, wanted.lab));
    return status;
}

static enum status run_adjustment(struct desk *desk, struct fault *fault) {
    struct adjust_result found;
    enum status status = STATUS_OK;
    if (request_has(desk->request, "--by-eye")) status = target_by_eye(desk, fault);
    if (request_has(desk->request, "--against")) status = target_by_photo(desk, fault);
    if (status == STATUS_OK)
        status = adjust_run(&desk->task, desk->around->work, desk->around->arena, &found, fault);
    if (status != STATUS_OK) return status;
    if (request_has(desk->request, "--against")) /* and what the photograph is unsure of */
        found.de00_after_p95 = hypot(found.de00_after_p95, desk->against.unlike_de00);
    put_adjustment(desk, &found);
    return found.reaches ? STATUS_OK : STATUS_NO;
}

/* As poured: a let-down by its own grams; the binder that comes with let-downs is not poured. */
static json_t *pinches_json(const struct desk *desk, const struct dab *dab) {
    json_t *array = json_array();
    const int digits = scale_decimals(desk->task.match.scale_step_g);
    for (size_t i = 0; i < dab->count; i++) {
        const struct toner *toner = &desk->shelf.toner[dab->addition[i].toner];
        const bool own = toner->role == ROLE_BINDER;
        const double g = dab->let_down[i] ? dab->addition[i].mass_g / RING_LET_DOWN
                                          : dab->addition[i].mass_g - (own ? dab->comes_g : 0);
        if (!(g > 0.5 * desk->task.match.scale_step_g)) continue;
        char name[200];
        json_t *entry = json_object();
        /* said first: who shortens a name from its end must not lose it */
        snprintf(name, sizeof name, "%s%s%s", dab->let_down[i] ? word_sentence(WORD_NOTE_LET_DOWN) : "",
                 dab->let_down[i] ? ": " : "", toner->name);
        json_put_text(entry, "toner", toner->id);
        json_put_text(entry, "name", name);
        json_put_number(entry, "fraction", dab->let_down[i] ? RING_LET_DOWN : 1, 3);
        json_put_number(entry, "g", g, digits);
        json_put(entry, "ml",
                 toner->density_g_ml > 0 && !dab->let_down[i] ? json_number(g / toner->density_g_ml, 3)
                                                              : json_null());
        json_array_append_new(array, entry);
    }
    return array;
}

static void put_ring(struct desk *desk, const struct ring *ring) {
    json_t *reply = desk->reply = json_start("ring"), *dabs = json_array();
    for (size_t i = 0; i < ring->count; i++) {
        const struct dab *dab = &ring->dab[i];
        json_t *entry = json_object();
        json_put_count(entry, "dab", (long long)i);
        json_put_text(entry, "says", dab->says);
        json_put_number(entry, "pot_g", dab->pot_g, 2);
        json_put(entry, "additions", pinches_json(desk, dab));
        json_put_number(entry, "de00_from_pot", dab->de00, DIGITS_LAB);
        json_put(entry, "lab", json_lab(dab->lab));
        json_put(entry, "reflectance", json_spectrum(&dab->reflectance));
        json_array_append_new(dabs, entry);
    }
    json_put(reply, "dabs", dabs);
    json_put_number(reply, "scale_step_g", desk->task.match.scale_step_g, 6);
    json_put_number(reply, "spends_g", ring->spends_g, 2);
    put_base(desk);
}

/* How much of each let-down is made: a quarter more than the dabs take, and so much that its own toner is
 * weighed to 1 in 50; in half grams. */
static void note_let_downs(struct desk *desk, const struct ring *ring) {
    const double step = desk->task.match.scale_step_g;
    json_t *list = json_array();
    const char *binder = "binder";
    for (size_t i = 0; i < desk->shelf.count; i++)
        if (desk->shelf.toner[i].role == ROLE_BINDER) binder = desk->shelf.toner[i].id;
    for (size_t t = 0; t < desk->shelf.count; t++) {
        double takes_g = 0;
        for (size_t i = 0; i < ring->count; i++)
            for (size_t k = 0; k < ring->dab[i].count; k++)
                if (ring->dab[i].let_down[k] && ring->dab[i].addition[k].toner == (int)t)
                    takes_g += ring->dab[i].addition[k].mass_g / RING_LET_DOWN;
        if (!(takes_g > 0)) continue;
        const double make_g = fmax(ceil(2.5 * takes_g) / 2, 50 * step / RING_LET_DOWN);
        struct fault note;
        FAULT(&note, NOTE_RING_LET_DOWN, id_of(desk, (int)t), NUMBER_TEXT(step),
              NUMBER_TEXT(RING_LET_DOWN * make_g), NUMBER_TEXT((1 - RING_LET_DOWN) * make_g), binder);
        json_add_note(desk->reply, &note);
        json_t *one = json_object();
        json_put_text(one, "toner", id_of(desk, (int)t));
        json_put_number(one, "toner_g", RING_LET_DOWN * make_g, 4);
        json_put_number(one, "binder_g", (1 - RING_LET_DOWN) * make_g, 4);
        json_put_text(one, "binder", binder);
        json_array_append_new(list, one);
    }
    json_put(desk->reply, "let_downs", list);
}

static const double DAB_LEAST_G = .5, DAB_MOST_G = 20; /* as --dab-g is bounded */
static const double HALF_OF_CUP = .5;                  /* a ring leaves that much to be corrected */

static double in_cup_g(const struct desk *desk) {
    double sum = 0;
    for (size_t i = 0; i < desk->shelf.count; i++) sum += desk->task.pot_g[i];
    return sum - desk->task.taken_g;
}

/* The largest dab with which a ring leaves half of what is in the cup; in tenths. */
static double dab_that_fits(const struct desk *desk, size_t dabs) {
    return floor(10 * HALF_OF_CUP * in_cup_g(desk) / (double)dabs + 1e-9) / 10;
}

/* A dab takes little: what the scale cannot weigh is said, with the dab that would do where the cup has a
 * ring of them. */
static void note_ring_coarse(struct desk *desk, const struct ring *ring) {
    const double step = desk->task.match.scale_step_g;
    double least = (double)INFINITY, dab_g = 0;
    size_t at = 0;
    for (size_t i = 0; i < ring->count; i++)
        for (size_t k = 0; k < ring->dab[i].count; k++)
            if (!ring->dab[i].let_down[k] && ring->dab[i].addition[k].mass_g < least)
                least = ring->dab[i].addition[k].mass_g, dab_g = ring->dab[i].pot_g, at = i;
    if (!(least < 4.5 * step)) return;
    const double enough_g = ceil(dab_g * 5 * step / least);
    struct fault note;
    char miss[24];
    snprintf(miss, sizeof miss, "%.0f", 100 * .82 * step / least);
    if (enough_g <= DAB_MOST_G && (double)ring->count * enough_g <= HALF_OF_CUP * in_cup_g(desk))
        FAULT(&note, NOTE_RING_COARSE, COUNT_TEXT(at), NUMBER_TEXT(least), NUMBER_TEXT(step), miss,
              NUMBER_TEXT(enough_g));
    else
        FAULT(&note, NOTE_RING_COARSE_CUP, COUNT_TEXT(at), NUMBER_TEXT(least), NUMBER_TEXT(step), miss,
              NUMBER_TEXT(step / 10));
    json_add_note(desk->reply, &note);
}

enum { RING_DABS_LEAST = 5 };

static void note_ring_few(struct desk *desk, const struct ring *ring) {
    struct fault note;
    if (ring->count >= RING_DABS_LEAST) return;
    FAULT(&note, NOTE_RING_FEW, COUNT_TEXT(ring->count - 1));
    json_add_note(desk->reply, &note);
}

/* An answered ring as the next one needs it: [dabs] lab and doubt, what was named, how far the pot went. */
static json_t *heard_json(const struct heard *heard) {
    json_t *object = json_object(), *labs = json_array();
    double named[2] = {heard->nearest[0], heard->nearest[1]};
    for (size_t i = 0; i < heard->dabs; i++) json_array_append_new(labs, json_lab(heard->lab[i]));
    json_put(object, "dabs_lab", labs);
    json_put(object, "doubt_de00", json_numbers(heard->doubt, heard->dabs, DIGITS_LAB));
    json_put(object, "answer", json_numbers(named, heard->named, 0));
    json_put(object, "moved_lab", json_numbers(heard->moved, 3, DIGITS_LAB));
    return object;
}

static void put_heard(struct desk *desk, struct ring_story story, const struct heard *now) {
    json_t *array = json_array();
    const size_t skip = story.count == RING_HEARD_MOST; /* the oldest is forgotten */
    for (size_t i = skip; i < story.count; i++) json_array_append_new(array, heard_json(&story.heard[i]));
    json_array_append_new(array, heard_json(now));
    json_put(desk->reply, "heard", array);
}

static enum status put_answer(struct desk *desk, const struct ring *ring, struct ring_story story,
                              struct fault *fault) {
    size_t count;
    const double *numbers = request_numbers(desk->request, "--nearest", &count);
    int nearest[8];
    for (size_t i = 0; i < count && i < 8; i++) nearest[i] = (int)numbers[i];
    struct ring_answer answer;
    const enum status status = ring_hear(&desk->task, ring, story, nearest, count, desk->around->work,
                                         desk->around->arena, &answer, fault);
    if (status != STATUS_OK) return status;
    const bool stands = count == 1 && nearest[0] == 0;
    if (stands) {
        answer.count = 0;
        memset(answer.heard.moved, 0, sizeof answer.heard.moved);
    }
    double *left = arena_need(desk->around->arena, desk->shelf.count, sizeof *left);
    double total = adjust_remains(desk->task.pot_g, desk->shelf.count, desk->task.taken_g, left);
    for (size_t i = 0; i < answer.count; i++) total += answer.addition[i].mass_g;
    json_put(desk->reply, "moved_lab", json_numbers(answer.heard.moved, 3, DIGITS_LAB));
    json_put(desk->reply, "answer", json_numbers(numbers, count, 0));
    json_put(desk->reply, "additions", additions_json(desk, answer.addition, answer.count));
    json_put_number(desk->reply, "rest_de00", answer.rest_de00, DIGITS_LAB);
    json_put_number(desk->reply, "total_g", total, 4);
    json_put(desk->reply, "pot_after", pot_json(desk, left, answer.addition, answer.count));
    put_heard(desk, story, &answer.heard);
    struct fault note;
    double farthest = 0;
    for (size_t i = 0; i < ring->count; i++) farthest = fmax(farthest, ring->dab[i].de00);
    if (stands)
        FAULT(&note, NOTE_POT_STANDS, NUMBER_TEXT(fmax(.5, round(5 * farthest) / 10)));
    else
        FAULT0(&note, NOTE_STIR_EYE);
    json_add_note(desk->reply, &note);
    return STATUS_OK;
}

/* Is the pot that is given now the one that the last ring's answer made? Shares within 2 % of the whole. */
static enum status check_ring_pot(const struct desk *desk, const json_t *ring, const char *path,
                                  struct fault *fault) {
    const json_t *after = json_object_get(ring, "pot_after");
    double then = 0, now = 0;
    for (size_t i = 0; i < desk->shelf.count; i++) {
        then += json_number_value(json_object_get(after, id_of(desk, (int)i)));
        now += desk->task.pot_g[i];
    }
    for (size_t i = 0; i < desk->shelf.count && then > 0 && now > 0; i++) {
        const double was = json_number_value(json_object_get(after, id_of(desk, (int)i))) / then;
        if (fabs(was - desk->task.pot_g[i] / now) > 0.02)
            return FAULT(fault, RING_OTHER_POT, path, id_of(desk, (int)i));
    }
    return STATUS_OK;
}

/* One entry of `heard`. */
static enum status read_heard(const json_t *entry, struct json_place place, struct heard *out,
                              struct fault *fault) {
    const json_t *labs = json_object_get(entry, "dabs_lab");
    double named[2] = {0};
    *out = (struct heard){.dabs = json_array_size(labs),
                          .named = json_array_size(json_object_get(entry, "answer"))};
    if (out->dabs < 2 || out->dabs > RING_DABS_MOST || out->named < 1 || out->named > 2)
        return FAULT(fault, RING_NOT_ANSWERED, place.file);
    for (size_t i = 0; i < out->dabs; i++) {
        const json_t *lab = json_array_get(labs, i);
        out->lab[i] = (struct lab){json_number_value(json_array_get(lab, 0)),
                                   json_number_value(json_array_get(lab, 1)),
                                   json_number_value(json_array_get(lab, 2)),
                                   {LIGHT_D65, OBSERVER_10}};
    }
    enum status status = json_get_numbers(entry, "doubt_de00", out->dabs, 0, 100, place, out->doubt, fault);
    if (status == STATUS_OK)
        status = json_get_numbers(entry, "answer", out->named, 0, (double)out->dabs - 1, place, named, fault);
    if (status == STATUS_OK)
        status = json_get_numbers(entry, "moved_lab", 3, -200, 200, place, out->moved, fault);
    for (size_t i = 0; i < out->named; i++) out->nearest[i] = (int)named[i];
    return status;
}

/* What the rings before this one were answered; none without --last-ring. */
static enum status read_story(struct desk *desk, struct heard heard[RING_HEARD_MOST],
                              struct ring_story *story, struct fault *fault) {
    const char *path = request_text(desk->request, "--last-ring");
    struct bytes bytes;
    json_t *ring = NULL;
    *story = (struct ring_story){heard, 0};
    if (!path) return STATUS_OK;
    enum status status =
        disk_read(desk->around->disk, path, DISK_TEXT_MIB, desk->around->arena, &bytes, fault);
    if (status == STATUS_OK) status = json_read(&bytes, &ring, fault);
    if (status == STATUS_OK) status = json_check_kind(ring, "ring", path, fault);
    const json_t *all = status == STATUS_OK ? json_object_get(ring, "heard") : NULL;
    const size_t count = json_array_size(all);
    if (status == STATUS_OK && (count < 1 || count > RING_HEARD_MOST))
        status = FAULT(fault, RING_NOT_ANSWERED, path);
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        status = read_heard(json_array_get(all, i), (struct json_place){path, "heard"}, &heard[i], fault);
    if (status == STATUS_OK) status = check_ring_pot(desk, ring, path, fault);
    story->count = status == STATUS_OK ? count : 0;
    json_decref(ring);
    return status;
}

/* Two grams, or so much that a ring of seven leaves half of what is in the cup. */
static double dab_g_of(const struct desk *desk) {
    return request_number(desk->request, "--dab-g",
                          fmax(DAB_LEAST_G, fmin(2, dab_that_fits(desk, RING_DABS_MOST))));
}

/* What a ring that would take all of the cup should have been. */
static enum status refuse_ring(const struct desk *desk, const struct ring *ring, struct fault *fault) {
    const double fits = dab_that_fits(desk, ring->count);
    const char *dabs = COUNT_TEXT(ring->count), *each = NUMBER_TEXT(ring->dab[0].pot_g),
               *all = NUMBER_TEXT(ring->spends_g), *left = NUMBER_TEXT(in_cup_g(desk));
    return fits >= DAB_LEAST_G ? FAULT(fault, RING_TAKES_ALL, dabs, each, all, left, NUMBER_TEXT(fits))
                               : FAULT(fault, RING_CUP_SMALL, dabs, each, all, left);
}

/* The dabs are gone from the cup: "the same again, with --nearest" is answered for what they left. A ring
 * that takes all of it is not laid. */
static enum status take_dabs(struct desk *desk, const struct ring *ring, struct fault *fault) {
    double sum = 0;
    for (size_t i = 0; i < desk->shelf.count; i++) sum += desk->task.pot_g[i];
    const double taken = desk->task.taken_g + ring->spends_g;
    if (!(taken < sum)) return refuse_ring(desk, ring, fault);
    json_put_number(desk->reply, "stays_g", sum - taken, 4);
    if (!request_has(desk->request, "--nearest")) return STATUS_OK;
    desk->task.taken_g = taken;
    if (!request_has(desk->request, "--pot-g")) desk->task.pot_limit_g = 1.5 * (sum - taken);
    json_put_number(desk->reply, "taken_g", taken, 4);
    return STATUS_OK;
}

static enum status run_ring(struct desk *desk, struct fault *fault) {
    struct ring ring;
    struct heard heard[RING_HEARD_MOST];
    struct ring_story story;
    const struct request *request = desk->request;
    enum status status = read_story(desk, heard, &story, fault);
    if (status != STATUS_OK) return status;
    status = ring_run(&desk->task, dab_g_of(desk), request_number(request, "--ring-step", 0), story,
                      desk->around->work, desk->around->arena, &ring, fault);
    if (status != STATUS_OK) return status;
    put_ring(desk, &ring);
    status = take_dabs(desk, &ring, fault);
    if (status != STATUS_OK) return status;
    note_pot(desk);
    note_ring_few(desk, &ring);
    if (!request_has(request, "--nearest")) {
        note_let_downs(desk, &ring);
        note_ring_coarse(desk, &ring);
    }
    return request_has(request, "--nearest") ? put_answer(desk, &ring, story, fault) : STATUS_OK;
}

operation_flow adjust_flow;

enum status adjust_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                        struct fault *fault) {
    struct desk desk = {.around = around, .request = request};
    enum status status = read_desk(&desk, fault);
    if (status == STATUS_OK) status = read_cards(&desk, fault);
    if (status == STATUS_OK)
        status = request_flag(request, "--ring") ? run_ring(&desk, fault) : run_adjustment(&desk, fault);
    *reply = desk.reply;
    return status;
}
