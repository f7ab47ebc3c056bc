/* Kind `toners`: the shelf as shelf_put writes it, its priors narrowed, and beside it
 *
 *     "fit": {"films", "de00_median", "de00_max",
 *             "toners": {"<id>": {"films", "strength_sd", "scatter_sd", "shape_sd", "full_de", "tint_de"}},
 *             "drawdowns": [{"id", "de00", "film_um" (as found) or null, "lab" (as the shelf now has it)}]},
 *     "camera": how the sheet's phone reads a reflectance beside these dabs (shelf_json.c),
 *     "next_films": [{"toner", "part" (of it in white; 1: as it is), "over": "black|white", "gain"}]
 *
 * full_de, tint_de: how unsure the toner's opaque colour is, as it is and 1 in 10 in white (sd, Lab). gain:
 * how much of all uncertainty that film would take away. The films are the places of a photographed sheet
 * (photo colour --card start.json) or an instrument's drawdown file. */
#include "flow/toners_prior.h"
#include "flow/dab_camera.h"
#include "flow/place.h"
#include "flow/say.h"
#include "formats/drawdowns.h"
#include "formats/json_out.h"
#include "formats/photo_spots.h"
#include "formats/shelf_json.h"
#include "paint/prior_fit.h"
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

struct job {
    const struct surroundings *around;
    const char *file;
    struct shelf shelf;
    struct prior_task task;
    struct prior_bare *bare;
    struct prior_film *film;
    struct fault *fault;
    bool sci_assumed;
};

static enum status unknown_toner(const struct job *job, const char *id) {
    struct text names = {0};
    for (size_t i = 0; i < job->shelf.count; i++)
        text_format(&names, "%s%s", i ? ", " : "", job->shelf.toner[i].id);
    const enum status status = FAULT(job->fault, PRIOR_TONER_UNKNOWN, job->file, id, names.data);
    text_free(&names);
    return status;
}

static void make_room(struct job *job, size_t rows) {
    job->bare = arena_need(job->around->arena, rows + 1, sizeof *job->bare);
    job->film = arena_need(job->around->arena, rows + 1, sizeof *job->film);
    job->task.bare = job->bare, job->task.film = job->film;
}

/* ---- from a photograph ---- */

static enum status add_spot(struct job *job, const struct photo_spot *spot, const int *bare_of, size_t count,
                            const struct photo_spot *all) {
    double *mass = arena_need(job->around->arena, job->shelf.count, sizeof *mass);
    for (int p = 0; p < spot->place.parts; p++) {
        const int at = shelf_find(&job->shelf, spot->place.part[p].toner);
        if (at < 0) return unknown_toner(job, spot->place.part[p].toner);
        mass[at] += spot->place.part[p].g;
    }
    int over = PRIOR_BARE, dab = (int)(spot - all);
    for (size_t i = 0; i < count; i++) {
        if (spot->place.over[0] && strcmp(all[i].place.id, spot->place.over) == 0) over = bare_of[i];
        if (spot->place.dab[0] && all[i].place.parts > 0 && i < (size_t)dab &&
            strcmp(all[i].place.dab, spot->place.dab) == 0)
            dab = (int)i;
    }
    struct prior_film *film = &job->film[job->task.films++];
    *film = (struct prior_film){.id = spot->place.id,
                                .mass_g = mass,
                                .over = over,
                                .dab = dab,
                                .film_um = (double)NAN,
                                .lab = spot->lab};
    photo_spot_own(spot, film->cov);
    memcpy(film->common, spot->common, sizeof film->common);
    return STATUS_OK;
}

static enum status read_spots(struct job *job, const struct bytes *bytes) {
    struct photo_spot *spot;
    size_t count;
    enum status status = photo_spots_read(bytes, job->around->arena, &spot, &count, job->fault);
    if (status != STATUS_OK) return status;
    int *bare_of = arena_need(job->around->arena, count + 1, sizeof *bare_of);
    make_room(job, count);
    job->task.geometry = GEOMETRY_PHOTO;
    job->task.modes = SPOT_COMMON;
    for (size_t i = 0; i < count; i++) {
        bare_of[i] = (int)job->task.bares;
        job->task.eye |= spot[i].eye;
        if (spot[i].place.parts > 0) continue;
        struct prior_bare *bare = &job->bare[job->task.bares++];
        prior_bare_of_lab(spot[i].lab, &bare->reflectance);
        memcpy(bare->common, spot[i].common, sizeof bare->common);
    }
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        if (spot[i].place.parts > 0) status = add_spot(job, &spot[i], bare_of, count, spot);
    return status;
}

/* ---- from an instrument ---- */

