/* russet task list|set: what a task takes, and what is guaranteed of it, in this shop. */
#include "flow/job_json.h"
#include "flow/shop_place.h"
#include "flow/shop_tasks.h"
#include "flow/unchanged.h"
#include "formats/json_out.h"
#include <string.h>

extern operation_flow task_list_flow, task_set_flow;

static json_t *minutes_json(struct minutes m) {
    return json_numbers((const double[]){m.low, m.likely, m.high}, 3, 2);
}

static json_t *task_json(enum task task, const struct shop_task *row) {
    json_t *object = json_object();
    json_put_text(object, "task", task_symbol(task));
    json_put_text(object, "name", task_name(task));
    json_put_text(object, "goes_by", task_size_symbol(task));
    json_put(object, "fixed_min", minutes_json(row->time.fixed));
    json_put(object, "each_min", minutes_json(row->time.each));
    json_put_count(object, "months", row->months);
    json_put_text(object, "excluded", row->excluded);
    json_put_flag(object, "own", row->own);
    json_put_time(object, "changed", row->changed_ms);
    return object;
}

static enum status read_minutes(const struct request *request, const char *name, struct minutes *out,
                                struct fault *fault) {
    size_t count;
    if (!request_has(request, name)) return STATUS_OK;
    const double *m = request_numbers(request, name, &count);
    if (count != 3) return FAULT(fault, TASK_THREE, name);
    if (!(m[0] <= m[1] && m[1] <= m[2]))
        return FAULT(fault, TASK_ORDER, name, NUMBER_TEXT(m[0]), NUMBER_TEXT(m[1]), NUMBER_TEXT(m[2]));
    *out = (struct minutes){m[0], m[1], m[2]};
    return STATUS_OK;
}

static enum status change(struct book *book, const struct request *request, struct shop_tasks *tasks,
                          enum task task, struct fault *fault) {
    struct shop_task *row = &tasks->task[task];
    struct shop_tasks usual;
    const long long before = row->changed_ms, now = book_now_ms(book);
    shop_tasks_usual(&usual);
    if (request_flag(request, "--usual")) *row = usual.task[task];
    row->changed_ms = now > before ? now : before + 1;
    static const char *const changes[] = {"--fixed", "--each", "--months", "--excluded"};
    for (size_t i = 0; i < sizeof changes / sizeof *changes; i++)
        row->own = row->own || request_has(request, changes[i]);
    enum status status = read_minutes(request, "--fixed", &row->time.fixed, fault);
    if (status == STATUS_OK) status = read_minutes(request, "--each", &row->time.each, fault);
    row->months = (int)request_number(request, "--months", row->months);
    if (request_has(request, "--excluded")) row->excluded = request_text(request, "--excluded");
    return status;
}

static enum status set(struct book *book, const struct request *request, struct arena *arena,
                       struct shop_tasks *tasks, struct fault *fault) {
    enum task task;
    enum status status = task_read(request_text(request, "TASK"), &task, fault);
    if (status == STATUS_OK) status = book_begin(book, fault);
    if (status != STATUS_OK) return status;
    status = shop_tasks_read(book, arena, tasks, fault);
    if (status == STATUS_OK)
        status = unchanged_check_named(request, book, task_name(task), tasks->task[task].changed_ms, fault);
    if (status == STATUS_OK) status = change(book, request, tasks, task, fault);
    if (status == STATUS_OK) status = shop_tasks_keep(book, tasks, arena, fault);
    return book_end(book, status, fault);
}

static json_t *reply_of(const struct shop_tasks *tasks, const char *only) {
    json_t *reply = json_start("tasks"), *list = json_array();
    for (int t = 0; t < TASK_COUNT; t++)
        if (!only || strcmp(only, task_symbol((enum task)t)) == 0)
            json_array_append_new(list, task_json((enum task)t, &tasks->task[t]));
    json_put(reply, "tasks", list);
    return reply;
}

enum status task_list_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                           struct fault *fault) {
    struct book *book;
    struct shop_tasks tasks;
    enum status status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK) status = shop_tasks_read(book, around->arena, &tasks, fault);
    if (status == STATUS_OK) *reply = reply_of(&tasks, NULL);
    book_close(book);
    return status;
}

enum status task_set_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                          struct fault *fault) {
    struct book *book;
    struct shop_tasks tasks;
    enum status status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK) status = set(book, request, around->arena, &tasks, fault);
    if (status == STATUS_OK) *reply = reply_of(&tasks, request_text(request, "TASK"));
    book_close(book);
    return status;
}
