#include "flow/quote_items.h"
#include "flow/note.h"
#include "flow/price_items.h"
#include "formats/json_out.h"
#include "shop/document.h"
#include "shop/entry_store.h"
#include "shop/price_store.h"
#include <math.h>
#include <string.h>

static double number(const json_t *object, const char *key) {
    return json_number_value(json_object_get(object, key));
}

/* Pieces that no plan is of; a plan of no piece may be of all. */
static enum status find_missed(struct job_desk *desk, struct arena *arena, const struct entry_row plan[],
                               size_t plans, struct quote_items *out, struct fault *fault) {
    struct piece_row *piece;
    size_t count;
    struct text names = {0};
    const enum status status = piece_store_list(desk->book, desk->job.id, arena, &piece, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        bool planned = false;
        for (size_t k = 0; k < plans && !planned; k++)
            planned = !plan[k].piece || strcmp(plan[k].piece, piece[i].id) == 0;
        if (!planned) text_format(&names, "%s%s", names.length ? ", " : "", piece[i].name);
    }
    out->missed = names.length ? arena_text(arena, names.data, names.length) : NULL;
    text_free(&names);
    return status;
}

static enum status read_plans(struct job_desk *desk, struct arena *arena, struct quote_items *out,
                              struct fault *fault) {
    struct entry_row *rows;
    size_t count;
    enum status status = entry_store_list(
        desk->book, (struct entry_filter){.job = desk->job.id, .kind = "plan"}, arena, &rows, &count, fault);
    if (status != STATUS_OK) return status;
    if (!count) return FAULT(fault, QUOTE_NO_PLAN, COUNT_TEXT(desk->job.number));
    out->plan = arena_need(arena, count, sizeof *out->plan);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        status = document_read(rows[i].document, &out->plan[i], fault);
        if (status == STATUS_OK) out->plan_count++;
        if (status == STATUS_OK && !json_object_get(out->plan[i], "tasks"))
            status = FAULT(fault, QUOTE_PLAN_REFUSED, COUNT_TEXT(desk->job.number));
    }
    return status == STATUS_OK ? find_missed(desk, arena, rows, count, out, fault) : status;
}

static void free_plans(struct quote_items *items) {
    for (size_t i = 0; i < items->plan_count; i++) json_decref(items->plan[i]);
    items->plan_count = 0;
}

/* Minutes of each task over all plans. */
static void add_minutes(const json_t *plan, struct minutes total[TASK_COUNT]) {
    const json_t *tasks = json_object_get(plan, "tasks");
    for (size_t i = 0; i < json_array_size(tasks); i++) {
        const json_t *object = json_array_get(tasks, i), *minutes = json_object_get(object, "minutes");
        const char *symbol = json_string_value(json_object_get(object, "task"));
        enum task task;
        if (!symbol || task_read(symbol, &task, NULL) != STATUS_OK) continue;
        total[task].low += json_number_value(json_array_get(minutes, 0));
        total[task].likely += json_number_value(json_array_get(minutes, 1));
        total[task].high += json_number_value(json_array_get(minutes, 2));
    }
}

static struct work_size size_of(const struct quote_items *items) {
    struct work_size sum = {0};
    for (size_t i = 0; i < items->plan_count; i++) {
        const json_t *size = json_object_get(items->plan[i], "size");
        sum.area_m2 += number(size, "area_m2");
        sum.line_mm += number(size, "line_mm");
        sum.spots += number(size, "spots");
        sum.colours += number(size, "colours");
    }
    return sum;
}

struct price_list {
    size_t count;
    const struct price_row *row;
};

static enum status read_price_list(struct job_desk *desk, const struct pricing *pricing, struct arena *arena,
                                   struct price_list *out, struct fault *fault) {
    struct price_list_row list;
    struct price_row *rows;
    if (!desk->has_customer || !desk->customer.price_list) return STATUS_OK;
    enum status status = price_store_find_list(desk->book, desk->customer.price_list, arena, &list, fault);
    if (status == STATUS_OK && strcmp(list.currency, pricing->currency) != 0)
        status = FAULT(fault, QUOTE_LIST_CURRENCY, list.name, list.currency, pricing->currency);
    if (status == STATUS_OK)
        status = price_store_on(desk->book, list.id, bill_day(desk->book, 0, arena), arena, &rows,
                                &out->count, fault);
    if (status == STATUS_OK) out->row = rows;
    return status;
}

