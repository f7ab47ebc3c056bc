#include "flow/picture_flow.h"
#include "device/child.h"
#include "formats/json_out.h"
#include "formats/picture_kind.h"
#include "formats/picture_wire.h"
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PICTURE_MOST_FILE_MIB = 1536, DECODE_SECONDS = 20, DECODE_MEGAPIXELS_A_SECOND = 4 };

/* One decoding: what is open, and what the decoder said. */
struct decoding {
    const struct surroundings *around;
    const char *name;
    double seconds; /* for the first word, and for the pixels beside their number */
    int file, socket, memory;
    struct child child;
    struct wire_record head;
    size_t bytes;
};

static ssize_t read_some(const struct disk *disk, int fd, void *to, size_t n) {
    ssize_t got;
    do got = disk->read(fd, to, n);
    while (got < 0 && errno == EINTR);
    return got;
}

/* What is no regular file (standard input, a pipe) is taken into memory first: decoders go back and forth. */
static enum status copy_to_memory(struct decoding *d, int from, struct fault *fault) {
    const struct disk *disk = d->around->disk;
    d->file = memfd_create("photograph", MFD_CLOEXEC);
    if (d->file < 0) return FAULT(fault, PICTURE_NO_DECODER, strerror(errno));
    size_t total = 0;
    char chunk[64 * 1024];
    for (;;) {
        const ssize_t n = read_some(disk, from, chunk, sizeof chunk);
        if (n < 0 && errno == EISDIR) return FAULT(fault, FILE_IS_DIRECTORY, d->name);
        if (n < 0) return FAULT(fault, FILE_READ_FAILED, d->name, strerror(errno));
        if (n == 0) return STATUS_OK;
        total += (size_t)n;
        if (total > (size_t)PICTURE_MOST_FILE_MIB << 20)
            return FAULT(fault, FILE_TOO_LARGE, d->name, COUNT_TEXT(PICTURE_MOST_FILE_MIB));
        if (write(d->file, chunk, (size_t)n) != n)
            return FAULT(fault, FILE_READ_FAILED, d->name, strerror(errno));
    }
}

static enum status open_file(struct decoding *d, const char *path, struct fault *fault) {
    const bool standard_input = strcmp(path, "-") == 0;
    d->name = standard_input ? "standard input" : path;
    const int fd = standard_input ? 0 : d->around->disk->open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY, 0);
    if (fd < 0) return FAULT(fault, FILE_CANNOT_OPEN, d->name, strerror(errno));
    struct stat info;
    enum status status = STATUS_OK;
    if (fstat(fd, &info) != 0)
        status = FAULT(fault, FILE_READ_FAILED, d->name, strerror(errno));
    else if (S_ISDIR(info.st_mode))
        status = FAULT(fault, FILE_IS_DIRECTORY, d->name);
    else if (S_ISREG(info.st_mode) && info.st_size > (off_t)PICTURE_MOST_FILE_MIB << 20)
        status = FAULT(fault, FILE_TOO_LARGE, d->name, COUNT_TEXT(PICTURE_MOST_FILE_MIB));
    else if (S_ISREG(info.st_mode) && !standard_input) {
        d->file = fd;
        return STATUS_OK;
    } else
        status = copy_to_memory(d, fd, fault);
    if (!standard_input) close(fd);
    return status;
}

/* The kinds that are never decoded do not reach the decoder. */
static enum status check_kind(const struct decoding *d, struct fault *fault) {
    unsigned char head[PICTURE_KIND_BYTES];
    if (lseek(d->file, 0, SEEK_SET) != 0) return FAULT(fault, FILE_READ_FAILED, d->name, strerror(errno));
    size_t n = 0;
    while (n < sizeof head) {
        const ssize_t got = read_some(d->around->disk, d->file, head + n, sizeof head - n);
        if (got < 0) return FAULT(fault, FILE_READ_FAILED, d->name, strerror(errno));
        if (got == 0) break;
        n += (size_t)got;
    }
    if (n == 0) return FAULT(fault, PICTURE_EMPTY, d->name);
    const enum picture_kind kind = picture_kind_of(head, n);
    if (kind == PICTURE_UNKNOWN) return FAULT(fault, PICTURE_NOT_ONE, d->name);
    if (!picture_kind_taken(kind)) return FAULT(fault, PICTURE_OTHER_KIND, d->name, picture_kind_text(kind));
    return STATUS_OK;
}

