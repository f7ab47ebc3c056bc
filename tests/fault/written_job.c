#include "fault/written_job.h"
#include "check.h"
#include "shop_room.h"

static const char customer_id[] = "019ceb92-ea80-7000-8000-000000000001";
static const char job_id[] = "019ceb92-ea80-7000-8000-000000000002";
static const char lot_id[] = "019ceb92-ea80-7000-8000-000000000003";

static enum status begin(struct book *book, struct fault *fault) {
    struct customer_row customer = {.name = "demo customer"};
    struct job_row job = {.customer = customer_id, .title = "helm seat", .invented = true};
    struct toner_row toner = {.id = "white", .name = "White", .role = "white", .density_g_ml = (double)NAN};
    struct lot_row lot = {.toner = "white", .name = "W-17", .price_minor_per_kg = -1};
    memcpy(customer.id, customer_id, sizeof customer_id);
    memcpy(job.id, job_id, sizeof job_id);
    memcpy(lot.id, lot_id, sizeof lot_id);
    enum status status = customer_store_add(book, &customer, fault);
    if (status == STATUS_OK) status = job_store_add(book, &job, fault);
    if (status == STATUS_OK) status = toner_store_put(book, &toner, fault);
    return status == STATUS_OK ? toner_store_add_lot(book, &lot, fault) : status;
}

static struct bytes picture(struct arena *arena, size_t step) {
    return shop_room_picture(arena, (unsigned)step, 5000 + 100 * (step % 17));
}

static enum status look(struct book *book, size_t step, struct fault *fault) {
    struct arena *arena = arena_new();
    char words[40], sha256[SHA256_TEXT];
    const struct bytes bytes = picture(arena, step);
    const char *const photograph[] = {sha256};
    snprintf(words, sizeof words, "step %zu", step);
    struct entry_row entry = {.job = job_id,
                              .step = JOB_LOOK,
                              .kind = "look",
                              .words = words,
                              .photograph_count = 1,
                              .photograph = photograph};
    enum status status = photographs_keep(book, &bytes, sha256, fault);
    if (status == STATUS_OK) status = entry_store_add(book, &entry, fault);
    arena_free(arena);
    return status;
}

static enum status pot(struct book *book, size_t step, struct fault *fault) {
    char name[40];
    snprintf(name, sizeof name, "step %zu", step);
    struct pot_row made = {.job = job_id, .name = name};
    enum status status = pot_store_add(book, &made, fault);
    struct pour_row pour = {.pot = made.id, .toner = "white", .lot = lot_id, .mg = (long long)step};
    return status == STATUS_OK ? pot_store_pour(book, &pour, fault) : status;
}

static enum status invoice(struct book *book, size_t step, struct fault *fault) {
    struct invoice_row made = {
        .job = job_id, .issued_day = "2026-03-14", .currency = "EUR", .total_minor = (long long)step};
    const enum status status = invoice_store_next(book, NULL, &made.number, fault);
    return status == STATUS_OK ? invoice_store_add(book, &made, fault) : status;
}

enum status written_job_step(struct book *book, size_t step, struct fault *fault) {
    enum status status = book_begin(book, fault);
    if (status != STATUS_OK) return status;
    if (step == 0)
        status = begin(book, fault);
    else if (step % 3 == 1)
        status = look(book, step, fault);
    else
        status = step % 3 == 2 ? pot(book, step, fault) : invoice(book, step, fault);
    return book_end(book, status, fault);
}

static bool has_look(struct book *book, size_t step, struct arena *arena) {
    struct entry_row *entry;
    size_t count;
    char words[40];
    struct bytes bytes;
    const struct bytes wanted = picture(arena, step);
    snprintf(words, sizeof words, "step %zu", step);
    if (entry_store_list(book, (struct entry_filter){.job = job_id}, arena, &entry, &count, NULL) !=
        STATUS_OK)
        return false;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(entry[i].words, words) != 0 || entry[i].photograph_count != 1) continue;
        return photographs_read(book, entry[i].photograph[0], arena, &bytes, NULL) == STATUS_OK &&
               bytes.size == wanted.size && memcmp(bytes.data, wanted.data, wanted.size) == 0;
    }
    return false;
}

/* The pot with its pour, and the stock that fell with it. */
static bool has_pot(struct book *book, size_t step, struct arena *arena) {
    struct pot_row *pots;
    size_t count;
    char name[40];
    snprintf(name, sizeof name, "step %zu", step);
    if (pot_store_list(book, job_id, arena, &pots, &count, NULL) != STATUS_OK) return false;
    for (size_t i = 0; i < count; i++)
        if (strcmp(pots[i].name, name) == 0) return pots[i].poured_mg == (long long)step;
    return false;
}

static bool has_invoice(struct book *book, size_t step, struct arena *arena) {
    struct invoice_row *invoices;
    size_t count;
    if (invoice_store_list(book, job_id, arena, &invoices, &count, NULL) != STATUS_OK) return false;
    for (size_t i = 0; i < count; i++)
        if (invoices[i].total_minor == (long long)step) return true;
    return false;
}

static bool has_step(struct book *book, size_t step) {
    struct arena *arena = arena_new();
    struct job_row job;
    bool has;
    if (step == 0)
        has = job_store_find(book, job_id, arena, &job, NULL) == STATUS_OK;
    else if (step % 3 == 1)
        has = has_look(book, step, arena);
    else
        has = step % 3 == 2 ? has_pot(book, step, arena) : has_invoice(book, step, arena);
    arena_free(arena);
    return has;
}

bool written_job_is_there(struct book *book, size_t count) {
    for (size_t i = 0; i < count; i++) {
        if (has_step(book, i)) continue;
        fprintf(stderr, "  step %zu of %zu that were acknowledged is missing\n", i, count);
        return false;
    }
    return true;
}

size_t written_job_steps(struct book *book) {
    size_t n = 0;
    while (has_step(book, n)) n++;
    return n;
}
