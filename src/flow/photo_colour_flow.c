/* `russet photo colour`: photographs of a card and a spot -> kind `reading`, geometry photo:
 *
 *     "lab", "lab_cov", "u95_de00", "reflectance" and "reflectance_band" (or null),
 *     "card": {name, loo_mean, loo_max, model, gradient, patches: [{id, de00, lab}]},
 *     "photos": [{file, tags, used, de00}], "spots_read": [{lab, u95_de00}] (several),
 *     "against": [{lab, dl, da, db, de00, lab_cov, u95_de00, unlike_u95_de00, verdict}],
 *     "spots": the card's places (a sheet of the first day), as `toners fit` takes them
 *
 * One photograph is in memory at a time. */
#include "colour/difference.h"
#include "flow/note.h"
#include "flow/photo_library.h"
#include "flow/picture_flow.h"
#include "flow/place.h"
#include "formats/card_json.h"
#include "formats/json_out.h"
#include "report/photo_overlay.h"
#include "surface/camera.h"
#include <math.h>
#include <string.h>

extern operation_flow photo_colour_flow;

static const double fade_de = 1.5; /* spots of one finish that differ by more are not one finish */
static const double bright_gradient = .12;

struct job {
    const struct surroundings *around;
    const struct request *request;
    struct fault *fault;
    json_t *reply;
    struct photo_card *card;
    struct located *located; /* of each photograph, first lamp then second */
    struct camera_spot spot[CAMERA_SPOTS_MOST];
    int spots, against; /* the last `against` spots are to be held against the first */
    int shots, seconds;
    struct camera_shot *shot[2 * CAMERA_SHOTS_MOST];
};

static const char *rounded(char out[40], double value) {
    return number_text(out, round(10 * value) / 10);
}
#define TENTHS(x) rounded((char[40]){0}, (x))

/* ---- what was asked ---- */

static enum status read_spots_of(struct job *job, const char *name) {
    const size_t n = request_count(job->request, name);
    for (size_t i = 0; i < n; i++) {
        size_t numbers;
        const double *v = request_numbers_at(job->request, name, i, &numbers);
        if (numbers != 3 || !(v[2] > 0)) return FAULT(job->fault, SPOT_NOT_THREE, name);
        if (job->spots == CAMERA_SPOTS_MOST)
            return FAULT(job->fault, SPOTS_MANY, COUNT_TEXT(CAMERA_SPOTS_MOST));
        job->spot[job->spots++] = (struct camera_spot){v[0], v[1], v[2]};
    }
    return STATUS_OK;
}

static enum status read_spots(struct job *job) {
    enum status status = read_spots_of(job, "--spot");
    if (status == STATUS_OK && job->spots == 0 && job->card->has_window) job->spots = 1; /* r 0: the window */
    const int before = job->spots;
    if (status == STATUS_OK) status = read_spots_of(job, "--against");
    job->against = job->spots - before;
    if (status == STATUS_OK && before == 0) return FAULT0(job->fault, CARD_NO_WINDOW);
    return status;
}

static enum status read_card(struct job *job) {
    struct bytes bytes;
    const enum status status = disk_read(job->around->disk, request_text(job->request, "--card"),
                                         DISK_TEXT_MIB, job->around->arena, &bytes, job->fault);
    return status == STATUS_OK ? card_read(&bytes, job->around->arena, &job->card, job->fault) : status;
}

/* ---- the photographs ---- */

static enum status locate(struct job *job, const struct picture *picture, size_t number,
                          struct located *out) {
    size_t numbers;
    if (number >= request_count(job->request, "--corners"))
        return locate_card(picture, job->card, out, job->fault);
    const double *v = request_numbers_at(job->request, "--corners", number, &numbers);
    if (numbers != 8) return FAULT0(job->fault, CARD_CORNERS_ORDER);
    const double f = picture->reduced > 0 ? 1. / picture->reduced : 1;
    struct point corner[4];
    for (int i = 0; i < 4; i++) corner[i] = (struct point){f * v[2 * i], f * v[2 * i + 1]};
    return locate_by_corners(picture, job->card, corner, out, job->fault);
}

