/* A job's papers through the operations, on a shop of its own: plan, prices, quote (made, accepted, frozen),
 * invoice (gapless, cancelled to the cent), final check (fails, cannot tell, passes), handover with its
 * sealed twin, calendar. All content is invented. With RUSSET_PAPERS=FOLDER the papers are kept there, to be
 * looked at. */
#include "check.h"
#include "flow/operation.h"
#include "formats/json_out.h"
#include "report/page.h"
#include "shop_room.h"

static struct shop_room room;
static struct arena *arena;

struct run {
    enum status status;
    json_t *reply;
    struct fault fault;
};

/* One verb with its words, NULL at the end. */
static struct run run_words(const char *out, const char *verb, const char *const word[]) {
    const struct operation *operation = operation_find(verb);
    const struct surroundings around = {.disk = disk_real(),
                                        .arena = arena,
                                        .clock = wall_clock_fake(&room.ms, "UTC"),
                                        .ids = id_source_seeded(7),
                                        .out = out};
    struct request *request = request_new(operation, arena);
    struct run run = {0};
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    for (size_t w = 0; word[w] && run.status == STATUS_OK; w++) {
        size_t i = 0;
        while (i < count && strcmp(a[i].name, word[w]) != 0) i++;
        const bool position = i == count;
        for (i = position ? 0 : i; position && strcmp(a[i].name, "JOB") != 0;) i++;
        run.status = request_add(request, &a[i],
                                 position                 ? word[w]
                                 : a[i].type == TYPE_FLAG ? NULL
                                                          : word[++w],
                                 &run.fault);
    }
    for (size_t i = 0; i < count; i++)
        if (strcmp(a[i].name, "--shop") == 0) {
            if (run.status == STATUS_OK) run.status = request_add(request, &a[i], room.dir, &run.fault);
        }
    if (run.status == STATUS_OK) run.status = request_check(request, &run.fault);
    if (run.status == STATUS_OK) run.status = operation->flow(&around, request, &run.reply, &run.fault);
    if (run.reply) {
        struct text text = {0};
        operation->say(run.reply, &text);
        CHECK(text.length > 10);
        text_free(&text);
        CHECK(json_finish(run.reply, &text, &run.fault) == STATUS_OK);
        text_free(&text);
    }
    return run;
}
#define RUN_VERB(out, verb, ...) run_words(out, verb, (const char *const[]){__VA_ARGS__, NULL})

static void ended(struct run run, enum status status) {
    if (run.status != status) printf("  %d: %s\n", (int)run.status, run.fault.text);
    CHECK(run.status == status);
    json_decref(run.reply);
}

static long long whole(const json_t *object, const char *key) {
    return (long long)json_integer_value(json_object_get(object, key));
}

static const char *path_of(const char *name) {
    const char *folder = getenv("RUSSET_PAPERS");
    char path[400];
    snprintf(path, sizeof path, "%s/%s", folder ? folder : room.dir, name);
    return arena_text(arena, path, strlen(path));
}

static void keep_photograph(enum job_step step, double grey, const char *job) {
    struct fault fault;
    struct text png = {0};
    struct page *page = page_new(PAGE_PNG, (struct page_size){60, 45}, "photograph");
    page_swatch(page, 0, 0, (struct page_size){60, 45}, (struct screen_colour){.58, .34, .18, false});
    page_line(page, 10, 40, 50, 5, 1.5, grey);
    CHECK(page_finish(page, &png, &fault) == STATUS_OK);
    char sha256[SHA256_TEXT];
    const struct bytes bytes = {(unsigned char *)png.data, png.length, "photograph"};
    SHOP_DOES(photographs_keep(room.book, &bytes, sha256, &shop_fault));
    const char *const list[] = {sha256};
    struct entry_row entry = {
        .job = job, .step = step, .kind = "note", .words = "", .photograph_count = 1, .photograph = list};
    SHOP_DOES(entry_store_add(room.book, &entry, &shop_fault));
    text_free(&png);
}

