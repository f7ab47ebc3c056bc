#include "flow/film_request.h"
#include "flow/note.h"
#include "flow/recipe_brief.h"
#include "formats/json_out.h"
#include <math.h>
#include <string.h>

static const double usual_density_g_ml = 1.05; /* of a waterborne finish: common practice */
static const double usual_blend_wet_um = 15;   /* thin enough not to run at the fade: common practice */
static const double usual_coat_um = 6;         /* docs/decisions.md, as --coat-um of match */

static void read_edges(const struct request *request, struct film_request *film) {
    for (size_t i = 0; i < request_count(request, "--edge"); i++) {
        const char *edge = request_text_at(request, "--edge", i);
        film->fades |= strcmp(edge, "fade") == 0;
        film->at_seam |= strcmp(edge, "seam") == 0;
        film->at_panel |= strcmp(edge, "panel") == 0;
    }
}

static enum status read_fade(const struct request *request, struct film_request *film, struct fault *fault) {
    read_edges(request, film);
    const bool has_length = request_has(request, "--fade-length-mm");
    if (film->fades && !has_length) return FAULT0(fault, FADE_WITHOUT_LENGTH);
    if (!film->fades && has_length) return FAULT0(fault, FADE_NOT_ASKED);
    if (!film->fades) return STATUS_OK;
    struct fade *fade = &film->amount.fade;
    fade->length_mm = request_number(request, "--fade-length-mm", 0);
    fade->width_mm = request_number(request, "--fade-mm", 0);
    fade->blend_coats = (unsigned)request_number(request, "--blend-coats", 0);
    fade->blend_thinner = request_number(request, "--blend-thinner", 0);
    fade->blend_wet_um =
        fmin(usual_blend_wet_um, film->has_by ? application_of(film->by)->wet_um : usual_blend_wet_um);
    film->ground_into_fade_mm = request_number(request, "--ground-into-fade-mm", 0);
    return STATUS_OK;
}

/* What the application brings holds where nothing was said. */
static enum status read_application(const struct request *request, struct film_request *film,
                                    struct fault *fault) {
    static const struct application none = {.wet_um = (double)NAN};
    const char *by = request_text(request, "--by");
    film->has_by = by && application_from_name(by, &film->by);
    if (!film->has_by && !request_has(request, "--transfer")) return FAULT0(fault, TRANSFER_NOT_SAID);
    const struct application *usual = film->has_by ? application_of(film->by) : &none;
    const bool coats_said = request_has(request, "--coats");
    film->amount.transfer = request_number(request, "--transfer", usual->transfer);
    film->amount.wet_um = request_number(request, "--wet-um", coats_said ? (double)NAN : usual->wet_um);
    film->amount.loss_ml = request_number(request, "--loss-ml", usual->loss_ml);
    return STATUS_OK;
}

static enum status read_recipe(const struct surroundings *around, const struct request *request,
                               struct film_request *film, struct fault *fault) {
    struct recipe_brief recipe = {(double)NAN, (double)NAN, NULL};
    film->recipe = request_text(request, "--recipe");
    if (film->recipe) {
        const enum status status = recipe_brief_read(around, film->recipe, &recipe, fault);
        if (status != STATUS_OK) return status;
    }
    const json_t *parts = json_object_get(recipe.object, "parts");
    for (size_t i = 0; i < json_array_size(parts); i++)
        film->recipe_g += json_number_value(json_object_get(json_array_get(parts, i), "g"));
    json_decref(recipe.object);
    film->film_um_to_hide = request_number(request, "--film-to-hide-um", recipe.film_um_to_hide);
    film->density_assumed = !request_has(request, "--density-g-ml") && isnan(recipe.density_g_ml);
    const double otherwise = film->density_assumed ? usual_density_g_ml : recipe.density_g_ml;
    film->amount.density_g_ml = request_number(request, "--density-g-ml", otherwise);
    return STATUS_OK;
}