/* The spots are told in the first photograph; the card carries them over to the others. */
static void carry_spots(const struct job *job, const struct picture *picture, size_t number,
                        struct camera_spot out[CAMERA_SPOTS_MOST]) {
    const double f = picture->reduced > 0 ? 1. / picture->reduced : 1;
    for (int i = 0; i < job->spots; i++) {
        out[i] = job->spot[i];
        if (out[i].r == 0) continue;
        out[i].x *= f, out[i].y *= f, out[i].r *= f;
        if (number == 0) continue;
        const struct point mm = located_to_card(&job->located[0], (struct point){out[i].x, out[i].y});
        const struct point px = located_to_pixel(&job->located[number], mm);
        out[i] = (struct camera_spot){px.x, px.y,
                                      out[i].r * job->located[number].px_per_mm / job->located[0].px_per_mm};
    }
}

static enum status draw_overlay(const struct job *job, const struct picture *picture,
                                const struct camera_spot spot[]) {
    const char *path = request_text(job->request, "--overlay");
    struct text png = {0};
    enum status status =
        photo_overlay(picture, job->card, &job->located[0], spot, job->spots, &png, job->fault);
    if (status == STATUS_OK) status = disk_write(job->around->disk, path, png.data, png.length, job->fault);
    text_free(&png);
    return status;
}

/* Dab and spot share the window: without a spot of its own the window's reading would hold the dab as well.
 */
static enum status refuse_mixed(const struct job *job, const struct picture *picture) {
    const double f = picture->reduced > 0 ? 1. / picture->reduced : 1;
    const struct photo_card *card = job->card;
    if (!job->against || job->spot[0].r != 0 || !card->has_window) return STATUS_OK;
    for (int i = job->spots - job->against; i < job->spots; i++) {
        const struct camera_spot *s = &job->spot[i];
        const struct point mm = located_to_card(&job->located[0], (struct point){f * s->x, f * s->y});
        if (fabs(mm.x - card->window_center_mm[0]) < card->window_mm / 2 &&
            fabs(mm.y - card->window_center_mm[1]) < card->window_mm / 2)
            return FAULT0(job->fault, SPOT_BESIDE_NEEDED);
    }
    return STATUS_OK;
}

static enum status look(struct job *job, const struct picture *picture, size_t number) {
    struct camera_spot spot[CAMERA_SPOTS_MOST];
    enum status status = locate(job, picture, number, &job->located[number]);
    if (status == STATUS_OK && number == 0) status = refuse_mixed(job, picture);
    if (status != STATUS_OK) return status;
    carry_spots(job, picture, number, spot);
    job->shot[number] = arena_need(job->around->arena, 1, sizeof *job->shot[number]);
    status = camera_shoot(picture, job->card, &job->located[number], spot, job->spots, job->shot[number],
                          job->fault);
    if (status == STATUS_OK && number == 0 && request_has(job->request, "--overlay"))
        status = draw_overlay(job, picture, spot);
    return status;
}

static enum status take(struct job *job, const char *path, size_t number) {
    struct picture picture;
    struct fault why = {0}, *outer = job->fault;
    enum status status = picture_load(job->around, path, &picture, outer);
    if (status != STATUS_OK) return status;
    picture_add_note(&picture, job->reply);
    job->fault = &why;
    status = look(job, &picture, number);
    job->fault = outer;
    picture_free(&picture);
    if (status == STATUS_INPUT) return FAULT(outer, IN_FILE, path, why.text);
    if (status != STATUS_OK && outer) *outer = why;
    return status;
}

static const char *photo_name(const struct job *job, size_t number) {
    const size_t first = (size_t)job->shots;
    return number < first ? request_text_at(job->request, "PHOTO", number)
                          : request_text_at(job->request, "--second-lamp", number - first);
}

