/* The lines are formats in common practice of bench scales (continuous output), written from memory; the
 * units are exact by definition: NIST Handbook 44 Appendix C (from memory): 1 lb = 453.59237 g, 1 ozt = 480
 * gr = 31.1034768 g, 1 ct = .2 g. */
#include "check.h"
#include "device/scale_line.h"
#include "device/scale_watch.h"

static struct scale_said read_text(const char *line) {
    return scale_line_read(line, strlen(line));
}

static void the_usual_lines_are_read(void) {
    static const struct {
        const char *line;
        double g, step;
        enum scale_motion motion;
        enum scale_net net;
    } good[] = {
        {"ST,GS,+00012.34 g", 12.34, .01, MOTION_STABLE, NET_GROSS},
        {"US,NT,-0012.34g", -12.34, .01, MOTION_MOVING, NET_NET},
        {"S S     100.00 g", 100, .01, MOTION_STABLE, NET_UNTOLD},
        {"S D     100.00 g", 100, .01, MOTION_MOVING, NET_UNTOLD},
        {"SD      100.00 g", 100, .01, MOTION_MOVING, NET_UNTOLD},
        {"+    12.3 g  ", 12.3, .1, MOTION_UNTOLD, NET_UNTOLD},
        {"-  0,05 g", -.05, .01, MOTION_UNTOLD, NET_UNTOLD},
        {"12.345 g ?", 12.345, .001, MOTION_MOVING, NET_UNTOLD},
        {"? 12.345 g", 12.345, .001, MOTION_MOVING, NET_UNTOLD},
        {"12.345 g *", 12.345, .001, MOTION_UNTOLD, NET_UNTOLD},
        {"Net: 12.34 g stable", 12.34, .01, MOTION_STABLE, NET_NET},
        {"N  +  1.2345 kg", 1234.5, .1, MOTION_UNTOLD, NET_NET},
        {"G 20.00 g", 20, .01, MOTION_UNTOLD, NET_GROSS},
        {"T 8.30 g", 8.3, .01, MOTION_UNTOLD, NET_TARE},
        {"500 mg", .5, .001, MOTION_UNTOLD, NET_UNTOLD},
        {"1.000 oz", 28.349523125, .028349523125, MOTION_UNTOLD, NET_UNTOLD},
        {"1.00 ozt", 31.1034768, .311034768, MOTION_UNTOLD, NET_UNTOLD},
        {"1.0000 lb", 453.59237, .045359237, MOTION_UNTOLD, NET_UNTOLD},
        {"10.00ct", 2, .002, MOTION_UNTOLD, NET_UNTOLD},
        {"12. g", 12, 1, MOTION_UNTOLD, NET_UNTOLD},
        {".52 g", .52, .01, MOTION_UNTOLD, NET_UNTOLD},
    };
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        const struct scale_said said = read_text(good[i].line);
        if (said.sort != SCALE_WEIGHT || !said.has_unit || said.motion != good[i].motion ||
            said.net != good[i].net)
            check_fail(__FILE__, __LINE__, good[i].line);
        CHECK_NEAR(said.mass_g, good[i].g, 1e-9);
        CHECK_NEAR(said.step_g, good[i].step, 1e-9);
    }
}

static void what_is_no_weight_says_so(void) {
    static const struct {
        const char *line;
        enum scale_sort sort;
    } odd[] = {
        {"", SCALE_NONSENSE},
        {"hello", SCALE_NONSENSE},
        {"12.3 12.4 g", SCALE_NONSENSE},
        {"1,234.5 g", SCALE_NONSENSE},
        {"12.3.4 g", SCALE_NONSENSE},
        {"--12 g", SCALE_NONSENSE},
        {"12-3 g", SCALE_NONSENSE},
        {"+-12 g", SCALE_NONSENSE},
        {"0x12 g", SCALE_NONSENSE},
        {"1e5 g", SCALE_NONSENSE},
        {"12.34 gg", SCALE_NONSENSE},
        {"12345678901 g", SCALE_NONSENSE},
        {"1.2345678 g", SCALE_NONSENSE},
        {"12.3\x80 g", SCALE_NONSENSE},
        {"nan g", SCALE_NONSENSE},
        {"12.34 g12.35 g", SCALE_NONSENSE},
        {"g", SCALE_NONSENSE},
        {"OL", SCALE_OVERLOAD},
        {"OL,GS,+99999.9 g", SCALE_OVERLOAD},
        {"S +", SCALE_OVERLOAD},
        {"HHHHHH", SCALE_OVERLOAD},
        {"UL", SCALE_UNDERLOAD},
        {"S -", SCALE_UNDERLOAD},
        {"LLLL", SCALE_UNDERLOAD},
        {"______", SCALE_UNDERLOAD},
        {"-----", SCALE_TROUBLE},
        {"ERR 4", SCALE_TROUBLE},
        {"Error", SCALE_TROUBLE},
        {"ST,+ 12 pcs", SCALE_NO_MASS},
        {"45.2 %", SCALE_NO_MASS},
    };
    for (size_t i = 0; i < sizeof odd / sizeof *odd; i++)
        if (read_text(odd[i].line).sort != odd[i].sort) check_fail(__FILE__, __LINE__, odd[i].line);
}

