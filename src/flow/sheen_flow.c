#include "flow/say.h"
#include "flow/sheen_parts.h"
#include "flow/shelf_ladder.h"
#include "flow/shop_place.h"
#include "formats/json_out.h"
#include "formats/ladder_file.h"
#include <math.h>
#include <string.h>

extern operation_flow sheen_flow;

static enum gloss_angle angle_of(const struct request *request) {
    const char *angle = request_text(request, "--angle");
    return strcmp(angle, "20") == 0 ? GLOSS_20 : strcmp(angle, "85") == 0 ? GLOSS_85 : GLOSS_60;
}

/* "FRACTION=GU" */
static enum status read_patch(const char *text, struct sheen_patch *out, struct fault *fault) {
    const char *equals = strchr(text, '=');
    const bool read = equals && text_to_number(text, (size_t)(equals - text), '.', &out->matte) &&
                      text_to_number(equals + 1, strlen(equals + 1), '.', &out->gu);
    if (read && out->matte >= 0 && out->matte <= 1 && out->gu >= 0 && out->gu <= 150) return STATUS_OK;
    return FAULT(fault, SHEEN_NO_PATCH, text);
}

static enum status correct(const struct request *request, struct sheen_curve *curve, struct fault *fault) {
    struct sheen_patch patch[16];
    const size_t count = request_count(request, "--measured"), most = sizeof patch / sizeof patch[0];
    if (count > most) return FAULT(fault, SHEEN_TOO_MANY_PATCHES, COUNT_TEXT(most));
    for (size_t i = 0; i < count; i++) {
        const enum status status = read_patch(request_text_at(request, "--measured", i), &patch[i], fault);
        if (status != STATUS_OK) return status;
    }
    if (count) sheen_correct(curve, patch, count);
    return STATUS_OK;
}

/* The one that the shop keeps, when no file was named. */
static enum status kept_ladder(const struct surroundings *around, const struct request *request,
                               struct bytes *out, struct fault *fault) {
    struct book *book;
    const char *text = NULL;
    enum status status = shop_open_if_there(around, request, &book, fault);
    if (status == STATUS_OK && book) status = shelf_ladder_kept(book, around->arena, &text, fault);
    book_close(book);
    if (status != STATUS_OK) return status;
    if (!text) return FAULT0(fault, SHEEN_WITHOUT_LADDER);
    *out = (struct bytes){(const unsigned char *)text, strlen(text), "the shop's ladder"};
    return STATUS_OK;
}

static enum status read_ladder(const struct surroundings *around, const struct request *request,
                               struct sheen_ladder *out, struct fault *fault) {
    struct bytes bytes;
    if (!request_has(request, "--ladder")) {
        const enum status kept = kept_ladder(around, request, &bytes, fault);
        return kept == STATUS_OK ? ladder_read(&bytes, around->arena, out, fault) : kept;
    }
    const enum status status = disk_read(around->disk, request_text(request, "--ladder"), DISK_TEXT_MIB,
                                         around->arena, &bytes, fault);
    return status == STATUS_OK ? ladder_read(&bytes, around->arena, out, fault) : status;
}

enum status sheen_read(const struct surroundings *around, const struct request *request,
                       struct sheen_ladder *ladder, struct sheen_curve *curve, struct fault *fault) {
    enum status status = read_ladder(around, request, ladder, fault);
    if (status == STATUS_OK)
        status = sheen_fit(ladder, angle_of(request), request_number(request, "--coats", SHEEN_COATS), curve,
                           fault);
    return status == STATUS_OK ? correct(request, curve, fault) : status;
}

void sheen_note(json_t *reply, enum word word, const char *const args[]) {
    struct fault note;
    fault_set(&note, word, args);
    json_add_note(reply, &note);
}

void sheen_put_mix(json_t *reply, const struct request *request, double matte) {
    const double batch_ml = request_number(request, "--batch-ml", 0);
    json_put_number(reply, "matte_fraction", matte, 4);
    json_put_number(reply, "gloss_fraction", 1 - matte, 4);
    json_put_number(reply, "matte_ml", batch_ml * matte, 2);
    json_put_number(reply, "gloss_ml", batch_ml * (1 - matte), 2);
}

static json_t *interval(struct sheen_value value) {
    return json_numbers((const double[]){value.low_gu, value.high_gu}, 2, 2);
}

/* What the other angles will read, where the ladder has them. */
static void put_other_angles(json_t *reply, const struct sheen_ladder *ladder,
                             const struct sheen_curve *curve, double matte) {
    static const char *const key[] = {"gu20", "gu60", "gu85"};
    json_t *expected = json_object();
    for (int angle = 0; angle < GLOSS_ANGLES; angle++) {
        struct sheen_curve other = *curve;
        struct fault unused;
        if (angle != (int)curve->angle &&
            sheen_fit(ladder, (enum gloss_angle)angle, curve->coats, &other, &unused) != STATUS_OK)
            json_put_null(expected, key[angle]);
        else
            json_put_number(expected, key[angle], sheen_at(&other, matte).gu, 2);
    }
    json_put(reply, "expected", expected);
}