enum status film_request_read(const struct surroundings *around, const struct request *request,
                              struct film_request *out, struct fault *fault) {
    struct film_request film = {.by = BY_GUN};
    struct amount_case *amount = &film.amount;
    amount->area_m2 = request_number(request, "--area-m2", 0);
    amount->film_um = request_number(request, "--film-um", 0);
    amount->solids_volume = request_number(request, "--solids-volume", 0);
    amount->coats = (unsigned)request_number(request, "--coats", 0);
    amount->spare = request_number(request, "--spare", 0);
    amount->thinner = request_number(request, "--thinner", 0);
    const bool solvent = strcmp(request_text(request, "--thinner-kind"), "solvent") == 0;
    amount->thinner_density_g_ml = solvent ? request_number(request, "--solvent-density-g-ml", 1) : 1;
    amount->coat_um = usual_coat_um;
    film.in_pot_g = request_number(request, "--in-pot-g", 0);
    film.old_film_um = request_number(request, "--old-film-um", 0);
    enum status status = read_application(request, &film, fault);
    if (status == STATUS_OK) status = read_fade(request, &film, fault);
    if (status == STATUS_OK) status = read_recipe(around, request, &film, fault);
    if (status == STATUS_OK) status = fade_scene_read(around, request, &film.scene, fault);
    if (status == STATUS_OK) *out = film;
    return status;
}

static void put_or_null(json_t *object, const char *key, double value, int digits) {
    if (isfinite(value))
        json_put_number(object, key, value, digits);
    else
        json_put_null(object, key);
}

static void put_hiding(json_t *reply, const struct film_request *film, const struct amount *amount) {
    const double to_hide = film->film_um_to_hide;
    put_or_null(reply, "film_um_to_hide", to_hide, 1);
    const double hides_at = ceil(to_hide / amount->dry_um * (1 - 1e-9));
    put_or_null(reply, "hides_at_coat", hides_at <= amount->coats ? fmax(hides_at, 1) : (double)NAN, 0);
    if (isnan(to_hide)) return;
    if (to_hide > amount->film_um * (1 + 1e-9))
        NOTE(reply, FILM_DOES_NOT_HIDE, NUMBER_TEXT(amount->film_um), NUMBER_TEXT(ceil(to_hide)));
}

/* A ring: ground (filler, sanded crust) that shows through the thinning film of a fade. */
static void note_ring(json_t *reply, const struct film_request *film, double hidden_mm) {
    if (isnan(hidden_mm))
        NOTE(reply, RING_NOT_KNOWN, NUMBER_TEXT(film->amount.fade.width_mm));
    else if (hidden_mm <= 0)
        NOTE(reply, RING_EVERYWHERE, NUMBER_TEXT(ceil(film->film_um_to_hide)));
    else if (film->ground_into_fade_mm > hidden_mm)
        NOTE(reply, RING_SHOWS, NUMBER_TEXT(film->ground_into_fade_mm), NUMBER_TEXT(round(hidden_mm)));
    else
        NOTE(reply, RING_KEPT_OFF, NUMBER_TEXT(round(hidden_mm)));
}

/* With readings and toners the fade is looked at; returns how far the ground may reach into it. */
static double put_look(json_t *reply, json_t *fade, const struct film_request *film, double film_um) {
    const struct fade_look look = fade_scene_look(film->scene, film_um);
    const double allowed_mm = fmax(film->amount.fade.width_mm * (1 - look.safe_film_um / film_um), 0);
    json_put_number(fade, "opaque_de00", look.opaque_de00, 4);
    json_put_number(fade, "full_de00", look.full_de00, 4);
    json_put_number(fade, "worst_de00", look.worst_de00, 4);
    put_or_null(fade, "safe_film_um", look.safe_film_um, 2);
    if (look.opaque_de00 > FADE_NOT_SEEN_DE00)
        NOTE(reply, RING_COLOUR_OFF, NUMBER_TEXT(round(100 * look.opaque_de00) / 100));
    else if (isinf(look.safe_film_um))
        NOTE(reply, RING_ALL_OVER, NUMBER_TEXT(round(100 * look.full_de00) / 100));
    else
        NOTE(reply, RING_LOOKED_AT, NUMBER_TEXT(round(100 * look.worst_de00) / 100),
             NUMBER_TEXT(round(10 * look.safe_film_um) / 10), NUMBER_TEXT(round(allowed_mm)));
    return allowed_mm;
}

static void put_fade(json_t *reply, const struct film_request *film, const struct amount *amount) {
    if (!film->fades) return;
    const struct fade *fade = &film->amount.fade;
    json_t *object = json_object();
    double hidden_mm = fade_hidden_mm(fade, amount->film_um, film->film_um_to_hide);
    if (film->scene) hidden_mm = put_look(reply, object, film, amount->film_um);
    json_put_number(object, "length_mm", fade->length_mm, 1);
    json_put_number(object, "width_mm", fade->width_mm, 1);
    json_put_number(object, "area_m2", amount->fade_area_m2, 5);
    json_put_count(object, "blend_coats", fade->blend_coats);
    json_put_number(object, "blend_thinner", fade->blend_thinner, 3);
    json_put_number(object, "blend_wet_um", fade->blend_coats ? fade->blend_wet_um : 0, 1);
    json_put_number(object, "blend_ml", amount->blend_ml, 2);
    put_or_null(object, "hidden_mm", hidden_mm, 1);
    json_put_number(object, "ground_into_fade_mm", film->ground_into_fade_mm, 1);
    json_put(reply, "fade", object);
    const bool reaches_too_far = film->ground_into_fade_mm > hidden_mm;
    if (!film->scene || (reaches_too_far && hidden_mm > 0)) note_ring(reply, film, hidden_mm);
}

