/* Stands in for russet-decode in tests/fault: what it does wrong is the fourth byte of the "photograph". The
 * modes of the fence are those of a decoder that a file has taken over. */
#include "decode/fence.h"
#include "decode/sink.h"
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

enum { WIDTH = 8, HEIGHT = 4 };

static void hang(void) {
    for (;;) sleep(1);
}

static void begin(struct sink *sink, uint32_t width, uint32_t height) {
    struct file_light light;
    light_of_srgb(&light, true, 1);
    (void)sink_begin(sink, WIDTH, HEIGHT, 1, 8, &light);
    light_end(&light);
    sink->head.width = width;
    sink->head.height = height;
}

static void send_rows(struct sink *sink, int rows) {
    int room;
    void *slot = sink_room(sink, &room);
    if (slot) memset(slot, 77, (size_t)rows * WIDTH * 3);
    (void)sink_send(sink, rows);
}

static void finish(struct sink *sink) {
    begin(sink, WIDTH, HEIGHT);
    send_rows(sink, HEIGHT);
    sink_say(sink, WIRE_DONE, WIRE_REFUSED_NOTHING);
}

static void say_head(struct sink *sink, uint32_t width, uint32_t height) {
    sink->begin = NULL;
    sink->head = (struct wire_record){
        .width = width, .height = height, .orientation = 1, .bits = 8, .clip = 1, .reduced = 1};
    sink_say(sink, WIRE_HEAD, WIRE_REFUSED_NOTHING);
    hang();
}

/* As much memory as it gets; more than the limit would be a broken fence, which is told by hanging. */
static void hoard(struct sink *sink) {
    const size_t piece = 64 << 20;
    size_t got = 0;
    while (got < ((size_t)8 << 30) &&
           mmap(NULL, piece, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0) != MAP_FAILED)
        got += piece;
    if (got >= (size_t)3 << 30) hang();
    sink_say(sink, WIRE_REFUSED, WIRE_REFUSED_MEMORY);
}

/* What libraries ask in passing comes back as a refusal; whoever gets through does not finish. */
static void try_files(struct sink *sink) {
    struct rlimit files;
    const bool none =
        open("/etc/passwd", O_RDONLY) < 0 && open("/tmp/russet-stray", O_WRONLY | O_CREAT, 0600) < 0 &&
        access("/etc/passwd", R_OK) != 0 && write(1, "x", 1) < 0 && getrlimit(RLIMIT_NOFILE, &files) != 0;
    if (none)
        finish(sink);
    else
        hang();
}

static void run_code(void) {
    (void)mmap(NULL, 4096, PROT_READ | PROT_WRITE | PROT_EXEC, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
}

static void misbehave(struct sink *sink, char mode) {
    static char *const none[] = {NULL};
    struct wire_record record = {0};
    switch (mode) {
    case 'a':
        abort();
    case 's':
        raise(SIGSEGV);
        break;
    case 'e':
        _exit(0);
    case 'h':
        hang();
        break;
    case 'H':
        begin(sink, WIDTH, HEIGHT);
        hang();
        break;
    case 'b':
        (void)!send(WIRE_SOCKET_FD, "nonsense", 8, 0);
        hang();
        break;
    case 'M':
        (void)!send(WIRE_SOCKET_FD, &record, sizeof record, 0);
        hang();
        break;
    case '0':
        say_head(sink, 0, 10);
        break;
    case 'L':
        say_head(sink, 65000, 65000);
        break;
    case 'd':
        begin(sink, WIDTH, HEIGHT);
        sink_say(sink, WIRE_DONE, WIRE_REFUSED_NOTHING);
        hang();
        break;
    case 'r':
        begin(sink, WIDTH, HEIGHT);
        sink->next = 2;
        send_rows(sink, 1);
        hang();
        break;
    case 'R':
        begin(sink, WIDTH, HEIGHT);
        send_rows(sink, HEIGHT + 1);
        hang();
        break;
    case 'q':
        sink_say(sink, WIRE_REFUSED, (enum wire_refusal)999);
        hang();
        break;
    case 'm':
        hoard(sink);
        break;
    case 'f':
        try_files(sink);
        break;
    case 'n':
        (void)socket(AF_INET, SOCK_STREAM, 0);
        break;
    case 'x':
        execve("/bin/true", none, none);
        break;
    case 'p':
        (void)fork();
        break;
    case 't':
        (void)!ftruncate(WIRE_MEMORY_FD, 0);
        break;
    case 'c':
        run_code();
        break;
    case 'g':
        finish(sink);
        break;
    default:
        break;
    }
    hang(); /* nothing above should come back */
}

/* Before the fence: afterwards fcntl is refused and nothing would be seen. */
static bool a_stray_file_is_open(void) {
    for (int fd = 6; fd < 64; fd++)
        if (fcntl(fd, F_GETFD) >= 0) return true;
    return false;
}

int main(void) {
    char head[4] = "";
    struct sink sink;
    if (pread(WIRE_FILE_FD, head, 4, 0) != 4 || !sink_to_wire(&sink, WIRE_SOCKET_FD, WIRE_MEMORY_FD))
        return 1;
    if (a_stray_file_is_open()) abort();
    if (!fence_limits(4) || !fence_close()) return 1;
    misbehave(&sink, head[3]);
}
