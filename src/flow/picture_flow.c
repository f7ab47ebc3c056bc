#include "flow/picture_flow.h"
#include "device/child.h"
#include "formats/json_out.h"
#include "formats/picture_kind.h"
#include "formats/picture_rows.h"
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
    double until_s;
    struct child child;
    struct wire_record head;
    unsigned char *ring;
    uint16_t *pixels;
    size_t bytes;
    struct shrink *shrink; /* NULL: the whole picture is wanted */
};

/* A picture that is made small while its rows come: sums of light over squares of step file pixels. Only one
 * row of squares is summed at a time; its means are laid where they are looked at. */
struct shrink {
    int longest;
    uint32_t step, width, height; /* of the small one, as the file lies */
    uint32_t *sum, *count;
    uint16_t *strip; /* the rows of one slot in linear light */
    uint16_t *mean, *pixels;
};

enum { RING_BYTES = WIRE_SLOTS * WIRE_SLOT_BYTES };

static ssize_t read_some(const struct disk *disk, int fd, void *to, size_t n) {
    ssize_t got;
    do got = disk->read(fd, to, n);
    while (got < 0 && errno == EINTR);
    return got;
}

/* The kinds that are never decoded do not reach the decoder. */
static enum status check_kind(const struct decoding *d, const unsigned char *head, size_t n,
                              struct fault *fault) {
    if (n == 0) return FAULT(fault, PICTURE_EMPTY, d->name);
    const enum picture_kind kind = picture_kind_of(head, n);
    if (kind == PICTURE_UNKNOWN) return FAULT(fault, PICTURE_NOT_ONE, d->name);
    if (!picture_kind_taken(kind)) return FAULT(fault, PICTURE_OTHER_KIND, d->name, picture_kind_text(kind));
    return STATUS_OK;
}

/* Fills to[0..n) unless the file ends before. */
static enum status read_full(const struct decoding *d, int fd, unsigned char *to, size_t n, size_t *got,
                             struct fault *fault) {
    *got = 0;
    while (*got < n) {
        const ssize_t more = read_some(d->around->disk, fd, to + *got, n - *got);
        if (more < 0 && errno == EISDIR) return FAULT(fault, FILE_IS_DIRECTORY, d->name);
        if (more < 0) return FAULT(fault, FILE_READ_FAILED, d->name, strerror(errno));
        if (more == 0) return STATUS_OK;
        *got += (size_t)more;
    }
    return STATUS_OK;
}

/* What is no regular file (standard input, a pipe) is taken into memory: decoders go back and forth. */
static enum status copy_to_memory(struct decoding *d, int from, struct fault *fault) {
    unsigned char chunk[64 * 1024];
    d->file = memfd_create("photograph", MFD_CLOEXEC);
    if (d->file < 0) return FAULT(fault, PICTURE_NO_DECODER, strerror(errno));
    size_t n, total = 0;
    do {
        enum status status = read_full(d, from, chunk, sizeof chunk, &n, fault);
        if (status == STATUS_OK && total == 0) status = check_kind(d, chunk, n, fault);
        if (status != STATUS_OK) return status;
        total += n;
        if (total > (size_t)PICTURE_MOST_FILE_MIB << 20)
            return FAULT(fault, FILE_TOO_LARGE, d->name, COUNT_TEXT(PICTURE_MOST_FILE_MIB));
        if (write(d->file, chunk, n) != (ssize_t)n)
            return FAULT(fault, FILE_READ_FAILED, d->name, strerror(errno));
    } while (n == sizeof chunk);
    return STATUS_OK;
}

static enum status look_at_head(const struct decoding *d, struct fault *fault) {
    unsigned char head[PICTURE_KIND_BYTES];
    size_t n;
    const enum status status = read_full(d, d->file, head, sizeof head, &n, fault);
    return status == STATUS_OK ? check_kind(d, head, n, fault) : status;
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
        return look_at_head(d, fault);
    } else
        status = copy_to_memory(d, fd, fault);
    if (!standard_input) close(fd);
    return status;
}

/* The ring keeps its size from here on, whatever the decoder does: reading it can never fail. */
static enum status make_ring(struct decoding *d, struct fault *fault) {
    d->memory = memfd_create("rows", MFD_CLOEXEC | MFD_ALLOW_SEALING);
    void *at = MAP_FAILED;
    if (d->memory >= 0 && ftruncate(d->memory, RING_BYTES) == 0 &&
        fcntl(d->memory, F_ADD_SEALS, F_SEAL_SHRINK | F_SEAL_GROW | F_SEAL_SEAL) == 0)
        at = mmap(NULL, RING_BYTES, PROT_READ | PROT_WRITE, MAP_SHARED, d->memory, 0);
    if (at == MAP_FAILED) return FAULT(fault, PICTURE_NO_DECODER, strerror(errno));
    d->ring = at;
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
    const int files[3] = {d->file, pair[1], d->memory};
    const bool started = child_start(program, "russet-decode", files, 3, &d->child);
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
    const enum child_end end = child_finish(&d->child, heard != CHILD_SILENT, &code);
    if (heard == CHILD_STOPPED) return FAULT0(fault, CANCELLED);
    if (heard == CHILD_BABBLED) return FAULT(fault, PICTURE_DECODER_LIED, d->name);
    if (heard == CHILD_LATE || end == CHILD_OUT_OF_TIME) return FAULT(fault, PICTURE_HANGS, d->name);
    if (end == CHILD_FORBIDDEN) return FAULT(fault, PICTURE_REACHES_OUT, d->name);
    return FAULT(fault, PICTURE_CRASHES, d->name, COUNT_TEXT(code));
}

