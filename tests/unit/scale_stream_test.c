/* A person, a scale and a bad cable against the whole chain from bytes to the log: no wrong pour, whatever
 * comes. A pour is wrong when what was taken for a step differs from what went into the cup by more than five
 * digits of the scale (a cup put back, the drift that is followed and the rounding together), .05 g at least.
 */
#include "device/scale_watch.h"
#include "formats/pour_log.h"
#include "scale_person.h"

struct chain {
    struct person person;
    struct pouring pouring;
    struct scale_cut cut;
    struct scale_watch watch;
    struct scale_pattern pattern;
    struct pour_log record;
    struct text log;
    long long ms;
};

struct tally {
    long long lines, spoilt, pours, over, wrong, asked, sessions, unfinished, log_wrong;
    double worst_g, worst_steps;
    int mishaps[DOING_OVERLOAD + 1];
};

static size_t steps_make(struct person *p, struct pouring_item items[]) {
    static const char *const ids[] = {"white", "yellow-oxide", "black", "blue", "binder"};
    const size_t count = 2 + (size_t)(person_random(p) * 4);
    for (size_t i = 0; i < count; i++) {
        struct pouring_item item = {.fraction = 1};
        snprintf(item.id, sizeof item.id, "%s", ids[i]);
        item.want_g =
            round(exp(person_between(p, log(fmax(.5, 20 * p->step_g)), log(40))) / p->step_g) * p->step_g;
        item.minus_g = item.plus_g = fmax(fmax(.03, 2 * p->step_g), .01 * item.want_g);
        items[i] = item;
    }
    return count;
}

static void record(struct chain *c, size_t step, bool done) {
    pour_log_pour(&c->record, step, &c->pouring.items[step], done, &c->log);
}

static double wrong_g(const struct chain *c) {
    return fmax(.0501, 5.01 * c->person.step_g);
}

static void check_taken(struct chain *c, struct tally *tally, bool over) {
    const size_t at = c->pouring.at_taken;
    const double miss = c->pouring.items[at].poured_g - c->person.truth_g[at];
    tally->pours++;
    tally->over += over;
    if (!(fabs(miss) <= wrong_g(c))) {
        if (tally->wrong++ < 5)
            fprintf(stderr, "  session %lld habit %d: %s taken as %.3f, truly %.3f\n", tally->sessions,
                    (int)c->person.habit, c->pouring.items[at].id, c->pouring.items[at].poured_g,
                    c->person.truth_g[at]);
    }
    tally->worst_g = fmax(tally->worst_g, fabs(miss));
    tally->worst_steps = fmax(tally->worst_steps, fabs(miss) / c->person.step_g);
    record(c, at, true);
}

static void take_event(struct chain *c, struct tally *tally, enum pouring_event event) {
    /* The person sees that a hand or a thing was read as poured, and says so when asked. */
    if (event == POURING_RESTED && c->person.doing != DOING_WAIT) c->person.poured_unseen = true;
    if (event == POURING_RESTED) record(c, c->pouring.at, false);
    if (event == POURING_TAKEN || event == POURING_OVERPOURED)
        check_taken(c, tally, event == POURING_OVERPOURED);
    tally->asked += event == POURING_ASKED;
}

static void take_line(struct chain *c, struct tally *tally, size_t n) {
    const struct scale_said said = c->person.habit == HABIT_PATTERN
                                       ? scale_pattern_read(&c->pattern, c->cut.line, n)
                                       : scale_line_read(c->cut.line, n);
    const struct scale_heard heard = scale_watch_line(&c->watch, &said);
    const struct pouring_reading reading = {.time_ms = c->ms,
                                            .mass_g = heard.mass_g,
                                            .step_g = heard.step_g,
                                            .still = heard.still,
                                            .tared = heard.tared};
    if (heard.news == NEWS_READING) take_event(c, tally, pouring_read(&c->pouring, &reading));
    if (heard.news == NEWS_OVERLOAD || heard.news == NEWS_TROUBLE)
        take_event(c, tally, pouring_gap(&c->pouring, AWAY_OVERLOAD));
}

static void tick(struct chain *c, struct tally *tally) {
    char bytes[500];
    int lines;
    const int n = person_tick_bytes(&c->person, bytes, &lines);
    c->ms += c->person.tick_ms;
    tally->lines += lines;
    for (int at = 0; at < n;) {
        bool whole;
        size_t line_n;
        at += (int)scale_cut_feed(&c->cut, (unsigned char *)bytes + at, (size_t)(n - at), &whole, &line_n);
        if (whole) take_line(c, tally, line_n);
    }
}