static struct scale_said read_pattern(const char *text, const char *line) {
    struct scale_pattern pattern;
    struct fault fault = {0};
    if (scale_pattern_make(&pattern, text, &fault) != STATUS_OK) check_fail(__FILE__, __LINE__, fault.text);
    return scale_pattern_read(&pattern, line, strlen(line));
}

static void patterns_read_odd_scales(void) {
    struct scale_said said = read_pattern("W,{sign}{number}{unit}{stable:S|D}", "W,+ 12.34gS");
    CHECK(said.sort == SCALE_WEIGHT && said.motion == MOTION_STABLE);
    CHECK_NEAR(said.mass_g, 12.34, 1e-12);
    said = read_pattern("W,{sign}{number}{unit}{stable:S|D}", "W,-1.5kgD");
    CHECK(said.sort == SCALE_WEIGHT && said.motion == MOTION_MOVING);
    CHECK_NEAR(said.mass_g, -1500, 1e-9);
    said = read_pattern("{skip:3}{sign}{number}{unit:oz}", "01,+2.000");
    CHECK_NEAR(said.mass_g, 56.69904625, 1e-9);
    CHECK(said.sort == SCALE_WEIGHT);
    said = read_pattern("{skip}={sign}{number} {unit}{stable:|?}", "pan 1 =  12.0 g");
    CHECK(said.sort == SCALE_WEIGHT && said.motion == MOTION_STABLE);
    said = read_pattern("{skip}={sign}{number} {unit}{stable:|?}", "pan 1 =  12.0 g?");
    CHECK(said.sort == SCALE_WEIGHT && said.motion == MOTION_MOVING);
    said = read_pattern("{{{sign}{number}}}{unit:g}", "{12.5}");
    CHECK(said.sort == SCALE_WEIGHT);
    CHECK(read_pattern("W,{number}{unit}", "W,OL").sort == SCALE_OVERLOAD);
    CHECK(read_pattern("W,{number}{unit}", "W,12.3").sort == SCALE_NONSENSE);
    CHECK(read_pattern("W,{number}{unit}", "V,12.3g").sort == SCALE_NONSENSE);
    CHECK(read_pattern("W,{number}{unit}", "W,12.3gx").sort == SCALE_NONSENSE);
}

static void patterns_that_cannot_work_are_refused(void) {
    static const char *const bad[] = {"",
                                      "{number}",
                                      "{unit}",
                                      "{number}{number}{unit}",
                                      "{nummer}{unit}",
                                      "{number",
                                      "number}{unit}",
                                      "{number}{unit:x}",
                                      "{number}{unit}{skip:0}",
                                      "{number}{unit:pcs}",
                                      "{sign:1}{number}{unit}",
                                      "{number}{unit}{stable}",
                                      "{number}{unit}{skip:123}"};
    struct scale_pattern pattern;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct fault fault = {0};
        if (scale_pattern_make(&pattern, bad[i], &fault) != STATUS_USAGE)
            check_fail(__FILE__, __LINE__, bad[i]);
        CHECK(fault.text[0] != 0);
    }
    struct fault fault;
    CHECK(scale_pattern_make(&pattern, "{nummer}", &fault) == STATUS_USAGE &&
          strstr(fault.text, "{sign} {number}"));
}

/* All lines of a text, however it is chopped, glued by '|'. */
static void cut(const char *text, size_t size, size_t chunk, char *out) {
    struct scale_cut state = {0};
    out[0] = 0;
    for (size_t at = 0; at < size;) {
        const size_t upto = at + chunk < size ? at + chunk : size;
        bool whole;
        size_t n;
        while (at < upto) {
            at += scale_cut_feed(&state, (const unsigned char *)text + at, upto - at, &whole, &n);
            if (whole) strncat(strncat(out, state.line, n), "|", 2);
        }
    }
}

