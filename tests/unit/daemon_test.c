/* The daemon against slow and many bodies: a request that does not come whole in time is cut, and all bodies
 * together stay within their limit. Spoken over sockets, byte by byte. */
#include "check.h"
#include "server/daemon.h"
#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

static void answer_size(const struct call *call, struct answer *answer) {
    answer_json(answer, 200, json_pack("{s:I}", "size", (json_int_t)call->body.size));
}
static int refuse_nothing(struct call *call) {
    (void)call;
    return 0;
}
static size_t a_thousand(const struct call *call) {
    (void)call;
    return 1000;
}

static struct MHD_Daemon *begin(struct daemon_settings *settings, unsigned *port) {
    struct MHD_Daemon *daemon = NULL;
    struct fault fault;
    *settings = (struct daemon_settings){.address = "127.0.0.1",
                                         .answer = answer_size,
                                         .refuse = refuse_nothing,
                                         .body_most = a_thousand,
                                         .deadline_s = 1,
                                         .bodies_most = 1500};
    CHECK(daemon_start(settings, &daemon, port, &fault) == STATUS_OK);
    return daemon;
}

static int reach(unsigned port) {
    const int line = socket(AF_INET, SOCK_STREAM, 0);
    struct sockaddr_in to = {.sin_family = AF_INET, .sin_port = htons((uint16_t)port)};
    inet_pton(AF_INET, "127.0.0.1", &to.sin_addr);
    CHECK(connect(line, (struct sockaddr *)&to, sizeof to) == 0);
    return line;
}

static bool say(int line, const char *text) {
    return send(line, text, strlen(text), MSG_NOSIGNAL) == (ssize_t)strlen(text);
}

static void ask(int line, int length) {
    char head[120];
    snprintf(head, sizeof head, "POST /x HTTP/1.1\r\nHost: x\r\nContent-Length: %d\r\n\r\n", length);
    CHECK(say(line, head));
}

/* The HTTP code of what comes back; 0: the line was cut without an answer; -1: nothing yet after wait_ms. */
static int heard(int line, int wait_ms) {
    char text[400] = "";
    struct pollfd wait = {line, POLLIN, 0};
    if (poll(&wait, 1, wait_ms) <= 0) return -1;
    const ssize_t n = recv(line, text, sizeof text - 1, 0);
    int code = 0;
    return n > 0 && sscanf(text, "HTTP/1.1 %d", &code) == 1 ? code : 0;
}

static void a_slow_body_is_cut(void) {
    struct daemon_settings settings;
    unsigned port;
    struct MHD_Daemon *daemon = begin(&settings, &port);
    const int slow = reach(port), quick = reach(port);
    ask(slow, 1000);
    int answer = -1;
    for (int i = 0; i < 100 && answer == -1; i++) {
        if (!say(slow, "a")) break;
        answer = heard(slow, 100);
    }
    CHECK(answer == 0);
    ask(quick, 3); /* and others are served meanwhile */
    CHECK(say(quick, "abc"));
    CHECK(heard(quick, 20000) == 200);
    close(slow);
    close(quick);
    MHD_stop_daemon(daemon);
}

static void all_bodies_together_stay_within_their_limit(void) {
    struct daemon_settings settings;
    unsigned port;
    struct MHD_Daemon *daemon = begin(&settings, &port);
    settings.deadline_s = 60;
    char most[901];
    memset(most, 'a', 900);
    most[900] = 0;
    const int first = reach(port), second = reach(port);
    ask(first, 1000);
    CHECK(say(first, most));
    CHECK(heard(first, 3000) == -1); /* 900 of its 1000 bytes are held */
    ask(second, 900);
    CHECK(say(second, most));
    CHECK(heard(second, 20000) == 503);
    most[100] = 0;
    CHECK(say(first, most));
    CHECK(heard(first, 20000) == 200);
    most[100] = 'a';
    int code = 503; /* what was held is free again, soon after its answer */
    for (int i = 0; i < 100 && code == 503; i++) {
        const int third = reach(port);
        ask(third, 900);
        CHECK(say(third, most));
        code = heard(third, 20000);
        close(third);
        if (code == 503) usleep(100000);
    }
    CHECK(code == 200);
    close(first), close(second);
    MHD_stop_daemon(daemon);
}

static void a_body_over_its_own_limit_is_refused(void) {
    struct daemon_settings settings;
    unsigned port;
    struct MHD_Daemon *daemon = begin(&settings, &port);
    const int line = reach(port);
    ask(line, 1001);
    CHECK(heard(line, 20000) == 413);
    close(line);
    MHD_stop_daemon(daemon);
}

int main(void) {
    RUN(a_slow_body_is_cut);
    RUN(all_bodies_together_stay_within_their_limit);
    RUN(a_body_over_its_own_limit_is_refused);
    return check_done();
}
