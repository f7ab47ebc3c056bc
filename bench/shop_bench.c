/* The page's server on a shop of 10,000 jobs (or JOBS, a thousand at least) with ten readings each
 * (invented): what each of the page's screens asks, over HTTP, against the same rows read by plain sqlite3 in
 * the same run, and the server's memory.
 *
 *     build/release/bench/shop_bench build/release/russet [JOBS]
 *
 * The shop is made in $TMPDIR or /tmp and removed afterwards. "plain" prepares, steps and reads every column
 * of the same SELECTs on a connection that stays open; it makes no JSON, opens no book and asks nobody who
 * he is. */
#include "bench.h"
#include "check.h"
#include "shop_fill.h"
#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/tcp.h>
#include <signal.h>
#include <sqlite3.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>

enum { READINGS = 10, CUSTOMERS = 3000, FINISHES = 5000, TONERS = 24, ASKED = 101, SQL_MOST = 10 };

static int jobs = 10000;

/* ---- the shop ---- */

static char customers[CUSTOMERS][ID_LENGTH + 1], toners[TONERS][8], lots[TONERS][ID_LENGTH + 1];

static void fill_ground(struct book *book) {
    char name[40];
    for (int i = 0; i < CUSTOMERS; i++) {
        snprintf(name, sizeof name, "demo customer %d", i + 1);
        struct customer_row row = {
            .name = name, .telephone = "+00 555 0190 100", .address = "Invented Quay 7\nHarbour Town"};
        FILL(customer_store_add(book, &row, &shop_fault));
        memcpy(customers[i], row.id, sizeof row.id);
    }
    for (int i = 0; i < TONERS; i++) {
        snprintf(toners[i], sizeof toners[i], "t-%d", i);
        struct toner_row toner = {
            .id = toners[i], .name = toners[i], .role = "colour", .density_g_ml = 1.1, .warn_mg = 50000};
        FILL(toner_store_put(book, &toner, &shop_fault));
        struct lot_row lot = {.toner = toners[i], .name = "A", .price_minor_per_kg = -1};
        FILL(toner_store_add_lot(book, &lot, &shop_fault));
        memcpy(lots[i], lot.id, sizeof lot.id);
        struct stock_move move = {.lot = lot.id, .mg = 2000000000, .reason = "received"};
        FILL(toner_store_move(book, &move, &shop_fault));
    }
}

static void fill_a_pot(struct book *book, const char *job, const char *colour, int i) {
    struct pot_row pot = {.job = job, .colour = colour, .name = "cognac", .document = "{\"parts\":[]}"};
    FILL(pot_store_add(book, &pot, &shop_fault));
    for (int k = 0; k < 4; k++) {
        struct pour_row pour = {
            .pot = pot.id, .toner = toners[(i + k) % TONERS], .lot = lots[(i + k) % TONERS], .mg = 5000 + i};
        FILL(pot_store_pour(book, &pour, &shop_fault));
    }
}

static void fill_a_quote(struct book *book, const char *job) {
    long long number;
    FILL(quote_store_next(book, NULL, &number, &shop_fault));
    struct quote_row quote = {
        .job = job,
        .number = number,
        .currency = "EUR",
        .total_minor = 25000,
        .document = "{\"kind\":\"quote\",\"currency\":\"EUR\",\"lines\":[],\"low\":{},\"high\":{}}"};
    FILL(quote_store_add(book, &quote, &shop_fault));
}

