/* russet card -> kind `card`: the card as card_put writes it, and beside it
 *
 *     "look": "own|frame|chart|start|other", "paper": "a4|letter", "hole_mm": [x, y, w, h] (frame),
 *     "recipes": [{"patch", "parts": [{"toner", "g"}], "lab"}], "leather_rms_de00" (own, with --toners)
 *
 * --values fills the patches of a card and answers it as it then is. */
#include "flow/card_recipes.h"
#include "flow/note.h"
#include "flow/place.h"
#include "formats/card_json.h"
#include "formats/card_values.h"
#include "formats/json_out.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

extern operation_flow card_flow;

enum { BLANK_TONERS = 8 };
static const double usual_pitch_mm = 15;

struct job {
    const struct surroundings *around;
    const struct request *request;
    json_t *reply;
    struct photo_card *card;
    const char *look;
    struct fault *fault;
};

static enum status read_card_file(const struct job *job, const char *path, struct photo_card **out) {
    struct bytes bytes;
    const enum status status =
        disk_read(job->around->disk, path, DISK_TEXT_MIB, job->around->arena, &bytes, job->fault);
    return status == STATUS_OK ? card_read(&bytes, job->around->arena, out, job->fault) : status;
}

/* ---- own ---- */

static json_t *recipe_json(const struct shelf *shelf, const char *patch, const struct match_recipe *mix) {
    json_t *r = json_object(), *parts = json_array();
    json_put_text(r, "patch", patch);
    for (size_t i = 0; i < mix->recipe.count; i++) {
        json_t *part = json_object();
        json_put_text(part, "toner", shelf->toner[mix->recipe.toner[i]].id);
        json_put_number(part, "g", mix->recipe.mass_g[i], 4);
        json_array_append_new(parts, part);
    }
    json_put(r, "parts", parts);
    json_put(r, "lab", json_lab(mix->lab));
    return r;
}

static enum status make_own(struct job *job) {
    const char *toners = request_text(job->request, "--toners");
    photo_card_own(job->card);
    if (!toners) {
        NOTE0(job->reply, CARD_NO_TONERS);
        return STATUS_OK;
    }
    struct shelf shelf;
    struct card_recipes *recipes = arena_need(job->around->arena, 1, sizeof *recipes);
    enum status status = place_read_shelf(job->around, toners, &shelf, job->fault);
    if (status == STATUS_OK)
        status = card_recipes_find(job->around, &shelf, request_number(job->request, "--batch-g", 10),
                                   request_number(job->request, "--scale-step", .01), job->card, recipes,
                                   job->fault);
    if (status != STATUS_OK) return status;
    json_t *list = json_array();
    for (int i = 0; i < recipes->count; i++)
        json_array_append_new(list, recipe_json(&shelf, recipes->of[i].patch, &recipes->of[i].mix));
    json_put(job->reply, "recipes", list);
    json_put_number(job->reply, "leather_rms_de00", recipes->rms_de00, DIGITS_LAB);
    if (recipes->count < 24) NOTE(job->reply, CARD_FEW_MIXES, COUNT_TEXT(recipes->count));
    return STATUS_OK;
}

/* ---- frame ---- */

static void frame(struct job *job, const struct photo_card *chart) {
    photo_card_frame(chart, job->card);
    const double hole[4] = {PHOTO_FRAME_EDGE_MM, PHOTO_FRAME_EDGE_MM, chart->size_mm[0], chart->size_mm[1]};
    json_put(job->reply, "hole_mm", json_numbers(hole, 4, 2));
}

static enum status make_frame(struct job *job) {
    struct photo_card *chart = arena_need(job->around->arena, 1, sizeof *chart);
    const double pitch = request_number(job->request, "--pitch-mm", usual_pitch_mm);
    photo_card_chart24(pitch, chart);
    frame(job, chart);
    if (!request_has(job->request, "--pitch-mm")) NOTE(job->reply, CARD_PITCH_ASSUMED, NUMBER_TEXT(pitch));
    NOTE0(job->reply, CARD_PUBLISHED);
    return STATUS_OK;
}

static enum status make_chart(struct job *job) {
    struct photo_card *chart;
    const enum status status = read_card_file(job, request_text(job->request, "--chart"), &chart);
    if (status != STATUS_OK) return status;
    job->look = chart->tags > 0 ? "other" : "chart";
    if (chart->tags > 0)
        job->card = chart;
    else
        frame(job, chart);
    if (chart->name[0]) memcpy(job->card->name, chart->name, sizeof chart->name);
    return STATUS_OK;
}

