#include "flow/weigh_session.h"
#include "device/scale_watch.h"
#include <errno.h>
#include <math.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { WAIT_MS = 100, REOPEN_MS = 500, LOG_MIB = 8, ANSWER_MOST = 32 };

/* What runs while one pour is weighed. */
struct session {
    struct weigh *weigh;
    struct pouring *pouring;
    struct scale_cut cut;
    struct scale_watch watch;
    long long lines;
    bool open, gone_said, leave, fitted;
    char answer[ANSWER_MOST]; /* the letters typed so far */
    size_t answer_n;
    bool offered; /* a rescue waits for its answer */
    struct pouring_item offer[POURING_MOST];
    size_t offer_count;
    struct fault *fault;
    enum status status; /* not OK: the log failed */
};

static long long now_ms(const struct session *s) {
    const struct weigh *weigh = s->weigh;
    if (weigh->line_ms > 0) return (long long)((double)s->lines * weigh->line_ms) + 1;
    return weigh->clock.now_ms(weigh->clock.self) + 1;
}

#define SAY(s, word, ...)                          \
    do {                                           \
        struct fault said_;                        \
        (void)FAULT(&said_, word, __VA_ARGS__);    \
        weigh_face_say(&(s)->weigh->face, &said_); \
    } while (0)

#define GRAMS(s, g) WEIGH_TEXT(g, (s)->pouring->step_g)
#define SHOWN(s, g) READING_TEXT(g, shown_step(s), (s)->weigh->face.unit_g)

/* The scale's own last digit, not the plan's. */
static double shown_step(const struct session *s) {
    return s->pouring->step_used_g > 0 ? s->pouring->step_used_g : s->pouring->step_g;
}

/* ---- the log
 * -----------------------------------------------------------------------------------------------------------
 */

static enum status log_write(struct weigh_log *log, struct text *line, struct fault *fault) {
    const enum status status = append_add(&log->file, line->data, line->length, fault);
    text_free(line);
    return status;
}

static void log_pour(struct session *s, size_t step, bool done) {
    struct weigh_log *log = s->weigh->log;
    struct text line = {0};
    if (!log || !log->kept || s->status != STATUS_OK) return;
    pour_log_pour(&log->record, step, &s->pouring->items[step], done, &line);
    s->status = log_write(log, &line, s->fault);
}

static void log_plan(struct session *s) {
    struct weigh_log *log = s->weigh->log;
    struct text line = {0};
    if (!log || !log->kept || s->status != STATUS_OK) return;
    pour_log_plan(&log->record, s->pouring->items, s->pouring->count, &line);
    s->status = log_write(log, &line, s->fault);
}

/* The windows of a step that a rescue added are those of its toner's first step. */
static void lend_windows(struct pouring_item items[], size_t planned, const struct pour_log *record) {
    for (size_t i = 0; i < record->count; i++) {
        struct pouring_item item = record->items[i];
        for (size_t k = planned; k-- > 0;)
            if (k == i || (i >= planned && strcmp(items[k].id, item.id) == 0)) {
                item.minus_g = items[k].minus_g;
                item.plus_g = items[k].plus_g;
                item.carries = k == i && items[k].carries;
            }
        items[i] = item;
    }
}

static enum status log_take_over(struct weigh_log *log, const struct disk *disk, const char *path,
                                 double batch_g, struct pouring_item items[], size_t *count,
                                 struct fault *fault) {
    struct arena *arena = arena_new();
    struct bytes bytes;
    enum status status = disk_read(disk, path, LOG_MIB, arena, &bytes, fault);
    if (status == STATUS_OK) status = pour_log_replay(&bytes, &log->record, fault);
    if (status == STATUS_OK && !log->record.empty)
        status = pour_log_check(&log->record, batch_g, items, *count, path, fault);
    arena_free(arena);
    if (status != STATUS_OK || log->record.empty) return status;
    lend_windows(items, *count, &log->record);
    *count = log->record.count;
    log->resumed = true;
    return STATUS_OK;
}