/* The next record, or the sentence why there is none. */
static enum status hear(struct decoding *d, struct wire_record *said, struct fault *fault) {
    const enum child_heard heard = child_hear(d->socket, said, sizeof *said, d->until_s, d->around->work);
    if (heard != CHILD_SAID) return lost_decoder(d, heard, fault);
    if (said->magic == WIRE_MAGIC && said->said == WIRE_REFUSED) return refuse(d, said, fault);
    return STATUS_OK;
}

static bool is(const struct wire_record *record, enum wire_said said) {
    return record->magic == WIRE_MAGIC && record->said == (uint32_t)said;
}

/* One that has gone meanwhile may have said DONE before: what is in the socket tells. */
static void answer(const struct decoding *d) {
    const char go = 1;
    (void)!send(d->socket, &go, 1, MSG_NOSIGNAL);
}

static bool head_is_sound(const struct wire_record *h) {
    if (!is(h, WIRE_HEAD) || h->width < 1 || h->height < 1 || h->width > PICTURE_MOST_SIDE ||
        h->height > PICTURE_MOST_SIDE)
        return false;
    if ((uint64_t)h->width * h->height > (uint64_t)PICTURE_MOST_MEGAPIXELS * 1000000) return false;
    if (h->clip < 1 || h->clip > 65535 || h->reduced < 1 || h->reduced > 3) return false;
    if (h->orientation < 1 || h->orientation > 8 || (h->bits != 8 && h->bits != 16)) return false;
    for (size_t i = 0; i < 9; i++)
        if (!(fabs(h->to_srgb[i]) < 1e6)) return false;
    return h->raw <= 1 && h->curve_known <= 1;
}

static void begin_shrink(const struct decoding *d) {
    struct shrink *s = d->shrink;
    const uint32_t longer = d->head.width > d->head.height ? d->head.width : d->head.height;
    s->step = (longer + (uint32_t)s->longest - 1) / (uint32_t)s->longest;
    s->width = (d->head.width + s->step - 1) / s->step;
    s->height = (d->head.height + s->step - 1) / s->step;
    struct arena *arena = d->around->arena;
    s->sum = arena_need(arena, 3 * (size_t)s->width, sizeof *s->sum);
    s->count = arena_need(arena, s->width, sizeof *s->count);
    s->mean = arena_need(arena, 3 * (size_t)s->width, sizeof *s->mean);
    s->pixels = arena_need(arena, 3 * (size_t)s->width * s->height, sizeof *s->pixels);
    const size_t rows = WIRE_SLOT_BYTES / picture_rows_stride(&d->head);
    s->strip = arena_need(arena, rows * d->head.width * 3, sizeof *s->strip);
}

static struct wire_record small_head(const struct decoding *d) {
    struct wire_record head = d->head;
    head.width = d->shrink->width, head.height = d->shrink->height, head.bits = 16;
    return head;
}

static void end_squares(const struct decoding *d, uint32_t row) {
    const struct shrink *s = d->shrink;
    const struct wire_record head = small_head(d);
    for (size_t i = 0; i < 3 * (size_t)s->width; i++)
        s->mean[i] = (uint16_t)(s->sum[i] / (s->count[i / 3] ? s->count[i / 3] : 1));
    picture_rows_place(&head, row, 1, s->mean, s->pixels);
    memset(s->sum, 0, 3 * (size_t)s->width * sizeof *s->sum);
    memset(s->count, 0, s->width * sizeof *s->count);
}

/* A sum holds 65535 times 65536 file pixels: a step of 256, more than the largest picture asks for. */
static void add_rows(const struct decoding *d, uint32_t y, uint32_t rows, const void *from) {
    const struct shrink *s = d->shrink;
    struct wire_record flat = d->head;
    flat.orientation = 1, flat.height = rows;
    picture_rows_place(&flat, 0, rows, from, s->strip);
    const uint16_t *at = s->strip;
    for (uint32_t last = y + rows; y < last; y++) {
        for (uint32_t x = 0; x < d->head.width; x++, at += 3) {
            const size_t to = x / s->step;
            for (int c = 0; c < 3; c++) s->sum[3 * to + (size_t)c] += at[c];
            s->count[to]++;
        }
        if ((y + 1) % s->step == 0 || y + 1 == d->head.height) end_squares(d, y / s->step);
    }
}