/* ---- start ---- */

static enum status read_start_toners(const struct job *job, char id[SHELF_MOST][48], int *count, int *white) {
    struct shelf shelf;
    *count = 0, *white = -1;
    const enum status status =
        place_read_shelf(job->around, request_text(job->request, "--toners"), &shelf, job->fault);
    if (status != STATUS_OK) return status;
    for (size_t i = 0; i < shelf.count; i++) {
        if (shelf.toner[i].role == ROLE_BINDER) continue;
        if (shelf.toner[i].role == ROLE_WHITE && *white < 0) *white = *count;
        memcpy(id[(*count)++], shelf.toner[i].id, TONER_ID_MAX);
    }
    return STATUS_OK;
}

static enum status make_start(struct job *job) {
    char id[SHELF_MOST][48] = {{0}};
    int count = BLANK_TONERS, white = 0;
    if (request_text(job->request, "--toners")) {
        const enum status status = read_start_toners(job, id, &count, &white);
        if (status != STATUS_OK) return status;
        if (white < 0) NOTE0(job->reply, CARD_NO_WHITE);
    } else {
        for (int i = 0; i < count; i++) snprintf(id[i], sizeof id[i], "toner-%d", i + 1);
        NOTE(job->reply, CARD_BLANK_START, COUNT_TEXT(count));
    }
    if (!photo_card_start((const char(*)[48])id, count, white, job->card))
        return FAULT(job->fault, CARD_START_MANY, COUNT_TEXT(count), COUNT_TEXT(START_TONERS_MOST));
    NOTE0(job->reply, CARD_EXPECT);
    return STATUS_OK;
}

/* ---- values ---- */

static enum status put_values(struct job *job, struct card_values_found *found) {
    const char *path = request_text(job->request, "--values");
    const struct surroundings *around = job->around;
    struct bytes bytes;
    struct sample_file file;
    struct photo_spot *spot;
    size_t count;
    enum status status = disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, job->fault);
    if (status != STATUS_OK) return status;
    const bool of_shelf = shelf_spots_are_here(&bytes);
    if (of_shelf || photo_spots_are_here(&bytes)) {
        status = of_shelf ? shelf_spots_read(&bytes, around->arena, &spot, &count, job->fault)
                          : photo_spots_read(&bytes, around->arena, &spot, &count, job->fault);
        return status == STATUS_OK
                   ? card_values_put_spots(job->card, spot, count, path, around->arena, found, job->fault)
                   : status;
    }
    status = sample_file_read(&bytes, GEOMETRY_UNKNOWN, around->arena, &file, job->fault);
    return status == STATUS_OK ? card_values_put(job->card, &file, around->arena, found, job->fault) : status;
}

static enum status make_values(struct job *job) {
    const char *card = request_text(job->request, "--card");
    struct card_values_found found;
    if (!card || !request_has(job->request, "--values")) return FAULT0(job->fault, CARD_VALUES_NEED);
    enum status status = read_card_file(job, card, &job->card);
    if (status == STATUS_OK) status = put_values(job, &found);
    if (status != STATUS_OK) return status;
    job->look = "other";
    if (found.unknown[0]) NOTE(job->reply, CARD_VALUES_UNKNOWN, found.unknown);
    if (found.left[0]) NOTE(job->reply, CARD_VALUES_LEFT, found.left);
    return STATUS_OK;
}

static enum status make(struct job *job) {
    const char *kind = request_text(job->request, "--kind");
    if (request_has(job->request, "--card") || request_has(job->request, "--values")) return make_values(job);
    if (request_has(job->request, "--chart")) return make_chart(job);
    if (strcmp(kind, "frame") == 0) return make_frame(job);
    return strcmp(kind, "start") == 0 ? make_start(job) : make_own(job);
}

enum status card_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                      struct fault *fault) {
    struct job job = {.around = around,
                      .request = request,
                      .reply = json_start("card"),
                      .card = arena_need(around->arena, 1, sizeof *job.card),
                      .look = request_text(request, "--kind"),
                      .fault = fault};
    const enum status status = make(&job);
    if (status != STATUS_OK) {
        json_decref(job.reply);
        return status;
    }
    json_put_text(job.reply, "look", job.look);
    json_put_text(job.reply, "paper", request_text(request, "--paper"));
    json_put_text(job.reply, "steps_for", request_text(request, "--steps-for"));
    card_put(job.reply, job.card);
    *reply = job.reply;
    return STATUS_OK;
}