static const struct price_row *price_of(const struct price_list *list, const char *item) {
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(list->row[i].item, item) == 0)
            return strcmp(list->row[i].unit, PRICE_UNIT_LIFTED) == 0 ? NULL : &list->row[i];
    return NULL;
}

/* A price list's unit: a piece, or so much for each m2, spot, 100 mm or colour. */
static int64_t fixed_price(const struct price_row *price, const struct work_size *size) {
    const double times = strcmp(price->unit, "m2") == 0       ? size->area_m2
                         : strcmp(price->unit, "spot") == 0   ? size->spots
                         : strcmp(price->unit, "dm") == 0     ? size->line_mm / 100
                         : strcmp(price->unit, "colour") == 0 ? size->colours
                                                              : 1;
    return money_times(price->minor, llround(times * 10000), 10000);
}

static struct quote_item item_of(enum task task, struct minutes minutes, const struct price_list *list,
                                 const struct work_size *size) {
    const struct price_row *price = price_of(list, task_symbol(task));
    if (price) return (struct quote_item){QUOTE_FIXED, task_name(task), {0, 0, 0}, fixed_price(price, size)};
    return (struct quote_item){QUOTE_LABOUR, task_name(task), minutes, 0};
}

static enum status add_materials(const struct request *request, const struct pricing *pricing,
                                 const struct work_size *size, struct quote_item item[], size_t *count,
                                 struct fault *fault) {
    const char *text = request_text(request, "--materials");
    struct money paint = {0};
    if (text) {
        const enum status status = money_read("--materials", text, pricing->currency, &paint, fault);
        if (status != STATUS_OK) return status;
    }
    if (paint.minor)
        item[(*count)++] =
            (struct quote_item){QUOTE_MATERIAL, word_sentence(WORD_QUOTE_PAINT), {0, 0, 0}, paint.minor};
    const int64_t small =
        money_times(pricing->consumables_minor_per_m2, llround(size->area_m2 * 10000), 10000);
    if (small)
        item[(*count)++] =
            (struct quote_item){QUOTE_MATERIAL, word_sentence(WORD_QUOTE_CONSUMABLES), {0, 0, 0}, small};
    return STATUS_OK;
}

/* The price of the newest recipe (kind match, first recipe; kind pour) of each colour, when it is in our
 * money. */
static enum status add_recipes(struct job_desk *desk, const struct pricing *pricing, struct arena *arena,
                               struct quote_item item[], size_t *count, struct fault *fault) {
    struct entry_row row;
    bool found;
    json_t *match;
    enum status status = entry_store_last(
        desk->book, (struct entry_filter){.job = desk->job.id, .kind = "match"}, arena, &row, &found, fault);
    if (status != STATUS_OK || !found) return status;
    status = document_read(row.document, &match, fault);
    if (status != STATUS_OK) return status;
    const json_t *recipe = json_array_get(json_object_get(match, "recipes"), 0),
                 *price = json_object_get(recipe, "price_minor");
    const char *currency = json_string_value(json_object_get(recipe, "currency"));
    if (json_is_integer(price) && currency && strcmp(currency, pricing->currency) == 0)
        item[(*count)++] = (struct quote_item){
            QUOTE_MATERIAL, word_sentence(WORD_QUOTE_RECIPE), {0, 0, 0}, (int64_t)json_integer_value(price)};
    json_decref(match);
    return STATUS_OK;
}

static int64_t listed(const struct price_list *list, const char *item, int64_t otherwise) {
    const struct price_row *price = price_of(list, item);
    return price ? price->minor : otherwise;
}

