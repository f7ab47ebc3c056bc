/* Who may ask the server: hosts, origins, cookies, tickets, codes. RFC 6454 (origin), RFC 6265 (cookies). */
#include "base/text.h"
#include "check.h"
#include "server/gate.h"
#include "server/pairing.h"
#include "shop/asked_store.h"
#include "shop_room.h"

static const char *const names[] = {"192.168.4.1:8000", "localhost:8000", NULL};

static void only_our_own_host_is_answered(void) {
    CHECK(gate_host_is_ours("localhost:8000", names));
    CHECK(gate_host_is_ours("LOCALHOST:8000", names));
    CHECK(!gate_host_is_ours("localhost", names));
    CHECK(!gate_host_is_ours("localhost:8000.evil.example", names));
    CHECK(!gate_host_is_ours("rebound.example:8000", names));
    CHECK(!gate_host_is_ours("", names));
    CHECK(!gate_host_is_ours(NULL, names));
}

static void what_changes_something_comes_from_our_own_page(void) {
    CHECK(gate_origin_is_ours("http://localhost:8000", true, false, names));
    CHECK(!gate_origin_is_ours("https://localhost:8000", true, false, names));
    CHECK(gate_origin_is_ours("https://192.168.4.1:8000", true, true, names));
    CHECK(!gate_origin_is_ours("http://evil.example", true, false, names));
    CHECK(!gate_origin_is_ours("http://evil.example", false, false, names));
    CHECK(!gate_origin_is_ours("null", true, false, names));
    CHECK(!gate_origin_is_ours(NULL, true, false, names));
    CHECK(gate_origin_is_ours(NULL, false, false, names));
}

static void cookies_are_told_apart(void) {
    struct arena *arena = arena_new();
    CHECK_TEXT(gate_cookie("a=1; russet=xyz; b=2", "russet", arena), "xyz");
    CHECK_TEXT(gate_cookie("russet=xyz", "russet", arena), "xyz");
    CHECK(gate_cookie("not-russet=xyz", "russet", arena) == NULL);
    CHECK(gate_cookie("russetx=xyz; ;;", "russet", arena) == NULL);
    CHECK(gate_cookie(NULL, "russet", arena) == NULL);
    arena_free(arena);
}

static struct shop_room room;
static long long ms = 1000;

static struct pairing *open_pairing(void) {
    struct pairing *pairing = NULL;
    struct fault fault;
    CHECK(pairing_open(room.dir, shop_room_how(&room, 0), clock_fake(&ms), &pairing, &fault) == STATUS_OK);
    return pairing;
}

static void a_ticket_lets_in_once_and_a_device_lasts(void) {
    struct arena *arena = arena_new();
    struct pairing *pairing = open_pairing();
    char cookie[GATE_TOKEN + 1], none[GATE_TOKEN + 1];
    struct fault fault;
    const char *ticket = pairing_ticket(pairing, arena);
    CHECK(pairing_admit(pairing, ticket, "phone", cookie, &fault) == STATUS_OK);
    CHECK(pairing_admit(pairing, ticket, "thief", none, &fault) == STATUS_NO);
    CHECK(pairing_admit(pairing, "", "thief", none, &fault) == STATUS_NO);
    pairing_close(pairing);
    pairing = open_pairing();
    const char *id = pairing_device(pairing, cookie, arena);
    CHECK(id != NULL && pairing_device(pairing, "guess", arena) == NULL);
    CHECK(id && pairing_revoke(pairing, id, &fault) == STATUS_OK);
    CHECK(pairing_device(pairing, cookie, arena) == NULL);
    CHECK(pairing_revoke(pairing, "none", &fault) == STATUS_INPUT);
    pairing_close(pairing);
    pairing = open_pairing();
    CHECK(pairing_device(pairing, cookie, arena) == NULL);
    pairing_close(pairing);
    arena_free(arena);
}

/* OWASP ASVS 4.0.3, 3.3.2: idle for thirty days. */
static void a_device_that_slept_for_a_month_comes_in_anew(void) {
    const long long day = 86400000LL, began = room.ms;
    struct arena *arena = arena_new();
    struct pairing *pairing = open_pairing();
    char cookie[GATE_TOKEN + 1];
    struct fault fault;
    CHECK(pairing_admit(pairing, pairing_ticket(pairing, arena), "tablet", cookie, &fault) == STATUS_OK);
    room.ms += PAIRING_SLEEP_DAYS * day;
    CHECK(pairing_device(pairing, cookie, arena) != NULL); /* which is written down */
    room.ms += PAIRING_SLEEP_DAYS * day;
    CHECK(pairing_device(pairing, cookie, arena) != NULL);
    room.ms += PAIRING_SLEEP_DAYS * day + 1;
    json_t *list = pairing_list(pairing, NULL);
    CHECK(json_array_size(list) == 0);
    json_decref(list);
    CHECK(pairing_device(pairing, cookie, arena) == NULL);
    room.ms = began; /* not even when the clock jumps back */
    CHECK(pairing_device(pairing, cookie, arena) == NULL);
    pairing_close(pairing);
    arena_free(arena);
}

