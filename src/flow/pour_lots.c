#include "flow/pour_lots.h"
#include "base/text.h"
#include "flow/note.h"
#include "flow/shop_place.h"
#include "formats/json_out.h"
#include <math.h>
#include <string.h>

/* What is in the cup came out of the first lots; the book hears of it when the pour is logged. */
static void leave_out_poured(long long in_mg, struct toner_lots *of) {
    struct lot_choice *choice = &of->choice;
    size_t kept = 0;
    of->stock_mg -= in_mg;
    for (size_t i = 0; i < choice->count; i++) {
        struct lot_share share = choice->share[i];
        const long long gone_mg = share.mg < in_mg ? share.mg : in_mg;
        in_mg -= gone_mg;
        share.mg -= gone_mg;
        share.lot.stock_mg -= gone_mg;
        if (share.mg > 0) choice->share[kept++] = share;
    }
    choice->count = kept;
    if (choice->short_mg > llround(1000 * of->need_g)) choice->short_mg = llround(1000 * of->need_g);
}

static enum status find_one(struct book *book, struct arena *arena, struct toner_lots *of,
                            struct fault *fault) {
    struct toner_row row;
    struct fault unknown = {0};
    const enum status known = toner_store_get(book, of->toner, arena, &row, &unknown);
    if (known == STATUS_INPUT) return STATUS_OK; /* not on this shelf */
    if (known != STATUS_OK) {
        if (fault) *fault = unknown;
        return known;
    }
    of->kept = true;
    of->stock_mg = row.stock_mg;
    of->warn_mg = row.warn_mg;
    const long long in_mg = llround(1000 * of->in_g);
    const enum status status =
        lot_choose(book, of->toner, in_mg + llround(1000 * of->need_g), arena, &of->choice, fault);
    if (status == STATUS_OK) leave_out_poured(in_mg, of);
    return status;
}

/* As the steps pour it, on the scale's grid: with the binder of the let-downs. */
static double planned_g(const struct pour_task *task, const struct pour_plan *plan, int toner) {
    const int binder = pour_binder(task->recipe);
    double g = 0;
    for (size_t j = 0; j < plan->count; j++) {
        const struct pour_step *step = &plan->step[j];
        if (step->toner == toner) g += step->g * step->let_down.fraction;
        if (binder == toner) g += step->g * (1 - step->let_down.fraction);
    }
    return g;
}

static void need(const struct pour_task *task, size_t toner, double in_g, double need_g,
                 struct pour_lots *out) {
    if (need_g < .5 * task->scale.step_g) return;
    out->of[out->count++] =
        (struct toner_lots){.toner = task->recipe->shelf.toner[toner].id, .in_g = in_g, .need_g = need_g};
}

/* Went in since the cup was set on the scale, also what has left it for dabs. */
static double poured_g(const struct pour_state *state, size_t toner) {
    return state->keep > 0 ? state->in_pot_g[toner] / state->keep : 0;
}

static void need_the_rest(const struct pour_task *task, const struct pour_plan *plan, struct pour_lots *out) {
    struct pour_state state;
    pour_look(task, plan, &state);
    for (size_t i = 0; i < task->recipe->shelf.count; i++)
        need(task, i, poured_g(&state, i), planned_g(task, plan, (int)i) - poured_g(&state, i), out);
}

static enum status find_lots(const struct surroundings *around, const struct request *request,
                             struct pour_lots *out, struct fault *fault) {
    struct book *book = NULL;
    const bool named = request_has(request, "--shop") || around->shop_dir;
    struct fault own = {0};
    enum status status = shop_open_if_there(around, request, &book, &own);
    if (status == STATUS_OK && !book) return STATUS_OK;
    for (size_t i = 0; i < out->count && status == STATUS_OK; i++)
        status = find_one(book, around->arena, &out->of[i], &own);
    book_close(book);
    out->known = status == STATUS_OK;
    if (status == STATUS_OK) return status;
    if (named) {
        if (fault) *fault = own;
        return status;
    }
    out->closed = own;
    return STATUS_OK;
}

enum status pour_lots_find(const struct surroundings *around, const struct request *request,
                           const struct pour_task *task, const struct pour_plan *plan, struct pour_lots *out,
                           struct fault *fault) {
    *out = (struct pour_lots){0};
    need_the_rest(task, plan, out);
    return find_lots(around, request, out, fault);
}

enum status pour_lots_for_rescue(const struct surroundings *around, const struct request *request,
                                 const struct pour_task *task, const struct pour_state *state,
                                 const double add_g[], struct pour_lots *out, struct fault *fault) {
    *out = (struct pour_lots){.rescue = true};
    for (size_t i = 0; i < task->recipe->shelf.count; i++) need(task, i, poured_g(state, i), add_g[i], out);
    return find_lots(around, request, out, fault);
}

static const struct toner_lots *lots_of(const struct pour_lots *lots, const char *toner) {
    for (size_t i = 0; lots->known && i < lots->count; i++)
        if (strcmp(lots->of[i].toner, toner) == 0) return &lots->of[i];
    return NULL;
}