/* The header, and what was in the cup before. */
static enum status log_begin(struct weigh_log *log, double batch_g, const struct pouring_item items[],
                             size_t count, struct fault *fault) {
    struct text lines = {0};
    pour_log_header(&log->record, batch_g, items, count, &lines);
    for (size_t i = 0; i < count; i++)
        if (items[i].poured_g > 0) pour_log_pour(&log->record, i, &items[i], false, &lines);
    return log_write(log, &lines, fault);
}

double weigh_log_step(const struct disk *disk, const char *path) {
    struct arena *arena = arena_new();
    struct bytes bytes;
    struct pour_log record = {0};
    const bool read = disk_read(disk, path, LOG_MIB, arena, &bytes, NULL) == STATUS_OK &&
                      pour_log_replay(&bytes, &record, NULL) == STATUS_OK;
    arena_free(arena);
    return read ? record.step_g : 0;
}

enum status weigh_log_open(struct weigh_log *log, const struct disk *disk, const char *path, double batch_g,
                           double step_g, struct pouring_item items[], size_t *count, struct fault *fault) {
    *log = (struct weigh_log){.kept = path != NULL, .file.fd = -1, .record.empty = true};
    if (!path) return STATUS_OK;
    enum status status = append_open(&log->file, disk, path, fault);
    if (status == STATUS_OK) status = log_take_over(log, disk, path, batch_g, items, count, fault);
    if (status == STATUS_OK && log->record.empty) log->record.step_g = step_g;
    if (status == STATUS_OK && log->record.empty) status = log_begin(log, batch_g, items, *count, fault);
    if (status != STATUS_OK) weigh_log_close(log);
    return status;
}

void weigh_log_close(struct weigh_log *log) {
    if (log->kept) append_close(&log->file);
    log->kept = false;
}

/* ---- events -> sentences and records
 * ------------------------------------------------------------------------------------- */

static const char *let_down_text(char out[32], double fraction) {
    snprintf(out, 32, "1 to %.3g", 1 / fraction - 1);
    return out;
}

static void say_next(struct session *s) {
    const struct pouring *p = s->pouring;
    const struct pouring_item *item = &p->items[p->at];
    if (p->state == POURING_DONE) {
        SAY(s, WEIGH_ALL_IN, SHOWN(s, p->level_g));
        return;
    }
    const char *left = GRAMS(s, item->want_g - item->poured_g), *upto = SHOWN(s, p->zero_g + item->want_g);
    if (item->fraction < 1)
        SAY(s, WEIGH_NEXT_LET_DOWN, item->id, left, upto, let_down_text((char[32]){0}, item->fraction));
    else
        SAY(s, WEIGH_NEXT, item->id, left, upto);
    const char *lots = s->weigh->lots ? s->weigh->lots(s->weigh->lots_context, item->id) : NULL;
    if (lots) SAY(s, WEIGH_LOTS, lots);
}

static void say_away(struct session *s) {
    switch (s->pouring->reason) {
    case AWAY_LIFTED:
        SAY(s, WEIGH_LIFTED, SHOWN(s, s->pouring->level_g));
        break;
    case AWAY_OVERLOAD:
        SAY(s, WEIGH_OVERLOAD, SHOWN(s, s->pouring->level_g));
        break;
    case AWAY_GAP:
    case AWAY_PUT:
    case AWAY_ZERO:
    case AWAY_CREPT:
        SAY(s, WEIGH_GAP, SHOWN(s, s->pouring->level_g));
        break;
    }
}

static void say_question(struct session *s) {
    const struct pouring *p = s->pouring;
    const char *rest = SHOWN(s, p->rest_g), *level = SHOWN(s, p->level_g),
               *more = GRAMS(s, fabs(p->rest_g - p->level_g));
    if (p->reason == AWAY_CREPT && p->rest_g > p->level_g)
        SAY(s, WEIGH_ASK_CREPT, level, rest);
    else if (p->reason == AWAY_ZERO)
        SAY(s, WEIGH_ASK_ZERO, level);
    else if (p->rest_g > p->level_g)
        SAY(s, WEIGH_ASK_MORE, more, level, rest, p->items[p->at].id);
    else
        SAY(s, WEIGH_ASK_LESS, rest, level);
    weigh_face_ring(&s->weigh->face);
}

