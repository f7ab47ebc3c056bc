/* `toners learn`: all pots of the shop and what their cards measured -> a shelf that knows its lots. */
#include "base/text.h"
#include "flow/note.h"
#include "flow/place.h"
#include "flow/pot_flow.h"
#include "formats/json_out.h"
#include "formats/shelf_json.h"
#include "paint/learn.h"
#include <math.h>
#include <stdint.h>
#include <string.h>

static const double HIDES_UM = 1000, OTHER_GROUND = .1; /* of reflectance, in some band */

struct school {
    const struct surroundings *around;
    struct shelf shelf;
    struct result_set results;
    struct card *card; /* coated results first to be learnt from */
    size_t *origin;    /* [cards] index of the result */
    size_t cards;
    int lots;
    struct learnt learnt;
    json_t *reply;
};

/* Lots of one toner are counted up in the order of the results; lot 0 is the one that stands on the shelf
 * now. */
static int lot_index(const struct school *s, size_t toner, const char *lot, const char *known[], int *count) {
    if (!*lot || strcmp(lot, s->shelf.toner[toner].lot) == 0) return 0;
    for (int i = 1; i < *count; i++)
        if (strcmp(known[i], lot) == 0) return i;
    known[*count] = lot;
    return (*count)++;
}

static void tell_lots(struct school *s) {
    const size_t toners = s->shelf.count;
    const char **known = arena_need(s->around->arena, s->results.count + 1, sizeof *known);
    s->lots = 1;
    for (size_t toner = 0; toner < toners; toner++) {
        int count = 1;
        for (size_t c = 0; c < s->cards; c++) {
            const struct result *result = &s->results.result[s->origin[c]];
            int *lot = (int *)(uintptr_t)s->card[c].lot;
            for (size_t i = 0; i < result->toners; i++)
                if (strcmp(result->toner[i], s->shelf.toner[toner].id) == 0)
                    lot[toner] = lot_index(s, toner, result->lot[i], known, &count);
        }
        if (count > s->lots) s->lots = count;
    }
}

static enum status read_cards(struct school *s, struct fault *fault) {
    s->card = arena_need(s->around->arena, s->results.count, sizeof *s->card);
    s->origin = arena_need(s->around->arena, s->results.count, sizeof *s->origin);
    for (size_t i = 0; i < s->results.count; i++) {
        if (s->results.result[i].state != STATE_COATED) continue;
        struct card *card = &s->card[s->cards];
        const enum status status =
            card_of_result(&s->results.result[i], &s->shelf, s->around->arena, card, fault);
        if (status != STATUS_OK) return status;
        card->lot = arena_need(s->around->arena, s->shelf.count, sizeof *card->lot);
        s->origin[s->cards++] = i;
    }
    tell_lots(s);
    return STATUS_OK;
}

static enum status read_school(struct school *s, const struct request *request, struct fault *fault) {
    enum status status = place_read_shelf(s->around, request_text(request, "--toners"), &s->shelf, fault);
    if (status == STATUS_OK) status = results_from_request(s->around, request, "--log", &s->results, fault);
    if (status == STATUS_OK) status = read_cards(s, fault);
    if (status != STATUS_OK) return status;
    if (s->cards < LEARN_FEWEST || s->cards > LEARN_MOST)
        return FAULT(fault, RESULTS_TOO_FEW, COUNT_TEXT(s->cards), COUNT_TEXT(LEARN_FEWEST));
    return STATUS_OK;
}

static enum status tell_shift(struct school *s, enum card_state state, struct shelf *learnt,
                              struct fault *fault) {
    struct shelf plain = *learnt; /* the cards as they were read, in whatever state */
    memset(plain.shift, 0, sizeof plain.shift);
    struct card *card = arena_need(s->around->arena, s->results.count + 1, sizeof *card);
    size_t n = 0;
    for (size_t i = 0; i < s->results.count; i++) {
        if (s->results.result[i].state != state) continue;
        const enum status status =
            card_of_result(&s->results.result[i], &plain, s->around->arena, &card[n++], fault);
        if (status != STATUS_OK) return status;
    }
    if (n > 0) learn_shift(learnt, card, n, &learnt->shift[state]);
    return STATUS_OK;
}

static void put_outliers(struct school *s) {
    json_t *array = json_array();
    for (size_t i = 0; i < s->learnt.outliers; i++) {
        const struct outlier *o = &s->learnt.outlier[i];
        const struct result *result = &s->results.result[s->origin[o->result]];
        char de00[24];
        struct fault because;
        const char *cause = cause_text(&s->shelf, o, &because);
        snprintf(de00, sizeof de00, "%.2f", o->de00);
        json_t *entry = json_object();
        json_put_text(entry, "id", result->id);
        json_put_number(entry, "de00", o->de00, DIGITS_LAB);
        json_put_text(entry, "toner", o->toner >= 0 ? s->shelf.toner[o->toner].id : NULL);
        json_put_number(entry, "factor", o->factor, 4);
        json_put_text(entry, "cause", cause);
        json_array_append_new(array, entry);
        struct fault note;
        FAULT(&note, NOTE_OUTLIER, result->id, de00, cause);
        json_add_note(s->reply, &note);
    }
    json_put(s->reply, "outliers", array);
}

