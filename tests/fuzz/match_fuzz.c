/* The whole request of `match`: words of the command line, one a line, then files, each behind a line
 * "== NAME" (the shelf of toners, the target as JSON, CGATS or CSV, backings, stock, a lamp). A shelf and
 * grounds that hold are there by the names "shelf" and "grounds" for those who bring none. Words are the
 * machine's own bytes (a name may be Latin-1), so a refusal may quote what is no UTF-8; a reply never does.
 * Whatever it is, the answer is a reply whose recipes can be weighed and poured, the same bytes from both
 * builds of the kernels, or one sentence. */
#include "cli/command_line.h"
#include "device/memory_disk.h"
#include "formats/bench_json.h"
#include "formats/json_out.h"
#include "formats/shelf_json.h"
#include "fuzz_help.h"
#include "mutate.h"
#include "paint/match.h"
#include "shelf_fuzz.h"
#include <unistd.h>

/* Larger ones are slow here, not different. */
enum { WORDS_MOST = 60, FILES_MOST = 8, TONERS_MOST = 7 };

struct asked {
    char *word[WORDS_MOST];
    int words;
    const char *name[FILES_MOST];
    struct bytes file[FILES_MOST];
    size_t files;
};

/* ---- bytes to a request ---- */

static char *line_end(char *at, const char *end) {
    char *stop = memchr(at, '\n', (size_t)(end - at));
    return stop ? stop : (char *)(size_t)end;
}

/* text is changed: its lines are ended where they stand. */
static void take_apart(char *text, size_t size, struct asked *out) {
    static char program[] = "russet", verb[] = "match";
    const char *end = text + size;
    *out = (struct asked){.word = {program, verb}, .words = 2};
    for (char *at = text; at < end;) {
        char *stop = line_end(at, end);
        if (strncmp(at, "== ", 3) == 0 && out->files < FILES_MOST) {
            *stop = 0;
            char *from = stop < end ? stop + 1 : stop, *to = from;
            while (to < end && strncmp(to, "== ", 3) != 0) to = line_end(to, end) + (line_end(to, end) < end);
            out->name[out->files] = at + 3;
            out->file[out->files++] = (struct bytes){(unsigned char *)from, (size_t)(to - from), at + 3};
            at = to;
        } else {
            if (out->files == 0 && out->words < WORDS_MOST) *stop = 0, out->word[out->words++] = at;
            at = stop + 1;
        }
    }
}

static void put_files(const struct asked *asked, struct memory_disk *disk) {
    static struct text shelf, ground;
    struct fault fault;
    if (!shelf.length) write_shelf(&shelf), write_grounds(&ground);
    MUST(memory_disk_put(disk, "shelf", shelf.data, shelf.length, &fault) == STATUS_OK);
    MUST(memory_disk_put(disk, "grounds", ground.data, ground.length, &fault) == STATUS_OK);
    for (size_t i = 0; i < asked->files; i++)
        MUST(memory_disk_put(disk, asked->name[i], asked->file[i].data, asked->file[i].size, &fault) ==
             STATUS_OK);
}

/* Standard input is empty here. */
static ssize_t read_no_terminal(int fd, void *to, size_t n) {
    return fd == 0 ? 0 : read(fd, to, n);
}

/* ---- what is promised ---- */

static double number_of(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    MUST(json_is_number(value));
    return json_number_value(value);
}

static void must_be_recipe(const json_t *recipe, double batch_g) {
    const json_t *parts = json_object_get(recipe, "parts"), *value;
    const char *light;
    double sum = 0, fractions = 0;
    MUST(json_array_size(parts) > 0 && json_array_size(parts) <= 6);
    for (size_t i = 0; i < json_array_size(parts); i++) {
        const json_t *part = json_array_get(parts, i);
        const double fraction = number_of(part, "mass_fraction");
        MUST(fraction >= 0 && fraction <= 1 && number_of(part, "g") > 0);
        sum += number_of(part, "g"), fractions += fraction;
    }
    MUST(fabs(sum - batch_g) <= 1e-6 * batch_g + 1e-9 && fabs(fractions - 1) <= 1e-5);
    json_object_foreach(json_object_get(recipe, "de00"), light, value)
        MUST(json_is_null(value) || json_number_value(value) >= 0);
    MUST(number_of(recipe, "weighing_de00_p95") >= 0 && number_of(recipe, "min_batch_g") >= 0);
}

