/* A pour, told to the person at the scale. */
#include "flow/operation.h"
#include "flow/pour_reply.h"
#include "flow/say.h"
#include "formats/json_out.h"
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

/* A sentence of the catalogue with its arguments, and a new line. */
#define SAY(out, word, ...) say_sentence((out), WORD_##word, (const char *const[]){__VA_ARGS__, NULL})

static void say_sentence(struct text *out, enum word word, const char *const args[]) {
    struct fault sentence;
    (void)fault_set(&sentence, word, args);
    say_paragraph(out, "", sentence.text);
}

static size_t letters(const char *s) {
    size_t n = 0;
    for (; *s; s++) n += ((unsigned char)*s & 0xC0) != 0x80;
    return n;
}

/* Left-aligned in `width` columns, cut with three dots; counts characters, not bytes. */
static void add_cell(struct text *out, const char *s, size_t width) {
    const size_t n = letters(s);
    if (n <= width) {
        text_add(out, s);
        for (size_t i = n; i < width; i++) text_add(out, " ");
        return;
    }
    size_t kept = 0, bytes = 0;
    while (kept < width - 3) {
        bytes++;
        while (((unsigned char)s[bytes] & 0xC0) == 0x80) bytes++;
        kept++;
    }
    text_add_bytes(out, s, bytes);
    text_add(out, "...");
}

static const char *label_of(const json_t *step, char out[200]) {
    const char *part = text_of(step, "part");
    const bool let_down = json_is_object(json_object_get(step, "let_down"));
    snprintf(out, 200, "%s%s", text_of(step, "name"),
             let_down                     ? ", let down 1 to 9"
             : strcmp(part, "first") == 0 ? ", first part"
             : strcmp(part, "rest") == 0  ? ", the rest"
                                          : "");
    return out;
}

static int digits_of(const json_t *reply) {
    const struct scale scale = {number(reply, "scale_step_g"), 0};
    return weighing_decimals(&scale);
}

/* The columns of the table; with the mark and the number before the name a row takes 80. */
enum { NAME_WIDTH = 32, POUR_WIDTH = 8, READ_WIDTH = 15, MISS_WIDTH = 14, ML_WIDTH = 6 };

/* `*reading` is what the scale shows when the steps before are in; a step that is done takes no more from
 * here. */
static void say_step(const json_t *step, size_t row, int digits, double *reading, struct text *out) {
    char label[200], window[60];
    const double plus = number(step, "window_plus_g"), minus = number(step, "window_minus_g"),
                 left = number(step, "left_g");
    const bool done = json_is_true(json_object_get(step, "done"));
    text_format(out, "%s%2zu  ", done ? "x" : " ", row);
    label_of(step, label);
    add_cell(out, label, NAME_WIDTH);
    if (done) {
        text_format(out, "%*.*f g in\n", POUR_WIDTH, digits, number(step, "in_g"));
        return;
    }
    *reading += left;
    snprintf(window, sizeof window, "-%.*f +%.*f", digits, minus, digits, plus);
    text_format(out, "%*.*f%*.*f%*s", POUR_WIDTH, digits, left, READ_WIDTH, digits, *reading, MISS_WIDTH,
                window);
    if (json_is_number(json_object_get(step, "ml")))
        text_format(out, " %*.1f", ML_WIDTH - 1,
                    number(step, "ml") * (number(step, "g") > 0 ? left / number(step, "g") : 1));
    text_add(out, "\n");
}

static void say_let_down(const json_t *step, int digits, struct text *out) {
    const json_t *l = json_object_get(step, "let_down");
    if (!json_is_object(l)) return;
    if (json_is_true(json_object_get(l, "stirred")))
        text_add(out, "     let down: what is left of the one that was stirred;\n");
    else
        text_format(out, "     let down: stir %.*f g of %s into %.*f g of %s;\n", digits,
                    number(l, "toner_g"), text_of(step, "name"), digits, number(l, "binder_g"),
                    text_of(l, "binder"));
    text_format(out, "               when it is in, say --poured %s=...\n", text_of(l, "pour_as"));
}

