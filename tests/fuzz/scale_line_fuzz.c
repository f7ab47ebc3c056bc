/* A scale's stream: the first byte chooses the usual lines or a pattern made of what stands before the first
 * line end. */
#include "device/scale_watch.h"
#include "fuzz_run.h"
#include "mutate.h"
#include "paint/pouring.h"
#include <math.h>
#include <stdint.h>
#include <string.h>

static const struct pouring_item items[] = {
    {.id = "white", .fraction = 1, .want_g = 12.7, .minus_g = .05, .plus_g = .05},
    {.id = "black", .fraction = .1, .want_g = 4, .minus_g = .05, .plus_g = .05},
};

static void feed(struct pouring *pouring, struct scale_watch *watch, const struct scale_said *said,
                 long long ms) {
    if (said->sort == SCALE_WEIGHT) MUST(isfinite(said->mass_g) && said->step_g > 0);
    const struct scale_heard heard = scale_watch_line(watch, said);
    const struct pouring_reading reading = {.time_ms = ms,
                                            .mass_g = heard.mass_g,
                                            .step_g = heard.step_g,
                                            .still = heard.still,
                                            .tared = heard.tared};
    if (heard.news == NEWS_READING)
        (void)pouring_read(pouring, &reading);
    else if (heard.news == NEWS_OVERLOAD)
        (void)pouring_gap(pouring, AWAY_OVERLOAD);
    if (pouring->asked) pouring_say(pouring, ms & 1 ? ANSWER_SAME : ANSWER_POURED);
    MUST(isfinite(pouring->items[0].poured_g) && pouring->items[0].poured_g >= 0);
}

static bool first_line_is_pattern(const uint8_t **data, size_t *size, struct scale_pattern *pattern) {
    char text[SCALE_PATTERN_MOST];
    const uint8_t *end = *size > 1 && (*data)[0] == '!' ? memchr(*data, '\n', *size) : NULL;
    struct fault fault;
    if (!end || (size_t)(end - *data) > sizeof text) return false;
    const size_t n = (size_t)(end - *data) - 1;
    memcpy(text, *data + 1, n);
    text[n] = 0;
    *size -= n + 2;
    *data = end + 1;
    return scale_pattern_make(pattern, text, &fault) == STATUS_OK;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct scale_pattern pattern;
    struct scale_cut cut = {0};
    struct scale_watch watch = {0};
    struct pouring pouring;
    long long ms = 1;
    const bool odd = first_line_is_pattern(&data, &size, &pattern);
    pouring_start(&pouring, items, 2, 0, false);
    for (size_t at = 0; at < size; ms += 300) {
        bool whole;
        size_t n;
        at += scale_cut_feed(&cut, data + at, size - at, &whole, &n);
        if (!whole) continue;
        const struct scale_said said =
            odd ? scale_pattern_read(&pattern, cut.line, n) : scale_line_read(cut.line, n);
        feed(&pouring, &watch, &said, ms);
    }
    return 0;
}

MUTATE_BY(mutate_words);
