/* A shop with a row in every table, in the scenario of the demo (all invented): the helm seat of a wooden
 * motor launch. The customer's data are unlike anything else in the book, so that their bytes can be
 * searched. */
#ifndef RUSSET_TESTS_SHOP_FILL_H
#define RUSSET_TESTS_SHOP_FILL_H

#include "shop/asked_store.h"
#include "shop_room.h"

#define FILL_NAME "Quillon Demo-Customer"
#define FILL_TELEPHONE "+00 555 0190 271"
#define FILL_EMAIL "quillon@customer.example"
#define FILL_STREET "Invented Quay 7"
#define FILL_TOWN "Harbour Town 99001"

struct filled {
    struct customer_row customer, other;
    struct job_row job, other_job;
    char photograph[2][SHA256_TEXT]; /* of the job; of the other job too */
    char pot[ID_LENGTH + 1], entry[ID_LENGTH + 1], quote[ID_LENGTH + 1], invoice[ID_LENGTH + 1];
};

/* Every call of a filling goes through this: it stops at the first that fails. */
#define FILL(call)                                                               \
    do {                                                                         \
        if ((call) != STATUS_OK) {                                               \
            fprintf(stderr, "%s:%d: %s\n", __FILE__, __LINE__, shop_fault.text); \
            abort();                                                             \
        }                                                                        \
    } while (0)

static inline void fill_people(struct book *book, struct filled *f) {
    struct price_list_row list = {.name = "trade", .currency = "EUR"};
    FILL(price_store_add_list(book, &list, &shop_fault));
    struct price_row price = {
        .list = list.id, .item = "labour", .unit = "h", .minor = 6800, .from_day = "2026-01-01"};
    FILL(price_store_add(book, &price, &shop_fault));
    f->customer = (struct customer_row){.name = FILL_NAME,
                                        .telephone = FILL_TELEPHONE,
                                        .email = FILL_EMAIL,
                                        .address = FILL_STREET "\n" FILL_TOWN,
                                        .words = "rings before noon"};
    f->other = (struct customer_row){.name = "demo customer", .trade = true};
    FILL(customer_store_add(book, &f->customer, &shop_fault));
    FILL(customer_store_add(book, &f->other, &shop_fault));
    f->job = (struct job_row){.customer = f->customer.id,
                              .title = "helm seat for Quillon",
                              .words = "bring it to " FILL_STREET,
                              .place = FILL_STREET};
    f->other_job = (struct job_row){.customer = f->other.id, .title = "settee", .invented = true};
    FILL(job_store_add(book, &f->job, &shop_fault));
    FILL(job_store_add(book, &f->other_job, &shop_fault));
}

static inline void fill_pieces(struct book *book, const struct filled *f, struct piece_row *piece,
                               struct colour_row *colour) {
    *piece = (struct piece_row){.job = f->job.id, .name = "seat cushion"};
    FILL(piece_store_add(book, piece, &shop_fault));
    struct material_row material = {.piece = piece->id, .kind = "pigmented leather", .about = "{\"ph\":5.5}"};
    FILL(material_store_add(book, &material, &shop_fault));
    *colour = (struct colour_row){.job = f->job.id, .name = "cognac"};
    FILL(colour_store_add(book, colour, &shop_fault));
    FILL(colour_store_goes_on(book, colour->id, piece->id, &shop_fault));
}

static const char fill_reading[] = "{\"russet\":\"0.1.0\",\"kind\":\"reading\",\"format\":1,\"geometry\":"
                                   "\"sci\",\"reflectance\":[0.0641,0.0654,0.0645,"
                                   "0.0605,0.0562,0.0543,0.0537,0.0541,0.0559,0.0603,0.0651,0.068,0.0705,0."
                                   "0736,0.0772,0.0809,0.087,0.099,0.1128,"
                                   "0.1251,0.136,0.1439,0.1511,0.159,0.1688,0.1828,0.1996,0.2187,0.2397,0."
                                   "2618,0.2852],\"lab\":[36.7865,13.0296,"
                                   "13.9806]}";