static void log_plan(const char *job, struct run plan) {
    CHECK(plan.status == STATUS_OK);
    struct entry_row entry = {.job = job,
                              .step = JOB_PREPARE,
                              .kind = "plan",
                              .words = "",
                              .document = document_text(plan.reply, arena)};
    SHOP_DOES(entry_store_add(room.book, &entry, &shop_fault));
    json_decref(plan.reply);
}

static struct run helm_plan(void) {
    return RUN_VERB(NULL, "plan", "--craft", "boat", "--place", "seat", "--airbag", "no", "--material",
                    "pigmented", "--damage", "worn,crack", "--area-m2", ".6", "--line-mm", "420",
                    "--recoloured", "no", "--crosslinker", "aziridine");
}

/* A customer, a job with its plan, photographs before and after, a pot with a lot; the shop is closed again.
 */
static void make_job(bool with_list) {
    shop_room_make(&room, 3);
    arena = arena_new();
    struct customer_row customer = {
        .name = "demo customer", .telephone = "", .email = "", .address = "Boathouse 1\nQuay", .words = ""};
    SHOP_DOES(book_begin(room.book, &shop_fault));
    if (with_list) {
        struct price_list_row list = {.name = "trade", .currency = "EUR", .words = ""};
        SHOP_DOES(price_store_add_list(room.book, &list, &shop_fault));
        struct price_row price = {.list = list.id,
                                  .item = "coat",
                                  .unit = "m2",
                                  .minor = 10000,
                                  .from_day = "2020-01-01",
                                  .words = ""};
        SHOP_DOES(price_store_add(room.book, &price, &shop_fault));
        customer.trade = true;
        customer.price_list = arena_text(arena, list.id, strlen(list.id));
    }
    SHOP_DOES(customer_store_add(room.book, &customer, &shop_fault));
    struct job_row job = {.customer = customer.id,
                          .title = "Helm seat of a motor launch",
                          .words = "",
                          .place = "",
                          .due_day = "2026-04-01",
                          .invented = true};
    SHOP_DOES(job_store_add(room.book, &job, &shop_fault));
    log_plan(job.id, helm_plan());
    keep_photograph(JOB_LOOK, .8, job.id);
    keep_photograph(JOB_CHECK, .2, job.id);
    struct toner_row toner = {
        .id = "oxide-red", .name = "oxide red", .role = "colour", .density_g_ml = 1.3, .words = ""};
    SHOP_DOES(toner_store_put(room.book, &toner, &shop_fault));
    struct lot_row lot = {.toner = "oxide-red", .name = "R-12", .price_minor_per_kg = -1, .words = ""};
    SHOP_DOES(toner_store_add_lot(room.book, &lot, &shop_fault));
    struct pot_row pot = {.job = job.id, .name = "cognac", .document = "{}"};
    SHOP_DOES(pot_store_add(room.book, &pot, &shop_fault));
    struct pour_row pour = {.pot = pot.id, .toner = "oxide-red", .lot = lot.id, .mg = 4100};
    SHOP_DOES(pot_store_pour(room.book, &pour, &shop_fault));
    struct pot_event event = {.pot = pot.id, .kind = "crosslinked", .words = "", .life_min = 90};
    SHOP_DOES(pot_store_log(room.book, &event, &shop_fault));
    SHOP_DOES(book_commit(room.book, &shop_fault));
    book_close(room.book);
    room.book = NULL;
}

static void end_job(void) {
    arena_free(arena);
    shop_room_end(&room);
}

static void price_it(void) {
    ended(RUN_VERB(NULL, "shop pricing", "--currency", "EUR", "--hour", "30", "--overhead", "12", "--margin",
                   "40", "--tax", "20", "--call-out", "25", "--per-km", ".60", "--consumables", "9", "--name",
                   "The demo shop (invented)", "--line", "Slipway 3"),
          STATUS_OK);
}