/* Strength of every toner and lot that was in a pot, as a factor with its 95 % band. */
static void put_strengths(struct school *s) {
    json_t *array = json_array();
    for (size_t i = 0; i < s->shelf.count; i++) {
        for (int lot = 0; lot < s->lots; lot++) {
            const char *name = NULL;
            for (size_t c = 0; c < s->cards; c++) {
                const struct result *result = &s->results.result[s->origin[c]];
                for (size_t k = 0; k < result->toners; k++)
                    if (s->card[c].lot[i] == lot && strcmp(result->toner[k], s->shelf.toner[i].id) == 0)
                        name = lot ? result->lot[k] : s->shelf.toner[i].lot;
            }
            if (!name) continue;
            double sd;
            const double ln = calibration_strength(s->learnt.calibration, i, lot, &sd);
            json_t *entry = json_object();
            json_put_text(entry, "toner", s->shelf.toner[i].id);
            json_put_text(entry, "lot", name);
            json_put_number(entry, "strength", exp(ln), 4);
            json_put_number(entry, "low", exp(ln - 1.96 * sd), 4);
            json_put_number(entry, "high", exp(ln + 1.96 * sd), 4);
            json_array_append_new(array, entry);
        }
    }
    json_put(s->reply, "strengths", array);
}

static bool is_shown(const struct school *s, size_t toner) {
    for (size_t i = 0; i < s->cards; i++)
        if (s->card[i].part[toner] > 0 && s->card[i].lot[toner] == 0 && !isnan(s->learnt.held_out[i]))
            return true;
    return false;
}

/* Toners whose bottle of now no card has shown. */
static void note_unseen(const struct school *s) {
    struct text names = {0};
    for (size_t i = 0; i < s->shelf.count; i++)
        if (s->shelf.toner[i].role != ROLE_BINDER && !is_shown(s, i))
            text_format(&names, "%s%s", names.length ? ", " : "", s->shelf.toner[i].id);
    if (names.length) NOTE(s->reply, NOTE_TONERS_UNSEEN, names.data);
    text_free(&names);
}

/* Whether another card tells what the same film reads over another ground. Where a film hides it need not. */
static bool has_other_half(const struct school *s, size_t card) {
    const struct card *one = &s->card[card];
    if (!(one->film.film_um < HIDES_UM)) return true;
    for (size_t i = 0; i < s->cards; i++) {
        bool same = true;
        for (size_t k = 0; k < s->shelf.count && same; k++)
            same = fabs(s->card[i].part[k] - one->part[k]) <= 1e-9;
        for (int b = 0; b < BANDS && same; b++)
            if (fabs(s->card[i].film.backing.band[b] - one->film.backing.band[b]) > OTHER_GROUND) return true;
    }
    return false;
}

static void note_one_ground(const struct school *s) {
    size_t alone = 0;
    for (size_t i = 0; i < s->cards; i++) alone += !has_other_half(s, i);
    if (2 * alone > s->cards) NOTE(s->reply, NOTE_ONE_GROUND, COUNT_TEXT(alone), COUNT_TEXT(s->cards));
}

/* The shelf keeps the latest cards that it learnt from, without the outliers. */
static void keep_cards(const struct school *s, struct shelf *learnt) {
    struct card *kept = arena_need(s->around->arena, s->cards + 1, sizeof *kept);
    size_t n = 0;
    for (size_t i = 0; i < s->cards; i++)
        if (!isnan(s->learnt.held_out[i])) kept[n++] = s->card[i];
    const size_t first = n > SHELF_CARDS_MOST ? n - SHELF_CARDS_MOST : 0;
    learnt->card = kept + first;
    learnt->cards = n - first;
}

static enum status put_school(struct school *s, struct fault *fault) {
    struct shelf learnt = s->shelf;
    learnt.toner = arena_need(s->around->arena, learnt.count, sizeof *learnt.toner);
    memcpy(learnt.toner, s->shelf.toner, learnt.count * sizeof *learnt.toner);
    if (s->learnt.better) {
        calibration_apply(s->learnt.calibration, 0, &learnt);
        keep_cards(s, &learnt);
        for (int state = STATE_DRY; state < STATE_COUNT; state++) {
            const enum status status = tell_shift(s, (enum card_state)state, &learnt, fault);
            if (status != STATUS_OK) return status;
        }
    }
    s->reply = json_start("toners");
    shelf_put(s->reply, &learnt);
    json_t *held_out = json_object();
    json_put_count(held_out, "results", (long long)(s->cards - s->learnt.outliers));
    json_put_number(held_out, "before_de00", s->learnt.before_de00, DIGITS_LAB);
    json_put_number(held_out, "after_de00", s->learnt.after_de00, DIGITS_LAB);
    json_put_flag(held_out, "better", s->learnt.better);
    json_put(s->reply, "held_out", held_out);
    put_outliers(s);
    put_strengths(s);
    if (s->learnt.better) note_unseen(s);
    note_one_ground(s);
    return STATUS_OK;
}

static enum status refuse_worse(const struct school *s, struct fault *fault) {
    char before[24], after[24];
    snprintf(before, sizeof before, "%.3f", s->learnt.before_de00);
    snprintf(after, sizeof after, "%.3f", s->learnt.after_de00);
    return FAULT(fault, NOTE_LEARNT_WORSE, after, before);
}

operation_flow toners_learn_flow;

enum status toners_learn_flow(const struct surroundings *around, const struct request *request,
                              json_t **reply, struct fault *fault) {
    struct school s = {.around = around};
    enum status status = read_school(&s, request, fault);
    if (status == STATUS_OK)
        status = learn_run(&s.shelf, s.card, s.cards, s.lots, &doubt_learning, around->work, around->arena,
                           &s.learnt, fault);
    if (status != STATUS_OK) return status;
    status = put_school(&s, fault);
    calibration_free(s.learnt.calibration);
    *reply = s.reply;
    if (status == STATUS_OK && !s.learnt.better) status = refuse_worse(&s, fault);
    return status;
}
