#include "device/scale_port.h"
#include "base/memory.h"
#include <errno.h>
#include <fcntl.h>
#include <libserialport.h>
#include <limits.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

struct real_port {
    char name[PATH_MAX];
    int baud;
    bool seven_even;
    int fd;                 /* -1: closed */
    struct sp_port *serial; /* when libserialport opened it */
    bool terminal;          /* its end means that it was unplugged */
};

static const int bauds[] = {1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 0};

const int *scale_port_bauds(void) {
    return bauds;
}

static enum status refuse(const struct real_port *port, int error, struct fault *fault) {
    if (error == EACCES) return FAULT(fault, SCALE_NOT_ALLOWED, port->name);
    return FAULT(fault, SCALE_CANNOT_OPEN, port->name, strerror(error));
}

static bool set_up_serial(struct sp_port *serial, const struct real_port *port) {
    return sp_set_baudrate(serial, port->baud) == SP_OK &&
           sp_set_bits(serial, port->seven_even ? 7 : 8) == SP_OK &&
           sp_set_parity(serial, port->seven_even ? SP_PARITY_EVEN : SP_PARITY_NONE) == SP_OK &&
           sp_set_stopbits(serial, 1) == SP_OK && sp_set_flowcontrol(serial, SP_FLOWCONTROL_NONE) == SP_OK;
}

/* INPUT when it is a serial port that does not want; *is_serial false when it is none. */
static enum status open_serial(struct real_port *port, const char *path, bool *is_serial,
                               struct fault *fault) {
    *is_serial = sp_get_port_by_name(path, &port->serial) == SP_OK;
    if (!*is_serial) return STATUS_OK;
    bool ready = sp_open(port->serial, SP_MODE_READ_WRITE) == SP_OK;
    const int error = errno;
    if (ready)
        ready = set_up_serial(port->serial, port) && sp_get_port_handle(port->serial, &port->fd) == SP_OK;
    if (ready) return STATUS_OK;
    sp_close(port->serial);
    sp_free_port(port->serial);
    port->serial = NULL;
    port->fd = -1;
    return refuse(port, error ? error : EIO, fault);
}

/* A pseudo-terminal has no speed; it only must not edit or echo. */
static bool set_raw(int fd) {
    struct termios mode;
    if (tcgetattr(fd, &mode) != 0) return false;
    cfmakeraw(&mode);
    mode.c_cc[VMIN] = 1;
    mode.c_cc[VTIME] = 0;
    return tcsetattr(fd, TCSANOW, &mode) == 0;
}

/* A pipe with a name is waited for until somebody writes to it; nothing else is waited for. */
static enum status open_plain(struct real_port *port, const char *path, struct fault *fault) {
    struct stat info;
    const bool pipe_there = stat(path, &info) == 0 && S_ISFIFO(info.st_mode);
    port->fd = open(path, O_RDONLY | O_NOCTTY | O_CLOEXEC | (pipe_there ? 0 : O_NONBLOCK));
    if (port->fd < 0) return refuse(port, errno, fault);
    if (fstat(port->fd, &info) == 0 && S_ISDIR(info.st_mode)) {
        close(port->fd);
        port->fd = -1;
        return FAULT(fault, FILE_IS_DIRECTORY, port->name);
    }
    port->terminal = isatty(port->fd) && set_raw(port->fd);
    return STATUS_OK;
}

static enum status real_open(void *self, struct fault *fault) {
    struct real_port *port = self;
    char path[PATH_MAX];
    bool is_serial = false;
    if (strcmp(port->name, "-") == 0) {
        port->fd = 0;
        return STATUS_OK;
    }
    if (!realpath(port->name, path)) return refuse(port, errno, fault); /* by-id names are links */
    enum status status = open_serial(port, path, &is_serial, fault);
    if (status == STATUS_OK && !is_serial) status = open_plain(port, path, fault);
    if (is_serial) port->terminal = true;
    return status;
}

static enum port_came at_end(const struct real_port *port) {
    return port->terminal ? PORT_GONE : PORT_ENDED;
}

static enum port_came real_read(void *self, void *to, size_t most, int wait_ms, size_t *came) {
    const struct real_port *port = self;
    struct pollfd wait = {port->fd, POLLIN, 0};
    *came = 0;
    const int ready = poll(&wait, 1, wait_ms);
    if (ready <= 0) return PORT_QUIET;
    const ssize_t n = read(port->fd, to, most);
    if (n > 0) {
        *came = (size_t)n;
        return PORT_BYTES;
    }
    if (n < 0 && (errno == EINTR || errno == EAGAIN))
        return wait.revents & (POLLHUP | POLLERR) ? at_end(port) : PORT_QUIET;
    return at_end(port);
}

static void real_close(void *self) {
    struct real_port *port = self;
    if (port->serial) {
        sp_close(port->serial);
        sp_free_port(port->serial);
    } else if (port->fd > 0) {
        close(port->fd);
    }
    port->serial = NULL;
    port->fd = -1;
}

struct scale_port scale_port_real(const char *name, int baud, bool seven_even) {
    struct real_port *port = memory_need(1, sizeof *port);
    strncpy(port->name, name, sizeof port->name - 1);
    port->baud = baud;
    port->seven_even = seven_even;
    port->fd = -1;
    return (struct scale_port){real_open, real_read, real_close, port};
}

void scale_port_free(struct scale_port port) {
    port.close(port.self);
    memory_free(port.self);
}

/* ---- the fake
 * ----------------------------------------------------------------------------------------------------------
 */

static enum status fake_open(void *self, struct fault *fault) {
    struct port_script *script = self;
    if (script->refuse_opens > 0) {
        script->refuse_opens--;
        return FAULT(fault, SCALE_CANNOT_OPEN, "the fake", "No such device");
    }
    script->opens++;
    return STATUS_OK;
}

static enum port_came fake_read(void *self, void *to, size_t most, int wait_ms, size_t *came) {
    struct port_script *script = self;
    (void)wait_ms;
    *came = 0;
    if (script->at == script->count) return PORT_ENDED;
    const struct port_piece *piece = &script->pieces[script->at];
    const size_t left = piece->size - script->offset, n = left < most ? left : most;
    if (n > 0) memcpy(to, piece->bytes + script->offset, n);
    script->offset += n;
    *came = n;
    if (script->offset == piece->size) {
        script->at++;
        script->offset = 0;
    }
    return piece->came;
}

static void fake_close(void *self) {
    ((struct port_script *)self)->closes++;
}

struct scale_port scale_port_fake(struct port_script *script) {
    return (struct scale_port){fake_open, fake_read, fake_close, script};
}
