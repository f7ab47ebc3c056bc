/* `russet grain gun`: a log of test shots and a wanted grain -> kind `gun`: "shots", "reached", "best_line"
 * or null, "next": {pressure_bar, fluid_turns, distance_mm, viscosity_s, coats}, "expected": {Sal_mm,
 * Sal_mm_u95, Sa_um, Sa_um_u95}, "want": {Sal_mm, Sa_um}, "expected_improvement". */
#include "flow/note.h"
#include "flow/operation.h"
#include "formats/grain_json.h"
#include "formats/json_out.h"
#include "formats/shots_file.h"
#include <math.h>

extern operation_flow grain_gun_flow;

static const char *const option[GUN_KNOBS] = {"--pressure-bar", "--fluid-turns", "--distance-mm",
                                              "--viscosity-s", "--coats"};
static const char *const knob_key[GUN_KNOBS] = {"pressure_bar", "fluid_turns", "distance_mm", "viscosity_s",
                                                "coats"};

static enum status read_limits(const struct request *request, struct gun_limits *out, struct fault *fault) {
    *out = gun_usual_limits;
    for (int k = 0; k < GUN_KNOBS; k++) {
        if (!request_has(request, option[k])) continue;
        size_t n;
        const double *v = request_numbers(request, option[k], &n);
        if (n != 2 || v[0] > v[1]) return FAULT(fault, GUN_LIMITS, option[k]);
        out->low[k] = v[0], out->high[k] = v[1];
    }
    return STATUS_OK;
}

static enum status read_want(const struct surroundings *around, const struct request *request,
                             struct grain *out, struct fault *fault) {
    struct bytes bytes;
    const enum status status =
        disk_read(around->disk, request_text(request, "--want"), DISK_TEXT_MIB, around->arena, &bytes, fault);
    return status == STATUS_OK ? grain_read(&bytes, out, fault) : status;
}

/* Half the width of the 95 % interval of a value whose logarithm is sure to sd, upwards. */
static double u95_of(double value, double sd) {
    return value * (exp(1.96 * sd) - 1);
}

static void put(json_t *reply, const struct gun_advice *advice, double sal_mm, double sa_um) {
    json_t *next = json_object(), *expected = json_object(), *want = json_object();
    const struct gun_guess *g = &advice->expected;
    for (int k = 0; k < GUN_KNOBS; k++) json_put_number(next, knob_key[k], advice->next.knob[k], 3);
    json_put_number(expected, "Sal_mm", g->sal_mm, 4);
    json_put_number(expected, "Sal_mm_u95", u95_of(g->sal_mm, g->sal_sd), 4);
    json_put_number(expected, "Sa_um", g->sa_um, 3);
    json_put_number(expected, "Sa_um_u95", u95_of(g->sa_um, g->sa_sd), 3);
    json_put_number(want, "Sal_mm", sal_mm, 4);
    json_put_number(want, "Sa_um", sa_um, 3);
    json_put_flag(reply, "reached", advice->reached);
    json_put(reply, "next", next);
    json_put(reply, "expected", expected);
    json_put(reply, "want", want);
    json_put_number(reply, "expected_improvement", advice->improvement, -6);
}

static void note(json_t *reply, const struct gun_advice *advice, size_t count, const int *line, double sal_mm,
                 double sa_um) {
    const struct gun_guess *g = &advice->expected;
    const double sal_off = fabs(log(g->sal_mm / sal_mm)), sa_off = fabs(log(g->sa_um / sa_um));
    if (advice->reached)
        NOTE(reply, GUN_REACHED, COUNT_TEXT(advice->best + 1), COUNT_TEXT(line[advice->best]));
    else if (count == 0)
        NOTE(reply, GUN_GUESS, NULL);
    if (!advice->reached && (sal_off > 2 * g->sal_sd + .1 || sa_off > 2 * g->sa_sd + .15))
        NOTE(reply, GUN_FAR, NUMBER_TEXT(round(1000 * g->sal_mm) / 1000),
             NUMBER_TEXT(round(10 * g->sa_um) / 10));
    NOTE(reply, GUN_BREATH, NULL);
}

enum status grain_gun_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                           struct fault *fault) {
    struct gun_shot shot[GUN_SHOTS_MOST];
    int line[GUN_SHOTS_MOST];
    size_t count = 0;
    struct gun_limits limits;
    struct grain want;
    struct bytes bytes;
    struct gun_advice advice;
    enum status status = read_limits(request, &limits, fault);
    if (status == STATUS_OK) status = read_want(around, request, &want, fault);
    if (status == STATUS_OK)
        status = disk_read(around->disk, request_text(request, "--log"), DISK_TEXT_MIB, around->arena, &bytes,
                           fault);
    if (status == STATUS_OK) status = shots_read(&bytes, around->arena, shot, line, &count, fault);
    if (status != STATUS_OK) return status;
    const double sal_mm = want.value.value[AREAL_SAL], sa_um = 1000 * want.value.value[AREAL_SA];
    gun_advise(shot, count, &limits, sal_mm, sa_um, &advice);
    *reply = json_start("gun");
    json_put_count(*reply, "shots", (long long)count);
    if (count)
        json_put_count(*reply, "best_line", line[advice.best]);
    else
        json_put_null(*reply, "best_line");
    put(*reply, &advice, sal_mm, sa_um);
    note(*reply, &advice, count, line, sal_mm, sa_um);
    return STATUS_OK;
}
