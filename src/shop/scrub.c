#include "shop/scrub.h"
#include "shop/photographs.h"
#include "shop/query.h"

enum status scrub_owe(struct book *book, struct fault *fault) {
    book_need_pen(book);
    return query_script(book, "INSERT OR REPLACE INTO local (name, value) VALUES ('scrub', 'owed')", fault);
}

enum status scrub_is_owed(struct book *book, bool *owed, struct fault *fault) {
    struct query q = query_make(book, "SELECT count(*) FROM local WHERE name = 'scrub'", fault);
    if (query_row(&q)) *owed = query_get_count(&q, 0) > 0;
    return query_end(&q);
}

/* True when nobody else was reading and the log is empty now. */
static enum status empty_log(struct book *book, bool *emptied, struct fault *fault) {
    struct query q = query_make(book, "PRAGMA wal_checkpoint(TRUNCATE)", fault);
    if (query_row(&q)) *emptied = query_get_count(&q, 0) == 0;
    return query_end(&q);
}

static enum status pay(struct book *book, struct fault *fault) {
    bool emptied = false;
    size_t removed;
    enum status status = photographs_tidy(book, &removed, fault);
    if (status == STATUS_OK) status = query_script(book, "VACUUM", fault);
    if (status == STATUS_OK) status = empty_log(book, &emptied, fault);
    if (status == STATUS_OK && !emptied) status = FAULT(fault, BOOK_BUSY, book_dir(book));
    if (status == STATUS_OK) status = query_script(book, "DELETE FROM local WHERE name = 'scrub'", fault);
    return status;
}

enum status scrub_finish(struct book *book, struct fault *fault) {
    bool owed = false;
    struct fault here = {0};
    enum status status = scrub_is_owed(book, &owed, fault);
    if (status != STATUS_OK || !owed) return status;
    status = pay(book, &here);
    if (status == STATUS_OK || status == STATUS_MACHINE) return STATUS_OK;
    if (fault) *fault = here;
    return status;
}