static enum status take_head(struct decoding *d, struct fault *fault) {
    enum status status = hear(d, &d->head, fault);
    if (status != STATUS_OK) return status;
    if (!head_is_sound(&d->head)) return FAULT(fault, PICTURE_DECODER_LIED, d->name);
    d->until_s += 1e-6 * (double)d->head.width * (double)d->head.height / DECODE_MEGAPIXELS_A_SECOND;
    if (d->shrink) {
        begin_shrink(d);
        answer(d);
        return STATUS_OK;
    }
    d->bytes = (size_t)d->head.width * d->head.height * 3 * sizeof(uint16_t);
    void *pixels = mmap(NULL, d->bytes, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (pixels == MAP_FAILED) return FAULT0(fault, MEMORY_OUT);
    d->pixels = pixels;
    (void)madvise(pixels, d->bytes, MADV_HUGEPAGE);
    answer(d);
    return STATUS_OK;
}

/* The next rows out of their slot; they may only be those that are next, and no more than a slot holds. */
static enum status take_rows(struct decoding *d, const struct wire_record *said, uint32_t next, unsigned turn,
                             struct fault *fault) {
    const size_t stride = picture_rows_stride(&d->head);
    if (!is(said, WIRE_ROWS) || said->y != next || said->rows < 1 || said->rows > d->head.height - next ||
        said->rows > WIRE_SLOT_BYTES / stride)
        return FAULT(fault, PICTURE_DECODER_LIED, d->name);
    const unsigned char *slot = d->ring + (size_t)(turn % WIRE_SLOTS) * WIRE_SLOT_BYTES;
    if (d->shrink)
        add_rows(d, next, said->rows, slot);
    else
        picture_rows_place(&d->head, next, said->rows, slot, d->pixels);
    answer(d);
    return STATUS_OK;
}

static enum status decode(struct decoding *d, struct fault *fault) {
    struct wire_record said = {0};
    d->until_s = child_clock_s() + d->seconds;
    enum status status = take_head(d, fault);
    unsigned turn = 0;
    for (uint32_t next = 0; status == STATUS_OK; next += said.rows) {
        status = hear(d, &said, fault);
        if (status != STATUS_OK) return status;
        if (next == d->head.height && is(&said, WIRE_DONE)) return STATUS_OK;
        status = take_rows(d, &said, next, turn++, fault);
    }
    return status;
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

static void give_picture(struct decoding *d, struct picture *out) {
    *out = (struct picture){.width = (int)picture_rows_width(&d->head),
                            .height = (int)picture_rows_height(&d->head),
                            .rgb = d->pixels,
                            .clip = d->head.clip,
                            .raw = d->head.raw,
                            .curve_known = d->head.curve_known,
                            .reduced = (int)d->head.reduced,
                            .mapped = d->bytes};
    memcpy(out->to_srgb, d->head.to_srgb, sizeof out->to_srgb);
    note_assumed(d, out);
    d->pixels = NULL;
}

static void close_all(struct decoding *d) {
    int code;
    if (d->child.pid > 0) (void)child_finish(&d->child, true, &code);
    if (d->pixels) munmap(d->pixels, d->bytes);
    if (d->ring) munmap(d->ring, RING_BYTES);
    if (d->file >= 0) close(d->file);
    if (d->socket >= 0) close(d->socket);
    if (d->memory >= 0) close(d->memory);
}

/* The means, as one looks at them, through the screen's curve. */
static void give_small(const struct decoding *d, struct screen_picture *out) {
    const struct wire_record head = small_head(d);
    struct picture picture = {.width = (int)picture_rows_width(&head),
                              .height = (int)picture_rows_height(&head),
                              .rgb = d->shrink->pixels,
                              .clip = d->head.clip};
    memcpy(picture.to_srgb, d->head.to_srgb, sizeof picture.to_srgb);
    screen_picture_of(&picture, 0, d->head.raw ? 0 : 1, d->around->arena, out);
}

static enum status decode_file(struct decoding *d, const char *path, struct fault *fault) {
    const struct picture_decoder *own = d->around->decoder;
    d->file = d->socket = d->memory = -1;
    d->seconds = own && own->seconds > 0 ? own->seconds : DECODE_SECONDS;
    enum status status = open_file(d, path, fault);
    if (status == STATUS_OK) status = make_ring(d, fault);
    if (status == STATUS_OK) status = start_decoder(d, fault);
    return status == STATUS_OK ? decode(d, fault) : status;
}

enum status picture_load_small(const struct surroundings *around, const char *path, int longest,
                               struct screen_picture *out, int *step, struct fault *fault) {
    struct shrink shrink = {.longest = longest};
    struct decoding d = {.around = around, .shrink = &shrink};
    const enum status status = decode_file(&d, path, fault);
    if (status == STATUS_OK) give_small(&d, out);
    *step = (int)(shrink.step * d.head.reduced);
    close_all(&d);
    return status;
}

enum status picture_load(const struct surroundings *around, const char *path, struct picture *out,
                         struct fault *fault) {
    struct decoding d = {.around = around};
    const enum status status = decode_file(&d, path, fault);
    if (status == STATUS_OK) give_picture(&d, out);
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
