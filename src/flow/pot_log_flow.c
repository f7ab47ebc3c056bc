/* russet pot log|list: what happens to a pot after it was poured. A pot is asked about its crosslinker before
 * it is put back; the book itself refuses a crosslinked one. */
#include "flow/pot_json.h"
#include "flow/pot_pour.h"
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

/* "2026-03-29 03:30", as the shop's clock shows it. */
static const char *local_minute(struct book *book, long long ms, char out[WALL_TIME_TEXT]) {
    wall_time_write_at(ms, book_offset_s(book, ms), out);
    out[10] = ' ';
    out[16] = 0;
    return out;
}

/* What was taken is on record in any case; a pot past its life is said. */
static void say_life(struct book *book, const struct pot_row *pot, const char *event, json_t *reply) {
    char ended[WALL_TIME_TEXT];
    const long long ends_ms = pot_life_ends_ms(pot);
    struct fault note;
    if (strcmp(event, "taken") != 0 || !pot->crosslinked) return;
    if (!ends_ms)
        FAULT0(&note, POT_LIFE_NOT_SAID);
    else if (book_now_ms(book) > ends_ms)
        FAULT(&note, POT_LIFE_OVER, local_minute(book, ends_ms, ended));
    else
        return;
    json_add_note(reply, &note);
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
    if (status == STATUS_OK && strcmp(event.kind, "note") != 0) status = pot_is_there(&pot, fault);
    if (status == STATUS_OK && event.mg > pot.poured_mg - pot.taken_mg)
        status = FAULT(fault, POT_HOLDS_LESS, NUMBER_TEXT((double)(pot.poured_mg - pot.taken_mg) / 1000));
    if (status == STATUS_OK) status = pot_store_log(book, &event, fault);
    if (status == STATUS_OK) status = pot_store_get(book, pot.id, arena, &pot, fault);
    if (status != STATUS_OK) return status;
    json_t *object;
    status = pot_put(book, &pot, arena, &object, fault);
    json_put(reply, "pot", object);
    say_life(book, &pot, event.kind, reply);
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