static void put_volumes(json_t *reply, const struct amount *amount) {
    json_put_number(reply, "wet_ml", amount->total_ml, 2);
    json_put_number(reply, "wet_g", amount->paint_g + amount->thinner_g, 2);
    json_put_number(reply, "paint_ml", amount->paint_ml, 2);
    json_put_number(reply, "paint_g", amount->paint_g, 2);
    json_put_number(reply, "thinner_ml", amount->thinner_ml, 2);
    json_put_number(reply, "thinner_g", amount->thinner_g, 2);
    json_t *made_of = json_object();
    json_put_number(made_of, "film_ml", amount->film_ml, 2);
    json_put_number(made_of, "fade_ml", amount->fade_ml, 2);
    json_put_number(made_of, "blend_ml", amount->blend_ml, 2);
    json_put_number(made_of, "spare_ml", amount->spare_ml, 2);
    json_put_number(made_of, "loss_ml", amount->loss_ml, 2);
    json_put(reply, "wet_ml_made_of", made_of);
}

/* What would spoil the job stands first. */
static void add_notes(json_t *reply, const struct film_request *film, const struct amount *amount) {
    const double total_um = amount->film_um + film->old_film_um;
    if (total_um > LEATHER_COATING_MOST_UM) NOTE(reply, FILM_TOO_THICK, NUMBER_TEXT(total_um));
    if (amount->film_differs)
        NOTE(reply, AMOUNT_FILM_DIFFERS, NUMBER_TEXT(amount->film_um), NUMBER_TEXT(film->amount.film_um));
    if (film->at_seam) NOTE(reply, EDGE_AT_SEAM, NULL);
    if (film->at_panel) NOTE(reply, EDGE_AT_PANEL, NULL);
    if (film->density_assumed) NOTE(reply, AMOUNT_DENSITY_ASSUMED, NUMBER_TEXT(film->amount.density_g_ml));
    if (film->has_by) NOTE(reply, AMOUNT_COMMON_PRACTICE, application_of(film->by)->name);
}

void film_request_put(json_t *reply, const struct film_request *film, const struct amount *amount) {
    json_put_text(reply, "by", film->has_by ? application_of(film->by)->name : NULL);
    json_put_number(reply, "area_m2", film->amount.area_m2, 6);
    put_volumes(reply, amount);
    json_put_count(reply, "coats", amount->coats);
    json_put_number(reply, "wet_um", amount->wet_um, 3);
    json_put_number(reply, "dry_um", amount->dry_um, 3);
    json_put_number(reply, "film_um", amount->film_um, 2);
    json_put_number(reply, "total_film_um", amount->film_um + film->old_film_um, 2);
    json_put_number(reply, "transfer", film->amount.transfer, 4);
    json_put_number(reply, "solids_volume", amount->solids_volume, 4);
    json_put_number(reply, "coverage_m2_per_l", amount->coverage_m2_l, 3);
    json_put_number(reply, "density_g_ml", film->amount.density_g_ml, 4);
    put_hiding(reply, film, amount);
    put_fade(reply, film, amount);
    add_notes(reply, film, amount);
    const double missing = .98 * amount->paint_g; /* a scale's and a cup's rest */
    if (film->in_pot_g > 0) {
        json_put_number(reply, "in_pot_g", film->in_pot_g, 2);
        if (film->in_pot_g < missing)
            NOTE(reply, AMOUNT_OVER_POT, NUMBER_TEXT(round(10 * film->in_pot_g) / 10),
                 NUMBER_TEXT(ceil(amount->paint_g)));
    } else if (film->recipe_g > 0 && film->recipe_g < missing) {
        const char *wanted = NUMBER_TEXT(ceil(amount->paint_g));
        NOTE(reply, AMOUNT_OVER_RECIPE, NUMBER_TEXT(round(10 * film->recipe_g) / 10), wanted);
    }
}