static enum status add_row(struct job *job, const struct drawdown_set *set, const struct drawdown *row,
                           const int *bare_of) {
    double *mass = arena_need(job->around->arena, job->shelf.count, sizeof *mass);
    for (size_t t = 0; t < set->toner_count; t++) {
        const int at = shelf_find(&job->shelf, set->toner_id[t]);
        if (at < 0 && row->mass_g[t] > 0) return unknown_toner(job, set->toner_id[t]);
        if (at >= 0) mass[at] = row->mass_g[t];
    }
    job->film[job->task.films] = (struct prior_film){
        .id = row->id,
        .mass_g = mass,
        .over = row->backing == DRAWDOWN_OPAQUE ? PRIOR_BARE : bare_of[row->backing],
        .dab = (int)job->task.films,
        .film_um = row->film_um,
        .has_spectrum = true,
        .reflectance = row->reflectance,
        .lab = lab_of_spectrum(&row->reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}))};
    job->task.films++;
    return STATUS_OK;
}

static enum status read_rows(struct job *job, const struct request *request, const struct bytes *bytes) {
    struct drawdown_file file;
    enum geometry geometry = GEOMETRY_UNKNOWN;
    const char *name = request_text(request, "--geometry");
    if (name && !geometry_from_name(name, &geometry)) return FAULT(job->fault, FIT_PHOTO, name);
    enum status status = drawdowns_read(bytes, geometry, job->around->arena, &file, job->fault);
    if (status != STATUS_OK) return status;
    const struct drawdown_set *set = &file.set;
    int *bare_of = arena_need(job->around->arena, set->count + 1, sizeof *bare_of);
    make_room(job, set->count);
    job->sci_assumed = set->geometry == GEOMETRY_UNKNOWN;
    job->task.geometry = job->sci_assumed ? GEOMETRY_SCI : set->geometry;
    for (size_t i = 0; i < set->count; i++) {
        bare_of[i] = (int)job->task.bares;
        if (set->row[i].is_bare) job->bare[job->task.bares++].reflectance = set->row[i].reflectance;
    }
    for (size_t i = 0; i < set->count && status == STATUS_OK; i++)
        if (!set->row[i].is_bare) status = add_row(job, set, &set->row[i], bare_of);
    return status;
}

/* ---- the reply ---- */

static json_t *toners_json(const struct job *job, const struct prior_result *result) {
    json_t *toners = json_object();
    for (size_t i = 0; i < job->shelf.count; i++) {
        const struct prior_toner *toner = &result->toner[i];
        json_t *t = json_object();
        json_put_count(t, "films", toner->films);
        json_put_number(t, "strength_sd", toner->strength_sd, DIGITS_LAB);
        json_put_number(t, "scatter_sd", toner->scatter_sd, DIGITS_LAB);
        json_put_number(t, "shape_sd", toner->shape_sd, DIGITS_LAB);
        json_put_number(t, "full_de", toner->full_de, DIGITS_LAB);
        json_put_number(t, "tint_de", toner->tint_de, DIGITS_LAB);
        json_put(toners, job->shelf.toner[i].id, t);
    }
    return toners;
}

static json_t *rows_json(const struct job *job, const struct prior_result *result) {
    json_t *rows = json_array();
    for (size_t f = 0; f < job->task.films; f++) {
        json_t *row = json_object();
        json_put_text(row, "id", job->film[f].id);
        json_put_number(row, "de00", result->row[f].de00, DIGITS_LAB);
        if (isfinite(result->row[f].film_um))
            json_put_number(row, "film_um", result->row[f].film_um, 2);
        else
            json_put_null(row, "film_um");
        json_put(row, "lab", json_lab(result->row[f].lab));
        json_array_append_new(rows, row);
    }
    return rows;
}

static json_t *next_json(const struct job *job, const struct prior_result *result) {
    json_t *list = json_array();
    for (int i = 0; i < result->nexts; i++) {
        const struct prior_next *next = &result->next[i];
        json_t *n = json_object();
        json_put_text(n, "toner", job->shelf.toner[next->toner].id);
        json_put_number(n, "part", next->part, DIGITS_FRACTION);
        json_put_text(n, "over", next->black ? "black" : "white");
        json_put_number(n, "gain", next->gain, DIGITS_LAB);
        json_array_append_new(list, n);
    }
    return list;
}

static const double far_de00 = 4;

