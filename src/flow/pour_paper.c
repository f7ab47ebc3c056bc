/* The pour sheet from the JSON of a pour. */
#include "base/memory.h"
#include "flow/colour_of_reply.h"
#include "flow/papers.h"
#include "flow/pour_reply.h"
#include "formats/json_out.h"
#include "report/pour_sheet.h"
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static double number(const json_t *object, const char *key) {
    return json_number_value(json_object_get(object, key));
}

static const char *text_of(const json_t *object, const char *key) {
    const char *value = json_string_value(json_object_get(object, key));
    return value ? value : "";
}

static const char *formatted(struct arena *arena, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static const char *formatted(struct arena *arena, const char *format, ...) {
    char line[600];
    va_list args;
    va_start(args, format);
    vsnprintf(line, sizeof line, format, args);
    va_end(args);
    return arena_text(arena, line, strlen(line));
}

static const char *way_of(const json_t *step, int digits, struct arena *arena) {
    const json_t *l = json_object_get(step, "let_down");
    if (json_is_true(json_object_get(l, "stirred"))) return "of what was stirred";
    if (json_is_object(l))
        return formatted(arena, "stir %.*f g into %.*f g %s", digits, number(l, "toner_g"), digits,
                         number(l, "binder_g"), text_of(l, "binder"));
    const char *part = text_of(step, "part");
    const char *which = strcmp(part, "first") == 0  ? "first part"
                        : strcmp(part, "rest") == 0 ? "the rest"
                                                    : "";
    if (!json_is_number(json_object_get(step, "ml"))) return which;
    return formatted(arena, "%s%s%.2f ml", which, *which ? ", " : "",
                     number(step, "ml") *
                         (number(step, "g") > 0 ? number(step, "left_g") / number(step, "g") : 1));
}

/* With the lot that it is taken from, where a shop is known. */
static const char *detail_of(const json_t *step, int digits, struct arena *arena) {
    const char *way = way_of(step, digits, arena), *lot = text_of(step, "lot");
    return *lot ? formatted(arena, "%s%s%s", lot, *way ? "; " : "", way) : way;
}

/* What is poured is the let-down, not the toner. */
static const char *name_of(const json_t *step, struct arena *arena) {
    if (!json_is_object(json_object_get(step, "let_down"))) return text_of(step, "name");
    return formatted(arena, "%s, let down 1 to 9", text_of(step, "name"));
}

/* What is in the cup already stands no more on the sheet; the readings count on from what the scale shows
 * now. */
static void fill_steps(const json_t *reply, struct arena *arena, struct pour_sheet *sheet) {
    const json_t *steps = json_object_get(reply, "steps");
    double reading = number(reply, "reading_g");
    for (size_t i = 0; i < json_array_size(steps) && sheet->step_count < SHEET_STEPS_MOST; i++) {
        const json_t *step = json_array_get(steps, i);
        if (json_is_true(json_object_get(step, "done"))) continue;
        reading += number(step, "left_g");
        sheet->step[sheet->step_count++] =
            (struct sheet_step){.name = name_of(step, arena),
                                .detail = detail_of(step, sheet->decimals, arena),
                                .pour_g = number(step, "left_g"),
                                .reading_g = reading,
                                .minus_g = number(step, "window_minus_g"),
                                .plus_g = number(step, "window_plus_g")};
    }
}

/* What mends an over-pour takes the place of the plan's steps. */
static void fill_rescue(const json_t *rescue, struct arena *arena, struct pour_sheet *sheet) {
    const json_t *pours = json_object_get(rescue, "pours");
    sheet->total_g = number(rescue, "total_g");
    for (size_t i = 0; i < json_array_size(pours) && sheet->step_count < SHEET_STEPS_MOST; i++) {
        const json_t *pour = json_array_get(pours, i);
        sheet->step[sheet->step_count++] =
            (struct sheet_step){.name = name_of(pour, arena),
                                .detail = detail_of(pour, sheet->decimals, arena),
                                .pour_g = number(pour, "g"),
                                .reading_g = number(pour, "to_reading_g"),
                                .minus_g = number(pour, "window_minus_g"),
                                .plus_g = number(pour, "window_plus_g")};
    }
}

/* The rescue that is advised; NULL when the plan goes on, or the pot is begun again. */
static const json_t *advised(const json_t *reply) {
    const json_t *rescue = json_object_get(reply, "rescue");
    const char *advice = text_of(rescue, "advice");
    if (strcmp(advice, "whole") == 0) return json_object_get(rescue, "whole");
    if (strcmp(advice, "enough") == 0 || strcmp(advice, "partial") == 0)
        return json_object_get(rescue, "least");
    return NULL;
}

static void fill_colours(const json_t *reply, struct pour_sheet *sheet) {
    const json_t *target = json_object_get(reply, "target"),
                 *prediction = json_object_get(reply, "prediction");
    sheet->has_target = json_is_object(target);
    sheet->target_lab = lab_of_reply(json_object_get(target, "lab"));
    sheet->predicted_lab = lab_of_reply(json_object_get(prediction, "lab"));
    sheet->has_target_curve = json_is_array(json_object_get(target, "reflectance"));
    spectrum_of_reply(json_object_get(target, "reflectance"), &sheet->target);
    spectrum_of_reply(json_object_get(prediction, "reflectance"), &sheet->predicted);
    sheet->de00 =
        json_is_number(json_object_get(reply, "recipe_de00")) ? number(reply, "recipe_de00") : (double)NAN;
}

static void fill_spray(const json_t *reply, struct pour_sheet *sheet) {
    const json_t *spray = json_object_get(reply, "spray"), *additions = json_object_get(spray, "additions");
    sheet->spray_g = number(spray, "spray_g");
    for (size_t i = 0; i < json_array_size(additions) && i < SHEET_ADDITIONS_MOST; i++) {
        const json_t *a = json_array_get(additions, i);
        sheet->addition[sheet->addition_count++] =
            (struct sheet_addition){text_of(a, "what"), number(a, "percent"), number(a, "g")};
    }
}

static void fill_cautions(const json_t *reply, struct pour_sheet *sheet) {
    static const char *const lists[] = {"cautions", "notes"};
    for (int l = 0; l < 2; l++) {
        const json_t *list = json_object_get(reply, lists[l]);
        for (size_t i = 0; i < json_array_size(list) && sheet->caution_count < SHEET_CAUTIONS_MOST; i++)
            sheet->caution[sheet->caution_count++] = text_of(json_array_get(list, i), "text");
    }
}

enum status pour_draw(const json_t *reply, enum paper paper, struct text *out, struct fault *fault) {
    (void)paper; /* PDF is the only one in the table */
    struct arena *arena = arena_new();
    struct text qr = {0};
    bench_compact_text(json_object_get(reply, "recipe"), &qr);
    const struct scale scale = {number(reply, "scale_step_g"), 0};
    struct pour_sheet sheet = {.title = text_of(reply, "name"),
                               .decimals = weighing_decimals(&scale),
                               .total_g = number(reply, "total_g"),
                               .qr = qr.data ? qr.data : ""};
    if (!*sheet.title) sheet.title = word_sentence(WORD_SHEET_UNNAMED);
    const double rank = number(reply, "rank");
    const json_t *rescue = advised(reply);
    sheet.subtitle = rescue     ? formatted(arena, "after an over-pour: %.*f g are in, scale %g g",
                                            sheet.decimals, number(reply, "reading_g"), scale.step_g)
                     : rank > 0 ? formatted(arena, "recipe %.0f, scale %g g, zeroed once", rank, scale.step_g)
                                : formatted(arena, "scale %g g, zeroed once", scale.step_g);
    if (rescue)
        fill_rescue(rescue, arena, &sheet);
    else
        fill_steps(reply, arena, &sheet);
    fill_colours(reply, &sheet);
    fill_spray(reply, &sheet);
    fill_cautions(reply, &sheet);
    const enum status status = pour_sheet_draw(&sheet, PAGE_PDF, out, fault);
    text_free(&qr);
    arena_free(arena);
    return status;
}