/* The same file again, by any name and for any lamp: every patch and every spot to the last bit. */
static enum status refuse_twice(const struct job *job, size_t number) {
    const struct camera_shot *new = job->shot[number];
    for (size_t i = 0; i < number; i++) {
        bool same = true;
        for (int k = 0; k < new->patches &&same; k++)
            same = memcmp(new->patch[k].mean, job->shot[i]->patch[k].mean, sizeof new->patch[k].mean) == 0;
        for (int k = 0; k < new->spots &&same; k++)
            same = memcmp(new->spot[k].mean, job->shot[i]->spot[k].mean, sizeof new->spot[k].mean) == 0;
        if (same) return FAULT(job->fault, PHOTO_TWICE, photo_name(job, i), photo_name(job, number));
    }
    return STATUS_OK;
}

static enum status take_all(struct job *job) {
    const size_t first = request_count(job->request, "PHOTO"),
                 second = request_count(job->request, "--second-lamp");
    if (first > CAMERA_SHOTS_MOST || second > CAMERA_SHOTS_MOST)
        return FAULT(job->fault, PHOTOS_MANY, COUNT_TEXT(CAMERA_SHOTS_MOST));
    job->shots = (int)first, job->seconds = (int)second;
    job->located = arena_need(job->around->arena, first + second, sizeof *job->located);
    for (size_t i = 0; i < first + second; i++) {
        enum status status = take(job, photo_name(job, i), i);
        if (status == STATUS_OK) status = refuse_twice(job, i);
        if (status != STATUS_OK) return status;
        work_report(job->around->work, (double)(i + 1) / (double)(first + second));
        if (job->around->work && work_is_cancelled(job->around->work)) return FAULT0(job->fault, CANCELLED);
    }
    return STATUS_OK;
}

static enum camera_shine shine_of(const struct request *request) {
    const char *name = request_text(request, "--shine");
    return strcmp(name, "gel") == 0         ? SHINE_GEL
           : strcmp(name, "polarised") == 0 ? SHINE_POLARISED
                                            : SHINE_BARE;
}

static enum status measure(struct job *job, struct camera_result *result) {
    struct camera_task task = {.card = job->card,
                               .shots = job->shots,
                               .shot = (const struct camera_shot *const *)job->shot,
                               .seconds = job->seconds,
                               .second = (const struct camera_shot *const *)job->shot + job->shots,
                               .against = job->against,
                               .shine = shine_of(job->request),
                               .like_card = request_flag(job->request, "--like-card")};
    const char *toners = request_text(job->request, "--toners");
    struct spectrum *library;
    if (toners) {
        struct shelf shelf;
        const enum status status = place_read_shelf(job->around, toners, &shelf, job->fault);
        if (status != STATUS_OK) return status;
        task.library_count = photo_library_of(&shelf, job->around->arena, &library);
        task.library_is_own = true;
    } else
        task.library_count = photo_library_prior(job->around->arena, &library);
    task.library = library;
    return camera_read(&task, job->around->arena, result, job->fault);
}

/* ---- the reply ---- */

static json_t *matrix_json(double m[3][3]) {
    json_t *rows = json_array();
    for (int i = 0; i < 3; i++) json_array_append_new(rows, json_numbers(m[i], 3, DIGITS_FRACTION));
    return rows;
}

static void put_colour(json_t *object, struct camera_colour *colour) {
    json_put(object, "lab", json_lab(colour->lab));
    json_put(object, "lab_cov", matrix_json(colour->cov));
    json_put_number(object, "u95_de00", colour->u95_de00, DIGITS_LAB);
}

static json_t *common_json(const struct camera_colour *colour) {
    json_t *rows = json_array();
    for (int m = 0; m < CAMERA_COMMON; m++)
        json_array_append_new(rows, json_numbers(colour->common[m], 3, DIGITS_FRACTION));
    return rows;
}

static void put_card(const struct job *job, const struct camera_result *result) {
    static const char *const model[] = {"matrix", "matrix and offset", "root-polynomial"};
    json_t *card = json_object(), *patches = json_array();
    json_put_text(card, "name", job->card->name);
    json_put_number(card, "loo_mean", result->loo_mean, DIGITS_LAB);
    json_put_number(card, "loo_max", result->loo_max, DIGITS_LAB);
    json_put_text(card, "model", result->few_colours ? "display" : model[result->model]);
    json_put_number(card, "gradient", result->gradient, 3);
    for (int i = 0; i < result->patches; i++) {
        json_t *patch = json_object();
        json_put_text(patch, "id", job->card->patch[i].id);
        if (result->patch[i].used)
            json_put_number(patch, "de00", result->patch[i].de00, DIGITS_LAB);
        else
            json_put_null(patch, "de00");
        json_array_append_new(patches, patch);
    }
    json_put(card, "patches", patches);
    json_put(job->reply, "card", card);
}