const char *pour_lots_name(const struct pour_lots *lots, const char *toner, struct arena *arena) {
    const struct toner_lots *of = lots_of(lots, toner);
    struct text text = {0};
    if (!of || of->choice.count == 0) return NULL;
    text_add(&text, of->choice.count > 1 ? "lots " : "lot ");
    for (size_t i = 0; i < of->choice.count; i++)
        text_format(&text, "%s%s", i ? ", " : "", of->choice.share[i].lot.name);
    const char *copy = arena_text(arena, text.data, text.length);
    text_free(&text);
    return copy;
}

bool pour_lots_left(const struct pour_lots *lots, const char *toner, double in_g, double *left_g) {
    const struct toner_lots *of = lots_of(lots, toner);
    if (!of || !of->choice.any) return false;
    *left_g = (double)of->stock_mg / 1000 - (in_g - of->in_g); /* stock_mg is without of->in_g already */
    return true;
}

static void put_share(const struct toner_lots *of, const struct lot_share *share, json_t *list) {
    json_t *one = json_object();
    json_put_text(one, "toner", of->toner);
    json_put_text(one, "lot", share->lot.name);
    json_put_number(one, "g", (double)share->mg / 1000, 3);
    json_put_number(one, "left_g", (double)(share->lot.stock_mg - share->mg) / 1000, 3);
    json_put_text(one, "expires", share->lot.expires_day);
    json_array_append_new(list, one);
}

static void say_share(const struct toner_lots *of, const struct lot_share *share, json_t *reply) {
    if (share->expired) NOTE(reply, POUR_LOT_OLD, of->toner, share->lot.name, share->lot.expires_day);
    if (share->frozen) NOTE(reply, POUR_LOT_FROZEN, of->toner, share->lot.name);
}

static void say_stock(const struct toner_lots *of, bool rescue, json_t *reply) {
    const long long left_mg = of->stock_mg - llround(1000 * of->need_g);
    if (of->choice.any && of->choice.short_mg > 0 && rescue)
        NOTE(reply, POUR_STOCK_RESCUE, of->toner, NUMBER_TEXT(round(100 * of->need_g) / 100),
             NUMBER_TEXT(of->need_g - (double)of->choice.short_mg / 1000));
    else if (of->choice.any && of->choice.short_mg > 0)
        NOTE(reply, POUR_STOCK_SHORT, of->toner, NUMBER_TEXT(round(100 * of->need_g) / 100),
             NUMBER_TEXT(of->need_g - (double)of->choice.short_mg / 1000));
    else if (of->choice.any && of->warn_mg > 0 && left_mg < of->warn_mg)
        NOTE(reply, POUR_STOCK_WARNS, of->toner, NUMBER_TEXT((double)left_mg / 1000),
             NUMBER_TEXT((double)of->warn_mg / 1000));
}

/* One sentence for all that the shelf does not know, one for all without a lot. */
static void say_missing(const struct pour_lots *lots, json_t *reply) {
    struct text unknown = {0}, empty = {0};
    for (size_t i = 0; i < lots->count; i++) {
        const struct toner_lots *of = &lots->of[i];
        struct text *names = !of->kept ? &unknown : &empty;
        if (!of->kept || !of->choice.any) text_format(names, "%s%s", names->length ? ", " : "", of->toner);
    }
    if (unknown.length) NOTE(reply, POUR_NOT_KEPT, unknown.data);
    if (empty.length) NOTE(reply, POUR_NO_LOTS, empty.data);
    text_free(&unknown);
    text_free(&empty);
}

static void put_names(const struct pour_lots *lots, struct arena *arena, json_t *pours) {
    for (size_t i = 0; i < json_array_size(pours); i++) {
        json_t *pour = json_array_get(pours, i);
        const char *toner = json_string_value(json_object_get(pour, "toner"));
        json_put_text(pour, "lot", toner ? pour_lots_name(lots, toner, arena) : NULL);
    }
}

void pour_lots_put(const struct pour_lots *lots, struct arena *arena, json_t *reply) {
    json_t *list = json_array(), *steps = json_object_get(reply, "steps");
    if (lots->closed.text[0]) NOTE(reply, POUR_SHOP_CLOSED, lots->closed.text);
    for (size_t i = 0; lots->known && i < lots->count; i++) {
        for (size_t k = 0; k < lots->of[i].choice.count; k++) {
            put_share(&lots->of[i], &lots->of[i].choice.share[k], list);
            say_share(&lots->of[i], &lots->of[i].choice.share[k], reply);
        }
        say_stock(&lots->of[i], lots->rescue, reply);
    }
    if (lots->known) say_missing(lots, reply);
    json_put(reply, "lots", lots->known ? list : json_null());
    if (!lots->known) return json_decref(list);
    put_names(lots, arena, steps);
    if (!lots->rescue) return;
    const json_t *rescue = json_object_get(reply, "rescue");
    const char *advice = json_string_value(json_object_get(rescue, "advice"));
    const bool whole = advice && strcmp(advice, "whole") == 0;
    put_names(lots, arena, json_object_get(json_object_get(rescue, whole ? "whole" : "least"), "pours"));
}
