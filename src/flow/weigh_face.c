#include "flow/weigh_face.h"
#include "device/scale_line.h"
#include "flow/say.h"
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { BAR_WIDTH = 24, DRAW_EVERY_MS = 100, TERMINAL_WIDTH = 80 };

const char *weigh_face_grams(char out[32], double g, double step_g) {
    const int decimals = step_g > 0 && step_g < 1 ? (int)ceil(-log10(step_g) - 1e-9) : 0;
    snprintf(out, 32, "%.*f", step_g > 0 ? decimals : 2, fabs(g) < 0.5 * step_g ? 0 : g);
    return out;
}

/* The unit's own digits: the reading must be the same text that stands on the scale. */
static void own_reading(char out[32], double g, double step_g, double unit_g) {
    const char *text = WEIGH_TEXT(g / unit_g, step_g / unit_g);
    snprintf(out, 32, "%s %s", text, scale_unit_name(unit_g));
}

const char *weigh_face_reading(char out[64], double g, double step_g, double unit_g) {
    const double unit = unit_g > 0 ? unit_g : 1;
    char own[32];
    own_reading(own, g, step_g, unit);
    if (fabs(unit - 1) < 1e-9)
        snprintf(out, 64, "%s", own);
    else
        snprintf(out, 64, "%s (%.2f g)", own, g);
    return out;
}

static const char *word_of(const struct pouring *p, double amount) {
    const struct pouring_item *item = &p->items[p->at];
    if (p->state == POURING_DONE) return "ALL IN";
    if (p->state == POURING_START) return isnan(p->rest_g) ? "WAIT" : "READY?";
    if (p->state == POURING_AWAY) return p->reason == AWAY_OVERLOAD ? "OVERLOAD" : "CUP?";
    if (amount > item->want_g + item->plus_g) return "TOO MUCH";
    if (amount >= item->want_g - item->minus_g) return "STOP";
    return pouring_bar(item->want_g, item->minus_g, amount) < 0.5 ? "POUR" : "SLOW";
}

static void add_bar(struct text *out, double part) {
    const int full = (int)(part * BAR_WIDTH);
    text_add(out, "[");
    for (int i = 0; i < BAR_WIDTH; i++) text_add(out, i < full ? "#" : "-");
    text_add(out, "]");
}

void weigh_face_line(const struct pouring *p, double unit_g, struct text *out) {
    const struct pouring_item *item = &p->items[p->at];
    const double amount = isnan(p->now_g) ? item->poured_g : pouring_amount(p);
    text_format(out, "%-8s ", word_of(p, amount));
    text_format(out, "%-12.12s ", item->id);
    text_format(out, "%8s of %-7s ", WEIGH_TEXT(amount, p->step_g), WEIGH_TEXT(item->want_g, p->step_g));
    add_bar(out, pouring_bar(item->want_g, item->minus_g, amount));
    char own[32];
    own_reading(own, isnan(p->now_g) ? 0 : p->now_g, p->step_g, unit_g > 0 ? unit_g : 1);
    if (!isnan(p->now_g)) text_format(out, " %10s", own);
}

/* A face that cannot be written to is no reason to lose a pour. */
static void send(const struct weigh_face *face, const struct text *out) {
    size_t at = 0;
    while (face->fd >= 0 && at < out->length) {
        const ssize_t n = write(face->fd, out->data + at, out->length - at);
        if (n <= 0) return;
        at += (size_t)n;
    }
}

void weigh_face_live(struct weigh_face *face, const struct pouring *pouring, long long now_ms) {
    if (!face->redraw || face->fd < 0 || (face->live && now_ms - face->drawn_ms < DRAW_EVERY_MS)) return;
    struct text out = {0};
    text_add(&out, "\r");
    weigh_face_line(pouring, face->unit_g, &out);
    text_add(&out, "\x1b[K");
    send(face, &out);
    text_free(&out);
    face->live = true;
    face->drawn_ms = now_ms;
}

void weigh_face_say(struct weigh_face *face, const struct fault *sentence) {
    struct text out = {0};
    if (face->live) text_add(&out, "\r\x1b[K");
    face->live = false;
    if (strlen(sentence->text) < TERMINAL_WIDTH)
        text_format(&out, "%s\n", sentence->text);
    else
        say_paragraph(&out, "", sentence->text);
    send(face, &out);
    text_free(&out);
}

void weigh_face_end(struct weigh_face *face) {
    struct text out = {0};
    if (!face->live) return;
    text_add(&out, "\r\x1b[K");
    send(face, &out);
    text_free(&out);
    face->live = false;
}

void weigh_face_ring(const struct weigh_face *face) {
    struct text out = {0};
    if (!face->redraw || !face->bell) return;
    text_add(&out, "\a");
    send(face, &out);
    text_free(&out);
}