static void say_ready(struct session *s) {
    const struct pouring *p = s->pouring;
    if (pouring_has_more(p))
        SAY(s, WEIGH_READY_MORE, SHOWN(s, p->rest_g), GRAMS(s, pouring_in_cup(p)),
            GRAMS(s, p->rest_g - pouring_in_cup(p)));
    else
        SAY(s, WEIGH_READY, SHOWN(s, p->rest_g));
}

static void accept_rescue(struct session *s) {
    s->offered = false;
    pouring_replan(s->pouring, s->offer, s->offer_count);
    log_plan(s);
    say_next(s);
}

/* Somebody who is there is asked; without anybody the ratios come first. */
static void offer_rescue(struct session *s) {
    struct weigh *weigh = s->weigh;
    struct weigh_offer offer = {.said_count = 0};
    if (!weigh->rescue) return;
    memcpy(s->offer, s->pouring->items, sizeof s->offer);
    s->offer_count = s->pouring->count;
    s->offered = weigh->rescue(weigh->rescue_context, s->pouring, s->offer, &s->offer_count, &offer);
    for (size_t i = 0; i < offer.said_count; i++) weigh_face_say(&weigh->face, &offer.said[i]);
    if (s->offered && weigh->answers < 0) accept_rescue(s);
    if (s->offered) SAY(s, WEIGH_RESCUE_KEYS, NULL);
}

static void taken(struct session *s, bool over) {
    const struct pouring_item *item = &s->pouring->items[s->pouring->at_taken];
    log_pour(s, s->pouring->at_taken, true);
    if (s->status != STATUS_OK) return;
    if (over)
        SAY(s, WEIGH_TOO_MUCH, item->id, GRAMS(s, item->poured_g), GRAMS(s, item->poured_g - item->want_g));
    else
        SAY(s, WEIGH_TAKEN, item->id, GRAMS(s, item->poured_g));
    weigh_face_ring(&s->weigh->face);
    if (over) offer_rescue(s);
    if (!s->offered) say_next(s);
}

static void rested(struct session *s) {
    const struct pouring_item *item = &s->pouring->items[s->pouring->at];
    log_pour(s, s->pouring->at, false);
    if (s->status == STATUS_OK)
        SAY(s, WEIGH_SO_FAR, item->id, GRAMS(s, item->poured_g), GRAMS(s, item->want_g));
}

/* The plan as it is now takes the place of the log's first record: nothing was poured yet. */
static void log_anew(struct session *s, const struct weigh_fit *fit) {
    struct weigh_log *log = s->weigh->log;
    struct text line = {0};
    if (!log || !log->kept) return;
    log->record.step_g = fit->step_g;
    pour_log_header(&log->record, fit->batch_g, fit->items, fit->count, &line);
    s->status = log_write(log, &line, s->fault);
}

/* At the first rest the scale's step is known. What was planned for a finer one is planned anew while nothing
 * is in. */
static void fit_to_scale(struct session *s) {
    struct weigh *weigh = s->weigh;
    struct pouring *p = s->pouring;
    if (s->fitted || !weigh->refit) return;
    s->fitted = true;
    if (p->step_used_g <= 1.001 * weigh->planned_step_g) return;
    struct weigh_fit fit = {.count = p->count, .batch_g = 0};
    memcpy(fit.items, p->items, sizeof fit.items);
    const enum status status = weigh->refit(weigh->refit_context, p->step_used_g, &fit, s->fault);
    for (size_t i = 0; i < fit.said_count; i++) weigh_face_say(&weigh->face, &fit.said[i]);
    if (status != STATUS_OK && status != STATUS_NO) {
        s->status = status;
        return;
    }
    pouring_plan_anew(p, fit.items, fit.count);
    if (status == STATUS_OK) log_anew(s, &fit);
}