static enum status start_decoder(struct decoding *d, struct fault *fault) {
    const struct picture_decoder *own = d->around->decoder;
    char found[PATH_MAX];
    const char *program = own ? own->program : found;
    if (!own && !child_find("russet-decode", found))
        return FAULT(fault, PICTURE_NO_DECODER, "russet-decode is not beside this program");
    int pair[2];
    if (socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC, 0, pair) != 0)
        return FAULT(fault, PICTURE_NO_DECODER, strerror(errno));
    d->socket = pair[0];
    d->memory = memfd_create("pixels", MFD_CLOEXEC | MFD_ALLOW_SEALING);
    const int files[3] = {d->file, pair[1], d->memory};
    const bool started = d->memory >= 0 && child_start(program, files, 3, &d->child);
    const int error = errno;
    close(pair[1]);
    return started ? STATUS_OK : FAULT(fault, PICTURE_NO_DECODER, strerror(error));
}

static enum status refuse(const struct decoding *d, const struct wire_record *said, struct fault *fault) {
    static const enum word words[] = {
#define REFUSAL(name, word) WORD_##word,
        WIRE_REFUSAL_LIST(REFUSAL)
#undef REFUSAL
    };
    if (said->refusal == WIRE_REFUSED_NOTHING || said->refusal >= sizeof words / sizeof words[0])
        return FAULT(fault, PICTURE_DECODER_LIED, d->name);
    const double megapixels = 1e-6 * (double)said->width * (double)said->height;
    const char *const args[] = {d->name, COUNT_TEXT(said->width), COUNT_TEXT(said->height),
                                COUNT_TEXT((long long)ceil(megapixels)), NULL};
    return fault_set(fault, words[said->refusal], args);
}

/* The decoder is gone, or has to go: one sentence for each way. */
static enum status lost_decoder(struct decoding *d, enum child_heard heard, struct fault *fault) {
    int code = 0;
    const pid_t pid = d->child.pid;
    d->child.pid = 0;
    struct child child = {pid};
    const enum child_end end = child_finish(&child, heard != CHILD_SILENT, &code);
    if (heard == CHILD_STOPPED) return FAULT0(fault, CANCELLED);
    if (heard == CHILD_LATE || end == CHILD_OUT_OF_TIME) return FAULT(fault, PICTURE_HANGS, d->name);
    if (end == CHILD_FORBIDDEN) return FAULT(fault, PICTURE_REACHES_OUT, d->name);
    return FAULT(fault, PICTURE_CRASHES, d->name, COUNT_TEXT(code));
}

/* A record that is wanted, or the sentence why it did not come. */
static enum status hear(struct decoding *d, enum wire_said wanted, double seconds, struct wire_record *said,
                        struct fault *fault) {
    const enum child_heard heard = child_hear(d->socket, said, sizeof *said, seconds, d->around->work);
    if (heard != CHILD_SAID) return lost_decoder(d, heard, fault);
    if (said->magic == WIRE_MAGIC && said->said == WIRE_REFUSED) return refuse(d, said, fault);
    if (said->magic != WIRE_MAGIC || said->said != (uint32_t)wanted)
        return FAULT(fault, PICTURE_DECODER_LIED, d->name);
    return STATUS_OK;
}

static bool head_is_sound(const struct wire_record *h) {
    if (h->width < 1 || h->height < 1 || h->width > PICTURE_MOST_SIDE || h->height > PICTURE_MOST_SIDE)
        return false;
    if ((uint64_t)h->width * h->height > (uint64_t)PICTURE_MOST_MEGAPIXELS * 1000000) return false;
    if (h->clip < 1 || h->clip > 65535 || h->reduced < 1 || h->reduced > 3) return false;
    for (size_t i = 0; i < 9; i++)
        if (!(fabs(h->to_srgb[i]) < 1e6)) return false;
    return h->raw <= 1 && h->curve_known <= 1;
}

