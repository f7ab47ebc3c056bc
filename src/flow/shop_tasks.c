#include "flow/shop_tasks.h"
#include "flow/shop_place.h"
#include "formats/json_out.h"
#include "shop/document.h"
#include <stdio.h>
#include <string.h>

void shop_tasks_usual(struct shop_tasks *out) {
    for (int t = 0; t < TASK_COUNT; t++)
        out->task[t] = (struct shop_task){task_usual_time((enum task)t), task_guarantee_months((enum task)t),
                                          word_sentence(task_exclusion((enum task)t)), false, 0};
}

static struct minutes minutes_of(const json_t *array) {
    return (struct minutes){json_number_value(json_array_get(array, 0)),
                            json_number_value(json_array_get(array, 1)),
                            json_number_value(json_array_get(array, 2))};
}

static json_t *minutes_json(struct minutes m) {
    return json_numbers((const double[]){m.low, m.likely, m.high}, 3, 2);
}

/* One that was put back to what russet ships is kept for its time alone. */
static void read_task(const json_t *object, struct arena *arena, struct shop_task *task) {
    task->changed_ms = json_integer_value(json_object_get(object, "changed_ms"));
    if (json_is_true(json_object_get(object, "usual"))) return;
    const json_t *fixed = json_object_get(object, "fixed"), *each = json_object_get(object, "each");
    const char *excluded = json_string_value(json_object_get(object, "excluded"));
    if (json_array_size(fixed) == 3) task->time.fixed = minutes_of(fixed);
    if (json_array_size(each) == 3) task->time.each = minutes_of(each);
    task->months = (int)json_integer_value(json_object_get(object, "months"));
    if (excluded) task->excluded = arena_text(arena, excluded, strlen(excluded));
    task->own = true;
}

enum status shop_tasks_read(struct book *book, struct arena *arena, struct shop_tasks *out,
                            struct fault *fault) {
    const char *text;
    json_t *setting = NULL;
    shop_tasks_usual(out);
    enum status status = setting_store_get(book, "tasks", arena, &text, fault);
    if (status == STATUS_OK && text) status = document_read(text, &setting, fault);
    for (int t = 0; setting && t < TASK_COUNT; t++) {
        const json_t *object = json_object_get(setting, task_symbol((enum task)t));
        if (object) read_task(object, arena, &out->task[t]);
    }
    json_decref(setting);
    return status;
}

static json_t *kept_json(const struct shop_task *task) {
    json_t *object = json_object();
    if (task->own) {
        json_put(object, "fixed", minutes_json(task->time.fixed));
        json_put(object, "each", minutes_json(task->time.each));
        json_put_count(object, "months", task->months);
        json_put_text(object, "excluded", task->excluded);
    } else {
        json_put_flag(object, "usual", true);
    }
    if (task->changed_ms) json_put_count(object, "changed_ms", task->changed_ms);
    return object;
}

enum status shop_tasks_keep(struct book *book, const struct shop_tasks *tasks, struct arena *arena,
                            struct fault *fault) {
    json_t *setting = json_object();
    for (int t = 0; t < TASK_COUNT; t++) {
        const struct shop_task *task = &tasks->task[t];
        if (task->own || task->changed_ms) json_put(setting, task_symbol((enum task)t), kept_json(task));
    }
    const enum status status = setting_store_put(book, "tasks", document_text(setting, arena), fault);
    json_decref(setting);
    return status;
}

enum status shop_tasks_here(const struct surroundings *around, const struct request *request,
                            struct shop_tasks *out, struct fault *fault) {
    struct book *book;
    shop_tasks_usual(out);
    enum status status = shop_open_if_there(around, request, &book, fault);
    if (status == STATUS_OK && book) status = shop_tasks_read(book, around->arena, out, fault);
    book_close(book);
    return status;
}
