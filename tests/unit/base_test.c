#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/work.h"
#include "check.h"
#include <stdatomic.h>

static void numbers_are_read_whole_or_not_at_all(void) {
    static const char *const bad[] = {"",      "-",  "1,5", "0x10",  "nan", "inf",
                                      "1e999", " 1", "1 ",  "1.2.3", "1e",  "--1"};
    double x;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        CHECK(!text_to_number(bad[i], strlen(bad[i]), '.', &x));
    CHECK(text_to_number("-1.5e-3", 7, '.', &x));
    CHECK_NEAR(x, -0.0015, 0);
    CHECK(text_to_number("1,5", 3, ',', &x));
    CHECK_NEAR(x, 1.5, 0);
}

static void counts_stop_at_their_limit(void) {
    unsigned long long n;
    CHECK(text_to_count("12", 12, &n) && n == 12);
    CHECK(!text_to_count("13", 12, &n));
    CHECK(!text_to_count("5", 3, &n));
    CHECK(!text_to_count("18446744073709551616", ~0ULL, &n));
    CHECK(!text_to_count("", 9, &n));
}

static void utf8_is_told_from_the_rest(void) {
    CHECK(text_is_utf8("caf\xC3\xA9", 5));
    CHECK(!text_is_utf8("caf\xE9", 4));
    CHECK(!text_is_utf8("\xC0\xAF", 2));     /* overlong */
    CHECK(!text_is_utf8("\xED\xA0\x80", 3)); /* surrogate */
    CHECK(text_is_utf8("\xF0\x9F\x8E\xA8", 4));
    CHECK(!text_is_utf8("\xF4\x90\x80\x80", 4)); /* past U+10FFFF */
}

/* ECMA-48: C0, DEL and C1 are what a terminal obeys. */
static void a_fault_shows_no_control_character(void) {
    struct fault fault;
    FAULT(&fault, FILE_CANNOT_OPEN, "a\n\x1b[2Jb\x7f\xC2\x9Bm caf\xC3\xA9", "why");
    CHECK(strncmp(fault.text, "a??[2Jb???m caf\xC3\xA9", 17) == 0);
    char text[] = "one\ttwo\n\a";
    text_tame(text, sizeof text - 1, "\n\t");
    CHECK(strcmp(text, "one\ttwo\n?") == 0);
    text_tame(NULL, 0, "");
}

static void a_fault_is_cut_between_characters(void) {
    struct fault fault;
    char longest[2000];
    for (size_t i = 0; i + 2 < sizeof longest; i += 2) memcpy(longest + i, "\xC3\xA9", 3);
    FAULT(&fault, FILE_CANNOT_OPEN, longest, "why");
    CHECK(fault.status == STATUS_INPUT);
    CHECK(text_is_utf8(fault.text, strlen(fault.text)));
    char key[40];
    word_key(WORD_FILE_CANNOT_OPEN, key, sizeof key);
    CHECK_TEXT(key, "file-cannot-open");
}

static void an_arena_gives_zeroed_aligned_memory(void) {
    struct arena *arena = arena_new();
    for (size_t n = 1; n < 200000; n = n * 3 + 1) {
        char *p = arena_need(arena, n, 1);
        CHECK(((size_t)p) % sizeof(max_align_t) == 0 || ((size_t)p) % 16 == 0);
        CHECK(p[0] == 0 && p[n - 1] == 0);
        memset(p, 1, n);
    }
    arena_free(arena);
}

struct sum {
    atomic_int calls[100];
};

static void count_call(void *context, size_t chunk) {
    struct sum *sum = context;
    atomic_fetch_add(&sum->calls[chunk], 1);
}

static void every_chunk_runs_once_whatever_the_threads(void) {
    for (unsigned threads = 1; threads <= 4; threads++) {
        struct work *work = work_new(threads, NULL, NULL);
        struct sum sum = {0};
        work_run(work, 100, count_call, &sum);
        for (int i = 0; i < 100; i++) CHECK(sum.calls[i] == 1);
        work_run(work, 0, count_call, &sum);
        work_cancel(work);
        work_run(work, 100, count_call, &sum);
        for (int i = 0; i < 100; i++) CHECK(sum.calls[i] == 1);
        work_free(work);
    }
    struct sum sum = {0};
    work_run(NULL, 3, count_call, &sum);
    CHECK(sum.calls[2] == 1 && sum.calls[3] == 0);
}

static void a_text_of_nothing_ends(void) {
    struct text text = {0};
    text_format(&text, "%s", "");
    CHECK(text.data && text.data[0] == 0 && text.length == 0);
    text_free(&text);
}

/* "Frau Žofie Brünnlová" was cut inside its last letter, and stood two columns off. */
static void a_column_is_cut_and_filled_by_characters(void) {
    struct text text = {0};
    text_add_column(&text, "Br\u00fcnnlov\u00e1", 7);
    text_add_column(&text, "\u017dofie", 7);
    text_add_column(&text, "\u00e1", 1);
    CHECK(strcmp(text.data, "Br\u00fcnnlo\u017dofie  \u00e1") == 0);
    text_free(&text);
}

int main(void) {
    RUN(a_text_of_nothing_ends);
    RUN(numbers_are_read_whole_or_not_at_all);
    RUN(counts_stop_at_their_limit);
    RUN(utf8_is_told_from_the_rest);
    RUN(a_fault_is_cut_between_characters);
    RUN(a_fault_shows_no_control_character);
    RUN(an_arena_gives_zeroed_aligned_memory);
    RUN(every_chunk_runs_once_whatever_the_threads);
    RUN(a_column_is_cut_and_filled_by_characters);
    return check_done();
}
