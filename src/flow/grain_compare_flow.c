/* `russet grain compare A B`: kind `grain-comparison`: "same", "parameters": [{parameter, a, a_u95, b, b_u95,
 * difference, u95, verdict: same|different|not told}], and what a sprayer can do about it as notes. */
#include "flow/note.h"
#include "flow/operation.h"
#include "formats/grain_json.h"
#include "formats/json_out.h"
#include <math.h>

extern operation_flow grain_compare_flow;

struct pair {
    struct grain a, b;
    bool differs[AREAL_COUNT];
    json_t *reply;
};

static const char *rounded(char out[40], double value, double unit) {
    return number_text(out, round(value / unit) * unit);
}
#define ROUNDED(x, unit) rounded((char[40]){0}, (x), (unit))

static enum status read(const struct surroundings *around, const char *path, struct grain *out,
                        struct fault *fault) {
    struct bytes bytes;
    const enum status status = disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, fault);
    return status == STATUS_OK ? grain_read(&bytes, out, fault) : status;
}

/* One row; false when one of the files does not tell this parameter. */
static bool put_row(struct pair *pair, enum areal_parameter which, json_t *rows) {
    static const char *const verdicts[] = {"same", "different", "not told"};
    const double scale = grain_scale(which), a = pair->a.value.value[which], b = pair->b.value.value[which];
    double difference, u95;
    if (isnan(a) || isnan(b)) return false;
    const enum grain_verdict verdict = grain_differs(&pair->a, &pair->b, which, &difference, &u95);
    json_t *row = json_object();
    json_put_text(row, "parameter", grain_key[which]);
    json_put_number(row, "a", scale * a, 5);
    json_put_number(row, "a_u95", scale * pair->a.u95.value[which], 5);
    json_put_number(row, "b", scale * b, 5);
    json_put_number(row, "b_u95", scale * pair->b.u95.value[which], 5);
    json_put_number(row, "difference", scale * difference, 5);
    json_put_number(row, "u95", scale * u95, 5);
    json_put_text(row, "verdict", verdicts[verdict]);
    json_array_append_new(rows, row);
    return pair->differs[which] = verdict == GRAIN_DIFFERENT;
}

static void advise_size(struct pair *pair) {
    const double *a = pair->a.value.value, *b = pair->b.value.value;
    const char *a_mm = ROUNDED(a[AREAL_SAL], .001), *b_mm = ROUNDED(b[AREAL_SAL], .001);
    const char *a_um = ROUNDED(1000 * a[AREAL_SA], .1), *b_um = ROUNDED(1000 * b[AREAL_SA], .1);
    if (pair->differs[AREAL_SAL] && b[AREAL_SAL] > a[AREAL_SAL]) NOTE(pair->reply, GRAIN_COARSER, b_mm, a_mm);
    if (pair->differs[AREAL_SAL] && b[AREAL_SAL] < a[AREAL_SAL]) NOTE(pair->reply, GRAIN_FINER, b_mm, a_mm);
    if (pair->differs[AREAL_SA] && b[AREAL_SA] > a[AREAL_SA]) NOTE(pair->reply, GRAIN_DEEPER, b_um, a_um);
    if (pair->differs[AREAL_SA] && b[AREAL_SA] < a[AREAL_SA]) NOTE(pair->reply, GRAIN_FLATTER, b_um, a_um);
}

/* The lay runs across the direction of the most power. */
static const char *lay(char out[40], const struct grain *grain) {
    return rounded(out, fmod(grain->value.value[AREAL_STD] + 90, 180), 1);
}

static void advise_direction(struct pair *pair) {
    const double *a = pair->a.value.value, *b = pair->b.value.value;
    const char *a_str = ROUNDED(a[AREAL_STR], .01), *b_str = ROUNDED(b[AREAL_STR], .01);
    if (pair->differs[AREAL_STR] && b[AREAL_STR] < GRAIN_DIRECTED && a[AREAL_STR] >= GRAIN_DIRECTED)
        NOTE(pair->reply, GRAIN_DIRECTIONAL, b_str, a_str, lay((char[40]){0}, &pair->b));
    if (pair->differs[AREAL_STR] && a[AREAL_STR] < GRAIN_DIRECTED && b[AREAL_STR] >= GRAIN_DIRECTED)
        NOTE(pair->reply, GRAIN_NOT_DIRECTIONAL, a_str, b_str, lay((char[40]){0}, &pair->a));
    if (pair->differs[AREAL_STD])
        NOTE(pair->reply, GRAIN_TURNED, ROUNDED(areal_turn(a[AREAL_STD], b[AREAL_STD]), 1));
    if (b[AREAL_SSK] < GRAIN_SANDED && !(a[AREAL_SSK] < GRAIN_SANDED && !pair->differs[AREAL_SSK]))
        NOTE(pair->reply, GRAIN_STILL_SANDED, ROUNDED(b[AREAL_SSK], .01), ROUNDED(a[AREAL_SSK], .01));
}

static void compare(struct pair *pair) {
    json_t *rows = json_array();
    bool same = true;
    for (int i = 0; i < AREAL_COUNT; i++) same &= !put_row(pair, (enum areal_parameter)i, rows);
    json_put_flag(pair->reply, "same", same);
    json_put(pair->reply, "parameters", rows);
    if (same) NOTE(pair->reply, GRAIN_ALL_SAME, NULL);
    advise_size(pair);
    advise_direction(pair);
}

enum status grain_compare_flow(const struct surroundings *around, const struct request *request,
                               json_t **reply, struct fault *fault) {
    struct pair pair = {.reply = NULL};
    const char *a = request_text(request, "A"), *b = request_text(request, "B");
    enum status status = read(around, a, &pair.a, fault);
    if (status == STATUS_OK) status = read(around, b, &pair.b, fault);
    if (status != STATUS_OK) return status;
    if (pair.a.s_mm != pair.b.s_mm || pair.a.l_mm != pair.b.l_mm)
        return FAULT(fault, GRAIN_OTHER_FILTERS, a, b, NUMBER_TEXT(pair.a.s_mm), NUMBER_TEXT(pair.a.l_mm),
                     NUMBER_TEXT(pair.b.s_mm), NUMBER_TEXT(pair.b.l_mm));
    *reply = pair.reply = json_start("grain-comparison");
    compare(&pair);
    return STATUS_OK;
}
