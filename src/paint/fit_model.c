/* The forward model of the fit is that of predict.c: mix, crowding, forward scattering (toner.h), film
 * (film.h), surface (surface.h). See fit.c for the method. */
#include "paint/fit_model.h"
#include "paint/beam.h"
#include "paint/film.h"
#include <assert.h>
#include <math.h>
#include <string.h>

static const double instrument_sd = .0003;

struct fit_point fit_point_new(const struct fit_model *model, struct arena *arena) {
    struct fit_point point = {0};
    point.ks = arena_need(arena, BANDS * 2 * model->toners, sizeof *point.ks);
    point.stretch = arena_need(arena, model->films + 1, sizeof *point.stretch);
    point.lean = arena_need(arena, model->toners, sizeof *point.lean);
    point.dose = arena_need(arena, model->films + 1, sizeof *point.dose);
    return point;
}

void fit_point_copy(const struct fit_model *model, const struct fit_point *from, struct fit_point *to) {
    memcpy(to->ks, from->ks, BANDS * 2 * model->toners * sizeof *to->ks);
    memcpy(to->stretch, from->stretch, model->films * sizeof *to->stretch);
    memcpy(to->dose, from->dose, model->films * sizeof *to->dose);
    memcpy(to->lean, from->lean, model->toners * sizeof *to->lean);
    memcpy(to->global, from->global, sizeof to->global);
}

double fit_counted(const double global[FIT_GLOBALS], bool crowds, double c, double *by_c) {
    if (by_c) *by_c = 1;
    return crowds ? crowded_part(global[FIT_BEND], global[FIT_CROWD], c, by_c) : c;
}

struct fit_dosed fit_dosed(const struct fit_film *film, double dose) {
    const double written = film->part[film->dosed], mass = written * exp(dose);
    return (struct fit_dosed){mass, 1 + mass - written};
}

double fit_part(const struct fit_film *film, const struct fit_dosed *dosed, size_t i, double *by_dose) {
    const double part = (i == film->dosed ? dosed->mass : film->part[i]) / dosed->whole;
    if (by_dose) *by_dose = part * ((i == film->dosed ? 1 : 0) - dosed->mass / dosed->whole);
    return part;
}

/* Lightness answers to R^(1/3): an error of d in L* is d 3/116 R^(2/3) in R. */
double fit_sd(const struct fit_model *model, double reflectance) {
    const double r = fmax(reflectance, .005), eye = model->error * 3 / 116 * cbrt(r * r);
    return sqrt(instrument_sd * instrument_sd + eye * eye);
}

static const double *scattering(const struct fit_model *model, const struct fit_point *at, int band) {
    return at->ks + (size_t)band * 2 * model->toners + model->toners;
}

double fit_scatter(const struct fit_model *model, const struct fit_point *at, const struct fit_film *film,
                   int band) {
    const double *s = scattering(model, at, band);
    double sum = 1e-12;
    for (size_t i = 0; i < model->toners; i++) sum += film->part[i] * s[i];
    return sum;
}

static double lean_of(const struct fit_model *model, const struct fit_point *at, const struct fit_film *film,
                      int band) {
    const double *s = scattering(model, at, band);
    double lean = 0;
    if (!model->leans) return 0;
    for (size_t i = 0; i < model->toners; i++) lean += film->part[i] * s[i] * at->lean[i];
    return lean / fit_scatter(model, at, film, band);
}

struct mixed {
    double k, s, k_by_dose, s_by_dose;
    double lean;
};

static struct mixed mix(const struct fit_model *model, const struct fit_point *at, const double global[],
                        const struct fit_film *film, double dose, int band) {
    const double *ks = at->ks + (size_t)band * 2 * model->toners;
    const struct fit_dosed dosed = fit_dosed(film, dose);
    struct mixed out = {.k = 1e-15, .lean = lean_of(model, at, film, band)};
    for (size_t i = 0; i < model->toners; i++) {
        if (film->part[i] == 0) continue;
        double part_by_dose, by_part;
        const double part = fit_part(film, &dosed, i, &part_by_dose), s = ks[model->toners + i];
        out.k += part * ks[i];
        out.s += fit_counted(global, model->crowds[i], part, &by_part) * s;
        out.k_by_dose += part_by_dose * ks[i];
        out.s_by_dose += part_by_dose * by_part * s;
    }
    return out;
}