static void a_code_dies_of_wrong_guesses_and_of_age(void) {
    struct pairing *pairing = open_pairing();
    char code[PAIRING_CODE + 1], wrong[PAIRING_CODE + 1], cookie[GATE_TOKEN + 1];
    struct fault fault;
    pairing_new_code(pairing, code);
    memcpy(wrong, code, sizeof wrong);
    wrong[0] = wrong[0] == '9' ? '0' : (char)(wrong[0] + 1);
    for (int i = 0; i < PAIRING_TRIES; i++)
        CHECK(pairing_admit(pairing, wrong, "phone", cookie, &fault) == STATUS_NO);
    CHECK(pairing_admit(pairing, code, "phone", cookie, &fault) == STATUS_NO);
    pairing_new_code(pairing, code);
    ms += PAIRING_MINUTES * 60000LL + 1;
    CHECK(pairing_admit(pairing, code, "phone", cookie, &fault) == STATUS_NO);
    pairing_new_code(pairing, code);
    CHECK(pairing_admit(pairing, code, "phone", cookie, &fault) == STATUS_OK);
    CHECK(pairing_admit(pairing, code, "phone", cookie, &fault) == STATUS_NO);
    pairing_close(pairing);
}

static void what_is_kept_is_no_cookie_and_for_its_owner_alone(void) {
    struct arena *arena = arena_new();
    struct pairing *pairing = open_pairing();
    char cookie[GATE_TOKEN + 1];
    struct fault fault;
    CHECK(pairing_admit(pairing, pairing_ticket(pairing, arena), "phone", cookie, &fault) == STATUS_OK);
    pairing_close(pairing);
    CHECK(shop_room_hits(room.dir, cookie) == 0);
    CHECK(shop_room_hits(room.dir, "phone") > 0);
    char file[300];
    struct stat info;
    snprintf(file, sizeof file, "%s/book.sqlite", room.dir);
    CHECK(stat(file, &info) == 0 && (info.st_mode & 077) == 0);
    arena_free(arena);
}

static void a_long_name_ends_at_a_whole_letter(void) {
    struct arena *arena = arena_new();
    room.ms++; /* the list is by time */
    struct pairing *pairing = open_pairing();
    char cookie[GATE_TOKEN + 1];
    struct fault fault;
    const char *name = "1234567890123456789012345678901234567890123456789012345678\xe2\x82\xac";
    CHECK(pairing_admit(pairing, pairing_ticket(pairing, arena), name, cookie, &fault) == STATUS_OK);
    json_t *list = pairing_list(pairing, NULL), *last = json_array_get(list, json_array_size(list) - 1);
    CHECK_TEXT(json_string_value(json_object_get(last, "name")),
               "1234567890123456789012345678901234567890123456789012345678");
    json_decref(list);
    pairing_close(pairing);
    arena_free(arena);
}

/* ---- a request that comes twice ---- */

#define KEY "0123456789abcdef-key"

static enum status ask(const char *key, const char *title, bool goes_well, long long *number) {
    struct book_how how = shop_room_how(&room, 0);
    struct book *book;
    struct job_row job = {.title = title};
    struct fault fault = {0};
    how.asked = key;
    if (book_open(room.dir, how, &book, &fault) != STATUS_OK) return STATUS_MACHINE;
    enum status status = book_begin(book, &fault);
    if (status == STATUS_OK) {
        status = job_store_add(book, &job, &fault);
        status = book_end(book, goes_well ? status : STATUS_INPUT, &fault);
    }
    if (status == STATUS_OK) { /* more of the same request */
        CHECK(book_look(book, &fault) == STATUS_OK);
        book_rollback(book);
        CHECK(book_end(book, book_begin(book, &fault), &fault) == STATUS_OK);
    }
    book_close(book);
    *number = job.number;
    return fault.word == WORD_BOOK_ASKED ? STATUS_NO : status;
}

static void a_request_is_carried_out_once(void) {
    long long number, again;
    struct asked_row made;
    bool found = true;
    CHECK(ask(KEY, "put back", false, &number) == STATUS_INPUT);
    SHOP_DOES(asked_store_get(room.book, KEY, &made, &found, &shop_fault));
    CHECK(!found); /* what was put back may be asked again */
    CHECK(ask(KEY, "once", true, &number) == STATUS_OK);
    CHECK(ask(KEY, "twice", true, &again) == STATUS_NO);
    SHOP_DOES(asked_store_get(room.book, KEY, &made, &found, &shop_fault));
    CHECK(found && made.number == number && strlen(made.made) == ID_LENGTH);
    CHECK(ask("another-key-of-the-page", "other", true, &again) == STATUS_OK && again == number + 1);
    room.ms += (ASKED_DAYS + 1) * 86400000LL; /* old keys go */
    CHECK(ask("a-third-key-of-the-page", "third", true, &again) == STATUS_OK && again == number + 2);
    SHOP_DOES(asked_store_get(room.book, KEY, &made, &found, &shop_fault));
    CHECK(!found);
    CHECK(!asked_key_is_good("short") && !asked_key_is_good("no blanks in a key of it") &&
          asked_key_is_good(KEY));
}

int main(void) {
    shop_room_make(&room, 0);
    RUN(only_our_own_host_is_answered);
    RUN(what_changes_something_comes_from_our_own_page);
    RUN(cookies_are_told_apart);
    RUN(a_ticket_lets_in_once_and_a_device_lasts);
    RUN(a_device_that_slept_for_a_month_comes_in_anew);
    RUN(a_code_dies_of_wrong_guesses_and_of_age);
    RUN(what_is_kept_is_no_cookie_and_for_its_owner_alone);
    RUN(a_long_name_ends_at_a_whole_letter);
    RUN(a_request_is_carried_out_once);
    shop_room_end(&room);
    return check_done();
}