static void put_curve(json_t *reply, const struct sheen_curve *curve) {
    json_t *object = json_object();
    json_put_text(object, "method", curve->guess ? "guess" : "ladder");
    json_put_count(object, "rows", (long long)curve->count);
    json_put_number(object, "coats", curve->coats, 0);
    json_put_count(object, "left_out_in_turn", (long long)curve->left_out);
    json_put_number(object, "worst_gu", curve->worst_gu, 2);
    json_put_number(object, "worst_part", curve->worst_part, 4);
    json_put_count(object, "test_patches", (long long)curve->patches);
    json_put_number(object, "correction", exp(curve->shift), 4);
    json_put(reply, "curve", object);
}

static void note_curve(json_t *reply, const struct sheen_curve *curve, const struct request *request) {
    if (curve->guess) SHEEN_NOTE(reply, SHEEN_IS_A_GUESS, NULL);
    if (curve->pooled) SHEEN_NOTE(reply, SHEEN_POOLED, NULL);
    if (curve->other_coats)
        SHEEN_NOTE(reply, SHEEN_OTHER_COATS, NUMBER_TEXT(request_number(request, "--coats", SHEEN_COATS)),
                   NUMBER_TEXT(curve->coats));
    if (!curve->patches) SHEEN_NOTE(reply, SHEEN_SPRAY_A_PATCH, NULL);
    const double most_gu = sheen_at(curve, curve->matte[0]).gu,
                 smooth_gu = gloss_of_smooth(1.6, curve->angle);
    if (!curve->patches && most_gu > smooth_gu)
        SHEEN_NOTE(reply, SHEEN_OVER_SMOOTH, NUMBER_TEXT(most_gu), NUMBER_TEXT(round(smooth_gu)));
}

/* ISO 2813 / ASTM D523: is this the angle that tells such a sheen best? */
static void put_angle(json_t *reply, enum gloss_angle angle, double target_gu, double expected_60) {
    const double gu60 = angle == GLOSS_60 ? target_gu : expected_60;
    json_put_number(reply, "angle", gloss_degrees(angle), 0);
    if (isnan(gu60)) {
        json_put_null(reply, "advised_angle");
        return;
    }
    const enum gloss_angle advised = gloss_angle_for(gu60);
    json_put_number(reply, "advised_angle", gloss_degrees(advised), 0);
    if (advised != angle)
        SHEEN_NOTE(reply, SHEEN_OTHER_ANGLE, NUMBER_TEXT(round(10 * gu60) / 10),
                   NUMBER_TEXT(gloss_degrees(advised)));
}

static enum status by_ladder(const struct surroundings *around, const struct request *request, json_t *reply,
                             struct fault *fault) {
    struct sheen_ladder ladder;
    struct sheen_curve curve;
    double matte;
    const double target_gu = request_number(request, "--target-gu", 0);
    const enum status status = sheen_read(around, request, &ladder, &curve, fault);
    if (status != STATUS_OK) return status;
    const enum status found = sheen_find(&curve, target_gu, &matte, fault);
    const struct sheen_value value = sheen_at(&curve, matte);
    sheen_put_mix(reply, request, matte);
    json_put_number(reply, "target_gu", target_gu, 2);
    json_put_number(reply, "expected_gu", value.gu, 2);
    json_put(reply, "interval_gu", interval(value));
    put_other_angles(reply, &ladder, &curve, matte);
    const double expected_60 = say_number(json_object_get(reply, "expected"), "gu60");
    put_angle(reply, curve.angle, target_gu, expected_60);
    put_curve(reply, &curve);
    if (!request_has(request, "--ladder")) SHEEN_NOTE(reply, SHEEN_KEPT_LADDER, NULL);
    note_curve(reply, &curve, request);
    sheen_put_place(reply, request, expected_60);
    const enum status shifted = sheen_put_shift(around, request, reply, expected_60, fault);
    return shifted == STATUS_OK ? found : shifted;
}

enum status sheen_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                       struct fault *fault) {
    const bool by_eye = request_flag(request, "--by-eye");
    if (!by_eye && !request_has(request, "--target-gu")) return FAULT0(fault, SHEEN_WITHOUT_TARGET);
    json_t *object = json_start("sheen");
    const enum status status =
        by_eye ? sheen_by_eye(around, request, object, fault) : by_ladder(around, request, object, fault);
    if (status == STATUS_OK || status == STATUS_NO)
        *reply = object;
    else
        json_decref(object);
    return status;
}