static void a_quote_needs_prices_and_says_so(void) {
    make_job(false);
    struct run run = RUN_VERB(NULL, "quote", "1");
    CHECK(run.fault.word == WORD_PRICING_NONE);
    ended(run, STATUS_INPUT);
    ended(RUN_VERB(NULL, "shop pricing", "--currency", "XAU"), STATUS_USAGE);
    ended(RUN_VERB(NULL, "shop pricing", "--currency", "JPY", "--hour", "30.50"), STATUS_USAGE);
    price_it();
    ended(RUN_VERB(NULL, "quote", "7"), STATUS_INPUT);
    run = RUN_VERB(NULL, "quote", "1", "--accept");
    CHECK(run.fault.word == WORD_QUOTE_NONE_OPEN);
    ended(run, STATUS_INPUT);
    end_job();
}

static long long line_sum(const json_t *reply, const char *key) {
    const json_t *lines = json_object_get(reply, "lines");
    long long sum = 0;
    for (size_t i = 0; i < json_array_size(lines); i++) sum += whole(json_array_get(lines, i), key);
    return sum;
}

static void draw(const struct run *run, const char *verb, const char *name) {
    struct text pdf = {0};
    struct fault fault;
    CHECK(operation_find(verb)->draw(run->reply, PAPER_PDF, &pdf, &fault) == STATUS_OK);
    CHECK(disk_write(disk_real(), path_of(name), pdf.data, pdf.length, &fault) == STATUS_OK);
    text_free(&pdf);
}

static void quotes_are_numbered_and_accepted_ones_frozen(void) {
    make_job(false);
    price_it();
    struct run run = RUN_VERB(NULL, "quote", "1", "--materials", "18.50", "--new-part", "2400", "--call-out",
                              "--km", "18.5");
    CHECK(run.status == STATUS_OK && whole(run.reply, "number") == 1);
    CHECK(line_sum(run.reply, "low_minor") == whole(json_object_get(run.reply, "low"), "net_minor"));
    CHECK(line_sum(run.reply, "high_minor") == whole(json_object_get(run.reply, "high"), "net_minor"));
    CHECK(whole(json_object_get(run.reply, "high"), "gross_minor") >
          whole(json_object_get(run.reply, "low"), "gross_minor"));
    CHECK(json_is_true(json_object_get(json_object_get(run.reply, "choice"), "repair_is_better")));
    draw(&run, "quote", "flow-quote.pdf");
    ended(run, STATUS_OK);
    run = RUN_VERB(NULL, "quote", "1", "--discount", "10");
    CHECK(whole(run.reply, "number") == 2);
    ended(run, STATUS_OK);
    run = RUN_VERB(NULL, "quote", "1", "--accept");
    CHECK(whole(run.reply, "number") == 2);
    ended(run, STATUS_OK);
    ended(RUN_VERB(NULL, "quote", "1", "--decline"), STATUS_INPUT); /* frozen: no open one is left */
    run = RUN_VERB(NULL, "quote", "1", "--show");
    CHECK(whole(run.reply, "number") == 2 &&
          strcmp(json_string_value(json_object_get(run.reply, "state")), "accepted") == 0);
    ended(run, STATUS_OK);
    end_job();
}

static void a_price_list_is_asked_as_it_stands(void) {
    make_job(true);
    price_it();
    struct run run = RUN_VERB(NULL, "quote", "1");
    const json_t *lines = json_object_get(run.reply, "lines");
    bool there = false;
    for (size_t i = 0; i < json_array_size(lines); i++) {
        const json_t *line = json_array_get(lines, i);
        if (strcmp(json_string_value(json_object_get(line, "what")), "Colour coats") != 0) continue;
        there = true;
        CHECK(whole(line, "low_minor") == 6000 && whole(line, "high_minor") == 6000); /* .6 m2 at 100.00 */
    }
    CHECK(there);
    ended(run, STATUS_OK);
    end_job();
}