static void say_steps(const json_t *reply, struct text *out) {
    const json_t *steps = json_object_get(reply, "steps");
    const int digits = digits_of(reply);
    double reading = number(reply, "reading_g");
    text_format(out, "\n     %-*s%*s%*s%*s%*s\n", NAME_WIDTH, reading > 0 ? "(x: in the cup)" : "",
                POUR_WIDTH, "pour, g", READ_WIDTH, "until it reads", MISS_WIDTH, "may miss by", ML_WIDTH,
                "ml");
    for (size_t i = 0; i < json_array_size(steps); i++) {
        say_step(json_array_get(steps, i), i + 1, digits, &reading, out);
        say_let_down(json_array_get(steps, i), digits, out);
    }
    text_add(out, "\n");
}

/* Under the table: out of which lots, and what stays in them. */
static void say_lots(const json_t *reply, struct text *out) {
    const json_t *lots = json_object_get(reply, "lots");
    for (size_t i = 0; i < json_array_size(lots); i++) {
        const json_t *one = json_array_get(lots, i);
        text_add(out, i ? "               " : "     out of    ");
        add_cell(out, text_of(one, "toner"), NAME_WIDTH - 10);
        text_format(out, "%*.*f  lot %s, then %.2f g are left\n", POUR_WIDTH, digits_of(reply),
                    number(one, "g"), text_of(one, "lot"), number(one, "left_g"));
    }
}

static bool has_lots(const json_t *reply) {
    return json_array_size(json_object_get(reply, "lots")) > 0;
}

static void say_next(const json_t *reply, struct text *out) {
    const json_t *next = json_object_get(reply, "next");
    const int digits = digits_of(reply);
    char label[200];
    if (json_is_object(next))
        SAY(out, POUR_NEXT, label_of(next, label), GRAMS_TEXT(number(next, "g"), digits),
            GRAMS_TEXT(number(next, "to_reading_g"), digits));
    else
        SAY(out, POUR_ALL_IN, GRAMS_TEXT(number(reply, "reading_g"), digits));
}

static void say_pours(const json_t *rescue, int digits, struct text *out) {
    const json_t *pours = json_object_get(rescue, "pours");
    for (size_t i = 0; i < json_array_size(pours); i++) {
        const json_t *pour = json_array_get(pours, i);
        char label[200];
        text_add(out, "     ");
        add_cell(out, label_of(pour, label), NAME_WIDTH);
        text_format(out, "%*.*f%*.*f\n", POUR_WIDTH, digits, number(pour, "g"), READ_WIDTH, digits,
                    number(pour, "to_reading_g"));
        say_let_down(pour, digits, out);
    }
}

static void say_way(enum word word, const json_t *rescue, int digits, struct text *out) {
    say_sentence(out, word,
                 (const char *const[]){GRAMS_TEXT(number(rescue, "total_g"), digits),
                                       GRAMS_TEXT(number(rescue, "extra_g"), digits),
                                       DE00_TEXT(number(rescue, "de00")), NULL});
    say_pours(rescue, digits, out);
}

static void say_over(const json_t *reply, struct text *out) {
    const json_t *rescue = json_object_get(reply, "rescue"), *over = json_object_get(rescue, "over");
    char all[500];
    size_t n = 0;
    for (size_t i = 0; i < json_array_size(over) && n < sizeof all; i++)
        n += (size_t)snprintf(all + n, sizeof all - n, "%s%s", i ? ", " : "",
                              json_string_value(json_array_get(over, i)));
    SAY(out, POUR_OVER, all, GRAMS_TEXT(number(reply, "total_g"), digits_of(reply)));
}

