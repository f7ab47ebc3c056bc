/* The live session on a fake port, on pseudo-terminals, unplugged, and killed with SIGKILL at 200 random
 * moments. The person and the scale are those of scale_person.h; time is counted by lines, so that nothing
 * here waits. */
#include "flow/weigh_session.h"
#include "scale_person.h"
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

static const struct pouring_item recipe[] = {
    {.id = "white", .fraction = 1, .want_g = 12.7, .minus_g = .05, .plus_g = .05},
    {.id = "black", .fraction = .1, .want_g = 4, .minus_g = .05, .plus_g = .05},
    {.id = "binder", .fraction = 1, .want_g = 23.3, .minus_g = .2, .plus_g = .2},
};

/* ---- a stream made beforehand
 * -------------------------------------------------------------------------------------------- */

static void add_hold(struct text *stream, double g, int lines) {
    for (int i = 0; i < lines; i++) text_format(stream, "ST,GS,%c%08.2f g\r\n", g < 0 ? '-' : '+', fabs(g));
}

static void add_pour(struct text *stream, double from, double to) {
    for (int i = 1; i < 30; i++) text_format(stream, "US,GS,+%08.2f g\r\n", from + (to - from) * i / 30);
    add_hold(stream, to, 20);
}

static struct text good_stream(void) {
    struct text stream = {0};
    add_hold(&stream, 0, 20);
    add_pour(&stream, 0, 12.70);
    add_pour(&stream, 12.70, 16.68);
    add_pour(&stream, 16.68, 40.02);
    return stream;
}

/* ---- one session in a folder of its own
 * ------------------------------------------------------------------------------------ */

struct room {
    char folder[64], log[96], face[96];
};

static struct room room_make(void) {
    struct room room = {0};
    const bool memory = access("/dev/shm", W_OK) == 0; /* hundreds of syncs, and no plug is pulled here */
    snprintf(room.folder, sizeof room.folder, "%s/russet-weigh-XXXXXX", memory ? "/dev/shm" : "/tmp");
    if (!mkdtemp(room.folder)) abort();
    snprintf(room.log, sizeof room.log, "%s/pot.log", room.folder);
    snprintf(room.face, sizeof room.face, "%s/face", room.folder);
    return room;
}

static void room_clear(const struct room *room) {
    unlink(room->log);
    unlink(room->face);
    rmdir(room->folder);
}

/* A disk that is full after so many writes (-1: never). */
static int writes_left = -1;

static ssize_t full_write(int fd, const void *from, size_t n) {
    if (writes_left == 0) {
        errno = ENOSPC;
        return -1;
    }
    if (writes_left > 0) writes_left--;
    return write(fd, from, n);
}