static void invoices_follow_the_quote_and_are_taken_back_to_the_cent(void) {
    make_job(false);
    price_it();
    struct run run = RUN_VERB(NULL, "invoice", "1");
    CHECK(run.fault.word == WORD_INVOICE_NO_QUOTE);
    ended(run, STATUS_INPUT);
    ended(RUN_VERB(NULL, "quote", "1"), STATUS_OK);
    struct run quote = RUN_VERB(NULL, "quote", "1", "--accept");
    const long long low = whole(json_object_get(quote.reply, "low"), "gross_minor"),
                    high = whole(json_object_get(quote.reply, "high"), "gross_minor");
    run = RUN_VERB(NULL, "invoice", "1");
    CHECK(whole(run.reply, "number") == 1 &&
          whole(json_object_get(run.reply, "total"), "gross_minor") == low);
    CHECK(document_seal_holds(run.reply));
    ended(run, STATUS_OK);
    run = RUN_VERB(NULL, "invoice", "1");
    CHECK(run.fault.word == WORD_INVOICE_THERE);
    ended(run, STATUS_INPUT);
    run = RUN_VERB(NULL, "invoice", "1", "--cancel", "1");
    CHECK(whole(run.reply, "number") == 2 &&
          whole(json_object_get(run.reply, "total"), "gross_minor") == -low);
    CHECK(line_sum(run.reply, "gross_minor") == -low);
    draw(&run, "invoice", "flow-credit.pdf");
    ended(run, STATUS_OK);
    ended(RUN_VERB(NULL, "invoice", "1", "--cancel", "1"), STATUS_INPUT);
    run = RUN_VERB(NULL, "invoice", "1", "--hours", "100", "--extra", "second cushion=45.00");
    CHECK(whole(run.reply, "number") == 3 &&
          whole(json_object_get(run.reply, "total"), "gross_minor") == high + 5400);
    CHECK(json_array_size(json_object_get(run.reply, "notes")) == 1);
    draw(&run, "invoice", "flow-invoice.pdf");
    ended(run, STATUS_OK);
    json_decref(quote.reply);
    end_job();
}

static void a_check_fails_cannot_tell_and_passes(void) {
    make_job(false);
    price_it();
    ended(RUN_VERB(path_of("x.pdf"), "handover", "1"), STATUS_NO); /* no check yet */
    struct run run = RUN_VERB(NULL, "inspect", "1", "--sound", "--lab=40,20,30", "--repair", "--lab=44,20,30",
                              "--spot", "left bolster");
    CHECK(strcmp(json_string_value(json_object_get(run.reply, "verdict")), "fail") == 0);
    ended(run, STATUS_NO);
    ended(RUN_VERB(path_of("x.pdf"), "handover", "1"), STATUS_NO);
    run = RUN_VERB(NULL, "inspect", "1", "--sound", "--lab=40,20,30", "--repair", "--lab=41.6,20,30", "--u",
                   ".5");
    CHECK(strcmp(json_string_value(json_object_get(run.reply, "verdict")), "cannot tell") == 0);
    ended(run, STATUS_NO);
    run = RUN_VERB(NULL, "inspect", "1", "--sound", "--lab=40,20,30", "--repair", "--lab=40.3,20,30",
                   "--spot", "left bolster", "--gloss", "2.1,2.2", "--sound", "--lab=41,20,30", "--repair",
                   "--lab=41.2,20.3,30", "--spot", "middle");
    CHECK(strcmp(json_string_value(json_object_get(run.reply, "verdict")), "pass") == 0);
    ended(run, STATUS_OK);
    ended(RUN_VERB(NULL, "inspect", "1", "--sound", "--lab=40,20,30", "--repair", "--lab=40,20,30", "--sound",
                   "--lab=1,1,1"),
          STATUS_USAGE);
    run =
        RUN_VERB(path_of("flow-record.pdf"), "handover", "1", "--remark", "The left seam was loose before.");
    CHECK(document_seal_holds(run.reply));
    CHECK(json_array_size(json_object_get(json_object_get(run.reply, "photographs"), "before")) == 1);
    CHECK(json_array_size(json_object_get(json_object_get(run.reply, "photographs"), "after")) == 1);
    json_t *copy = json_deep_copy(run.reply);
    json_object_set_new(copy, "day", json_string("2000-01-01"));
    CHECK(!document_seal_holds(copy)); /* any change is seen */
    json_decref(copy);
    ended(run, STATUS_OK);
    run = RUN_VERB(path_of("flow-record.json"), "handover", "1", "--show");
    CHECK(document_seal_holds(run.reply));
    ended(run, STATUS_OK);
    ended(RUN_VERB(path_of("record.txt"), "handover", "1"), STATUS_USAGE);
    end_job();
}