static void put_notes(json_t *reply, const struct job *job, const struct prior_result *result) {
    struct fault note;
    struct text unseen = {0};
    if (job->sci_assumed) FAULT0(&note, FIT_SCI_ASSUMED), json_add_note(reply, &note);
    for (size_t i = 0; i < job->shelf.count; i++)
        if (result->toner[i].films == 0 && job->shelf.toner[i].role != ROLE_BINDER)
            text_format(&unseen, "%s%s", unseen.length ? ", " : "", job->shelf.toner[i].id);
    if (unseen.length) FAULT(&note, PRIOR_UNSEEN, unseen.data), json_add_note(reply, &note);
    text_free(&unseen);
    for (size_t f = 0; f < job->task.films; f++)
        if (result->row[f].de00 > far_de00) {
            FAULT(&note, PRIOR_FAR, job->film[f].id, NUMBER_TEXT(round(10 * result->row[f].de00) / 10));
            json_add_note(reply, &note);
        }
}

static void put_reply(json_t *reply, const struct job *job, const struct prior_result *result) {
    json_t *fit = json_object();
    shelf_put(reply, &job->shelf);
    json_put_count(fit, "films", (long long)job->task.films);
    json_put_number(fit, "de00_median", result->de00_median, DIGITS_LAB);
    json_put_number(fit, "de00_max", result->de00_max, DIGITS_LAB);
    json_put(fit, "toners", toners_json(job, result));
    json_put(fit, "drawdowns", rows_json(job, result));
    json_put(reply, "fit", fit);
    json_put(reply, "next_films", next_json(job, result));
    put_notes(reply, job, result);
}

static enum status read_files(struct job *job, const struct request *request) {
    struct bytes bytes;
    enum status status =
        place_read_shelf(job->around, request_text(request, "--prior"), &job->shelf, job->fault);
    if (status != STATUS_OK) return status;
    bool any = false;
    for (size_t i = 0; i < job->shelf.count; i++) any = any || job->shelf.toner[i].prior.on;
    if (!any) return FAULT(job->fault, PRIOR_NONE, request_text(request, "--prior"));
    if (request_has(request, "--about")) return FAULT0(job->fault, PRIOR_ABOUT);
    job->task.shelf = &job->shelf;
    job->file = request_text(request, "DRAWDOWNS");
    status = disk_read(job->around->disk, job->file, DISK_TEXT_MIB, job->around->arena, &bytes, job->fault);
    if (status != STATUS_OK) return status;
    return photo_spots_are_here(&bytes) ? read_spots(job, &bytes) : read_rows(job, request, &bytes);
}

enum status toners_prior_flow(const struct surroundings *around, const struct request *request,
                              json_t **reply, struct fault *fault) {
    struct job job = {.around = around, .fault = fault};
    struct prior_result result;
    struct shelf shelf;
    enum status status = read_files(&job, request);
    if (status == STATUS_OK) status = prior_fit(&job.task, around->arena, &shelf, &result, fault);
    if (status != STATUS_OK) return status;
    job.shelf = shelf;
    job.shelf.geometry = job.task.geometry;
    struct weights camera;
    if (job.task.eye && dab_camera_make(&result, job.task.films, &camera)) job.shelf.camera = &camera;
    *reply = json_start("toners");
    put_reply(*reply, &job, &result);
    return STATUS_OK;
}

/* ---- for people ---- */

static void say_next(const json_t *next, struct text *out) {
    for (size_t i = 0; i < json_array_size(next); i++) {
        const json_t *n = json_array_get(next, i);
        const double part = say_number(n, "part");
        char mix[40] = "as it is";
        if (part < 1) snprintf(mix, sizeof mix, "1 : %.0f in white", (1 - part) / part);
        text_format(out, "  %zu. %s, %s, over %s: takes away %.0f %% of what is unsure\n", i + 1,
                    say_string(n, "toner"), mix, say_string(n, "over"), 100 * say_number(n, "gain"));
    }
}

void toners_prior_say(const json_t *reply, struct text *out) {
    const json_t *fit = json_object_get(reply, "fit"), *toners = json_object_get(fit, "toners");
    const char *id;
    json_t *toner;
    text_format(out, "%zu toners from %.0f films and what was known before (%s)\n", json_object_size(toners),
                say_number(fit, "films"), say_string(reply, "geometry"));
    say_row(out, "films miss by", "%.2f dE00 median, %.2f at most", say_number(fit, "de00_median"),
            say_number(fit, "de00_max"));
    text_format(out, "  %-20s %5s  %9s  %14s  %14s\n", "toner", "films", "strength", "as it is",
                "1 : 9 in white");
    json_object_foreach((json_t *)(uintptr_t)toners, id, toner) text_format(
        out, "  %-20s %5.0f  +/-%3.0f %%  +/-%5.1f dE      +/-%5.1f dE\n", id, say_number(toner, "films"),
        100 * say_number(toner, "strength_sd"), say_number(toner, "full_de"), say_number(toner, "tint_de"));
    text_add(out, "\nSpray next, the most telling first:\n");
    say_next(json_object_get(reply, "next_films"), out);
    say_notes(reply, out);
}
