#include "flow/bill_put.h"
#include "formats/json_out.h"
#include <string.h>

static enum status find_job(const struct surroundings *around, const struct request *request,
                            struct job_desk *desk, struct fault *fault) {
    enum status status =
        job_store_find(desk->book, request_text(request, "JOB"), around->arena, &desk->job, fault);
    if (status != STATUS_OK || !desk->job.customer) return status;
    desk->has_customer = true;
    return customer_store_find(desk->book, desk->job.customer, around->arena, &desk->customer, fault);
}

enum status job_desk_open(const struct surroundings *around, const struct request *request,
                          struct job_desk *desk, struct fault *fault) {
    *desk = (struct job_desk){0};
    enum status status = shop_open(around, request, &desk->book, fault);
    if (status == STATUS_OK) status = book_begin(desk->book, fault);
    if (status == STATUS_OK) status = find_job(around, request, desk, fault);
    if (status == STATUS_OK) return status;
    book_close(desk->book);
    desk->book = NULL;
    return status;
}

enum status job_desk_close(struct job_desk *desk, enum status status, struct fault *fault) {
    status = book_end(desk->book, status, fault);
    book_close(desk->book);
    return status;
}

json_t *bill_totals(const struct tax *tax) {
    json_t *object = json_object(), *rates = json_array();
    json_put_count(object, "net_minor", tax->net);
    json_put_count(object, "tax_minor", tax->tax);
    json_put_count(object, "gross_minor", tax->gross);
    for (size_t i = 0; i < tax->rate_count; i++) {
        json_t *rate = json_object();
        json_put_count(rate, "rate_ppm", tax->rate[i].rate_ppm);
        json_put_count(rate, "net_minor", tax->rate[i].net);
        json_put_count(rate, "tax_minor", tax->rate[i].tax);
        json_put_count(rate, "gross_minor", tax->rate[i].gross);
        json_array_append_new(rates, rate);
    }
    json_put(object, "rates", rates);
    return object;
}

static int64_t whole(const json_t *object, const char *key) {
    return (int64_t)json_integer_value(json_object_get(object, key));
}

void bill_read_totals(const json_t *object, struct tax *out) {
    const json_t *rates = json_object_get(object, "rates");
    *out = (struct tax){.net = whole(object, "net_minor"),
                        .tax = whole(object, "tax_minor"),
                        .gross = whole(object, "gross_minor")};
    for (size_t i = 0; i < json_array_size(rates) && i < sizeof out->rate / sizeof out->rate[0]; i++) {
        const json_t *rate = json_array_get(rates, i);
        out->rate[out->rate_count++] =
            (struct tax_total){(int32_t)whole(rate, "rate_ppm"), whole(rate, "net_minor"),
                               whole(rate, "tax_minor"), whole(rate, "gross_minor")};
    }
}

json_t *bill_customer(const struct job_desk *desk) {
    if (!desk->has_customer) return json_null();
    const struct customer_row *c = &desk->customer;
    json_t *object = json_object();
    json_put_text(object, "id", c->id);
    json_put_text(object, "name", c->name);
    json_put_text(object, "address", c->address);
    json_put_text(object, "email", c->email);
    json_put_text(object, "telephone", c->telephone);
    return object;
}

json_t *bill_job(const struct job_row *job) {
    json_t *object = json_object();
    json_put_text(object, "id", job->id);
    json_put_count(object, "number", job->number);
    json_put_text(object, "title", job->title);
    return object;
}

const char *bill_day(struct book *book, int days, struct arena *arena) {
    char day[WALL_DAY_TEXT];
    book_day(book, days, day);
    return arena_text(arena, day, strlen(day));
}