static struct run check_even(const char *option, const char *name) {
    return RUN_VERB(NULL, "inspect", "1", "--sound", "--lab=40,20,30", "--repair", "--lab=40.2,20,30",
                    "--spot", "front edge", option, name);
}

/* A failed check that named neither piece nor colour stood for ever before those that name the only ones. */
static void a_later_check_takes_its_place_by_what_it_covers(void) {
    make_job(false);
    price_it();
    ended(RUN_VERB(NULL, "job add", "1", "--piece", "cushion", "--colour", "tan"), STATUS_OK);
    ended(RUN_VERB(NULL, "inspect", "1", "--sound", "--lab=40,20,30", "--repair", "--lab=44,20,30", "--spot",
                   "bolster"),
          STATUS_NO);
    struct run run = RUN_VERB(path_of("x.pdf"), "handover", "1");
    CHECK(strstr(run.fault.text, "says: fail (worst spot: bolster)") != NULL);
    ended(run, STATUS_NO);
    ended(check_even("--piece", "cushion"), STATUS_OK);
    ended(RUN_VERB(path_of("x.pdf"), "handover", "1"), STATUS_OK);
    ended(RUN_VERB(NULL, "job add", "1", "--piece", "back rest"), STATUS_OK);
    ended(RUN_VERB(NULL, "inspect", "1", "--sound", "--lab=40,20,30", "--repair", "--lab=44,20,30", "--piece",
                   "back rest"),
          STATUS_NO);
    ended(check_even("--spot", "seam"), STATUS_OK); /* names none of two pieces: proves none */
    run = RUN_VERB(path_of("x.pdf"), "handover", "1");
    CHECK(strstr(run.fault.text, "russet inspect 1 --piece \"back rest\"") != NULL);
    ended(run, STATUS_NO);
    ended(check_even("--piece", "back rest"), STATUS_OK);
    ended(RUN_VERB(path_of("x.pdf"), "handover", "1"), STATUS_OK);
    end_job();
}

/* A repeat that the mean leaves out counted in the scatter: of a spot .03 dE00 off it could not be told. */
static void a_repeat_that_is_left_out_is_no_scatter(void) {
    make_job(false);
    price_it();
    const char *seat = SHIPPED_DATA "/demo/helm-seat.cgats"; /* spot-4 is 1.8 dE00 off the four others */
    struct run run = RUN_VERB(NULL, "inspect", "1", "--sound", seat, "--repair", seat);
    const json_t *lights = json_object_get(json_array_get(json_object_get(run.reply, "spots"), 0), "lights");
    CHECK(json_number_value(json_object_get(json_object_get(lights, "D65"), "high")) < .5);
    CHECK(json_array_size(json_object_get(run.reply, "notes")) == 2); /* one for each place */
    ended(run, STATUS_OK);
    end_job();
}