/* Recipes stand in their order, can be weighed, and can be poured from the reply. */
static void must_be_match(const json_t *reply, const struct text *written, struct arena *arena) {
    const json_t *recipes = json_object_get(reply, "recipes");
    const double batch_g = number_of(json_object_get(reply, "bench"), "batch_g");
    MUST(json_is_string(json_object_get(reply, "target")));
    struct bench_recipe recipe;
    struct fault fault;
    MUST(json_array_size(recipes) > 0);
    for (size_t i = 0; i < json_array_size(recipes); i++) {
        must_be_recipe(json_array_get(recipes, i), batch_g);
        MUST((size_t)number_of(json_array_get(recipes, i), "rank") == i + 1);
    }
    const struct bytes bytes = {(const unsigned char *)written->data, written->length, "f"};
    MUST(bench_read(&bytes, 1, arena, &recipe, &fault) == STATUS_OK);
}

static void must_be_said(const struct command *command, const json_t *reply) {
    struct text said = {0};
    command->operation->say(reply, &said);
    MUST(said.length > 0 && text_is_utf8(said.data, said.length));
    text_free(&said);
}

/* ---- one run ---- */

/* A search takes a hundred times what reading the request takes. Most requests are read and no more, one in
 * eight is searched for pairs, one in 128 as it is asked for, by both builds of the kernels. */
enum { PAIRS_ONE_IN = 8, WHOLE_ONE_IN = 128 };
static enum { SEARCH_NOT, SEARCH_PAIRS, SEARCH_WHOLE } search;

enum status __real_match_run(const struct match_task *task, struct work *work, struct arena *arena,
                             struct match_result *out, struct fault *fault);
enum status __wrap_match_run(const struct match_task *task, struct work *work, struct arena *arena,
                             struct match_result *out, struct fault *fault);
enum status __wrap_match_run(const struct match_task *task, struct work *work, struct arena *arena,
                             struct match_result *out, struct fault *fault) {
    struct match_task *pairs = arena_need(arena, 1, sizeof *pairs);
    size_t required = 0;
    if (search == SEARCH_NOT) return FAULT0(fault, CANCELLED);
    if (search == SEARCH_WHOLE) return __real_match_run(task, work, arena, out, fault);
    *pairs = *task;
    for (size_t i = 0; i < task->shelf->count; i++) required += task->require[i];
    if (pairs->max_toners > 2 && required <= 2) pairs->max_toners = 2;
    pairs->audit = false;
    return __real_match_run(pairs, work, arena, out, fault);
}

/* A shelf that is slow to search is left to the search's own tests. */
static bool is_large(const struct surroundings *around, const struct request *request) {
    struct shelf *shelf = arena_need(around->arena, 1, sizeof *shelf);
    struct bytes bytes;
    struct fault fault;
    const char *path = request_text(request, "--toners");
    return disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, &fault) == STATUS_OK &&
           shelf_read(&bytes, around->arena, shelf, &fault) == STATUS_OK && shelf->count > TONERS_MOST;
}

/* The reply as text; nothing when it was refused. */
static void run(const struct surroundings *around, const struct command *command, struct text *written) {
    struct fault fault = {0};
    json_t *reply = NULL;
    const enum status status = command->operation->flow(around, command->request, &reply, &fault);
    if (status == STATUS_OK || status == STATUS_NO) {
        MUST(reply && json_finish(reply, written, &fault) == STATUS_OK);
        must_be_match(reply, written, around->arena);
        must_be_said(command, reply);
    } else {
        MUST(status == STATUS_INPUT || status == STATUS_USAGE ||
             (search == SEARCH_NOT && status == STATUS_CANCELLED));
        MUST(strlen(fault.text) > 10);
    }
    json_decref(reply);
}

static void run_once(const struct surroundings *around, const struct command *command) {
    struct text text = {0};
    run(around, command, &text);
    text_free(&text);
}

