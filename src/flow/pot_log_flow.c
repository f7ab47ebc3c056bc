/* russet pot log|list: what happens to a pot after it was poured. A pot is asked about its crosslinker before
 * it is put back; the book itself refuses a crosslinked one. */
#include "flow/pot_json.h"
#include "flow/shop_place.h"
#include "formats/json_out.h"
#include "shop/job_store.h"
#include <math.h>
#include <string.h>

extern operation_flow pot_log_flow, pot_list_flow;

static enum status check(const struct request *request, struct fault *fault) {
    const char *event = request_text(request, "EVENT");
    if ((strcmp(event, "taken") == 0) != request_has(request, "--g")) return FAULT0(fault, POT_G_WITH_TAKEN);
    if (request_has(request, "--life-min") && strcmp(event, "crosslinked") != 0)
        return FAULT0(fault, POT_LIFE_WITH_CROSSLINKED);
    if (strcmp(event, "put-back") == 0 && !request_flag(request, "--not-crosslinked"))
        return FAULT0(fault, POT_ASK_CROSSLINKER);
    return STATUS_OK;
}

static enum status log_event(struct book *book, const struct request *request, struct arena *arena,
                             json_t *reply, struct fault *fault) {
    struct pot_row pot;
    const char *words = request_text(request, "--words");
    enum status status = pot_store_get(book, request_text(request, "POT"), arena, &pot, fault);
    struct pot_event event = {.pot = pot.id,
                              .kind = request_text(request, "EVENT"),
                              .words = words ? words : "",
                              .mg = llround(1000 * request_number(request, "--g", 0)),
                              .life_min = request_number(request, "--life-min", (double)NAN)};
    if (status == STATUS_OK && event.mg > pot.poured_mg - pot.taken_mg)
        status = FAULT(fault, POT_HOLDS_LESS, NUMBER_TEXT((double)(pot.poured_mg - pot.taken_mg) / 1000));
    if (status == STATUS_OK) status = pot_store_log(book, &event, fault);
    if (status == STATUS_OK) status = pot_store_get(book, pot.id, arena, &pot, fault);
    if (status != STATUS_OK) return status;
    json_t *object;
    status = pot_put(book, &pot, arena, &object, fault);
    json_put(reply, "pot", object);
    return status;
}

enum status pot_log_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                         struct fault *fault) {
    struct book *book;
    enum status status = check(request, fault);
    if (status == STATUS_OK) status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    status = book_begin(book, fault);
    *reply = json_start("pot");
    if (status == STATUS_OK)
        status = book_end(book, log_event(book, request, around->arena, *reply, fault), fault);
    book_close(book);
    return status;
}

enum status pot_list_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                          struct fault *fault) {
    struct book *book;
    struct job_row job;
    struct pot_row *pot;
    size_t count = 0;
    const char *of = request_text(request, "--job");
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    *reply = json_start("pots");
    if (of) status = job_store_find(book, of, around->arena, &job, fault);
    if (status == STATUS_OK)
        status = pot_store_list(book, of ? job.id : NULL, around->arena, &pot, &count, fault);
    if (status == STATUS_OK) status = pots_put(book, pot, count, NULL, around->arena, *reply, "pots", fault);
    book_close(book);
    return status;
}