static void lines_are_cut_alike_in_any_chunks(void) {
    char text[600], out[700];
    int n = snprintf(text, sizeof text, "1 g\r\n2 g\n\n\r3 g\r%c4 g%c", 2, 3);
    memset(text + n, 'x', 300);
    n += 300;
    n += snprintf(text + n, sizeof text - (size_t)n, "\n5 g\n6");
    for (size_t chunk = 1; chunk < 40; chunk++) {
        cut(text, (size_t)n, chunk, out);
        CHECK_TEXT(out, "1 g|2 g|3 g|4 g|5 g|");
    }
}

/* Random bytes, also of the letters that lines are made of: nothing is read outside, and what is a weight is
 * finite. */
static void random_bytes_do_no_harm(void) {
    static const char likely[] = "+-0123456789.,  gkSTUDN?*OL{}:|";
    unsigned long long seed = 7;
    int weights = 0;
    for (int i = 0; i < 200000; i++) {
        char line[40];
        const size_t n = (size_t)(check_random(&seed) * 12);
        for (size_t k = 0; k < n; k++)
            line[k] = i & 1 ? likely[(size_t)(check_random(&seed) * (sizeof likely - 1))]
                            : (char)(unsigned char)(check_random(&seed) * 256);
        const struct scale_said said = scale_line_read(line, n);
        if (said.sort != SCALE_WEIGHT) continue;
        weights++;
        CHECK(isfinite(said.mass_g) && said.step_g > 0);
    }
    printf("  figure: %d of 200000 random lines are weights\n", weights);
    CHECK(weights > 0);
}

static struct scale_heard hear(struct scale_watch *watch, const char *line) {
    const struct scale_said said = read_text(line);
    return scale_watch_line(watch, &said);
}

static void habits_of_a_scale_are_learnt(void) {
    struct scale_watch a = {0};
    CHECK(hear(&a, "ST,+1.00 g").still);
    CHECK(!hear(&a, "US,+1.00 g").still);
    CHECK(!hear(&a, "+1.00 g").still); /* it says "stable" when it is: without the word it is not */
    struct scale_heard heard = hear(&a, "+ 1.07");
    CHECK(heard.news == NEWS_READING && !heard.still); /* no unit: moving */
    struct scale_watch b = {0};
    CHECK(hear(&b, "1.00 g").still);
    CHECK(!hear(&b, "1.00 g ?").still);
    CHECK(hear(&b, "1.00 g").still);
}

static void an_odd_line_needs_a_second(void) {
    struct scale_watch watch = {0};
    CHECK(hear(&watch, "OL").news == NEWS_NONE);
    CHECK(hear(&watch, "OL").news == NEWS_OVERLOAD);
    hear(&watch, "1.00 g");
    CHECK(hear(&watch, "OL").news == NEWS_NONE);
    CHECK(hear(&watch, "UL").news == NEWS_NONE);
}

static void a_scale_without_units_is_not_guessed_at(void) {
    struct scale_watch watch = {0};
    int said = 0;
    for (int i = 0; i < 100; i++) said += hear(&watch, "12.34").news == NEWS_NO_UNIT;
    CHECK(said == 1);
    struct scale_watch deaf = {0};
    said = 0;
    for (int i = 0; i < 100; i++) said += hear(&deaf, "\xff\x80").news == NEWS_NONSENSE;
    CHECK(said == 1);
}

static void net_beside_gross_is_net(void) {
    struct scale_watch watch = {0};
    CHECK(hear(&watch, "GS,+20.00 g").news == NEWS_READING);
    CHECK(hear(&watch, "NT,+0.00 g").tared);
    CHECK(hear(&watch, "GS,+20.00 g").news == NEWS_NONE);
    CHECK(hear(&watch, "TR,+20.00 g").news == NEWS_NONE);
    CHECK(!hear(&watch, "NT,+0.00 g").tared);
    for (int i = 0; i < 4; i++) (void)hear(&watch, "GS,+20.00 g");
    CHECK(hear(&watch, "GS,+20.00 g").news == NEWS_READING);
}

int main(void) {
    RUN(the_usual_lines_are_read);
    RUN(what_is_no_weight_says_so);
    RUN(patterns_read_odd_scales);
    RUN(patterns_that_cannot_work_are_refused);
    RUN(lines_are_cut_alike_in_any_chunks);
    RUN(random_bytes_do_no_harm);
    RUN(habits_of_a_scale_are_learnt);
    RUN(an_odd_line_needs_a_second);
    RUN(a_scale_without_units_is_not_guessed_at);
    RUN(net_beside_gross_is_net);
    return check_done();
}
