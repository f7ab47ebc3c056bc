/* Labour: three figures per task (low, likely, high), and how long the whole takes.
 *
 *     mean = (low + 4 likely + high) / 6     sd = (high - low) / 6         (PERT, Malcolm et al. 1959)
 *
 * PERT(1,2,5): 2.3333 +/- .6667. A job's mean is the sum. Its variance lies between tasks that know nothing
 * of each other and tasks that all slip together: (1 - r) sum(sd^2) + r sum(sd)^2 with r = .3 (ours: one bad
 * surface makes every task on it slow). The half-way time P50 and the time that four of five jobs keep to,
 * P80, are those of the log-normal with that mean and sd: s^2 = ln(1 + sd^2/mean^2), P50 = mean exp(-s^2/2),
 * P80 = P50 exp(.8416212 s). Closed, so the same figures everywhere; docs/trade.md has its distance from a
 * simulation. */
#ifndef RUSSET_TRADE_LABOUR_H
#define RUSSET_TRADE_LABOUR_H

#include "trade/piece.h"

enum task {
#define TASK(id, symbol, name, size, f0, f1, f2, p0, p1, p2, months, excluded) TASK_##id,
#include "trade/tasks.def"
#undef TASK
    TASK_COUNT
};

enum size_of_work {
    SIZE_ONCE,
    SIZE_AREA_M2,
    SIZE_LINE_DM,
    SIZE_SPOTS,
    SIZE_COLOURS,
    SIZE_COAT_M2,
    SIZE_COUNT
};

/* How much there is of it, by enum size_of_work: [SIZE_ONCE] counts 1. */
struct work_size {
    double area_m2;
    double line_mm; /* of cracks and cuts to fill */
    double spots;   /* flaps, holes, stains */
    double colours;
    double coats;
};

struct minutes {
    double low, likely, high;
};

struct task_time {
    struct minutes fixed, each;
};

const char *task_symbol(enum task task), *task_name(enum task task);
/* "once" | "m2" | "dm" | "spot" | "colour" | "coat m2": what its minutes go by. */
const char *task_size_symbol(enum task task);
int task_guarantee_months(enum task task);
enum word task_exclusion(enum task task);
enum status task_read(const char *symbol, enum task *out, struct fault *fault) MUST_USE;
struct task_time task_usual_time(enum task task);

/* The three figures of one task for this size; sizes below 0 or not finite count as 0. */
struct minutes task_minutes(const struct task_time *time, enum task task, const struct work_size *size);

struct spread {
    double mean, sd, p50, p80;
};
/* INPUT when a task's three figures are not in order or not finite (minutes 0 .. 100000). */
enum status labour_spread(const struct minutes part[], size_t count, struct spread *out,
                          struct fault *fault) MUST_USE;

#endif
