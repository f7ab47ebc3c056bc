/* Who may ask the server: hosts, origins, cookies, tickets, codes. RFC 6454 (origin), RFC 6265 (cookies). */
#include "base/text.h"
#include "check.h"
#include "device/disk.h"
#include "server/gate.h"
#include "server/pairing.h"
#include <sys/stat.h>
#include <unistd.h>

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

static char folder[] = "/tmp/russet-pairing-XXXXXX";
static long long ms = 1000;

static struct pairing *open_pairing(void) {
    struct pairing *pairing = NULL;
    struct fault fault;
    CHECK(pairing_open(folder, disk_real(), clock_fake(&ms), &pairing, &fault) == STATUS_OK);
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
    char file[80];
    snprintf(file, sizeof file, "%s/devices.json", folder);
    struct bytes bytes;
    CHECK(disk_read(disk_real(), file, 1, arena, &bytes, &fault) == STATUS_OK);
    CHECK(memmem(bytes.data, bytes.size, cookie, GATE_TOKEN) == NULL);
    struct stat info;
    CHECK(stat(file, &info) == 0 && (info.st_mode & 077) == 0);
    arena_free(arena);
}

static void clean_up(void) {
    char file[80];
    snprintf(file, sizeof file, "%s/devices.json", folder);
    unlink(file);
    rmdir(folder);
}

int main(void) {
    if (!mkdtemp(folder)) return 1;
    RUN(only_our_own_host_is_answered);
    RUN(what_changes_something_comes_from_our_own_page);
    RUN(cookies_are_told_apart);
    RUN(a_ticket_lets_in_once_and_a_device_lasts);
    RUN(a_code_dies_of_wrong_guesses_and_of_age);
    RUN(what_is_kept_is_no_cookie_and_for_its_owner_alone);
    clean_up();
    return check_done();
}