static void handle(struct session *s, enum pouring_event event) {
    if (event == POURING_READY || event == POURING_STARTED) fit_to_scale(s);
    if (s->status != STATUS_OK) return;
    switch (event) {
    case POURING_NOTHING:
        break;
    case POURING_READY:
        say_ready(s);
        break;
    case POURING_STARTED:
        say_next(s);
        break;
    case POURING_RESTED:
        rested(s);
        break;
    case POURING_TAKEN:
        taken(s, false);
        break;
    case POURING_OVERPOURED:
        taken(s, true);
        break;
    case POURING_LEFT:
        say_away(s);
        break;
    case POURING_ASKED:
        say_question(s);
        break;
    case POURING_BACK:
        say_next(s);
        break;
    }
}

/* ---- lines
 * ------------------------------------------------------------------------------------------------------------------
 */

static void hear(struct session *s, const struct scale_heard *heard) {
    const struct pouring_reading reading = {.time_ms = now_ms(s),
                                            .mass_g = heard->mass_g,
                                            .step_g = heard->step_g,
                                            .still = heard->still,
                                            .tared = heard->tared};
    switch (heard->news) {
    case NEWS_NONE:
        break;
    case NEWS_READING:
        handle(s, pouring_read(s->pouring, &reading));
        break;
    case NEWS_OVERLOAD:
    case NEWS_UNDERLOAD:
    case NEWS_TROUBLE:
        handle(s, pouring_gap(s->pouring, AWAY_OVERLOAD));
        break;
    case NEWS_NO_MASS:
        handle(s, pouring_gap(s->pouring, AWAY_OVERLOAD));
        break;
    case NEWS_NO_UNIT:
        SAY(s, WEIGH_NO_UNIT, NULL);
        break;
    case NEWS_NONSENSE:
        SAY(s, WEIGH_NONSENSE, s->weigh->port_name);
        break;
    }
}

static void take_line(struct session *s, size_t n) {
    const struct scale_pattern *pattern = s->weigh->pattern;
    const struct scale_said said =
        pattern ? scale_pattern_read(pattern, s->cut.line, n) : scale_line_read(s->cut.line, n);
    const struct scale_heard heard = scale_watch_line(&s->watch, &said);
    s->lines++;
    s->weigh->face.unit_g = s->watch.unit_g;
    hear(s, &heard);
    weigh_face_live(&s->weigh->face, s->pouring, now_ms(s));
}

static void take_bytes(struct session *s, const unsigned char *bytes, size_t size) {
    bool whole;
    size_t n;
    for (size_t at = 0; at < size && s->status == STATUS_OK && s->pouring->state != POURING_DONE;) {
        at += scale_cut_feed(&s->cut, bytes + at, size - at, &whole, &n);
        if (whole) take_line(s, n);
    }
}

/* ---- answers
 * ---------------------------------------------------------------------------------------------------------------
 */

static void answer_offer(struct session *s, char key) {
    if (key == 'n') {
        s->offered = false;
        say_next(s);
    } else if (key == 0) {
        accept_rescue(s);
    }
}

/* key 0 is Enter alone. */
static void take_answer(struct session *s, char key) {
    if (key == 'q')
        s->leave = true;
    else if (s->offered)
        answer_offer(s, key);
    else if (key == 0 || key == 'p')
        pouring_say(s->pouring, key == 'p' ? ANSWER_POURED : ANSWER_SAME);
}

static void take_typed(struct session *s, const char *typed, size_t n) {
    for (size_t i = 0; i < n; i++) {
        if (typed[i] == '\n' || typed[i] == '\r') {
            take_answer(s, s->answer_n == 1 ? s->answer[0] : s->answer_n == 0 ? 0 : '?');
            s->answer_n = 0;
        } else if (typed[i] != ' ' && s->answer_n < ANSWER_MOST) {
            s->answer[s->answer_n++] = typed[i];
        }
    }
}

