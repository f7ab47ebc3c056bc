#include "formats/pour_log.h"
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { FORMAT_KNOWN = 1, LINE_MOST = 4096 };
#define GRAMS_MOST 1e6
static const char crc_key[] = ",\"crc\":\"";

/* CRC-32 with the reflected polynomial EDB88320, bit by bit: a line is a hundred bytes. */
unsigned pour_log_crc(const void *bytes, size_t n) {
    const unsigned char *b = bytes;
    unsigned crc = ~0U;
    for (size_t i = 0; i < n; i++) {
        crc ^= b[i];
        for (int bit = 0; bit < 8; bit++) crc = (crc >> 1) ^ (0xEDB88320U & (0U - (crc & 1U)));
    }
    return ~crc;
}

/* ---- writing
 * -------------------------------------------------------------------------------------------------------- */

/* To a millionth, without a tail of zeros; never the locale's decimal mark. */
static void add_decimal(struct text *out, double g) {
    char digits[48];
    snprintf(digits, sizeof digits, "%.6f", g);
    for (char *c = digits; *c; c++)
        if (*c == ',') *c = '.';
    size_t n = strlen(digits);
    while (n > 0 && digits[n - 1] == '0') n--;
    if (n > 0 && digits[n - 1] == '.') n--;
    text_add_bytes(out, digits, n);
}

static void add_steps(struct text *out, const struct pouring_item items[], size_t count) {
    text_add(out, "\"steps\":[");
    for (size_t i = 0; i < count; i++) {
        text_format(out, "%s[\"%s\",", i ? "," : "", items[i].id);
        add_decimal(out, items[i].fraction);
        text_add(out, ",");
        add_decimal(out, items[i].want_g);
        text_add(out, "]");
    }
    text_add(out, "]");
}

/* line: an object without its closing brace. */
static void seal(struct pour_log *log, const struct text *line, struct text *out) {
    if (log->torn) text_add(out, "\n");
    log->torn = false;
    log->empty = false;
    log->next++;
    text_add_bytes(out, line->data, line->length);
    text_format(out, "%s%08x\"}\n", crc_key, pour_log_crc(line->data, line->length));
}

void pour_log_header(struct pour_log *log, double batch_g, const struct pouring_item items[], size_t count,
                     struct text *out) {
    struct text line = {0};
    text_format(&line, "{\"russet_pour_log\":%d,\"n\":%u,\"batch_g\":", FORMAT_KNOWN, log->next);
    add_decimal(&line, batch_g);
    if (log->step_g > 0) {
        text_add(&line, ",\"step_g\":");
        add_decimal(&line, log->step_g);
    }
    text_add(&line, ",");
    add_steps(&line, items, count);
    seal(log, &line, out);
    text_free(&line);
}

void pour_log_pour(struct pour_log *log, size_t step, const struct pouring_item *item, bool done,
                   struct text *out) {
    struct text line = {0};
    text_format(&line, "{\"n\":%u,\"step\":%zu,\"toner\":\"%s\",\"g\":", log->next, step, item->id);
    add_decimal(&line, item->poured_g);
    text_format(&line, ",\"done\":%s", done ? "true" : "false");
    seal(log, &line, out);
    text_free(&line);
}

void pour_log_plan(struct pour_log *log, const struct pouring_item items[], size_t count, struct text *out) {
    struct text line = {0};
    text_format(&line, "{\"n\":%u,", log->next);
    add_steps(&line, items, count);
    seal(log, &line, out);
    text_free(&line);
}

/* ---- reading
 * ---------------------------------------------------------------------------------------------------------
 */

/* Whole lines only, sealed by a checksum that fits. */
static bool verifies(const char *line, size_t n) {
    const size_t seal_n = sizeof crc_key - 1 + 8 + 2;
    if (n < seal_n || n > LINE_MOST) return false;
    const size_t body = n - seal_n;
    if (memcmp(line + body, crc_key, sizeof crc_key - 1) != 0) return false;
    char want[16];
    snprintf(want, sizeof want, "%08x\"}", pour_log_crc(line, body));
    return memcmp(line + body + sizeof crc_key - 1, want, 10) == 0;
}

static bool decimal_of(const json_t *value, double most, double *out) {
    if (!json_is_number(value)) return false;
    *out = json_number_value(value);
    return isfinite(*out) && *out >= 0 && *out <= most;
}

static bool id_is_sound(const char *id) {
    const size_t n = strspn(id, "abcdefghijklmnopqrstuvwxyz0123456789-");
    return n > 0 && n < TONER_ID_MAX && id[n] == 0;
}

static bool step_of(const json_t *step, struct pouring_item *item) {
    const char *id = json_string_value(json_array_get(step, 0));
    if (json_array_size(step) != 3 || !id || !id_is_sound(id)) return false;
    snprintf(item->id, sizeof item->id, "%s", id);
    return decimal_of(json_array_get(step, 1), 1, &item->fraction) && item->fraction > 0 &&
           decimal_of(json_array_get(step, 2), GRAMS_MOST, &item->want_g);
}

/* A plan keeps the steps that are there (what was poured belongs to them) and may add some. */
static bool apply_steps(struct pour_log *log, const json_t *steps) {
    const size_t count = json_array_size(steps);
    struct pouring_item items[POURING_MOST] = {0};
    if (count == 0 || count > POURING_MOST || count < log->count) return false;
    for (size_t i = 0; i < count; i++) {
        if (!step_of(json_array_get(steps, i), &items[i])) return false;
        if (i < log->count && strcmp(items[i].id, log->items[i].id) != 0) return false;
        items[i].poured_g = log->items[i].poured_g;
    }
    memcpy(log->items, items, sizeof items);
    log->count = count;
    return true;
}