static void set_rates(const struct request *request, const struct pricing *p, const struct price_list *list,
                      struct quote_case *quote) {
    memcpy(quote->currency, p->currency, sizeof quote->currency);
    quote->hour_minor = p->hour_minor;
    quote->overhead_hour_minor = p->overhead_hour_minor;
    quote->margin_ppm = p->margin_ppm;
    quote->call_out_minor =
        request_flag(request, "--call-out") ? listed(list, PRICE_ITEM_CALL_OUT, p->call_out_minor) : 0;
    quote->travel_minor_per_km = listed(list, PRICE_ITEM_KM, p->travel_minor_per_km);
    quote->travel_km = request_number(request, "--km", 0);
    quote->least_minor = p->least_minor;
    quote->tax_ppm = p->tax_ppm;
    quote->tax_rule = p->tax_rule;
    quote->writing = p->writing;
}

static void set_chance(struct quote_items *items) {
    double holds = 1;
    for (size_t i = 0; i < items->plan_count; i++) holds *= 1 - number(items->plan[i], "falls_short");
    items->falls_short_ppm = (int32_t)llround(1e6 * fmin(1 - holds, .95));
}

enum status quote_items_read(const struct surroundings *around, const struct request *request,
                             struct job_desk *desk, const struct pricing *pricing, struct quote_items *out,
                             struct fault *fault) {
    struct minutes total[TASK_COUNT] = {{0, 0, 0}};
    struct price_list list = {0};
    struct quote_item *item = arena_need(around->arena, TASK_COUNT + 4, sizeof *item);
    size_t count = 0;
    enum status status = read_plans(desk, around->arena, out, fault);
    if (status == STATUS_OK) status = read_price_list(desk, pricing, around->arena, &list, fault);
    set_rates(request, pricing, &list, &out->quote);
    if (status == STATUS_OK && request_has(request, "--discount"))
        status =
            rate_read("--discount", request_text(request, "--discount"), &out->quote.discount_ppm, fault);
    for (size_t i = 0; i < out->plan_count; i++) add_minutes(out->plan[i], total);
    const struct work_size size = size_of(out);
    for (int t = 0; t < TASK_COUNT; t++)
        if (total[t].high > 0) item[count++] = item_of((enum task)t, total[t], &list, &size);
    if (status == STATUS_OK) status = add_recipes(desk, pricing, around->arena, item, &count, fault);
    if (status == STATUS_OK) status = add_materials(request, pricing, &size, item, &count, fault);
    set_chance(out);
    out->quote.item = item;
    out->quote.count = count;
    if (status != STATUS_OK) free_plans(out);
    return status;
}

/* Appends what is not there yet, told apart by the key. */
static void add_once(json_t *list, const json_t *from, const char *key) {
    for (size_t i = 0; i < json_array_size(from); i++) {
        json_t *object = json_array_get(from, i);
        bool there = false;
        for (size_t k = 0; k < json_array_size(list) && !there; k++)
            there = json_equal(json_object_get(json_array_get(list, k), key), json_object_get(object, key));
        if (!there) json_array_append(list, object);
    }
}

/* Something is coated, and no paint has a price in it. */
static bool forgets_paint(const struct quote_items *items) {
    bool coated = false;
    for (size_t i = 0; i < items->plan_count; i++)
        coated = coated || json_is_true(json_object_get(items->plan[i], "coated"));
    for (size_t i = 0; i < items->quote.count; i++) {
        const char *what = items->quote.item[i].name;
        if (strcmp(what, word_sentence(WORD_QUOTE_RECIPE)) == 0 ||
            strcmp(what, word_sentence(WORD_QUOTE_PAINT)) == 0)
            return false;
    }
    return coated;
}

void quote_items_put(struct quote_items *items, json_t *reply) {
    json_t *guarantee = json_array(), *expect = json_array(), *asked = json_array();
    for (size_t i = 0; i < items->plan_count; i++) {
        const json_t *plan = items->plan[i];
        add_once(guarantee, json_object_get(plan, "guarantee"), "task");
        add_once(expect, json_object_get(plan, "expect"), "id");
        add_once(asked, json_object_get(json_object_get(plan, "gate"), "says"), "id");
    }
    json_put(reply, "expect", expect);
    json_put(reply, "guarantee", guarantee);
    json_put(reply, "before", asked);
    if (items->missed) NOTE(reply, QUOTE_MISSED, items->missed);
    if (forgets_paint(items)) NOTE0(reply, QUOTE_NO_PAINT);
    free_plans(items);
}
