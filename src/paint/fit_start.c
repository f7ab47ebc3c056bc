/* Where a fit begins: usual values of the shared unknowns, films as written, and every toner's K and S from
 * the film that has most of it. */
#include "paint/fit_model.h"
#include <math.h>
#include <string.h>

/* K and S of a toner from the film that has most of it, taken for opaque with a usual S. */
static void start_toner(const struct fit_model *model, const struct toner *about, size_t i,
                        const struct surface *surface, struct fit_point *at) {
    const struct fit_film *film = NULL;
    for (size_t f = 0; f < model->films; f++)
        if (model->film[f].weight > 0 && (!film || model->film[f].part[i] > film->part[i]))
            film = &model->film[f];
    const enum toner_role role = about->role;
    const double usual = model->relative_s ? .2 : .04, s = role == ROLE_WHITE    ? 5 * usual
                                                           : role == ROLE_BINDER ? .02 * usual
                                                                                 : usual;
    for (size_t b = 0; b < BANDS; b++) {
        const double inner =
            film ? surface_inner(film->from->reflectance.band[b], surface, model->geometry) : .3;
        const double r = fmin(fmax(inner, .005), .97), ratio = (1 - r) * (1 - r) / (2 * r);
        double *ks = at->ks + b * 2 * model->toners;
        ks[i] = role == ROLE_BINDER ? .02 * usual : fmin(s * ratio, 12 * usual);
        ks[model->toners + i] = model->relative_s && i == model->anchor ? 1 : s;
    }
}

void fit_start(const struct fit_model *model, const struct toner about[], struct fit_point *at) {
    static const double usual[FIT_GLOBALS] = {[FIT_K1] = .04,
                                              [FIT_K2] = .6,
                                              [FIT_FORWARD] = .4,
                                              [FIT_HAZE] = TOPCOAT_MODELLED_HAZE,
                                              [FIT_RETURN] = .1};
    memcpy(at->global, usual, sizeof usual);
    for (size_t i = 0; i < model->sheens; i++)
        at->global[FIT_SHEEN + i] = fmin(fmax(model->sheen_mean[i], .01), .99);
    at->global[FIT_K1] = fmin(.04, model->geometry == GEOMETRY_SCI ? model->k1_most : .04);
    at->global[FIT_CROWD] = model->free[FIT_CROWD] ? .5 : 0;
    if (!model->free[FIT_RETURN]) at->global[FIT_RETURN] = 0;
    const struct surface surface = {.k1 = .9 * at->global[FIT_K1], .k2 = .6};
    for (size_t i = 0; i < model->toners; i++) start_toner(model, &about[i], i, &surface, at);
    memset(at->stretch, 0, model->films * sizeof *at->stretch);
    memset(at->lean, 0, model->toners * sizeof *at->lean);
    memset(at->dose, 0, model->films * sizeof *at->dose);
}