static bool anything_in(const struct pour_log *log) {
    for (size_t i = 0; i < log->count; i++)
        if (log->items[i].poured_g > 0 || log->done[i]) return true;
    return false;
}

static bool apply_header(struct pour_log *log, const json_t *record) {
    const json_t *step = json_object_get(record, "step_g");
    if (anything_in(log)) return false;
    memset(log->items, 0, sizeof log->items);
    log->count = 0;
    log->step_g = 0;
    if (step && !decimal_of(step, GRAMS_MOST, &log->step_g)) return false;
    if (!decimal_of(json_object_get(record, "batch_g"), GRAMS_MOST, &log->batch_g)) return false;
    if (!apply_steps(log, json_object_get(record, "steps"))) return false;
    memcpy(log->first, log->items, sizeof log->first);
    log->first_count = log->count;
    return true;
}

static bool apply_pour(struct pour_log *log, const json_t *record) {
    const json_t *step = json_object_get(record, "step"), *done = json_object_get(record, "done");
    const char *id = json_string_value(json_object_get(record, "toner"));
    const json_int_t at = json_integer_value(step);
    double g;
    if (!json_is_integer(step) || at < 0 || at >= (json_int_t)log->count || !id) return false;
    if (strcmp(id, log->items[at].id) != 0 || !json_is_boolean(done)) return false;
    if (!decimal_of(json_object_get(record, "g"), GRAMS_MOST, &g)) return false;
    log->items[at].poured_g = g;
    log->done[at] = json_is_true(done);
    return true;
}

static bool apply_record(struct pour_log *log, const json_t *record) {
    if (log->next == 0 || json_object_get(record, "russet_pour_log")) return apply_header(log, record);
    if (json_object_get(record, "steps")) return apply_steps(log, json_object_get(record, "steps"));
    return apply_pour(log, record);
}

static enum status read_header_format(const json_t *record, const char *file, struct fault *fault) {
    const json_t *format = json_object_get(record, "russet_pour_log");
    if (!json_is_integer(format)) return FAULT(fault, LOG_NOT_ONE, file);
    if (json_integer_value(format) == FORMAT_KNOWN) return STATUS_OK;
    return FAULT(fault, LOG_NEWER, file, COUNT_TEXT(json_integer_value(format)));
}

static enum status read_record(struct pour_log *log, json_t *record, const char *file, size_t line,
                               struct fault *fault) {
    const json_t *n = json_object_get(record, "n");
    enum status status = STATUS_OK;
    if (log->next == 0) status = read_header_format(record, file, fault);
    if (status != STATUS_OK) return status;
    if (!json_is_integer(n) || json_integer_value(n) != (json_int_t)log->next)
        return FAULT(fault, LOG_GAP, file, COUNT_TEXT(line), COUNT_TEXT(log->next));
    if (!apply_record(log, record)) return FAULT(fault, LOG_RECORD, file, COUNT_TEXT(line));
    log->next++;
    log->empty = false;
    return STATUS_OK;
}

static enum status read_line(struct pour_log *log, const char *line, size_t n, const char *file,
                             size_t number, struct fault *fault) {
    log->torn = !verifies(line, n);
    if (log->torn) return STATUS_OK;
    json_t *record = json_loadb(line, n, JSON_REJECT_DUPLICATES, NULL);
    const enum status status = json_is_object(record) ? read_record(log, record, file, number, fault)
                                                      : FAULT(fault, LOG_RECORD, file, COUNT_TEXT(number));
    json_decref(record);
    return status;
}

enum status pour_log_replay(const struct bytes *bytes, struct pour_log *log, struct fault *fault) {
    const char *at = (const char *)bytes->data, *end = at + bytes->size;
    struct pour_log made = {.empty = true};
    bool foreign = false;
    for (size_t number = 1; at < end; number++) {
        const char *stop = memchr(at, '\n', (size_t)(end - at));
        const size_t n = (size_t)((stop ? stop : end) - at);
        if (n > 0) {
            const enum status status = read_line(&made, at, n, bytes->name, number, fault);
            if (status != STATUS_OK) return status;
            foreign |= made.empty && stop; /* a whole first line that is no header */
        }
        if (!stop)
            made.torn = true; /* a sealed line without its end is whole, but the next must not stick to it */
        at = stop ? stop + 1 : end;
    }
    if (made.empty && foreign) return FAULT(fault, LOG_NOT_ONE, bytes->name);
    *log = made;
    return STATUS_OK;
}

static bool close_to(double a, double b) {
    return fabs(a - b) <= 1e-6;
}

enum status pour_log_check(const struct pour_log *log, double batch_g, const struct pouring_item items[],
                           size_t count, const char *file, struct fault *fault) {
    bool same = log->first_count == count && close_to(log->batch_g, batch_g);
    for (size_t i = 0; same && i < count; i++)
        same = strcmp(log->first[i].id, items[i].id) == 0 &&
               close_to(log->first[i].want_g, items[i].want_g) &&
               close_to(log->first[i].fraction, items[i].fraction);
    return same ? STATUS_OK : FAULT(fault, LOG_OTHER_RECIPE, file);
}
