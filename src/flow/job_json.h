/* Rows of the book as JSON, as job and shelf verbs show them. */
#ifndef RUSSET_FLOW_JOB_JSON_H
#define RUSSET_FLOW_JOB_JSON_H

#include "formats/json_out.h"
#include "shop/customer_store.h"
#include "shop/entry_store.h"
#include "shop/finish_store.h"
#include "shop/job_store.h"

json_t *customer_json(const struct customer_row *customer);
/* documents: with the whole document of the entry. */
json_t *entry_json(struct book *book, const struct entry_row *entry, bool documents);
json_t *finish_json(const struct finish_row *finish, double de00); /* de00 NAN: null */
void json_put_time(json_t *object, const char *key, long long ms); /* RFC 3339, or null for 0 */
/* The same moment as the clock in the shop's zone shows it. */
void json_put_local(struct book *book, json_t *object, const char *key, long long ms);
/* A JSON text of the book as a value; null when it is none. */
void json_put_document(json_t *object, const char *key, const char *document);

/* Fills a reply with the whole job. */
enum status job_put(struct book *book, const struct job_row *job, bool documents, bool with_replaced,
                    struct arena *arena, json_t *reply, struct fault *fault) MUST_USE;

#endif