struct topcoat fit_topcoat(const struct fit_model *model, const double global[FIT_GLOBALS]) {
    struct topcoat topcoat = {true, global[FIT_HAZE], model->sheens, {0}, {0}};
    for (size_t i = 0; i < model->sheens; i++) {
        topcoat.sheen_gu[i] = model->sheen_gu[i];
        topcoat.returned[i] = global[FIT_SHEEN + i];
    }
    return topcoat;
}

static struct surface surface_at(const struct fit_model *model, const double global[FIT_GLOBALS],
                                 double topcoat_gu) {
    struct surface surface = {.k1 = global[FIT_K1],
                              .k2 = global[FIT_K2],
                              .sheen_return = global[FIT_RETURN],
                              .oblique = global[FIT_OBLIQUE]};
    if (isnan(topcoat_gu)) return surface;
    const struct topcoat topcoat = fit_topcoat(model, global);
    surface.haze = sheen_haze(topcoat_gu, &topcoat);
    if (model->geometry != GEOMETRY_SCI)
        surface.sheen_return = topcoat_return(&topcoat, topcoat_gu, model->geometry);
    return surface;
}

/* Reflectance from mixed k and s under these globals. */
static double seen(const struct fit_model *model, const double global[], struct mixed mixed,
                   const struct fit_film *film, double stretch, int band, struct fit_slopes *slopes) {
    const struct surface surface = surface_at(model, global, film->from->topcoat_gu);
    const struct surface bare = surface_at(model, global, (double)NAN);
    const double film_um = film->film_um * exp(stretch);
    const double under = film->backing ? surface_inner(film->backing->band[band], &bare, model->geometry) : 0;
    const struct beam shared = {model->beam, global[FIT_FORWARD]}, beam = beam_leaning(&shared, mixed.lean);
    if (!slopes)
        return surface_measured(film_lit(&beam, mixed.k, mixed.s, film_um, under), &surface, model->geometry,
                                NULL);
    double by_k, by_s, by_film, outward;
    const double inner = film_lit_slopes(&beam, mixed.k, mixed.s, film_um, under, &by_k, &by_s, &by_film);
    const double out = surface_measured(inner, &surface, model->geometry, &outward);
    slopes->by_k = outward * by_k;
    slopes->by_s = outward * by_s;
    slopes->by_stretch = isinf(film_um) ? 0 : outward * by_film * film_um;
    slopes->by_dose = slopes->by_k * mixed.k_by_dose + slopes->by_s * mixed.s_by_dose;
    return out;
}

/* The few shared unknowns by central differences: they reach the result through backing, surface and mix at
 * once. */
static void global_slopes(const struct fit_model *model, const struct fit_point *at, size_t film, int band,
                          const struct mixed *mixed, struct fit_slopes *slopes) {
    for (int g = 0; g < FIT_GLOBALS; g++) {
        slopes->by_global[g] = 0;
        if (!model->free[g]) continue;
        const struct fit_film *seen_film = &model->film[film];
        const bool mixes = g == FIT_BEND || g == FIT_CROWD;
        double value[2];
        for (int side = 0; side < 2; side++) {
            double global[FIT_GLOBALS];
            memcpy(global, at->global, sizeof global);
            global[g] += side ? 1e-5 : -1e-5;
            const struct mixed here =
                mixes ? mix(model, at, global, seen_film, at->dose[film], band) : *mixed;
            value[side] = seen(model, global, here, seen_film, at->stretch[film], band, NULL);
        }
        slopes->by_global[g] = (value[1] - value[0]) / 2e-5;
    }
    slopes->by_lean = model->leans ? slopes->by_global[FIT_FORWARD] : 0;
}

double fit_predict(const struct fit_model *model, const struct fit_point *at, size_t film, int band,
                   struct fit_slopes *slopes) {
    const struct mixed mixed = mix(model, at, at->global, &model->film[film], at->dose[film], band);
    if (slopes) global_slopes(model, at, film, band, &mixed, slopes);
    return seen(model, at->global, mixed, &model->film[film], at->stretch[film], band, slopes);
}

void fit_see(const struct fit_model *model, const struct fit_point *at, const struct fit_film *film,
             double stretch, double dose, struct spectrum *out) {
    for (int b = 0; b < BANDS; b++)
        out->band[b] =
            seen(model, at->global, mix(model, at, at->global, film, dose, b), film, stretch, b, NULL);
}

double fit_misfit(const struct fit_model *model, const struct fit_point *at, size_t film) {
    double sum = 0;
    for (int b = 0; b < BANDS; b++) {
        const double is = model->film[film].from->reflectance.band[b];
        const double off = (fit_predict(model, at, film, b, NULL) - is) / fit_sd(model, is);
        sum += off * off;
    }
    return sum;
}