static void say_rescue(const json_t *reply, struct text *out) {
    const json_t *rescue = json_object_get(reply, "rescue"), *stay = json_object_get(reply, "may_stay");
    const char *advice = text_of(rescue, "advice");
    const int digits = digits_of(reply);
    const json_t *whole = json_object_get(rescue, "whole"), *least = json_object_get(rescue, "least");
    const bool may_stay = json_is_true(json_object_get(stay, "yes"));
    say_over(reply, out);
    say_sentence(out, may_stay ? WORD_POUR_MAY_STAY : WORD_POUR_MUST_MEND,
                 (const char *const[]){DE00_TEXT(number(stay, "cost_de00")),
                                       DE00_TEXT(number(reply, "allowance_de00")), NULL});
    if (may_stay) say_next(reply, out);
    text_add(out, "\n");
    if (strcmp(advice, "enough") == 0) {
        say_way(WORD_POUR_MEND_ENOUGH, least, digits, out);
        say_lots(reply, out); /* of what is advised */
        if (has_lots(reply)) text_add(out, "\n");
    }
    if (json_is_true(json_object_get(whole, "fits"))) {
        say_way(WORD_POUR_MEND_WHOLE, whole, digits, out);
        if (strcmp(advice, "whole") == 0) say_lots(reply, out);
        return;
    }
    if (strcmp(advice, "begin again") == 0) {
        SAY(out, POUR_MEND_NONE, DE00_TEXT(number(least, "de00")));
        return;
    }
    say_way(WORD_POUR_MEND_PARTIAL, least, digits, out);
    say_lots(reply, out);
}

static void say_spray(const json_t *reply, struct text *out) {
    const json_t *spray = json_object_get(reply, "spray"), *additions = json_object_get(spray, "additions");
    const int digits = digits_of(reply);
    if (!json_is_object(spray)) return;
    text_add(out, "\n");
    SAY(out, POUR_SPRAY, GRAMS_TEXT(number(spray, "spray_g"), digits));
    for (size_t i = 0; i < json_array_size(additions); i++) {
        const json_t *a = json_array_get(additions, i);
        text_format(out, "     %-*s%*.*f   (%.4g %%)\n", NAME_WIDTH, text_of(a, "what"), POUR_WIDTH, digits,
                    number(a, "g"), number(a, "percent"));
    }
    if (number(spray, "keep_g") > 0) SAY(out, POUR_KEEP, GRAMS_TEXT(number(spray, "keep_g"), digits));
}

static void say_list(const json_t *list, const char *mark, struct text *out) {
    if (json_array_size(list)) text_add(out, "\n");
    for (size_t i = 0; i < json_array_size(list); i++)
        say_paragraph(out, mark, text_of(json_array_get(list, i), "text"));
}

/* More was poured than planned, and the pot has the recipe's colour again. */
static bool is_right(const json_t *reply) {
    return json_is_object(json_object_get(reply, "may_stay")) &&
           !json_is_object(json_object_get(reply, "rescue"));
}

static void say_head(const json_t *reply, struct text *out) {
    const int digits = digits_of(reply);
    if (*text_of(reply, "name")) text_format(out, "%s: ", text_of(reply, "name"));
    text_format(out, "%.*f g", digits, number(reply, is_right(reply) ? "reading_g" : "total_g"));
    if (json_is_integer(json_object_get(reply, "rank")))
        text_format(out, ", recipe %.0f", number(reply, "rank"));
    if (json_is_number(json_object_get(reply, "recipe_de00")))
        text_format(out, ", dE00 %.2f to the target", number(reply, "recipe_de00"));
    text_add(out, is_right(reply) ? "\n" : "\n\n");
    if (is_right(reply)) return;
    say_paragraph(out, "", text_of(reply, "before"));
    if (json_array_size(json_object_get(reply, "steps")) > 1)
        say_paragraph(out, "", word_sentence(WORD_POUR_BED));
}

void pour_say(const json_t *reply, struct text *out) {
    const json_t *stay = json_object_get(reply, "may_stay");
    say_head(reply, out);
    /* a plan that does not hold any more is not shown: what mends it takes its place */
    if (!json_is_object(stay) || json_is_true(json_object_get(stay, "yes"))) {
        say_steps(reply, out);
        say_lots(reply, out);
        if (has_lots(reply)) text_add(out, "\n");
    }
    if (json_is_object(json_object_get(reply, "rescue")))
        say_rescue(reply, out);
    else if (is_right(reply))
        SAY(out, POUR_RIGHT, GRAMS_TEXT(number(reply, "reading_g"), digits_of(reply)),
            DE00_TEXT(number(stay, "cost_de00")));
    else
        say_next(reply, out);
    say_spray(reply, out);
    say_list(json_object_get(reply, "notes"), "- ", out);
    say_list(json_object_get(reply, "cautions"), "! ", out);
}
