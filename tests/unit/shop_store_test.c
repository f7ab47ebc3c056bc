/* The stores of the book: what is put in comes back, logs only grow, numbers have no gap. Sources: RFC 9562
 * (UUIDv7), RFC 3339 (times), FIPS 180-4 (SHA-256); the rest are the book's own promises. */
#include "check.h"
#include "colour/difference.h"
#include "shop/job_next.h"
#include "shop/lot_choice.h"
#include "shop_room.h"

static void wall_times_are_read_and_written(void) {
    static const struct {
        const char *text, *again;
        long long ms;
    } known[] = {
        /* RFC 3339 section 5.8, checked with `date -u -d ... +%s%3N` of coreutils */
        {"1985-04-12T23:20:50.52Z", "1985-04-12T23:20:50.520Z", 482196050520LL},
        {"1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57Z", 851042397000LL},
        {"2000-02-29", "2000-02-29T00:00:00Z", 951782400000LL},
        {"2026-03-14 15:09+02:00", "2026-03-14T13:09:00Z", 1773493740000LL},
        {"9999-12-31T23:59:59Z", "9999-12-31T23:59:59Z", 253402300799000LL},
    };
    static const char *const wrong[] = {"",
                                        "2026",
                                        "2026-13-01",
                                        "2026-02-29",
                                        "2100-02-29",
                                        "1969-12-31",
                                        "2026-03-14T25:00:00Z",
                                        "2026-03-14T10:00:00",
                                        "2026-03-14x",
                                        "2026-03-14T10:00:00.Z",
                                        "2026-3-14",
                                        "2026-03-14T10:00:00+2"};
    char text[WALL_TIME_TEXT];
    long long ms;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        CHECK(wall_time_read(known[i].text, &ms) && ms == known[i].ms);
        CHECK_TEXT(wall_time_write(known[i].ms, text), known[i].again);
    }
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) CHECK(!wall_time_read(wrong[i], &ms));
    for (long long day = 0; day < 200000; day += 37) {
        CHECK(wall_time_read(wall_time_write(day * 86400000 + 12345, text), &ms) &&
              ms == day * 86400000 + 12345);
    }
}

static void keys_rise_and_are_uuid_version_7(void) {
    struct id_source sources[] = {id_source_real(), id_source_seeded(7)};
    for (size_t s = 0; s < 2; s++) {
        char before[ID_LENGTH + 1] = "", id[ID_LENGTH + 1];
        for (int i = 0; i < 20000; i++) { /* more than a millisecond's count holds */
            id_source_next(&sources[s], 1773496800000LL + i / 9000, id);
            CHECK(id_is_good(id) && id[14] == '7' && strchr("89ab", id[19]));
            CHECK(strcmp(before, id) < 0);
            memcpy(before, id, sizeof id);
        }
    }
    /* RFC 9562 appendix A.6: the same millisecond has the same first 48 bits. */
    struct id_source seeded = id_source_seeded(1);
    char id[ID_LENGTH + 1], again[ID_LENGTH + 1];
    id_source_next(&seeded, 0x017F22E279B0LL, id);
    CHECK(strncmp(id, "017f22e2-79b0-7", 15) == 0);
    id_source_turn(&seeded, 1);
    id_source_next(&seeded, 0x017F22E279B0LL, again);
    CHECK(strcmp(id, again) < 0);
    CHECK(!id_is_good("017F22E2-79B0-7CC3-98C4-DC0C0C07398F") && !id_is_good("") && !id_is_good("../../etc"));
}