static void fill_a_job(struct book *book, int i) {
    char title[60];
    snprintf(title, sizeof title, "Helm seat %d of the launch", i + 1);
    struct job_row job = {.customer = customers[i % CUSTOMERS],
                          .title = title,
                          .state = i % 50 ? "ended" : "open",
                          .invented = true};
    FILL(job_store_add(book, &job, &shop_fault));
    struct piece_row piece = {.job = job.id, .name = "seat cushion"};
    struct colour_row colour = {.job = job.id, .name = "cognac"};
    FILL(piece_store_add(book, &piece, &shop_fault));
    FILL(colour_store_add(book, &colour, &shop_fault));
    for (int k = 0; k < READINGS; k++) {
        struct entry_row reading = {.job = job.id,
                                    .colour = colour.id,
                                    .step = JOB_COLOUR,
                                    .kind = "reading",
                                    .document = fill_reading};
        FILL(entry_store_add(book, &reading, &shop_fault));
    }
    fill_a_pot(book, job.id, colour.id, i);
    fill_a_quote(book, job.id);
    if (i >= FINISHES) return;
    struct finish_row finish = {
        .job = job.id,
        .name = title,
        .words = "helm seat",
        .has_lab = true,
        .invented = true,
        .lab = {20 + 60 * (i % 97) / 97., 25. * (i % 89) / 89, 40. * (i % 83) / 83, {LIGHT_D65, OBSERVER_10}},
        .document = fill_reading};
    FILL(finish_store_add(book, &finish, &shop_fault));
}

static void fill_large(struct book *book) {
    FILL(book_begin(book, &shop_fault));
    fill_ground(book);
    for (int i = 0; i < jobs; i++) {
        fill_a_job(book, i);
        if (i % 1000 != 999) continue;
        FILL(book_commit(book, &shop_fault));
        FILL(book_begin(book, &shop_fault));
    }
    FILL(book_commit(book, &shop_fault));
}

/* ---- the server, and asking it ---- */

static pid_t server;
static int line = -1;
static char host[80], cookie[200];

static void start_server(const char *russet, const char *shop, char address[200]) {
    int out[2];
    if (pipe(out) != 0) abort();
    server = fork();
    if (server == 0) {
        dup2(out[1], 1);
        prctl(PR_SET_PDEATHSIG, SIGTERM); /* a refused question aborts the bench: nobody stays behind */
        execl(russet, russet, "serve", "--shop", shop, "--port", "0", (char *)NULL);
        _exit(127);
    }
    close(out[1]);
    FILE *said = fdopen(out[0], "r");
    if (!said || !fgets(address, 200, said)) abort();
    address[strcspn(address, "\n")] = 0;
    const char *begin = strstr(address, "//") + 2;
    snprintf(host, sizeof host, "%.*s", (int)strcspn(begin, "/"), begin);
}

