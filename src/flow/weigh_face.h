/* What a pouring person sees: one line that is redrawn on a terminal, a line for each event anywhere else. */
#ifndef RUSSET_FLOW_WEIGH_FACE_H
#define RUSSET_FLOW_WEIGH_FACE_H

#include "base/fault.h"
#include "base/text.h"
#include "paint/pouring.h"

struct weigh_face {
    int fd;      /* -1: nobody looks */
    bool redraw; /* a terminal that can go back to the start of its line */
    bool bell;   /* rings when a pour is taken or something is asked */
    bool live;   /* a redrawn line stands there now */
    long long drawn_ms;
};

/* Grams as this scale shows them; the text lives until the end of the enclosing block. */
#define WEIGH_TEXT(g, step_g) weigh_face_grams((char[32]){0}, (g), (step_g))
const char *weigh_face_grams(char out[32], double g, double step_g);

/* The redrawn line, at most 79 characters: toner, what is in of what is wanted, the bar, a word, the scale's
 * reading. */
void weigh_face_line(const struct pouring *pouring, struct text *out);

/* Draws it, at most ten times a second. */
void weigh_face_live(struct weigh_face *face, const struct pouring *pouring, long long now_ms);
/* A sentence of the catalogue on a line of its own. */
void weigh_face_say(struct weigh_face *face, const struct fault *sentence);
/* Leaves no half line behind. */
void weigh_face_end(struct weigh_face *face);
void weigh_face_ring(const struct weigh_face *face);

#endif
