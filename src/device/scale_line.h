/* A scale's text stream, read without trust. Pure: bytes in, structs out; no port, no clock.
 *
 * A line is a number with a unit, and may carry words: stable or moving, net, gross or tare, overload,
 * underload, trouble. Every byte of the line must be accounted for; a line with a second number, an unknown
 * word or any other byte is nonsense and says nothing. That is what keeps a damaged line from becoming a
 * weight.
 *
 * Lines end at CR, LF, NUL, STX or ETX (some scales frame with STX..ETX and send no line end). A line
 * longer than SCALE_LINE_MOST is dropped up to its end. The marks, common practice of scales, stand in
 * front of or behind the number, in any case:
 *
 *   stable     ST  S  SS  stab  stable
 *   moving     US  U  D  SD  M  ?  ~  dyn  motion  moving  unstab  unstable
 *   neither    *  Z  zero  WW
 *   net        NT  N  net
 *   gross      GS  G  gross
 *   tare       TR  T  PT  tare
 *   overload   OL  OFL  over  overload  HHHH  ++++
 *   underload  UL  under  underload  LLLL  ____
 *   trouble    ERR  E  error  ----
 *
 * A moving mark beats a stable one ("S D 12.3 g"). "S +" and "S -" without a number are over- and
 * underload. A number: sign, then blanks, then at most 9 digits, '.' or ',' and at most 6 decimals. A
 * thousands mark is nonsense.
 *
 * Units are exact by definition (international yard and pound agreement 1959; troy ounce 480 grains; metric
 * carat .2 g). */
#ifndef RUSSET_DEVICE_SCALE_LINE_H
#define RUSSET_DEVICE_SCALE_LINE_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>

enum { SCALE_LINE_MOST = 120, SCALE_PATTERN_MOST = 96 };

enum scale_sort {
    SCALE_NONSENSE, /* says nothing, also an empty line */
    SCALE_WEIGHT,
    SCALE_OVERLOAD,
    SCALE_UNDERLOAD,
    SCALE_TROUBLE,
    SCALE_NO_MASS, /* pieces, per cent and the like: the scale is set to something else */
};
enum scale_motion { MOTION_UNTOLD, MOTION_STABLE, MOTION_MOVING };
enum scale_net { NET_UNTOLD, NET_NET, NET_GROSS, NET_TARE };

struct scale_said {
    enum scale_sort sort;
    double mass_g; /* of a weight with a unit; without one, the bare number */
    double step_g; /* the worth of its last digit */
    bool has_unit;
    double unit_g; /* grams per unit, when it has one */
    enum scale_motion motion;
    enum scale_net net;
};

/* The unit of that many grams as a scale writes it ("oz"); "g" when none has that size. */
const char *scale_unit_name(double unit_g);

/* One line, without its end. */
struct scale_said scale_line_read(const char *line, size_t n);

/* A pattern for a scale that sends something else. Text stands for itself; a blank for any run of blanks,
 * also none.
 *
 *   {sign}        + or - or nothing, blanks behind it
 *   {number}      digits with '.' or ',', or one of the over- and underload words above
 *   {unit}        one of the units; {unit:g}: the line has none and means grams
 *   {stable:A|B}  A here means stable, B moving; either may be empty; without "|B" B is empty
 *   {skip}        anything up to what follows; {skip:3} three bytes
 *   {{  }}        the braces themselves
 *
 * The pattern must cover the whole line: "W,{sign}{number}{unit}{stable:S|D}" reads "W,+ 12.34gS". */
struct scale_pattern {
    char text[SCALE_PATTERN_MOST];
};
/* USAGE with a sentence when it is not of that form: {number} exactly once, {unit} once, known names only. */
enum status scale_pattern_make(struct scale_pattern *pattern, const char *text, struct fault *fault) MUST_USE;
struct scale_said scale_pattern_read(const struct scale_pattern *pattern, const char *line, size_t n);

/* The stream cut into lines, in whatever chunks it comes. Zero-initialise. */
struct scale_cut {
    char line[SCALE_LINE_MOST];
    size_t length;
    bool dropping; /* the line was too long: wait for its end */
};
/* Takes bytes up to the end of the next line and returns how many it took. *whole: cut->line[0..*n) is a
 * line. */
size_t scale_cut_feed(struct scale_cut *cut, const unsigned char *bytes, size_t size, bool *whole, size_t *n);

#endif
