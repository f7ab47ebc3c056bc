#include "flow/film_request.h"
#include "flow/operation.h"
#include "formats/json_out.h"
#include "trade/voc.h"
#include <string.h>

extern operation_flow amount_flow;

/* Paint and what it is thinned with, in the proportion of the whole batch. */
static enum status put_voc(json_t *reply, const struct request *request, const struct film_request *film,
                           const struct amount *amount, struct fault *fault) {
    const bool solvent = strcmp(request_text(request, "--thinner-kind"), "solvent") == 0;
    const struct voc_part part[] = {
        {amount->paint_g, film->amount.density_g_ml, request_number(request, "--volatiles", 0),
         request_number(request, "--water", 0), request_number(request, "--exempt", 0),
         request_number(request, "--exempt-density-g-ml", 0)},
        {amount->thinner_g, film->amount.thinner_density_g_ml, 1, solvent ? 0 : 1, 0, 0},
    };
    struct voc voc;
    const enum status status = voc_of(part, 2, &voc, fault);
    if (status != STATUS_OK) return status;
    json_t *object = json_object();
    json_put_number(object, "regulatory_g_per_l", voc.regulatory_g_l, 2);
    json_put_number(object, "actual_g_per_l", voc.actual_g_l, 2);
    json_put_number(object, "batch_g", voc.actual_g_l * amount->total_ml / 1000, 2);
    json_put(reply, "voc", object);
    struct fault note;
    FAULT0(&note, VOC_AS_APPLIED);
    json_add_note(reply, &note);
    return STATUS_OK;
}

enum status amount_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                        struct fault *fault) {
    struct film_request film;
    struct amount amount;
    enum status status = film_request_read(around, request, &film, fault);
    if (status == STATUS_OK) status = amount_reckon(&film.amount, &amount, fault);
    if (status != STATUS_OK) return status;
    json_t *object = json_start("amount");
    film_request_put(object, &film, &amount);
    if (request_has(request, "--volatiles")) status = put_voc(object, request, &film, &amount, fault);
    if (status == STATUS_OK)
        *reply = object;
    else
        json_decref(object);
    return status;
}
