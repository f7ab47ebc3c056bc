/* Minutes, guarantee and exclusion of each task as the shop has them: the setting "tasks" over the defaults
 * of trade/tasks.def. */
#ifndef RUSSET_FLOW_SHOP_TASKS_H
#define RUSSET_FLOW_SHOP_TASKS_H

#include "flow/operation.h"
#include "shop/setting_store.h"
#include "trade/labour.h"

struct shop_task {
    struct task_time time;
    int months;
    const char *excluded;
    bool own;             /* the shop has set something of it */
    long long changed_ms; /* 0: never said otherwise */
};
struct shop_tasks {
    struct shop_task task[TASK_COUNT];
};

void shop_tasks_usual(struct shop_tasks *out);
/* Texts live in the arena. */
enum status shop_tasks_read(struct book *book, struct arena *arena, struct shop_tasks *out,
                            struct fault *fault) MUST_USE;
/* With the pen. */
enum status shop_tasks_keep(struct book *book, const struct shop_tasks *tasks, struct arena *arena,
                            struct fault *fault) MUST_USE;
/* The shop's when the request's place has one; the usual ones where no shop is and none was named. */
enum status shop_tasks_here(const struct surroundings *around, const struct request *request,
                            struct shop_tasks *out, struct fault *fault) MUST_USE;

#endif
