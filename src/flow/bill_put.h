/* What quote and invoice share: the job that they are for, lines and totals in JSON, and the day. */
#ifndef RUSSET_FLOW_BILL_PUT_H
#define RUSSET_FLOW_BILL_PUT_H

#include "flow/pricing.h"
#include "flow/shop_place.h"
#include "shop/customer_store.h"
#include "shop/job_store.h"

/* An open book with the pen, the job that was asked for and its customer. */
struct job_desk {
    struct book *book;
    struct job_row job;
    struct customer_row customer;
    bool has_customer;
};
enum status job_desk_open(const struct surroundings *around, const struct request *request,
                          struct job_desk *desk, struct fault *fault) MUST_USE;
/* Commits what went well, else puts back; closes the book. */
enum status job_desk_close(struct job_desk *desk, enum status status, struct fault *fault) MUST_USE;

json_t *bill_totals(const struct tax *tax); /* {"net_minor", "tax_minor", "gross_minor", "rates": [...]} */
void bill_read_totals(const json_t *object, struct tax *out);
/* {"id", "name", "address", "email", "telephone"}: erasure replaces this object (shop/document.h). */
json_t *bill_customer(const struct job_desk *desk);
json_t *bill_job(const struct job_row *job);
/* "YYYY-MM-DD" so many days from today, in the shop's zone. */
const char *bill_day(struct book *book, int days, struct arena *arena);

#endif