static void sha256_is_the_standard_one(void) { /* FIPS 180-4 example, "abc" */
    char hash[SHA256_TEXT];
    sha256_of("abc", 3, hash);
    CHECK_TEXT(hash, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(sha256_is_good(hash) && !sha256_is_good("ba78") && !sha256_is_good("../"));
}

static void a_job_comes_back_as_it_was_put_in(void) {
    struct shop_room room;
    shop_room_make(&room, 1);
    struct customer_row customer = {.name = "demo customer", .telephone = "000 111"}, found;
    struct job_row job = {.title = "helm seat", .place = "slip 4", .due_day = "2026-04-01"}, again;
    SHOP_DOES(book_begin(room.book, &shop_fault));
    SHOP_DOES(customer_store_add(room.book, &customer, &shop_fault));
    job.customer = customer.id;
    SHOP_DOES(job_store_add(room.book, &job, &shop_fault));
    SHOP_DOES(book_commit(room.book, &shop_fault));
    SHOP_DOES(customer_store_find(room.book, "demo customer", room.arena, &found, &shop_fault));
    CHECK_TEXT(found.telephone, "000 111");
    CHECK_TEXT(found.id, customer.id);
    SHOP_DOES(job_store_find(room.book, "1", room.arena, &again, &shop_fault));
    CHECK_TEXT(again.title, "helm seat");
    CHECK_TEXT(again.customer, customer.id);
    CHECK_TEXT(again.zone, "Europe/Vienna");
    CHECK_TEXT(again.due_day, "2026-04-01");
    CHECK(again.number == 1 && again.created_ms == room.ms);
    char beginning[16];
    snprintf(beginning, sizeof beginning, "%.13s", job.id);
    SHOP_DOES(job_store_find(room.book, beginning, room.arena, &again, &shop_fault));
    struct fault fault = {0};
    CHECK(job_store_find(room.book, "2", room.arena, &again, &fault) == STATUS_INPUT);
    CHECK(fault.word == WORD_SHOP_NO_SUCH);
    CHECK(job_store_find(room.book, "019", room.arena, &again, &fault) == STATUS_INPUT);
    shop_room_end(&room);
}

/* Unicode's CaseFolding.txt (full folding: the sharp s is ss) and the decompositions of UnicodeData.txt. */
static void words_are_found_without_case_and_marks(void) {
    static const struct {
        const char *text, *word;
        bool found;
    } tried[] = {
        {"Cuir caf\u00e9, \u00c9t\u00e9 1962", "ete", true},
        {"Cuir caf\u00e9", "CAF\u00c9", true},
        {"Cuir cafe\u0301", "caf\u00e9", true}, /* the mark apart */
        {"Asiento marr\u00f3n, ni\u00f1o", "NI\u00d1O", true},
        {"Asiento marr\u00f3n", "marron", true},
        {"Wei\u00df, Gro\u00dfe Bank", "GROSSE", true},
        {"GROSSE BANK", "gro\u00dfe", true},
        {"Gr\u00fcn", "GR\u00dcN", true},
        {"Gr\u00fcn", "gruen", false},
        {"\u0394\u03ad\u03c1\u03bc\u03b1", "\u03b4\u03b5\u03c1\u03bc\u03b1", true}, /* Greek */
        {"helm seat", "HELM", true},
        {"helm seat", "helmet", false},
        {"100%_helm", "%_h", true},  /* no sign of its own */
        {"\xff helm", "HELM", true}, /* no UTF-8 */
        {"", "a", false},
    };
    struct shop_room room;
    struct finish_row *finish;
    size_t count;
    shop_room_make(&room, 1);
    for (size_t i = 0; i < sizeof tried / sizeof *tried; i++) {
        struct finish_row one = {.name = tried[i].text};
        struct fault fault = {0};
        SHOP_DOES(book_begin(room.book, &shop_fault));
        SHOP_DOES(finish_store_add(room.book, &one, &shop_fault));
        SHOP_DOES(finish_store_search(room.book, tried[i].word, 99, room.arena, &finish, &count, &fault));
        bool found = false;
        for (size_t k = 0; k < count; k++) found = found || strcmp(finish[k].id, one.id) == 0;
        if (found != tried[i].found) printf("  \"%s\" in \"%s\"\n", tried[i].word, tried[i].text);
        CHECK(found == tried[i].found);
        book_rollback(room.book);
    }
    struct job_row job = {.title = "Si\u00e8ge \u00c9LAN"}, *jobs;
    SHOP_DOES(book_begin(room.book, &shop_fault));
    SHOP_DOES(job_store_add(room.book, &job, &shop_fault));
    SHOP_DOES(book_commit(room.book, &shop_fault));
    const struct job_filter filter = {.words = "siege \u00e9lan"};
    SHOP_DOES(job_store_list(room.book, filter, room.arena, &jobs, &count, &shop_fault));
    CHECK(count == 1);
    shop_room_end(&room);
}

/* ---- lots ---- */

static void put_lot(struct shop_room *room, const char *name, long long mg, const char *expires,
                    const char *frost) {
    struct lot_row lot = {
        .toner = "white", .name = name, .price_minor_per_kg = -1, .expires_day = expires, .frost = frost};
    SHOP_DOES(toner_store_add_lot(room->book, &lot, &shop_fault));
    struct stock_move move = {.lot = lot.id, .mg = mg, .reason = "received"};
    SHOP_DOES(toner_store_move(room->book, &move, &shop_fault));
}

/* "L-1 500, L-2 20; short 3" */
static const char *chosen(struct shop_room *room, long long mg, char out[200]) {
    struct lot_choice choice;
    size_t n = 0;
    SHOP_DOES(lot_choose(room->book, "white", mg, room->arena, &choice, &shop_fault));
    out[0] = 0;
    for (size_t i = 0; i < choice.count; i++)
        n += (size_t)snprintf(out + n, 200 - n, "%s%s %lld%s%s", i ? ", " : "", choice.share[i].lot.name,
                              choice.share[i].mg, choice.share[i].expired ? " expired" : "",
                              choice.share[i].frozen ? " frozen" : "");
    if (choice.short_mg) snprintf(out + n, 200 - n, "%sshort %lld", n ? "; " : "", choice.short_mg);
    return out;
}

static void a_pour_comes_out_of_the_lot_that_expires_first_and_out_of_doubtful_ones_last(void) {
    struct shop_room room;
    char text[200];
    shop_room_make(&room, 1); /* it is 2026-03-14 */
    struct toner_row white = {.id = "white", .name = "White", .role = "white", .density_g_ml = (double)NAN};
    SHOP_DOES(book_begin(room.book, &shop_fault));
    SHOP_DOES(toner_store_put(room.book, &white, &shop_fault));
    CHECK_TEXT(chosen(&room, 5, text), "short 5");
    put_lot(&room, "old", 1000, "2026-03-13", "no");
    put_lot(&room, "frosted", 1000, "2026-04-01", "yes");
    put_lot(&room, "late", 300, "2026-12-31", "no");
    put_lot(&room, "soon", 100, "2026-03-14", "unknown");
    CHECK_TEXT(chosen(&room, 60, text), "soon 60");
    CHECK_TEXT(chosen(&room, 200, text), "late 200"); /* one that holds all, before two */
    CHECK_TEXT(chosen(&room, 400, text), "soon 100, late 300");
    CHECK_TEXT(chosen(&room, 450, text), "soon 100, late 300, old 50 expired");
    CHECK_TEXT(chosen(&room, 2500, text),
               "soon 100, late 300, old 1000 expired, frosted 1000 frozen; short 100");
    book_rollback(room.book);
    shop_room_end(&room);
}

/* ---- what comes next ---- */

struct bench {
    struct shop_room room;
    struct job_row job;
    struct colour_row body, piping;
    struct piece_row seat, back;
};

static void open_bench(struct bench *b) {
    shop_room_make(&b->room, 1);
    b->job = (struct job_row){.title = "helm seat"};
    SHOP_DOES(book_begin(b->room.book, &shop_fault));
    SHOP_DOES(job_store_add(b->room.book, &b->job, &shop_fault));
    b->body = (struct colour_row){.job = b->job.id, .name = "cognac"};
    b->piping = (struct colour_row){.job = b->job.id, .name = "cream", .role = "piping"};
    b->seat = (struct piece_row){.job = b->job.id, .name = "cushion"};
    b->back = (struct piece_row){.job = b->job.id, .name = "back rest"};
    SHOP_DOES(colour_store_add(b->room.book, &b->body, &shop_fault));
    SHOP_DOES(colour_store_add(b->room.book, &b->piping, &shop_fault));
    SHOP_DOES(piece_store_add(b->room.book, &b->seat, &shop_fault));
    SHOP_DOES(piece_store_add(b->room.book, &b->back, &shop_fault));
    SHOP_DOES(book_commit(b->room.book, &shop_fault));
    SHOP_DOES(job_store_find(b->room.book, "1", b->room.arena, &b->job, &shop_fault));
}

static void log_one(struct bench *b, enum job_step step, const char *kind, const char *piece,
                    const char *colour, const char *document) {
    struct entry_row entry = {
        .job = b->job.id, .step = step, .kind = kind, .piece = piece, .colour = colour, .document = document};
    SHOP_DOES(book_begin(b->room.book, &shop_fault));
    b->room.ms += 1000;
    SHOP_DOES(entry_store_add(b->room.book, &entry, &shop_fault));
    SHOP_DOES(book_commit(b->room.book, &shop_fault));
}

static const char *next_of(struct bench *b, const char *colour) {
    static struct job_next next;
    SHOP_DOES(job_next_read(b->room.book, &b->job, colour, b->room.arena, &next, &shop_fault));
    return next.next ? next.next : "nothing";
}

static bool is_owed(struct bench *b, enum word word, const char *in_it) {
    static struct job_owed owed;
    SHOP_DOES(job_owed_read(b->room.book, &b->job, b->room.arena, &owed, &shop_fault));
    for (size_t i = 0; i < owed.count; i++)
        if (owed.say[i].word == word && strstr(owed.say[i].text, in_it)) return true;
    return false;
}

/* The page went on after the last step, the book from the first open one: the bench goes on where the work
 * stands. */
static void the_next_step_is_the_one_after_the_last_done(void) {
    struct bench b;
    struct job_next next;
    open_bench(&b);
    CHECK_TEXT(next_of(&b, NULL), "look");
    CHECK(!is_owed(&b, WORD_NEXT_GATE_NEVER, ""));
    log_one(&b, JOB_LOOK, "note", NULL, NULL, NULL);
    CHECK_TEXT(next_of(&b, NULL), "quote");
    log_one(&b, JOB_POUR, "pour", NULL, b.body.id, NULL);
    SHOP_DOES(job_next_read(b.room.book, &b.job, b.body.id, b.room.arena, &next, &shop_fault));
    CHECK_TEXT(next.next, "dabs");
    CHECK(next.skipped_count == 4 && strcmp(next.skipped[0], "quote") == 0 &&
          strcmp(next.skipped[3], "recipe") == 0);
    CHECK_TEXT(next_of(&b, b.piping.id), "quote"); /* the other colour was not begun */
    CHECK_TEXT(next_of(&b, NULL), "dabs");
    log_one(&b, JOB_COLOUR, "reading", NULL, b.piping.id, NULL);
    CHECK_TEXT(next_of(&b, NULL), "recipe"); /* the job stands where the least of the begun ones stands */
    log_one(&b, JOB_HANDOVER, "note", NULL, NULL, NULL);
    log_one(&b, JOB_CHECK, "comparison", NULL, NULL, NULL);
    CHECK_TEXT(next_of(&b, b.body.id), "dabs"); /* neither a note nor a comparison is the step itself */
    log_one(&b, JOB_HANDOVER, "handover", NULL, NULL, NULL);
    CHECK_TEXT(next_of(&b, NULL), "nothing");
    shop_room_end(&b.room);
}

static void a_gate_that_was_passed_over_is_said(void) {
    struct bench b;
    open_bench(&b);
    log_one(&b, JOB_COATS, "note", NULL, NULL, NULL);
    CHECK(is_owed(&b, WORD_NEXT_GATE_NEVER, "cushion, back rest"));
    log_one(&b, JOB_PREPARE, "plan", b.seat.id, NULL, "{\"gate\":{\"answer\":\"ask\"},\"place\":\"seat\"}");
    CHECK(is_owed(&b, WORD_NEXT_GATE_NEVER, "back rest") && !is_owed(&b, WORD_NEXT_GATE_NEVER, "cushion"));
    CHECK(is_owed(&b, WORD_NEXT_GATE_ASK, "cushion"));
    log_one(&b, JOB_PREPARE, "plan", b.seat.id, NULL, "{\"gate\":{\"answer\":\"open\"}}"); /* answered */
    log_one(&b, JOB_PREPARE, "plan", b.back.id, NULL, "{\"gate\":{\"answer\":\"stop\"}}");
    CHECK(!is_owed(&b, WORD_NEXT_GATE_ASK, "") && !is_owed(&b, WORD_NEXT_GATE_NEVER, ""));
    CHECK(is_owed(&b, WORD_NEXT_GATE_STOP, "back rest"));
    CHECK_TEXT(next_of(&b, NULL), "grain"); /* the work goes on all the same */
    log_one(&b, JOB_PREPARE, "plan", b.seat.id, NULL, "{\"gate\":{\"answer\":\"open\"},\"craft\":\"boat\"}");
    SHOP_DOES(book_begin(b.room.book, &shop_fault));
    struct piece_row late = {.job = b.job.id, .name = "arm rest"};
    SHOP_DOES(piece_store_add(b.room.book, &late, &shop_fault));
    SHOP_DOES(book_commit(b.room.book, &shop_fault));
    CHECK(!is_owed(&b, WORD_NEXT_GATE_NEVER, "")); /* a boat has no airbags anywhere */
    shop_room_end(&b.room);
}

static void a_plan_is_done_when_it_is_ticked_off_or_something_else_is_logged(void) {
    static const char plan[] =
        "{\"steps\":[{\"step\":\"look\",\"id\":\"a\"},{\"step\":\"prepare\",\"id\":\"clean\"},"
        "{\"step\":\"prepare\",\"id\":\"clean\"}]}";
    struct bench b;
    open_bench(&b);
    log_one(&b, JOB_PREPARE, "plan", b.seat.id, NULL, plan);
    CHECK_TEXT(next_of(&b, NULL), "prepare"); /* a plan is what was looked at */
    log_one(&b, JOB_PREPARE, "prepared", b.seat.id, NULL, "{\"ticked\":{\"clean\":\"t\",\"clean 2\":\"t\"}}");
    CHECK_TEXT(next_of(&b, NULL), "colour");
    log_one(&b, JOB_PREPARE, "prepared", b.seat.id, NULL, "{\"ticked\":{\"clean 2\":null}}");
    CHECK_TEXT(next_of(&b, NULL), "prepare");
    log_one(&b, JOB_PREPARE, "note", NULL, NULL, NULL);
    CHECK_TEXT(next_of(&b, NULL), "colour");
    shop_room_end(&b.room);
}

static void a_check_that_failed_comes_next_again(void) {
    struct bench b;
    open_bench(&b);
    log_one(&b, JOB_CHECK, "inspection", NULL, NULL, "{\"verdict\":\"fail\"}");
    CHECK_TEXT(next_of(&b, NULL), "check");
    CHECK(is_owed(&b, WORD_NEXT_CHECK_AGAIN, ""));
    log_one(&b, JOB_DABS, "adjustment", NULL, NULL, NULL);
    CHECK_TEXT(next_of(&b, NULL), "check");
    log_one(&b, JOB_CHECK, "inspection", NULL, NULL, "{\"verdict\":\"pass\"}");
    CHECK_TEXT(next_of(&b, NULL), "handover");
    CHECK(!is_owed(&b, WORD_NEXT_CHECK_AGAIN, "") && !is_owed(&b, WORD_NEXT_NO_CHECK, ""));
    shop_room_end(&b.room);
}

static void a_check_by_word_alone_is_said_before_handing_over(void) {
    struct bench b;
    open_bench(&b);
    log_one(&b, JOB_CHECK, "note", NULL, NULL, NULL);
    CHECK_TEXT(next_of(&b, NULL), "handover");
    CHECK(is_owed(&b, WORD_NEXT_NO_CHECK, ""));
    shop_room_end(&b.room);
}

/* The book's own check of the steps (src/shop/schema) and the table of them are one list. */
static void every_step_can_be_kept(void) {
    struct shop_room room;
    shop_room_make(&room, 1);
    struct job_row job = {.title = "helm seat"};
    SHOP_DOES(book_begin(room.book, &shop_fault));
    SHOP_DOES(job_store_add(room.book, &job, &shop_fault));
    for (int step = 0; step < JOB_STEPS; step++) {
        struct entry_row entry = {.job = job.id, .step = (enum job_step)step, .kind = "note"};
        SHOP_DOES(entry_store_add(room.book, &entry, &shop_fault));
    }
    SHOP_DOES(book_commit(room.book, &shop_fault));
    struct entry_mark *mark;
    size_t count;
    bool done[JOB_STEPS] = {false};
    SHOP_DOES(entry_store_marks(room.book, job.id, room.arena, &mark, &count, &shop_fault));
    for (size_t i = 0; i < count; i++) done[mark[i].step] = true;
    for (int step = 0; step < JOB_STEPS; step++) CHECK(done[step]);
    shop_room_end(&room);
}

/* An undo is an entry that stands in the place of another: both stay in the book, the step is not done. */
static void a_step_that_was_taken_back_is_not_done(void) {
    struct shop_room room;
    shop_room_make(&room, 1);
    struct job_row job = {.title = "helm seat"};
    SHOP_DOES(book_begin(room.book, &shop_fault));
    SHOP_DOES(job_store_add(room.book, &job, &shop_fault));
    struct entry_row reading = {.job = job.id, .step = JOB_COLOUR, .kind = "reading"};
    SHOP_DOES(entry_store_add(room.book, &reading, &shop_fault));
    struct entry_row undo = {.job = job.id, .step = JOB_COLOUR, .kind = "taken-back", .replaces = reading.id};
    SHOP_DOES(entry_store_add(room.book, &undo, &shop_fault));
    SHOP_DOES(book_commit(room.book, &shop_fault));
    struct entry_mark *mark;
    size_t count = 9;
    SHOP_DOES(entry_store_marks(room.book, job.id, room.arena, &mark, &count, &shop_fault));
    CHECK(count == 0);
    struct entry_row *entry;
    struct arena *arena = arena_new();
    const struct entry_filter all = {.job = job.id, .with_replaced = true};
    SHOP_DOES(entry_store_list(room.book, all, arena, &entry, &count, &shop_fault));
    CHECK(count == 2);
    arena_free(arena);
    shop_room_end(&room);
}

/* The book files colours as the search expects them (schema 4 and nearest_cell reckon the same number): the
 * answers are those of a look at every finish, on the edges of cells and beside all of them too. */
static void near_finishes_are_those_of_a_look_at_each(void) {
    enum { FINISHES = 1500, WANTED = 7 };
    static struct lab kept[FINISHES];
    const struct view view = {LIGHT_D65, OBSERVER_10};
    struct shop_room room;
    unsigned long long seed = 7;
    shop_room_make(&room, 1);
    SHOP_DOES(book_begin(room.book, &shop_fault));
    for (int i = 0; i < FINISHES; i++) {
        const bool on_an_edge = i % 3 == 0;
        const double l = 120 * check_random(&seed) - 10, a = 300 * check_random(&seed) - 150,
                     b = 300 * check_random(&seed) - 150;
        kept[i] = (struct lab){on_an_edge ? floor(l) + .25 : l, on_an_edge ? floor(a) + .25 : a, b, view};
        struct finish_row finish = {.name = i % 50 ? "some" : "Köln", .document = "{}", .has_lab = true};
        finish.lab = kept[i];
        SHOP_DOES(finish_store_add(room.book, &finish, &shop_fault));
    }
    struct finish_row without = {.name = "without a colour", .document = "{}"};
    SHOP_DOES(finish_store_add(room.book, &without, &shop_fault));
    SHOP_DOES(book_commit(room.book, &shop_fault));
    for (int i = 0; i < FINISHES; i += 7) {
        struct near_colour near[WANTED];
        size_t count = 0, nearer = 0, within = 0;
        const struct finish_near asked = {kept[i], NULL, WANTED, 25};
        SHOP_DOES(finish_store_near(room.book, &asked, room.arena, near, &count, &shop_fault));
        CHECK(count > 0 && near[0].de00 <= 0 && near[0].key == i + 1);
        for (int k = 0; k < FINISHES; k++) {
            const double de00 = difference_de00(kept[i], kept[k]);
            within += de00 <= 25;
            nearer += count && de00 < near[count - 1].de00;
        }
        CHECK(count == (within < WANTED ? within : WANTED) && nearer == count - 1);
    }
    /* words narrow it, without case and marks, however many are nearer */
    struct near_colour named[FINISHES];
    size_t count = 0;
    const struct finish_near koln = {kept[7], "KOLN", FINISHES, 1000};
    SHOP_DOES(finish_store_near(room.book, &koln, room.arena, named, &count, &shop_fault));
    CHECK(count == FINISHES / 50);
    for (size_t i = 0; i < count; i++) {
        CHECK(named[i].key % 50 == 1 && (i == 0 || named[i].de00 >= named[i - 1].de00));
        CHECK_NEAR(named[i].de00, difference_de00(kept[7], kept[named[i].key - 1]), 1e-12);
    }
    shop_room_end(&room);
}

int main(void) {
    RUN(near_finishes_are_those_of_a_look_at_each);
    RUN(wall_times_are_read_and_written);
    RUN(keys_rise_and_are_uuid_version_7);
    RUN(sha256_is_the_standard_one);
    RUN(a_job_comes_back_as_it_was_put_in);
    RUN(words_are_found_without_case_and_marks);
    RUN(every_step_can_be_kept);
    RUN(a_pour_comes_out_of_the_lot_that_expires_first_and_out_of_doubtful_ones_last);
    RUN(the_next_step_is_the_one_after_the_last_done);
    RUN(a_gate_that_was_passed_over_is_said);
    RUN(a_plan_is_done_when_it_is_ticked_off_or_something_else_is_logged);
    RUN(a_check_that_failed_comes_next_again);
    RUN(a_check_by_word_alone_is_said_before_handing_over);
    RUN(a_step_that_was_taken_back_is_not_done);
    return check_done();
}