static void put_photos(const struct job *job, const struct camera_result *result) {
    json_t *photos = json_array();
    for (int i = 0; i < job->shots; i++) {
        json_t *photo = json_object();
        json_put_text(photo, "file", request_text_at(job->request, "PHOTO", (size_t)i));
        json_put_count(photo, "tags", job->located[i].tags_used);
        json_put_flag(photo, "used", result->shot_kept[i]);
        json_put_number(photo, "de00", result->shot_de00[i], DIGITS_LAB);
        json_array_append_new(photos, photo);
        if (!result->shot_kept[i])
            NOTE(job->reply, PHOTO_LEFT_OUT, request_text_at(job->request, "PHOTO", (size_t)i),
                 TENTHS(result->shot_de00[i]));
    }
    json_put(job->reply, "photos", photos);
}

static void put_against(const struct job *job, struct camera_result *result) {
    json_t *list = json_array();
    for (int i = result->spots; i < result->spots + job->against; i++) {
        struct camera_difference *d = &result->against[i];
        json_t *one = json_object();
        put_colour(one, &result->spot[i]);
        json_put_number(one, "dl", d->dlab[0], DIGITS_LAB);
        json_put_number(one, "da", d->dlab[1], DIGITS_LAB);
        json_put_number(one, "db", d->dlab[2], DIGITS_LAB);
        json_put_number(one, "de00", d->de00, DIGITS_LAB);
        json_put(one, "difference_cov", matrix_json(d->cov));
        json_put_number(one, "difference_u95_de00", d->u95_de00, DIGITS_LAB);
        json_put_number(one, "unlike_u95_de00", d->unlike_u95_de00, DIGITS_LAB);
        json_array_append_new(list, one);
    }
    json_put(job->reply, "against", list);
    if (job->against)
        NOTE(job->reply, PHOTO_AGAINST, TENTHS(result->against[result->spots].u95_de00),
             TENTHS(result->against[result->spots].unlike_u95_de00));
}

/* Several spots: each, and whether they are one colour. */
static void put_spots(const struct job *job, struct camera_result *result) {
    if (result->spots < 2) return;
    json_t *list = json_array();
    int palest = 0, darkest = 0;
    for (int i = 0; i < result->spots; i++) {
        json_t *one = json_object();
        put_colour(one, &result->spot[i]);
        json_array_append_new(list, one);
        if (result->spot[i].lab.l > result->spot[palest].lab.l) palest = i;
        if (result->spot[i].lab.l < result->spot[darkest].lab.l) darkest = i;
    }
    json_put(job->reply, "spots_read", list);
    json_put_number(job->reply, "spots_spread_de00", result->spot_spread_de00, DIGITS_LAB);
    const double apart = difference_de00(result->spot[darkest].lab, result->spot[palest].lab);
    if (apart > fade_de)
        NOTE(job->reply, SPOTS_FADED, TENTHS(apart), COUNT_TEXT(palest + 1), COUNT_TEXT(darkest + 1));
}

/* Is every dab that was seen as the bare place beneath it? */
static bool sheet_is_blank(const struct job *job, const struct camera_result *result) {
    static const double bare_de = 4;
    int dabs = 0;
    for (int i = 0; i < job->card->places; i++) {
        const struct photo_place *place = &job->card->place[i];
        const int over = place->parts > 0 ? photo_card_place(job->card, place->over) : -1;
        if (over < 0 || !result->place_seen[i] || !result->place_seen[over]) continue;
        dabs++;
        if (difference_de76(result->place[i].lab, result->place[over].lab) > bare_de) return false;
    }
    return dabs > 0;
}