static void run_twice(const struct surroundings *around, const struct command *command) {
    struct text best = {0}, base = {0};
    unsetenv("RUSSET_SIMD");
    run(around, command, &best);
    setenv("RUSSET_SIMD", "base", 1);
    run(around, command, &base);
    MUST(best.length == base.length && (!best.length || memcmp(best.data, base.data, best.length) == 0));
    text_free(&best);
    text_free(&base);
}

static void run_as_chosen(const struct surroundings *around, const struct command *command, bool whole) {
    const bool large = search != SEARCH_NOT && is_large(around, command->request);
    if (large) search = SEARCH_NOT;
    if (search != SEARCH_WHOLE || whole) run_once(around, command);
    if (whole && !large) search = SEARCH_WHOLE;
    if (search == SEARCH_WHOLE) run_twice(around, command);
}

static void choose_search(const uint8_t *data, size_t size) {
    search = fuzz_is_whole() ? SEARCH_PAIRS : SEARCH_NOT;
    if (fuzz_is_one_in(PAIRS_ONE_IN, data, size)) search = SEARCH_PAIRS;
    if (fuzz_is_one_in(WHOLE_ONE_IN, data, size)) search = fuzz_is_whole() ? SEARCH_PAIRS : SEARCH_WHOLE;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    choose_search(data, size);
    struct arena *arena = arena_new();
    struct memory_disk files = {.arena = arena};
    struct asked asked;
    struct command command = {0};
    struct fault fault = {0};
    take_apart(arena_text(arena, (const char *)data, size), size, &asked);
    put_files(&asked, &files);
    struct disk disk = *memory_disk_enter(&files);
    disk.read = read_no_terminal;
    const enum status status = command_parse(asked.words, asked.word, arena, &command, &fault);
    if (status != STATUS_OK) {
        MUST((status == STATUS_USAGE || status == STATUS_INPUT) && strlen(fault.text) > 10);
    } else if (!command.help && strcmp(command.operation->verb, "match") == 0) {
        const struct surroundings around = {.disk = &disk, .arena = arena};
        run_as_chosen(&around, &command, fuzz_is_whole());
    }
    memory_disk_leave(&files);
    arena_free(arena);
    return 0;
}

/* ---- mutations: an option of the table and its value, a file's JSON, its words ---- */

static struct range file_at(const uint8_t *data, size_t size,
                            size_t at) { /* or the words, when it is the first */
    struct range r = {0, size};
    for (size_t i = 0; i + 4 <= size; i++) {
        if (memcmp(data + i, "\n== ", 4) != 0) continue;
        if (i >= at) return (struct range){r.from < i ? r.from : i, i};
        r.from = line_at(data, size, i + 1).to;
    }
    return r.from < size ? r : (struct range){size, size};
}

static size_t change_words(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    static const char *const values[] = {"shelf",           "spot",  "stock", "grounds#crust", "light",
                                         "white=.1,red=.2", "white", ".4,.6", "A,lamp",        "sci"};
    char line[200];
    size_t count;
    const struct argument *a = operation_arguments(operation_find("match"), &count),
                          *one = &a[luck_below(luck, count)];
    const bool number = one->type == TYPE_NUMBER || one->type == TYPE_COUNT || luck_below(luck, 6) == 0;
    const char *value = number ? odd_numbers[luck_below(luck, ODD_NUMBERS)]
                               : values[luck_below(luck, sizeof values / sizeof *values)];
    const int n = one->type == TYPE_FLAG ? snprintf(line, sizeof line, "%s\n", one->name)
                                         : snprintf(line, sizeof line, "%s=%s\n", one->name, value);
    const struct range at = line_at(data, size, luck_below(luck, size));
    return mutate_splice(data, size, most, at.from, luck_below(luck, 2) ? at.from : at.to, line, (size_t)n);
}

static size_t mutate_match(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    if (size == 0) return 0;
    const struct range words = file_at(data, size, 0), one = file_at(data, size, luck_below(luck, size));
    switch (luck_below(luck, 4)) {
    case 0:
        return mutate_part(data, size, most, words.from, words.to, change_words, luck);
    case 1:
        return mutate_words(data, size, most, luck);
    default:
        return mutate_part(data, size, most, one.from, one.to,
                           one.from < size && data[one.from] == '{' ? mutate_json : mutate_words, luck);
    }
}

MUTATE_BY(mutate_match);