/* A check of one piece had let the record of two say that all had passed. */
static void a_piece_that_was_never_checked_is_said(void) {
    make_job(false);
    price_it();
    ended(RUN_VERB(NULL, "job add", "1", "--piece", "cushion"), STATUS_OK);
    ended(RUN_VERB(NULL, "job add", "1", "--piece", "back rest"), STATUS_OK);
    struct run run = check_even("--spot", "seam"); /* a spot too many is no name of a piece */
    CHECK(json_array_size(json_object_get(run.reply, "notes")) > 0);
    ended(run, STATUS_OK);
    ended(RUN_VERB(path_of("x.pdf"), "handover", "1"), STATUS_NO);
    ended(check_even("--piece", "cushion"), STATUS_OK);
    run = RUN_VERB(path_of("x.pdf"), "handover", "1");
    CHECK(strstr(run.fault.text, "final check with an instrument of back rest:") != NULL);
    ended(run, STATUS_NO);
    run = RUN_VERB(path_of("flow-record-missed.pdf"), "handover", "1", "--even-so");
    CHECK(json_array_size(json_object_get(run.reply, "unchecked")) == 1);
    CHECK(strstr(json_string_value(json_object_get(run.reply, "proof")),
                 "Never checked with an instrument: back rest.") != NULL);
    struct text said = {0};
    operation_find("handover")->say(run.reply, &said);
    CHECK(strstr(said.data, "back rest.") != NULL);
    text_free(&said);
    ended(run, STATUS_OK);
    ended(check_even("--piece", "back rest"), STATUS_OK);
    run = RUN_VERB(path_of("x.pdf"), "handover", "1");
    CHECK(json_array_size(json_object_get(run.reply, "unchecked")) == 0);
    ended(run, STATUS_OK);
    end_job();
}

/* A second spot named after the piece proves it too; one named after nothing does not. */
static void a_spot_may_name_its_piece(void) {
    make_job(false);
    price_it();
    ended(RUN_VERB(NULL, "job add", "1", "--piece", "cushion"), STATUS_OK);
    ended(RUN_VERB(NULL, "job add", "1", "--piece", "back rest"), STATUS_OK);
    ended(RUN_VERB(NULL, "inspect", "1", "--sound", "--lab=40,20,30", "--repair", "--lab=40.2,20,30",
                   "--spot", "Cushion, front", "--sound", "--lab=40,20,30", "--repair", "--lab=40.2,20,30",
                   "--spot", "back rest, seam"),
          STATUS_OK);
    ended(RUN_VERB(path_of("x.pdf"), "handover", "1"), STATUS_OK);
    end_job();
}

static void days_become_a_calendar(void) {
    make_job(false);
    price_it();
    ended(RUN_VERB(NULL, "quote", "1"), STATUS_OK);
    struct run run = RUN_VERB(path_of("flow-due.ics"), "job due", "1");
    CHECK(json_array_size(json_object_get(run.reply, "events")) == 3); /* promised, quote, pot */
    ended(run, STATUS_OK);
    struct bytes ics;
    struct fault fault;
    CHECK(disk_read(disk_real(), path_of("flow-due.ics"), 1, arena, &ics, &fault) == STATUS_OK);
    CHECK(memmem(ics.data, ics.size, "DTSTART;VALUE=DATE:20260401\r\n", 29) != NULL);
    CHECK(memmem(ics.data, ics.size, "DTSTART:20260314T153000Z\r\n", 26) != NULL); /* 14:00 and 90 minutes */
    end_job();
}

int main(void) {
    RUN(a_quote_needs_prices_and_says_so);
    RUN(quotes_are_numbered_and_accepted_ones_frozen);
    RUN(a_price_list_is_asked_as_it_stands);
    RUN(invoices_follow_the_quote_and_are_taken_back_to_the_cent);
    RUN(a_check_fails_cannot_tell_and_passes);
    RUN(a_later_check_takes_its_place_by_what_it_covers);
    RUN(a_repeat_that_is_left_out_is_no_scatter);
    RUN(a_piece_that_was_never_checked_is_said);
    RUN(a_spot_may_name_its_piece);
    RUN(days_become_a_calendar);
    return check_done();
}