/* The log must say what the pour says. */
static void check_log(struct chain *c, struct tally *tally) {
    struct pour_log back;
    struct fault fault;
    const struct bytes bytes = {(unsigned char *)c->log.data, c->log.length, "pot.log"};
    bool same = pour_log_replay(&bytes, &back, &fault) == STATUS_OK && back.count == c->pouring.count;
    for (size_t i = 0; same && i < back.count; i++)
        same = fabs(back.items[i].poured_g - c->pouring.items[i].poured_g) < 1e-6;
    tally->log_wrong += !same;
}

static void answer(struct chain *c, bool *leave) {
    const char key = person_answer(&c->person, &c->pouring);
    if (key == 'q') *leave = true;
    if (key == 's' || key == 'p') pouring_say(&c->pouring, key == 'p' ? ANSWER_POURED : ANSWER_SAME);
}

static void session(struct tally *tally, unsigned long long seed, double garbage, double trouble) {
    struct chain c = {.record.empty = true};
    struct pouring_item items[POURING_MOST] = {0};
    struct fault fault;
    bool leave = false;
    person_begin(&c.person, seed, (enum habit)(seed % HABITS));
    c.person.garbage = garbage;
    c.person.trouble = trouble;
    const size_t count = steps_make(&c.person, items);
    if (scale_pattern_make(&c.pattern, PERSON_PATTERN, &fault) != STATUS_OK)
        check_fail(__FILE__, __LINE__, fault.text);
    pouring_start(&c.pouring, items, count, 0, false);
    pour_log_header(&c.record, 60, items, count, &c.log);
    for (int i = 0; i < 20000 && c.pouring.state != POURING_DONE && !leave; i++) {
        tick(&c, tally);
        if (c.pouring.state != POURING_DONE) person_act(&c.person, &c.pouring);
        answer(&c, &leave);
    }
    tally->sessions++;
    tally->unfinished += c.pouring.state != POURING_DONE;
    for (int i = 0; i <= DOING_OVERLOAD; i++) tally->mishaps[i] += c.person.mishaps[i];
    check_log(&c, tally);
    text_free(&c.log);
}

static struct tally many_lines(long long lines, unsigned long long seed, double garbage, double trouble) {
    struct tally t = {0};
    while (t.lines < lines) session(&t, seed++, garbage, trouble);
    printf("  figure: %lld lines (%.0f %% garbage), %lld sessions, %lld pours taken (%lld over), %lld asked, "
           "%lld wrong, "
           "largest miss %.3f g or %.1f digits, %lld unfinished; cup lifted %d, things put down %d, leant on "
           "%d, re-tared "
           "%d, unplugged %d, "
           "overload %d\n",
           t.lines, 100 * garbage, t.sessions, t.pours, t.over, t.asked, t.wrong, t.worst_g, t.worst_steps,
           t.unfinished, t.mishaps[DOING_LIFT], t.mishaps[DOING_OBJECT], t.mishaps[DOING_LEAN],
           t.mishaps[DOING_TARE], t.mishaps[DOING_GAP], t.mishaps[DOING_OVERLOAD]);
    CHECK(t.wrong == 0);
    CHECK(t.log_wrong == 0);
    CHECK(t.unfinished * (garbage > .5 ? 8 : 20) <=
          t.sessions); /* a cable that bad is given up now and then */
    CHECK(t.pours * 2 >= t.sessions);
    return t;
}

static void clean_and_very_dirty_lines_have_no_wrong_pour(void) {
    (void)many_lines(100000, 9000, .6, .35);
    (void)many_lines(100000, 5000, 0, .35);
}

/* Where nothing goes wrong nobody is asked much: a splash of more than a gram within a second is all. */
static void a_quiet_bench_is_seldom_asked(void) {
    const struct tally t = many_lines(200000, 20000, 0, 0);
    printf("  figure: %.3f questions for a pour where nothing went wrong\n",
           (double)t.asked / (double)t.pours);
    CHECK(t.asked * 5 <= t.pours);
}

static void a_million_lines_have_no_wrong_pour(void) {
    (void)many_lines(1000000, 100000, .3, .35);
}

static void LONG_twenty_million_lines_have_no_wrong_pour(void) {
    (void)many_lines(20000000, 1000000, .3, .35);
}

int main(void) {
    RUN(clean_and_very_dirty_lines_have_no_wrong_pour);
    RUN(a_quiet_bench_is_seldom_asked);
    RUN(a_million_lines_have_no_wrong_pour);
    RUN(LONG_twenty_million_lines_have_no_wrong_pour);
    return check_done();
}