static void put_places(const struct job *job, struct camera_result *result) {
    if (!job->card->places) return;
    json_t *list = json_array();
    int missing = 0;
    for (int i = 0; i < job->card->places; i++) {
        if (!result->place_seen[i]) {
            missing++;
            continue;
        }
        json_t *one = json_object();
        card_put_place(one, &job->card->place[i]);
        put_colour(one, &result->place[i]);
        if (result->tone == TONE_USUAL) {
            json_put(one, "common", common_json(&result->place[i]));
            json_put(one, "own_cov", matrix_json(result->place[i].own));
        }
        json_array_append_new(list, one);
    }
    json_put(job->reply, "spots", list);
    if (missing) NOTE(job->reply, PLACES_UNSEEN, COUNT_TEXT(missing));
}

/* Are its patches told by a shelf that was guessed from names and a photograph? */
static bool card_is_of_dabs(const struct photo_card *card) {
    int dabs = 0;
    for (int i = 0; i < card->patches; i++)
        dabs += card->patch[i].known == KNOWN_LAB && card->patch[i].lab_sd > 0;
    return 2 * dabs > card->patches && card->places == 0;
}

static void put_notes(const struct job *job, const struct camera_result *result) {
    int left_out = 0;
    for (int i = 0; i < result->patches; i++)
        left_out += !result->patch[i].used && job->card->patch[i].known != KNOWN_NOT &&
                    job->card->patch[i].role != PATCH_BLACK_TRAP;
    if (left_out) NOTE(job->reply, PATCHES_LEFT_OUT, COUNT_TEXT(left_out));
    if (card_is_of_dabs(job->card)) NOTE0(job->reply, CARD_OF_DABS);
    if (result->few_colours) NOTE(job->reply, CARD_FEW_COLOURS, TENTHS(result->mean.u95_de00));
    if (result->gradient > bright_gradient)
        NOTE(job->reply, PHOTO_GRADIENT, COUNT_TEXT(lround(100 * result->gradient)));
    if (shine_of(job->request) == SHINE_BARE) NOTE(job->reply, PHOTO_SHINE, TENTHS(result->mean.u95_de00));
    if (job->shots == 1) NOTE0(job->reply, PHOTO_ONLY_ONE);
    if (result->has_reflectance && result->unlike_library) NOTE0(job->reply, PHOTO_UNLIKE);
    NOTE0(job->reply, PHOTO_METAMERISM);
}

static void put_reading(const struct job *job, struct camera_result *result) {
    char id[64];
    place_name_after_file(request_text_at(job->request, "PHOTO", 0), id);
    json_put_text(job->reply, "id", id);
    json_put_text(job->reply, "geometry", "photo");
    json_put(job->reply, "reflectance",
             result->has_reflectance ? json_spectrum(&result->reflectance) : json_null());
    json_put(job->reply, "reflectance_band",
             result->has_reflectance ? json_spectrum(&result->band) : json_null());
    put_colour(job->reply, &result->mean);
    json_put_text(job->reply, "illuminant", "D65");
    json_put_count(job->reply, "observer", 10);
    json_put_text(job->reply, "shine", request_text(job->request, "--shine"));
    put_card(job, result);
    put_photos(job, result);
    put_spots(job, result);
    put_against(job, result);
    put_places(job, result);
    put_notes(job, result);
}

enum status photo_colour_flow(const struct surroundings *around, const struct request *request,
                              json_t **reply, struct fault *fault) {
    struct job job = {.around = around, .request = request, .fault = fault};
    struct camera_result *result = arena_need(around->arena, 1, sizeof *result);
    enum status status = read_card(&job);
    if (status == STATUS_OK) status = read_spots(&job);
    if (status != STATUS_OK) return status;
    job.reply = json_start("reading");
    status = take_all(&job);
    if (status == STATUS_OK) status = measure(&job, result);
    if (status == STATUS_OK && sheet_is_blank(&job, result)) status = FAULT0(fault, SHEET_BLANK);
    if (status != STATUS_OK) {
        json_decref(job.reply);
        return status;
    }
    put_reading(&job, result);
    *reply = job.reply;
    return STATUS_OK;
}
