#include "formats/card_values.h"
#include "formats/text_in.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double usual_size_mm = 6;

static void add_name(struct text *names, const char *id) {
    if (names->length < 240) text_format(names, "%s%s", names->length ? ", " : "", SHOWN_TEXT(id));
}

static const char *kept(struct text *names, struct arena *arena) {
    const char *text = arena_text(arena, names->data ? names->data : "", names->length);
    text_free(names);
    return text;
}

/* ---- from readings ---- */

static enum status read_mm(const struct sample_file *file, const struct sample *sample, const char *column,
                           double high, double *out, bool *there, struct fault *fault) {
    const char *text = sample_field_text(sample, column);
    *there = text && *text;
    if (!*there) return STATUS_OK;
    const bool number = text_to_number(text, strlen(text), '.', out) ||
                        (file->decimal_comma && text_to_number(text, strlen(text), ',', out));
    if (!number)
        return FAULT(fault, VALUE_NOT_NUMBER, file->name, COUNT_TEXT(sample->line), column, SHOWN_TEXT(text));
    if (*out >= 0 && *out <= high) return STATUS_OK;
    return FAULT(fault, CARD_POSITION, file->name, COUNT_TEXT(sample->line), column, NUMBER_TEXT(*out),
                 NUMBER_TEXT(high));
}

struct spot_at {
    bool known;
    double mm[2], size_mm;
};

static enum status read_position(const struct photo_card *card, const struct sample_file *file,
                                 const struct sample *sample, struct spot_at *out, struct fault *fault) {
    bool x, y, size;
    *out = (struct spot_at){.size_mm = usual_size_mm};
    enum status status = read_mm(file, sample, "POS_X_MM", card->size_mm[0], &out->mm[0], &x, fault);
    if (status == STATUS_OK)
        status = read_mm(file, sample, "POS_Y_MM", card->size_mm[1], &out->mm[1], &y, fault);
    if (status == STATUS_OK)
        status = read_mm(file, sample, "SIZE_MM", card->size_mm[0], &out->size_mm, &size, fault);
    if (status == STATUS_OK) out->known = x && y;
    return status;
}

static int patch_at(const struct photo_card *card, const double mm[2]) {
    for (int i = 0; i < card->patches; i++) {
        const struct photo_patch *p = &card->patch[i];
        if (fmax(fabs(p->center_mm[0] - mm[0]), fabs(p->center_mm[1] - mm[1])) <= p->size_mm / 2) return i;
    }
    return -1;
}

static void set_value(struct photo_patch *patch, const struct reading *reading) {
    patch->known = reading->has_spectrum ? KNOWN_SPECTRUM : KNOWN_LAB;
    patch->reflectance = reading->reflectance;
    patch->lab = reading->lab;
    patch->lab_sd = 0;
}

static enum status add_patch(struct photo_card *card, const struct sample_file *file,
                             const struct sample *sample, const struct spot_at *at, struct fault *fault) {
    if (card->patches == CARD_PATCHES_MOST)
        return FAULT(fault, CARD_TOO_MANY, file->name, COUNT_TEXT(card->patches + 1), "patches",
                     COUNT_TEXT(CARD_PATCHES_MOST));
    for (int k = 0; k < 2; k++)
        if (at->mm[k] - at->size_mm / 2 < 0 || at->mm[k] + at->size_mm / 2 > card->size_mm[k])
            return FAULT(fault, CARD_POSITION, file->name, COUNT_TEXT(sample->line),
                         k ? "POS_Y_MM" : "POS_X_MM", NUMBER_TEXT(at->mm[k]), NUMBER_TEXT(card->size_mm[k]));
    struct photo_patch *patch = &card->patch[card->patches++];
    *patch = (struct photo_patch){.center_mm = {at->mm[0], at->mm[1]}, .size_mm = at->size_mm};
    const double chroma = hypot(sample->reading.lab.a, sample->reading.lab.b);
    patch->role = chroma < 5 ? PATCH_NEUTRAL : PATCH_COLOUR;
    memcpy(patch->id, sample->reading.id, sizeof patch->id);
    set_value(patch, &sample->reading);
    return STATUS_OK;
}

