#include "trade/labour.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double slip_together = 0.3, p80_normal = 0.8416212335729143; /* 80 % point of the normal */
static const double minutes_most = 100000;

static const struct {
    const char *symbol, *name;
    enum size_of_work size;
    struct task_time time;
    int months;
    enum word excluded;
} tasks[] = {
#define TASK(id, symbol, name, size, f0, f1, f2, p0, p1, p2, months, excluded) \
    {symbol, name, size, {{f0, f1, f2}, {p0, p1, p2}}, months, WORD_##excluded},
#include "trade/tasks.def"
#undef TASK
};

const char *task_symbol(enum task task) {
    return tasks[task].symbol;
}
const char *task_name(enum task task) {
    return tasks[task].name;
}
const char *task_size_symbol(enum task task) {
    static const char *const symbols[SIZE_COUNT] = {"once", "m2", "dm", "spot", "colour", "coat m2"};
    return symbols[tasks[task].size];
}
int task_guarantee_months(enum task task) {
    return tasks[task].months;
}
enum word task_exclusion(enum task task) {
    return tasks[task].excluded;
}
struct task_time task_usual_time(enum task task) {
    return tasks[task].time;
}

enum status task_read(const char *symbol, enum task *out, struct fault *fault) {
    char known[300] = "";
    size_t n = 0;
    for (int i = 0; i < TASK_COUNT; i++) {
        if (strcmp(tasks[i].symbol, symbol) == 0) return *out = (enum task)i, STATUS_OK;
        n += (size_t)snprintf(known + n, sizeof known - n, "%s%s", i ? " " : "", tasks[i].symbol);
    }
    return FAULT(fault, PIECE_UNKNOWN, "task", symbol, known);
}

static double times_of(enum size_of_work size, const struct work_size *work) {
    const double by_size[SIZE_COUNT] = {0,           work->area_m2, work->line_mm / 100,
                                        work->spots, work->colours, work->coats * work->area_m2};
    const double times = by_size[size];
    return times > 0 && isfinite(times) ? times : 0;
}

struct minutes task_minutes(const struct task_time *time, enum task task, const struct work_size *size) {
    const double times = times_of(tasks[task].size, size);
    return (struct minutes){time->fixed.low + times * time->each.low,
                            time->fixed.likely + times * time->each.likely,
                            time->fixed.high + times * time->each.high};
}

enum status labour_spread(const struct minutes part[], size_t count, struct spread *out,
                          struct fault *fault) {
    double mean = 0, variance = 0, sd_sum = 0;
    for (size_t i = 0; i < count; i++) {
        const struct minutes m = part[i];
        if (!(m.low >= 0 && m.low <= m.likely && m.likely <= m.high && m.high <= minutes_most))
            return FAULT(fault, LABOUR_NOT_IN_ORDER, NUMBER_TEXT(m.low), NUMBER_TEXT(m.likely),
                         NUMBER_TEXT(m.high));
        const double sd = (m.high - m.low) / 6;
        mean += (m.low + 4 * m.likely + m.high) / 6;
        variance += sd * sd;
        sd_sum += sd;
    }
    struct spread s = {.mean = mean};
    s.sd = sqrt((1 - slip_together) * variance + slip_together * sd_sum * sd_sum);
    const double s2 = mean > 0 ? log1p(s.sd * s.sd / (mean * mean)) : 0;
    s.p50 = mean * exp(-s2 / 2);
    s.p80 = s.p50 * exp(p80_normal * sqrt(s2));
    *out = s;
    return STATUS_OK;
}