static inline void fill_entries(struct book *book, struct filled *f, struct arena *arena,
                                const struct piece_row *piece, const struct colour_row *colour) {
    const struct bytes one = shop_room_picture(arena, 1, 40000), two = shop_room_picture(arena, 2, 3000);
    FILL(photographs_keep(book, &one, f->photograph[0], &shop_fault));
    FILL(photographs_keep(book, &two, f->photograph[1], &shop_fault));
    const char *const both[] = {f->photograph[0], f->photograph[1]};
    struct entry_row look = {.job = f->job.id,
                             .piece = piece->id,
                             .step = JOB_LOOK,
                             .kind = "look",
                             .words = "Mr Quillon wants it by May",
                             .document = "{\"kind\":\"look\",\"airbag\":\"no\",\"note\":\"asked " FILL_NAME
                                         " twice\",\"files\":[\"seat-quillon.jpg\"]}",
                             .photograph_count = 2,
                             .photograph = both};
    FILL(entry_store_add(book, &look, &shop_fault));
    struct entry_row reading = {.job = f->job.id,
                                .colour = colour->id,
                                .step = JOB_COLOUR,
                                .kind = "reading",
                                .document = fill_reading};
    FILL(entry_store_add(book, &reading, &shop_fault));
    struct entry_row again = reading;
    again.id[0] = 0, again.at_ms = 0, again.replaces = reading.id;
    FILL(entry_store_add(book, &again, &shop_fault));
    memcpy(f->entry, again.id, sizeof f->entry);
    struct entry_row shared = {.job = f->other_job.id,
                               .step = JOB_LOOK,
                               .kind = "look",
                               .words = "same hide as the seat of " FILL_NAME,
                               .photograph_count = 1,
                               .photograph = both + 1};
    FILL(entry_store_add(book, &shared, &shop_fault));
    json_t *twin = json_pack("{s:s, s:{s:s, s:s, s:s}, s:f}", "kind", "handover", "customer", "id",
                             f->customer.id, "name", FILL_NAME, "address", FILL_STREET, "de00", 0.43);
    document_seal(twin);
    struct entry_row handover = {
        .job = f->job.id, .step = JOB_HANDOVER, .kind = "handover", .document = document_text(twin, arena)};
    json_decref(twin);
    FILL(entry_store_add(book, &handover, &shop_fault));
}

static inline void fill_shelf(struct book *book, struct arena *arena, struct lot_row *lot) {
    struct toner_row toner = {
        .id = "white", .name = "White", .role = "white", .density_g_ml = 1.25, .warn_mg = 50000};
    FILL(toner_store_put(book, &toner, &shop_fault));
    *lot = (struct lot_row){.toner = "white",
                            .name = "W-17",
                            .expires_day = "2027-01-31",
                            .price_minor_per_kg = 4250,
                            .currency = "EUR",
                            .frost = "no"};
    FILL(toner_store_add_lot(book, lot, &shop_fault));
    struct stock_move move = {.lot = lot->id, .mg = 1000000, .reason = "received"};
    FILL(toner_store_move(book, &move, &shop_fault));
    char sha256[SHA256_TEXT];
    const struct bytes sheet = {(const unsigned char *)"%PDF-1.4 invented sheet", 23, "sheet.pdf"};
    FILL(photographs_keep(book, &sheet, sha256, &shop_fault));
    struct safety_sheet row = {.toner = "white", .sha256 = sha256, .name = "sheet.pdf"};
    FILL(toner_store_add_sheet(book, &row, &shop_fault));
    struct shelf_entry fit = {.kind = "toners", .document = "{\"kind\":\"toners\",\"toners\":{}}"};
    FILL(toner_store_log(book, &fit, &shop_fault));
    (void)arena;
}