static enum status put_sample(struct photo_card *card, const struct sample_file *file,
                              const struct sample *sample, struct card_values_found *out,
                              struct text *unknown, struct fault *fault) {
    struct spot_at at;
    const enum status status = read_position(card, file, sample, &at, fault);
    if (status != STATUS_OK) return status;
    int patch = photo_card_patch(card, sample->reading.id);
    if (patch < 0 && at.known) patch = patch_at(card, at.mm);
    if (patch >= 0) {
        set_value(&card->patch[patch], &sample->reading);
        out->put++;
        return STATUS_OK;
    }
    if (!at.known || sample->reading.id[0] == 0) {
        add_name(unknown, sample->reading.id);
        return STATUS_OK;
    }
    out->added++;
    return add_patch(card, file, sample, &at, fault);
}

static const char *names_left(const struct photo_card *card, struct arena *arena) {
    struct text left = {0};
    for (int i = 0; i < card->patches; i++)
        if (card->patch[i].known == KNOWN_NOT && card->patch[i].role != PATCH_BLACK_TRAP)
            add_name(&left, card->patch[i].id);
    return kept(&left, arena);
}

enum status card_values_put(struct photo_card *card, const struct sample_file *file, struct arena *arena,
                            struct card_values_found *out, struct fault *fault) {
    struct text unknown = {0};
    enum status status = STATUS_OK;
    *out = (struct card_values_found){0};
    for (size_t i = 0; i < file->count && status == STATUS_OK; i++)
        status = put_sample(card, file, &file->sample[i], out, &unknown, fault);
    out->unknown = kept(&unknown, arena);
    out->left = names_left(card, arena);
    if (status != STATUS_OK) return status;
    return out->put + out->added > 0 ? STATUS_OK : FAULT(fault, CARD_NO_VALUE, file->name, out->unknown);
}

/* ---- from a photographed sheet ---- */

static void drop_rough(struct photo_card *card) {
    int n = 0;
    for (int i = 0; i < card->patches; i++)
        if (!(card->patch[i].known == KNOWN_LAB && card->patch[i].lab_sd > 2))
            card->patch[n++] = card->patch[i];
    card->patches = n;
}

static void put_spot(struct photo_card *card, const struct photo_place *place,
                     const struct photo_spot *spot) {
    struct photo_patch *patch = &card->patch[card->patches++];
    *patch = (struct photo_patch){.size_mm = place->size_mm, .known = KNOWN_LAB, .lab = spot->lab};
    memcpy(patch->center_mm, place->center_mm, sizeof patch->center_mm);
    memcpy(patch->id, place->id, sizeof patch->id);
    patch->role = hypot(spot->lab.a, spot->lab.b) < 5 ? PATCH_NEUTRAL : PATCH_COLOUR;
    double own[3][3]; /* what all share stays the same in the next photograph */
    photo_spot_own(spot, own);
    patch->lab_sd = sqrt((own[0][0] + own[1][1] + own[2][2]) / 3);
}

enum status card_values_put_spots(struct photo_card *card, const struct photo_spot spot[], size_t count,
                                  const char *file, struct arena *arena, struct card_values_found *out,
                                  struct fault *fault) {
    struct text unknown = {0};
    *out = (struct card_values_found){0};
    drop_rough(card);
    for (size_t i = 0; i < count; i++) {
        const int place = photo_card_place(card, spot[i].place.id);
        const bool room = card->patches < CARD_PATCHES_MOST;
        if (place < 0 || !room || photo_card_patch(card, spot[i].place.id) >= 0) {
            add_name(&unknown, spot[i].place.id);
            continue;
        }
        put_spot(card, &card->place[place], &spot[i]);
        out->added++;
    }
    out->unknown = kept(&unknown, arena);
    out->left = names_left(card, arena);
    if (out->added == 0) return FAULT(fault, CARD_NO_VALUE, file, out->unknown);
    card->places = 0; /* they are patches now */
    return STATUS_OK;
}