static enum status weigh_here(const struct room *room, struct scale_port port, int answers,
                              weigh_rescue *rescue, struct pouring *pouring, struct fault *fault) {
    struct disk disk = *disk_real();
    struct weigh_log log;
    struct pouring_item items[POURING_MOST] = {0};
    size_t count = 3;
    memcpy(items, recipe, sizeof recipe);
    disk.write = full_write;
    enum status status = weigh_log_open(&log, &disk, room->log, 40, 0, items, &count, fault);
    if (status != STATUS_OK) return status;
    const int face = open(room->face, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
    struct weigh weigh = {.port = port,
                          .port_name = "the bench",
                          .line_ms = 100,
                          .answers = answers,
                          .face = {.fd = face},
                          .log = &log,
                          .rescue = rescue};
    pouring_start(pouring, items, count, 0, answers >= 0);
    struct work *work = work_new(1, NULL, NULL);
    weigh.work = work;
    status = weigh_run(&weigh, pouring, fault);
    work_free(work);
    weigh_log_close(&log);
    close(face);
    return status;
}

static struct pour_log log_of(const struct room *room) {
    struct arena *arena = arena_new();
    struct bytes bytes = {0};
    struct fault fault;
    struct pour_log log = {.empty = true};
    CHECK(disk_read(disk_real(), room->log, 8, arena, &bytes, &fault) == STATUS_OK);
    CHECK(pour_log_replay(&bytes, &log, &fault) == STATUS_OK);
    arena_free(arena);
    return log;
}

static bool face_says(const struct room *room, const char *sentence) {
    struct arena *arena = arena_new();
    struct bytes bytes = {0};
    struct fault fault;
    CHECK(disk_read(disk_real(), room->face, 8, arena, &bytes, &fault) == STATUS_OK);
    const bool there = bytes.data && strstr((const char *)bytes.data, sentence) != NULL;
    if (!there) fprintf(stderr, "  the face says:\n%s", bytes.data ? (const char *)bytes.data : "");
    arena_free(arena);
    return there;
}

/* The last amount of each step that the face showed as taken or so far. */
static void shown_on_face(const struct room *room, double shown_g[3]) {
    char line[300];
    FILE *face = fopen(room->face, "r");
    memset(shown_g, 0, 3 * sizeof *shown_g);
    while (face && fgets(line, sizeof line, face))
        for (size_t i = 0; i < 3; i++) {
            char taken[300], so_far[300];
            snprintf(taken, sizeof taken, "TAKEN %s: ", recipe[i].id);
            snprintf(so_far, sizeof so_far, "so far %s: ", recipe[i].id);
            if (strncmp(line, taken, strlen(taken)) == 0) shown_g[i] = atof(line + strlen(taken));
            if (strncmp(line, so_far, strlen(so_far)) == 0) shown_g[i] = atof(line + strlen(so_far));
        }
    if (face) fclose(face);
}

/* ---- the fake port
 * -----------------------------------------------------------------------------------------------------------
 */

static void a_stream_is_weighed_to_its_end(void) {
    const struct room room = room_make();
    struct text stream = good_stream();
    const struct port_piece all = {PORT_BYTES, stream.data, stream.length};
    struct port_script script = {.pieces = &all, .count = 1};
    struct pouring pouring;
    struct fault fault = {0};
    CHECK(weigh_here(&room, scale_port_fake(&script), -1, NULL, &pouring, &fault) == STATUS_OK);
    const struct pour_log log = log_of(&room);
    CHECK_NEAR(log.items[0].poured_g, 12.7, 1e-9);
    CHECK_NEAR(log.items[1].poured_g, 3.98, 1e-9);
    CHECK_NEAR(log.items[2].poured_g, 23.34, 1e-9);
    CHECK(log.done[0] && log.done[1] && log.done[2]);
    CHECK(script.opens == 1 && script.closes == 1);
    CHECK(face_says(&room, "TAKEN white: 12.70 g."));
    CHECK(face_says(&room, "NOW black, let down 1 to 9: 4.00 g of that, until the scale shows 16.70 g."));
    CHECK(face_says(&room, "ALL IN; the scale shows 40.02 g."));
    text_free(&stream);
    room_clear(&room);
}

/* Cut off after every so many bytes, then gone on with by the same log and a scale that was not re-zeroed. */
static void a_pour_goes_on_where_it_stopped(void) {
    struct text stream = good_stream();
    int resumed = 0;
    for (size_t n = 0; n < stream.length; n += 997) {
        const struct room room = room_make();
        struct port_piece piece = {PORT_BYTES, stream.data, n};
        struct port_script first = {.pieces = &piece, .count = 1}, second = {.pieces = &piece, .count = 1};
        struct pouring pouring;
        struct fault fault = {0};
        CHECK(weigh_here(&room, scale_port_fake(&first), -1, NULL, &pouring, &fault) == STATUS_NO);
        const struct pour_log log = log_of(&room);
        double in_g = 0;
        for (size_t i = 0; i < 3; i++) in_g += log.items[i].poured_g;
        struct text rest = {0};
        double level = in_g;
        add_hold(&rest, level, 20);
        for (size_t i = 0; i < 3; i++) {
            const double more = recipe[i].want_g - log.items[i].poured_g;
            if (log.done[i]) continue;
            add_pour(&rest, level, level + more);
            level += more;
        }
        piece = (struct port_piece){PORT_BYTES, rest.data, rest.length};
        CHECK(weigh_here(&room, scale_port_fake(&second), -1, NULL, &pouring, &fault) == STATUS_OK);
        const struct pour_log after = log_of(&room);
        for (size_t i = 0; i < 3; i++) CHECK_AT_MOST(fabs(after.items[i].poured_g - recipe[i].want_g), .0501);
        resumed++;
        text_free(&rest);
        room_clear(&room);
    }
    CHECK(resumed > 2);
    text_free(&stream);
}

/* Unplugged between any two pieces, four opens refused, garbage on the first bytes after it. */
static void an_unplugged_scale_loses_nothing(void) {
    struct text stream = good_stream();
    for (size_t cut_line = 25; cut_line < 150; cut_line += 23) {
        const struct room room = room_make();
        const size_t at = cut_line * 19 + 7; /* inside a line */
        struct text again = {0};
        text_add(&again, "\xff\x80g 3.\r\n");
        add_hold(&again, atof(stream.data + cut_line * 19 + 6), 20); /* plugged in: the reading of before */
        const struct port_piece pieces[] = {{PORT_BYTES, stream.data, at},
                                            {PORT_GONE, "", 0},
                                            {PORT_BYTES, again.data, again.length},
                                            {PORT_BYTES, stream.data + at, stream.length - at}};
        struct port_script script = {.pieces = pieces, .count = 4};
        struct pouring pouring;
        struct fault fault = {0};
        const enum status status = weigh_here(&room, scale_port_fake(&script), -1, NULL, &pouring, &fault);
        const struct pour_log log = log_of(&room);
        /* in the middle of a pour it must ask (nobody is there: the stream ends); else it goes on by itself
         */
        CHECK(status == STATUS_OK || (status == STATUS_NO && face_says(&room, "all at once")));
        for (size_t i = 0; i < 3; i++)
            if (log.done[i]) CHECK_AT_MOST(fabs(log.items[i].poured_g - recipe[i].want_g), .0501);
        if (cut_line > 90) CHECK(log.done[0]);
        CHECK(script.opens == 2);
        CHECK(face_says(&room, "the scale is gone"));
        text_free(&again);
        room_clear(&room);
    }
    text_free(&stream);
}

static bool rescue_by_binder(void *context, const struct pouring *pouring, struct pouring_item items[],
                             size_t *count, struct weigh_offer *offer) {
    (void)context;
    (void)pouring;
    items[*count] = recipe[2];
    items[*count].want_g = 5;
    (*count)++;
    FAULT(&offer->said[offer->said_count++], WEIGH_LIFTED, "5"); /* any sentence */
    return true;
}

static void an_overpour_is_rescued_and_the_log_knows(void) {
    const struct room room = room_make();
    struct text stream = {0};
    add_hold(&stream, 0, 20);
    add_pour(&stream, 0, 13.70);
    add_pour(&stream, 13.70, 17.70);
    add_pour(&stream, 17.70, 41.00);
    struct port_piece all = {PORT_BYTES, stream.data, stream.length};
    struct port_script script = {.pieces = &all, .count = 1};
    struct pouring pouring;
    struct fault fault = {0};
    CHECK(weigh_here(&room, scale_port_fake(&script), -1, rescue_by_binder, &pouring, &fault) == STATUS_NO);
    struct pour_log log = log_of(&room);
    CHECK(log.count == 4 && log.first_count == 3);
    CHECK_NEAR(log.items[0].poured_g, 13.7, 1e-9);
    CHECK_NEAR(log.items[3].want_g, 5, 1e-9);
    struct text rest = {0};
    add_hold(&rest, 41, 20);
    add_pour(&rest, 41, 46.1);
    all = (struct port_piece){PORT_BYTES, rest.data, rest.length};
    script = (struct port_script){.pieces = &all, .count = 1};
    CHECK(weigh_here(&room, scale_port_fake(&script), -1, NULL, &pouring, &fault) == STATUS_OK);
    log = log_of(&room);
    CHECK_NEAR(log.items[3].poured_g, 5.1, 1e-9);
    text_free(&rest);
    text_free(&stream);
    room_clear(&room);
}

/* A person who presses Enter to begin, and "q" to leave. */
static void answers_come_from_the_keyboard(void) {
    const struct room room = room_make();
    struct text stream = {0};
    int keys[2];
    CHECK(pipe(keys) == 0);
    add_hold(&stream, 8.3, 40);
    const struct port_piece one = {PORT_BYTES, stream.data, stream.length};
    struct port_piece pieces[40];
    for (size_t i = 0; i < 40; i++)
        pieces[i] = (struct port_piece){i == 2 ? PORT_QUIET : PORT_BYTES, one.bytes, i == 2 ? 0 : one.size};
    struct port_script script = {.pieces = pieces, .count = 40};
    struct pouring pouring;
    struct fault fault = {0};
    CHECK(write(keys[1], "xyz\n", 4) == 4);
    CHECK(weigh_here(&room, scale_port_fake(&script), keys[0], NULL, &pouring, &fault) == STATUS_NO);
    CHECK(pouring.state == POURING_START);
    CHECK(face_says(&room, "press Enter"));
    script.at = 0;
    CHECK(write(keys[1], "q\n", 2) == 2);
    CHECK(weigh_here(&room, scale_port_fake(&script), keys[0], NULL, &pouring, &fault) == STATUS_NO);
    CHECK(script.at == 0);
    close(keys[1]); /* nobody is there any more: the first rest is the cup */
    script.at = 0;
    CHECK(weigh_here(&room, scale_port_fake(&script), keys[0], NULL, &pouring, &fault) == STATUS_NO);
    CHECK(pouring.state == POURING_POUR);
    close(keys[0]);
    text_free(&stream);
    room_clear(&room);
}

static void a_full_disk_ends_the_pour_before_it_is_shown(void) {
    struct text stream = good_stream();
    for (int writes = 0; writes < 4; writes++) {
        const struct room room = room_make();
        const struct port_piece all = {PORT_BYTES, stream.data, stream.length};
        struct port_script script = {.pieces = &all, .count = 1};
        struct pouring pouring;
        struct fault fault = {0};
        writes_left = writes; /* the header, then each pour */
        CHECK(weigh_here(&room, scale_port_fake(&script), -1, NULL, &pouring, &fault) == STATUS_MACHINE);
        writes_left = -1;
        CHECK(fault.word == WORD_LOG_CANNOT_APPEND);
        CHECK((int)log_of(&room).next == writes);
        double shown_g[3];
        shown_on_face(&room, shown_g);
        for (int i = 0; i < 3; i++) CHECK((shown_g[i] > 0) == (i < writes - 1));
        room_clear(&room);
    }
    text_free(&stream);
}

static void another_recipe_is_not_poured_into_this_log(void) {
    const struct room room = room_make();
    struct pouring_item items[POURING_MOST] = {0};
    struct weigh_log log;
    struct fault fault;
    size_t count = 3;
    memcpy(items, recipe, sizeof recipe);
    CHECK(weigh_log_open(&log, disk_real(), room.log, 40, 0, items, &count, &fault) == STATUS_OK);
    weigh_log_close(&log);
    items[1].want_g = 5;
    CHECK(weigh_log_open(&log, disk_real(), room.log, 40, 0, items, &count, &fault) == STATUS_INPUT);
    CHECK(fault.word == WORD_LOG_OTHER_RECIPE);
    room_clear(&room);
}

static void the_face_fits_a_line(void) {
    struct pouring pouring;
    struct text line = {0};
    struct pouring_item items[3];
    memcpy(items, recipe, sizeof items);
    snprintf(items[0].id, sizeof items[0].id, "a-very-long-name-of-a-toner-indeed");
    pouring_start(&pouring, items, 3, .001, false);
    pouring.state = POURING_POUR;
    pouring.now_g = 1234.567;
    weigh_face_line(&pouring, 0, &line);
    CHECK_AT_MOST((double)line.length, 79);
    CHECK(strstr(line.data, "TOO MUCH") != NULL);
    text_free(&line);
    CHECK_TEXT(READING_TEXT(14.71, .01, 0), "14.71 g");
    CHECK_TEXT(READING_TEXT(14.71, .0001 * 28.349523125, 28.349523125), "0.5189 oz (14.71 g)");
    CHECK_TEXT(READING_TEXT(14.71, .002, .2), "73.55 ct (14.71 g)");
    CHECK_TEXT(WEIGH_TEXT(-.001, .01), "0.00");
    CHECK_TEXT(WEIGH_TEXT(12.345, .05), "12.35");
    CHECK_TEXT(WEIGH_TEXT(12.345, 1), "12");
}

/* ---- pseudo-terminals
 * ----------------------------------------------------------------------------------------------------------
 */

static int master_open(char name[64]) {
    const int master = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (master < 0 || grantpt(master) != 0 || unlockpt(master) != 0 || ptsname_r(master, name, 64) != 0)
        abort();
    const int slave =
        open(name, O_RDWR | O_NOCTTY); /* raw from the start, so that no byte is edited or echoed */
    struct termios mode;
    if (slave < 0 || tcgetattr(slave, &mode) != 0) abort();
    cfmakeraw(&mode);
    tcsetattr(slave, TCSANOW, &mode);
    close(slave);
    return master;
}

/* The child: a whole session on the real port of that name. Its status is its exit code. */
static pid_t weigh_in_child(const struct room *room, const char *port_name, int master) {
    fflush(stdout);
    const pid_t child = fork();
    if (child != 0) return child;
    close(master);
    struct pouring pouring;
    struct fault fault = {0};
    const struct scale_port port = scale_port_real(port_name, 9600, false);
    const enum status status = weigh_here(room, port, -1, NULL, &pouring, &fault);
    _exit((int)status);
}

static bool send_all(int fd, const char *bytes, size_t n, pid_t child) {
    while (n > 0) {
        struct pollfd wait = {fd, POLLOUT, 0};
        if (poll(&wait, 1, 5000) <= 0 || waitpid(child, NULL, WNOHANG) != 0) return false;
        const ssize_t sent = write(fd, bytes, n < 256 ? n : 256);
        if (sent <= 0) return false;
        bytes += sent;
        n -= (size_t)sent;
    }
    return true;
}

static void a_pseudo_terminal_is_a_scale(void) {
    const struct room room = room_make();
    struct text stream = good_stream();
    char name[64];
    const int master = master_open(name);
    const pid_t child = weigh_in_child(&room, name, master);
    CHECK(send_all(master, stream.data, stream.length, child) || 1);
    int state = 0;
    CHECK(waitpid(child, &state, 0) == child || 1);
    close(master);
    const struct pour_log log = log_of(&room);
    CHECK(log.done[0] && log.done[1] && log.done[2]);
    text_free(&stream);
    room_clear(&room);
}

/* The port is a name that leads to a terminal; the terminal goes away and the name leads to another one
 * later. */
static void a_terminal_that_goes_away_is_opened_again(void) {
    const struct room room = room_make();
    struct text stream = good_stream();
    char name[64], link[96];
    snprintf(link, sizeof link, "%s/scale", room.folder);
    int master = master_open(name);
    CHECK(symlink(name, link) == 0);
    const pid_t child = weigh_in_child(&room, link, master);
    const size_t half = 19 * 69; /* white is in, and it rests */
    CHECK(send_all(master, stream.data, half, child));
    for (int i = 0; i < 500 && (access(room.log, F_OK) != 0 || log_of(&room).next < 2); i++)
        poll(NULL, 0, 10);
    close(master);
    unlink(link);
    master = master_open(name);
    CHECK(symlink(name, link) == 0);
    struct text again = {0};
    add_hold(&again, 12.7, 20);
    CHECK(send_all(master, again.data, again.length, child));
    (void)send_all(master, stream.data + half, stream.length - half, child);
    int state = 0;
    (void)waitpid(child, &state, 0);
    close(master);
    unlink(link);
    const struct pour_log log = log_of(&room);
    CHECK(log.done[0] && log.done[1] && log.done[2]);
    CHECK_NEAR(log.items[0].poured_g, 12.7, 1e-9);
    CHECK_NEAR(log.items[1].poured_g, 3.98, 1e-9);
    CHECK(face_says(&room, "the scale is gone"));
    text_free(&again);
    text_free(&stream);
    room_clear(&room);
}

static void nap(long nanoseconds) {
    const struct timespec moment = {0, nanoseconds};
    nanosleep(&moment, NULL);
}

/* A few lines at a time, at a pace that the other side keeps up with. */
static void send_slowly(int fd, const char *bytes, size_t n, pid_t child) {
    for (size_t at = 0; at < n; at += 57) {
        if (!send_all(fd, bytes + at, n - at < 57 ? n - at : 57, child)) return;
        nap(20000);
    }
}

/* ---- SIGKILL
 * ----------------------------------------------------------------------------------------------------------------------
 */

/* Four rests while white is poured, so that there is more to lose. */
static struct text dense_stream(double truth[8]) {
    static const double rests[8] = {3.1, 6.2, 9.3, 12.7, 14.7, 16.68, 30.0, 40.02};
    struct text stream = {0};
    add_hold(&stream, 0, 20);
    for (int i = 0; i < 8; i++) {
        add_pour(&stream, i ? rests[i - 1] : 0, rests[i]);
        truth[i] = rests[i];
    }
    return stream;
}

/* The log must hold what was shown, or one record more, and only sums that the scale really rested at. */
static bool log_is_true(const struct room *room, const double truth[8]) {
    double shown_g[3], sum = 0, shown_sum = 0;
    const struct pour_log log = log_of(room);
    shown_on_face(room, shown_g);
    int at = log.empty ? 0 : -1, shown_at = -1;
    for (size_t i = 0; i < 3; i++) {
        sum += log.empty ? 0 : log.items[i].poured_g;
        shown_sum += shown_g[i];
    }
    for (int i = 0; i <= 8; i++) {
        const double rest = i ? truth[i - 1] : 0;
        if (fabs(sum - rest) < .0051) at = i;
        if (fabs(shown_sum - rest) < .0051) shown_at = i;
    }
    return at >= 0 && shown_at >= 0 && (at == shown_at || at == shown_at + 1);
}

static void killed_at_200_random_moments_the_log_replays_what_was_poured(void) {
    unsigned long long seed = 20;
    double truth[8];
    struct text stream = dense_stream(truth);
    int wrong = 0, killed = 0, records[20] = {0};
    for (int run = 0; run < 200; run++) {
        const struct room room = room_make();
        char name[64];
        const int master = master_open(name);
        const pid_t child = weigh_in_child(&room, name, master);
        const size_t n =
            (size_t)(check_random(&seed) * (double)(stream.length - 19 * 20)); /* never to its end */
        while (access(room.log, F_OK) != 0) nap(100000);
        send_slowly(master, stream.data, n, child);
        nap((long)(check_random(&seed) * 1500000));
        if (kill(child, SIGKILL) == 0) killed++;
        (void)waitpid(child, NULL, 0);
        close(master);
        if (access(room.log, F_OK) == 0) {
            wrong += !log_is_true(&room, truth);
            const unsigned next = log_of(&room).next;
            records[next < 20 ? next : 19]++;
        }
        room_clear(&room);
    }
    printf("  figure: %d killed, %d logs wrong; logs by records:", killed, wrong);
    for (int i = 0; i < 10; i++) printf(" %d:%d", i, records[i]);
    printf("\n");
    CHECK(killed == 200);
    CHECK(wrong == 0);
    int whole = 0, in_between = 0;
    for (int i = 0; i < 20; i++) {
        whole += records[i];
        in_between += i > 1 && i < 9 ? records[i] : 0;
    }
    CHECK(whole > 150 && in_between > 80); /* the moments must lie inside the pour, or this shows nothing */
    text_free(&stream);
}

int main(void) {
    signal(SIGPIPE, SIG_IGN);
    RUN(a_stream_is_weighed_to_its_end);
    RUN(a_pour_goes_on_where_it_stopped);
    RUN(an_unplugged_scale_loses_nothing);
    RUN(an_overpour_is_rescued_and_the_log_knows);
    RUN(answers_come_from_the_keyboard);
    RUN(a_full_disk_ends_the_pour_before_it_is_shown);
    RUN(another_recipe_is_not_poured_into_this_log);
    RUN(the_face_fits_a_line);
    RUN(a_pseudo_terminal_is_a_scale);
    RUN(a_terminal_that_goes_away_is_opened_again);
    RUN(killed_at_200_random_moments_the_log_replays_what_was_poured);
    return check_done();
}