/* The memory has its size from here on, whatever the decoder does: reading it can never fail. */
static enum status give_memory(struct decoding *d, struct fault *fault) {
    d->bytes = (size_t)d->head.width * d->head.height * 3 * sizeof(uint16_t);
    struct stat info;
    if (ftruncate(d->memory, (off_t)d->bytes) != 0 ||
        fcntl(d->memory, F_ADD_SEALS, F_SEAL_SHRINK | F_SEAL_GROW | F_SEAL_SEAL) != 0 ||
        fstat(d->memory, &info) != 0 || info.st_size != (off_t)d->bytes)
        return FAULT(fault, PICTURE_NO_DECODER, strerror(errno));
    const char go = 1;
    if (send(d->socket, &go, 1, MSG_NOSIGNAL) != 1) return lost_decoder(d, CHILD_SILENT, fault);
    return STATUS_OK;
}

static enum status decode(struct decoding *d, struct fault *fault) {
    enum status status = hear(d, WIRE_HEAD, d->seconds, &d->head, fault);
    if (status != STATUS_OK) return status;
    if (!head_is_sound(&d->head)) return FAULT(fault, PICTURE_DECODER_LIED, d->name);
    status = give_memory(d, fault);
    if (status != STATUS_OK) return status;
    const double megapixels = 1e-6 * (double)d->head.width * (double)d->head.height;
    struct wire_record done;
    return hear(d, WIRE_DONE, d->seconds + megapixels / DECODE_MEGAPIXELS_A_SECOND, &done, fault);
}

static void note_assumed(const struct decoding *d, struct picture *out) {
    static const enum word words[] = {
#define NOTE(name, word) WORD_##word,
        WIRE_NOTE_LIST(NOTE)
#undef NOTE
    };
    const char *slash = strrchr(d->name, '/');
    const enum word word = d->head.note < sizeof words / sizeof words[0] ? words[d->head.note] : WORD_NONE;
    if (word == WORD_NONE) return;
    struct fault note = {0};
    (void)fault_set(&note, word, (const char *const[]){slash ? slash + 1 : d->name, NULL});
    out->note_word = word;
    size_t n = strnlen(note.text, sizeof out->note - 1);
    while (note.text[n] && n > 0 && ((unsigned char)note.text[n] & 0xC0) == 0x80) n--; /* no half letter */
    memcpy(out->note, note.text, n);
}

/* The decoder is dead by now: nobody else writes to these pages. */
static enum status take_pixels(const struct decoding *d, struct picture *out, struct fault *fault) {
    void *pixels = mmap(NULL, d->bytes, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_POPULATE, d->memory, 0);
    if (pixels == MAP_FAILED) return FAULT(fault, PICTURE_NO_DECODER, strerror(errno));
    *out = (struct picture){.width = (int)d->head.width,
                            .height = (int)d->head.height,
                            .rgb = pixels,
                            .clip = d->head.clip,
                            .raw = d->head.raw,
                            .curve_known = d->head.curve_known,
                            .reduced = (int)d->head.reduced,
                            .mapped = d->bytes};
    memcpy(out->to_srgb, d->head.to_srgb, sizeof out->to_srgb);
    note_assumed(d, out);
    return STATUS_OK;
}

static void close_all(struct decoding *d) {
    int code;
    if (d->child.pid > 0) (void)child_finish(&d->child, true, &code);
    if (d->file >= 0) close(d->file);
    if (d->socket >= 0) close(d->socket);
    if (d->memory >= 0) close(d->memory);
}

enum status picture_load(const struct surroundings *around, const char *path, struct picture *out,
                         struct fault *fault) {
    struct decoding d = {.around = around, .file = -1, .socket = -1, .memory = -1};
    d.seconds = around->decoder && around->decoder->seconds > 0 ? around->decoder->seconds : DECODE_SECONDS;
    enum status status = open_file(&d, path, fault);
    if (status == STATUS_OK) status = check_kind(&d, fault);
    if (status == STATUS_OK) status = start_decoder(&d, fault);
    if (status == STATUS_OK) status = decode(&d, fault);
    int code;
    if (status == STATUS_OK) {
        (void)child_finish(&d.child, true, &code);
        d.child.pid = 0;
        status = take_pixels(&d, out, fault);
    }
    close_all(&d);
    return status;
}

void picture_free(struct picture *picture) {
    if (!picture) return;
    if (picture->mapped) munmap(picture->rgb, picture->mapped);
    *picture = (struct picture){0};
}

void picture_add_note(const struct picture *picture, json_t *object) {
    if (!picture->note[0]) return;
    struct fault note = {.word = picture->note_word, .status = STATUS_OK};
    snprintf(note.text, sizeof note.text, "%s", picture->note);
    json_add_note(object, &note);
}
