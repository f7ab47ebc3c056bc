/* What a pouring person sees: one line that is redrawn on a terminal, a line for each event anywhere else. */
#ifndef RUSSET_FLOW_WEIGH_FACE_H
#define RUSSET_FLOW_WEIGH_FACE_H

#include "base/fault.h"
#include "base/text.h"
#include "paint/pouring.h"

struct weigh_face {
    int fd;        /* -1: nobody looks */
    bool redraw;   /* a terminal that can go back to the start of its line */
    bool bell;     /* rings when a pour is taken or something is asked */
    bool live;     /* a redrawn line stands there now */
    double unit_g; /* grams in the unit that the scale shows; 0: not known yet, taken as grams */
    long long drawn_ms;
};

/* Grams as this scale shows them; the text lives until the end of the enclosing block. */
#define WEIGH_TEXT(g, step_g) weigh_face_grams((char[32]){0}, (g), (step_g))
const char *weigh_face_grams(char out[32], double g, double step_g);

/* A reading as it stands on the scale, with its unit, and grams beside when that is another one: "14.71 g",
 * "0.5189 oz (14.71 g)". */
#define READING_TEXT(g, step_g, unit_g) weigh_face_reading((char[64]){0}, (g), (step_g), (unit_g))
const char *weigh_face_reading(char out[64], double g, double step_g, double unit_g);

/* The redrawn line, at most 79 characters: a word, toner, what is in of what is wanted, the bar, the scale's
 * reading in its own unit (0: grams). */
void weigh_face_line(const struct pouring *pouring, double unit_g, struct text *out);

/* Draws it, at most ten times a second. */
void weigh_face_live(struct weigh_face *face, const struct pouring *pouring, long long now_ms);
/* A sentence of the catalogue on a line of its own. */
void weigh_face_say(struct weigh_face *face, const struct fault *sentence);
/* Leaves no half line behind. */
void weigh_face_end(struct weigh_face *face);
void weigh_face_ring(const struct weigh_face *face);

#endif
