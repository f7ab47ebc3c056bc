/* A scale without a scale: opens a pseudo-terminal, prints its name, and writes to it ten times a second what
 * a bench scale in continuous output writes (docs/scale.md). Each line on standard input is what lies on it
 * now, in grams; it ends when that ends. Usage: pseudo_scale */
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

enum { LINES_A_SECOND = 10 };

/* The other end stays open here, so that a server that comes and goes hangs nothing up. */
static int open_line(void) {
    const int line = posix_openpt(O_RDWR | O_NOCTTY);
    if (line < 0 || grantpt(line) != 0 || unlockpt(line) != 0) return -1;
    const int other = open(ptsname(line), O_RDWR | O_NOCTTY);
    struct termios raw;
    if (other < 0 || tcgetattr(other, &raw) != 0) return -1;
    cfmakeraw(&raw);
    return tcsetattr(other, TCSANOW, &raw) == 0 && fcntl(line, F_SETFL, O_NONBLOCK) == 0 ? line : -1;
}

int main(void) {
    const int line = open_line();
    double g = 0;
    char typed[64];
    if (line < 0) return perror("pseudo_scale"), 1;
    printf("%s\n", ptsname(line));
    fflush(stdout);
    for (;;) {
        struct pollfd in = {.fd = STDIN_FILENO, .events = POLLIN};
        const int ready = poll(&in, 1, 1000 / LINES_A_SECOND);
        if (ready > 0) {
            const ssize_t n = read(STDIN_FILENO, typed, sizeof typed - 1);
            if (n <= 0) return 0;
            typed[n] = 0;
            char *last = typed;
            for (char *at = typed; at < typed + n - 1; at++)
                if (*at == '\n') last = at + 1;
            g = strtod(last, NULL);
            continue;
        }
        const int n = snprintf(typed, sizeof typed, "%10.2f g\r\n", g);
        if (write(line, typed, (size_t)n) != n)
            continue; /* nobody reads: what is too much is lost, as on a cable */
    }
}