static void connect_line(void) {
    struct sockaddr_in at = {.sin_family = AF_INET, .sin_port = htons((uint16_t)atoi(strchr(host, ':') + 1))};
    const int one = 1;
    inet_pton(AF_INET, "127.0.0.1", &at.sin_addr);
    line = socket(AF_INET, SOCK_STREAM, 0);
    if (connect(line, (struct sockaddr *)&at, sizeof at) != 0) abort();
    setsockopt(line, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
}

/* One request on the line that stays open; the body's bytes, or abort. */
static char answer_text[32 << 20];
static size_t ask(const char *method, const char *path, const char *body) {
    char head[1000];
    const int n = snprintf(head, sizeof head,
                           "%s %s HTTP/1.1\r\nHost: %s\r\nOrigin: http://%s\r\nCookie: %s\r\nContent-Type: "
                           "application/json\r\nContent-Length: %zu\r\n\r\n",
                           method, path, host, host, cookie, strlen(body));
    struct text all = {0};
    text_add_bytes(&all, head, (size_t)n);
    text_add(&all, body);
    if (write(line, all.data, all.length) != (ssize_t)all.length) abort();
    text_free(&all);
    size_t got = 0, wanted = sizeof answer_text;
    const char *end = NULL;
    while (got < wanted) {
        const ssize_t more = read(line, answer_text + got, sizeof answer_text - got - 1);
        if (more <= 0) abort();
        got += (size_t)more;
        answer_text[got] = 0;
        if (end || !(end = strstr(answer_text, "\r\n\r\n"))) continue;
        const char *length = strcasestr(answer_text, "Content-Length:");
        wanted =
            (size_t)(end + 4 - answer_text) + (length && length < end ? strtoul(length + 15, NULL, 10) : 0);
    }
    if (strncmp(answer_text + 9, "200", 3) != 0 && strncmp(answer_text + 9, "303", 3) != 0) {
        fprintf(stderr, "%s %s: %.300s\n", path, body, answer_text);
        abort();
    }
    return got - (size_t)(end + 4 - answer_text);
}

static void come_in(const char *address) {
    ask("GET", strchr(strstr(address, "//") + 2, '/'), "");
    const char *set = strcasestr(answer_text, "Set-Cookie: ");
    snprintf(cookie, sizeof cookie, "%.*s", (int)strcspn(set + 12, ";"), set + 12);
}

static long memory_kib(const char *key) {
    char path[40], text[200];
    snprintf(path, sizeof path, "/proc/%d/status", (int)server);
    FILE *file = fopen(path, "r");
    long kib = 0;
    while (file && fgets(text, sizeof text, file))
        if (strncmp(text, key, strlen(key)) == 0) kib = atol(text + strlen(key) + 1);
    if (file) fclose(file);
    return kib;
}

/* ---- the same rows in plain sqlite3 ---- */

static sqlite3 *plain;

static size_t read_all(const char *sql) {
    sqlite3_stmt *statement;
    size_t bytes = 0;
    if (sqlite3_prepare_v2(plain, sql, -1, &statement, NULL) != SQLITE_OK) {
        printf("%s: %s\n", sql, sqlite3_errmsg(plain));
        abort();
    }
    while (sqlite3_step(statement) == SQLITE_ROW)
        for (int i = 0; i < sqlite3_column_count(statement); i++)
            bytes += sqlite3_column_text(statement, i) ? (size_t)sqlite3_column_bytes(statement, i) : 0;
    sqlite3_finalize(statement);
    return bytes;
}

struct question {
    const char *screen, *path, *body;
    const char *sql[SQL_MOST]; /* ended by NULL */
};

#define JOB_500 "(SELECT id FROM job WHERE number = 500)"
#define ENTRY \
    "e.id, e.job, e.piece, e.colour, e.step, e.kind, e.words, e.document, e.replaces, e.at_ms, e.zone"
#define STEPS                                                                                              \
    "SELECT DISTINCT e.job, step FROM entry e WHERE job IN (SELECT id FROM job ORDER BY created_ms DESC, " \
    "id DESC LIMIT 41) AND NOT EXISTS (SELECT 1 FROM entry r WHERE r.replaces = e.id)"
#define NAMED "instr(lower(number || ' ' || title || ' ' || coalesce(c.name, '')), 'seat 77') > 0"

static const struct question questions[] = {
    {"jobs, newest 40",
     "/api/run/job/list",
     "{\"arguments\":{\"--top\":40}}",
     {"SELECT job.*, c.name FROM job LEFT JOIN customer c ON c.id = job.customer ORDER BY job.created_ms "
      "DESC, job.id DESC LIMIT 41",
      STEPS}},
    {"jobs on the bench",
     "/api/run/job/list",
     "{\"arguments\":{\"--top\":40,\"--state\":\"bench\"}}",
     {"SELECT job.*, c.name FROM job LEFT JOIN customer c ON c.id = job.customer WHERE state IN ('open', "
      "'waiting') ORDER BY job.created_ms DESC, job.id DESC LIMIT 41",
      STEPS}},
    {"jobs by words",
     "/api/run/job/list",
     "{\"arguments\":{\"--top\":40,\"--words\":\"seat 77\"}}",
     {"SELECT job.*, c.name FROM job LEFT JOIN customer c ON c.id = job.customer WHERE " NAMED
      " ORDER BY job.created_ms DESC, job.id DESC LIMIT 41",
      STEPS}},
    {"a job with its documents",
     "/api/run/job/show",
     "{\"arguments\":{\"JOB\":500,\"--documents\":true}}",
     {"SELECT * FROM job WHERE number = 500",
      "SELECT * FROM customer WHERE id = (SELECT customer FROM job WHERE number = 500)",
      "SELECT * FROM piece WHERE job = " JOB_500, "SELECT * FROM colour WHERE job = " JOB_500,
      "SELECT " ENTRY " FROM entry e WHERE e.job = " JOB_500
      " AND NOT EXISTS (SELECT 1 FROM entry r WHERE r.replaces = e.id) ORDER BY e.at_ms, e.id",
      "SELECT * FROM entry_photograph WHERE entry IN (SELECT id FROM entry WHERE job = " JOB_500 ")",
      "SELECT * FROM pot WHERE job = " JOB_500,
      "SELECT * FROM pour WHERE pot IN (SELECT id FROM pot WHERE job = " JOB_500 ")",
      "SELECT * FROM pot_event WHERE pot IN (SELECT id FROM pot WHERE job = " JOB_500 ")"}},
    {"what others did (every 4 s)",
     "/api/run/job/show",
     "{\"arguments\":{\"JOB\":500}}",
     {"SELECT " ENTRY " FROM entry e WHERE e.job = " JOB_500
      " AND NOT EXISTS (SELECT 1 FROM entry r WHERE r.replaces = e.id) ORDER BY e.at_ms, e.id"}},
    {"customers, of a word",
     "/api/run/customer/list",
     "{\"arguments\":{\"--top\":40,\"--words\":\"customer 77\"}}",
     {"SELECT * FROM customer WHERE erased_ms IS NULL AND instr(lower(name), 'customer 77') > 0 ORDER BY "
      "name, id LIMIT 41"}},
    {"the shelf",
     "/api/run/shelf/show",
     "{\"arguments\":{\"--toners\":true}}",
     {"SELECT *, (SELECT coalesce(sum(m.mg), 0) FROM stock_move m JOIN lot l ON m.lot = l.id WHERE l.toner = "
      "t.id AND l.used_up = 0) FROM toner t ORDER BY id",
      "SELECT *, (SELECT coalesce(sum(m.mg), 0) FROM stock_move m WHERE m.lot = l.id) FROM lot l ORDER BY "
      "toner, id"}},
    {"the book, newest",
     "/api/run/finish/find",
     "{\"arguments\":{\"--top\":24}}",
     {"SELECT * FROM finish ORDER BY created_ms DESC, id DESC LIMIT 24"}},
    {"the book, by words",
     "/api/run/finish/find",
     "{\"arguments\":{\"--top\":24,\"--words\":\"seat 477\"}}",
     {"SELECT * FROM finish WHERE name LIKE '%seat%' AND name LIKE '%477%' ORDER BY created_ms DESC, id DESC "
      "LIMIT 24"}},
    {"the book, near a colour",
     "/api/run/finish/find",
     "{\"arguments\":{\"--top\":24,\"--near\":\"--lab=41,15,20\"}}",
     {"SELECT rowid, lab_l, lab_a, lab_b FROM finish WHERE lab_l IS NOT NULL",
      "SELECT * FROM finish WHERE rowid IN (SELECT rowid FROM finish ORDER BY (lab_l - 41) * (lab_l - 41) + "
      "(lab_a - 15) * (lab_a - 15) + (lab_b - 20) * (lab_b - 20) LIMIT 24)"}},
    {"a quote",
     "/api/run/quote",
     "{\"arguments\":{\"JOB\":500,\"--show\":true}}",
     {"SELECT * FROM job WHERE number = 500",
      "SELECT * FROM quote WHERE job = " JOB_500 " ORDER BY made_ms, id"}},
    {"pots of a job",
     "/api/run/pot/list",
     "{\"arguments\":{\"--job\":500}}",
     {"SELECT *, (SELECT sum(mg) FROM pour WHERE pour.pot = pot.id) FROM pot WHERE job = " JOB_500}},
};

static double median_asked(const struct question *q, size_t *bytes) {
    double took[ASKED];
    for (int i = 0; i < ASKED; i++) {
        const double begun = now_ms();
        *bytes = ask("POST", q->path, q->body);
        took[i] = now_ms() - begun;
    }
    qsort(took, ASKED, sizeof *took, by_value);
    return took[ASKED / 2];
}

static double median_plain(const struct question *q) {
    double took[ASKED];
    for (int i = 0; i < ASKED; i++) {
        const double begun = now_ms();
        for (size_t k = 0; q->sql[k]; k++) read_all(q->sql[k]);
        took[i] = now_ms() - begun;
    }
    qsort(took, ASKED, sizeof *took, by_value);
    return took[ASKED / 2];
}

static void measure(void) {
    double worst = 0;
    struct bench_row slowest = {.what = "the page's slowest answer", .size = jobs, .peer = "plain sqlite3"};
    char quality[100];
    printf("%-28s %9s %9s %7s %9s\n", "what a screen asks", "asked ms", "plain ms", "ratio", "bytes");
    for (size_t i = 0; i < sizeof questions / sizeof *questions; i++) {
        size_t bytes = 0;
        const double asked = median_asked(&questions[i], &bytes), rows = median_plain(&questions[i]);
        worst = asked > worst ? asked : worst;
        if (asked == worst) {
            snprintf(quality, sizeof quality, "%s; with JSON, the gate and the book opened",
                     questions[i].screen);
            slowest.ours_ms = asked, slowest.peer_ms = rows, slowest.quality = quality;
        }
        printf("%-28s %9.2f %9.2f %7.1f %9zu\n", questions[i].screen, asked, rows, asked / rows, bytes);
    }
    const struct question note = {
        .path = "/api/run/job/log",
        .body = "{\"arguments\":{\"JOB\":500,\"--step\":\"look\",\"--note\":\"bench\"}}"};
    size_t bytes;
    printf("%-28s %9.2f\n", "a note is logged (synced)", median_asked(&note, &bytes));
    printf("slowest median %.2f ms; server resident %.1f MiB, at most %.1f MiB\n", worst,
           (double)memory_kib("VmRSS:") / 1024, (double)memory_kib("VmHWM:") / 1024);
    slowest.memory_mib = (double)memory_kib("VmHWM:") / 1024;
    bench_hand_in(slowest);
}

int main(int count, char **word) {
    struct shop_room room = {.ms = 1773496800000LL, .arena = arena_new()};
    char file[300], address[200];
    if (count < 2) return printf("usage: shop_bench RUSSET [JOBS]\n"), 2;
    if (count > 2) jobs = atoi(word[2]);
    if (jobs < 1000) return printf("a thousand jobs at least\n"), 2;
    if (!getenv("TMPDIR")) setenv("TMPDIR", "/tmp", 1);
    shop_room_folder(room.dir, "bench");
    struct book_how how = shop_room_how(&room, 1);
    how.make = true;
    FILL(book_open(room.dir, how, &room.book, &shop_fault));
    const double begun = now_ms();
    fill_large(room.book);
    book_close(room.book);
    room.book = NULL;
    snprintf(file, sizeof file, "%s/book.sqlite", room.dir);
    struct stat info;
    if (stat(file, &info) != 0 || sqlite3_open(file, &plain) != SQLITE_OK) return 1;
    printf("%d jobs, %d readings, %d customers, %d finishes: %.0f MiB, filled in %.0f s\n", jobs,
           jobs * READINGS, CUSTOMERS, FINISHES, (double)info.st_size / (1 << 20), (now_ms() - begun) / 1000);
    start_server(word[1], room.dir, address);
    connect_line();
    come_in(address);
    measure();
    kill(server, SIGTERM);
    waitpid(server, NULL, 0);
    sqlite3_close(plain);
    shop_room_end(&room);
    return 0;
}