/* Nobody is there any more: what waits for an answer goes on as it would have without anybody. */
static void answers_end(struct session *s) {
    s->weigh->answers = -1;
    s->pouring->ask_start = false;
    if (s->offered) accept_rescue(s);
}

static void read_answers(struct session *s) {
    char typed[64];
    struct pollfd wait = {s->weigh->answers, POLLIN, 0};
    if (s->weigh->answers < 0 || poll(&wait, 1, 0) <= 0) return;
    const ssize_t n = read(s->weigh->answers, typed, sizeof typed);
    if (n > 0) take_typed(s, typed, (size_t)n);
    if (n == 0 || (n < 0 && errno != EINTR && errno != EAGAIN)) answers_end(s);
}

/* ---- the port
 * --------------------------------------------------------------------------------------------------------------
 */

static void port_gone(struct session *s) {
    s->weigh->port.close(s->weigh->port.self);
    s->open = false;
    s->cut = (struct scale_cut){0};
    if (!s->gone_said) SAY(s, WEIGH_GONE, s->weigh->port_name);
    s->gone_said = true;
    handle(s, pouring_gap(s->pouring, AWAY_GAP));
}

static void reopen(struct session *s) {
    struct fault why;
    s->open = s->weigh->port.open(s->weigh->port.self, &why) == STATUS_OK;
    if (s->open)
        SAY(s, WEIGH_THERE_AGAIN, s->weigh->port_name);
    else
        (void)poll(NULL, 0, REOPEN_MS);
    s->gone_said = !s->open;
}

/* False when the stream has ended. */
static bool read_port(struct session *s) {
    unsigned char bytes[512];
    size_t came;
    if (!s->open) {
        reopen(s);
        return true;
    }
    switch (s->weigh->port.read(s->weigh->port.self, bytes, sizeof bytes, WAIT_MS, &came)) {
    case PORT_BYTES:
        take_bytes(s, bytes, came);
        return true;
    case PORT_QUIET:
        return true;
    case PORT_GONE:
        port_gone(s);
        return true;
    case PORT_ENDED:
        return false;
    }
    return false;
}

static bool goes_on(const struct session *s) {
    if (s->status != STATUS_OK || s->leave || work_is_cancelled(s->weigh->work)) return false;
    return s->pouring->state != POURING_DONE || s->offered;
}

static enum status ending(struct session *s) {
    const struct pouring *p = s->pouring;
    const struct pouring_item *item = &p->items[p->at];
    if (s->status != STATUS_OK) return s->status;
    const bool kept = s->weigh->log && s->weigh->log->kept;
    if (work_is_cancelled(s->weigh->work))
        return kept ? FAULT0(s->fault, WEIGH_STOPPED) : FAULT0(s->fault, WEIGH_STOPPED_NO_LOG);
    if (p->state == POURING_DONE) return STATUS_OK;
    const char *in = GRAMS(s, item->poured_g), *want = GRAMS(s, item->want_g);
    if (!kept) return FAULT(s->fault, WEIGH_NOT_ALL_IN_NO_LOG, item->id, in, want);
    return FAULT(s->fault, WEIGH_NOT_ALL_IN, item->id, in, want);
}

enum status weigh_run(struct weigh *weigh, struct pouring *pouring, struct fault *fault) {
    struct session s = {.weigh = weigh, .pouring = pouring, .fault = fault, .status = STATUS_OK};
    const enum status opened = weigh->port.open(weigh->port.self, fault);
    if (opened != STATUS_OK) return opened;
    s.open = true;
    if (pouring->ask_start) SAY(&s, WEIGH_BEGIN, NULL);
    bool more = true;
    while (more && goes_on(&s)) {
        read_answers(&s);
        if (goes_on(&s)) more = read_port(&s);
    }
    if (s.open) weigh->port.close(weigh->port.self);
    weigh_face_end(&weigh->face);
    return ending(&s);
}