static inline void fill_pot(struct book *book, struct filled *f, const struct colour_row *colour,
                            const struct lot_row *lot) {
    struct pot_row pot = {
        .job = f->job.id, .colour = colour->id, .entry = f->entry, .document = "{\"parts\":[]}"};
    FILL(pot_store_add(book, &pot, &shop_fault));
    memcpy(f->pot, pot.id, sizeof f->pot);
    struct pour_row pour = {.pot = pot.id, .toner = "white", .lot = lot->id, .entry = f->entry, .mg = 12530};
    FILL(pot_store_pour(book, &pour, &shop_fault));
    struct pot_event taken = {.pot = pot.id, .kind = "taken", .mg = 5000, .life_min = 0};
    FILL(pot_store_log(book, &taken, &shop_fault));
    struct coat_row coat = {
        .job = f->job.id, .colour = colour->id, .pot = pot.id, .wet_um = 24, .film_um = 6.1};
    FILL(pot_store_coat(book, &coat, &shop_fault));
    struct finish_row finish = {.job = f->job.id,
                                .entry = f->entry,
                                .name = "cognac of Quillon",
                                .words = "helm seat",
                                .has_lab = true,
                                .lab = {36.7865, 13.0296, 13.9806, {LIGHT_D65, OBSERVER_10}},
                                .document = "{\"parts\":[{\"toner\":\"white\",\"g\":12.53}]}"};
    FILL(finish_store_add(book, &finish, &shop_fault));
}

static inline void fill_invoice(struct book *book, const char *job, const char *customer,
                                char id[ID_LENGTH + 1]) {
    char document[300];
    long long number;
    FILL(invoice_store_next(book, NULL, &number, &shop_fault));
    snprintf(document, sizeof document,
             "{\"kind\":\"invoice\",\"number\":%lld,\"customer\":{\"name\":\"%s\"}}", number, customer);
    struct invoice_row invoice = {.job = job,
                                  .number = number,
                                  .issued_day = "2026-03-14",
                                  .currency = "EUR",
                                  .total_minor = 25000,
                                  .document = document};
    FILL(invoice_store_add(book, &invoice, &shop_fault));
    memcpy(id, invoice.id, sizeof invoice.id);
}

static inline void fill_papers(struct book *book, struct filled *f) {
    long long number;
    FILL(quote_store_next(book, NULL, &number, &shop_fault));
    struct quote_row quote = {.job = f->job.id,
                              .number = number,
                              .currency = "EUR",
                              .total_minor = 25000,
                              .document = "{\"kind\":\"quote\",\"customer\":{\"name\":\"" FILL_NAME
                                          "\",\"telephone\":\"" FILL_TELEPHONE "\"}}"};
    FILL(quote_store_add(book, &quote, &shop_fault));
    FILL(quote_store_settle(book, quote.id, "accepted", &shop_fault));
    memcpy(f->quote, quote.id, sizeof f->quote);
    fill_invoice(book, f->job.id, FILL_NAME, f->invoice);
}

/* In one transaction. */
static inline void fill_shop(struct book *book, struct filled *f, struct arena *arena) {
    struct piece_row piece;
    struct colour_row colour;
    struct lot_row lot;
    struct device_row device = {.name = "bench tablet"};
    sha256_of("secret", 6, device.secret_sha256);
    FILL(book_begin(book, &shop_fault));
    fill_people(book, f);
    fill_pieces(book, f, &piece, &colour);
    fill_entries(book, f, arena, &piece, &colour);
    fill_shelf(book, arena, &lot);
    fill_pot(book, f, &colour, &lot);
    fill_papers(book, f);
    FILL(setting_store_put(book, "shop", "{\"name\":\"demo shop\",\"tax\":[{\"rate_percent\":20.5}]}",
                           &shop_fault));
    FILL(setting_store_pair(book, &device, &shop_fault));
    FILL(asked_store_keep(book, "the-key-of-a-request", &shop_fault));
    FILL(book_commit(book, &shop_fault));
}

#endif
