/* Words of the eye as a direction in CIELAB. A word says what the pot should become: lighter/darker along L*,
 * redder/greener along a*, yellower/bluer along b*, cleaner/dirtier along the chroma of the present colour
 * (towards or away from grey of the same L*). A size is the difference that the step should make: 1 just seen
 * 0.8, 2 clearly 1.6, 3 strongly 3.0 dE00 (ours, editable). */
#ifndef RUSSET_PAINT_EYE_H
#define RUSSET_PAINT_EYE_H

#include "colour/lab.h"

/* "redder 1, darker 2" -> the colour that is wanted. INPUT for a word or a size that is none. */
enum status eye_words(const char *words, struct lab now, struct lab *wanted, struct fault *fault) MUST_USE;

/* The colour in `direction` (of any length, in Lab) that differs from `from` by de00; from itself when the
 * direction is zero. */
struct lab eye_step(struct lab from, const double direction[3], double de00);

#endif
