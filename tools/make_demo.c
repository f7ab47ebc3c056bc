/* Makes the demo's files (data/demo): the shelf's drawdowns, the sound spot of the helm seat and the grounds,
 * as the virtual spray room of the tests would have measured them. Real pigments where published curves
 * exist, the rest invented (data/demo/README says which).
 *
 *     make_demo FOLDER
 */
#include "room/room.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char notice[] =
    "# Demo of russet: invented, made by tools/make_demo.c from a simulated spray room. Not measurements.\n";

static int write_file(const char *folder, const char *name, const struct text *text) {
    char path[4096];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    if (!file) return fprintf(stderr, "make_demo: cannot write %s\n", path), 1;
    const bool written = fwrite(text->data, 1, text->length, file) == text->length;
    return fclose(file) == 0 && written ? 0 : 1;
}

/* The room writes its own text; the notice goes behind the first line, which names the format. */
static void with_notice(struct text *text) {
    struct text out = {0};
    const size_t first = strcspn(text->data, "\n") + 1;
    text_add_bytes(&out, text->data, first);
    text_add(&out, notice);
    text_add(&out, "MEASUREMENT_GEOMETRY \"sci\"");
    text_add(&out, text->data + first);
    text_free(text);
    *text = out;
}

static int make_drawdowns(struct room *room, const char *folder) {
    struct room_plan plan = room_plan_usual();
    struct room_set set;
    struct text text = {0};
    plan.topcoats = true;
    room_drawdowns(room, &plan, &set);
    room_set_write(room, &set, false, &text);
    with_notice(&text);
    const int failed = write_file(folder, "drawdowns.cgats", &text);
    room_set_free(&set);
    text_free(&text);
    return failed;
}

static void begin_readings(struct text *out, int count) {
    text_format(out,
                "CGATS.17\n%sORIGINATOR\t\"helm seat of a wooden motor launch, demo "
                "customer\"\nMEASUREMENT_GEOMETRY\t\"sci\"\n"
                "NUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\nSAMPLE_ID",
                notice, 1 + BANDS);
    for (int b = 0; b < BANDS; b++) text_format(out, "\tSPECTRAL_NM%d", BAND_FIRST_NM + b * BAND_STEP_NM);
    text_format(out, "\nEND_DATA_FORMAT\nNUMBER_OF_SETS %d\nBEGIN_DATA\n", count);
}

static void add_reading(struct text *out, const char *id, const struct spectrum *seen) {
    text_add(out, id);
    for (int b = 0; b < BANDS; b++) text_format(out, "\t%.6f", seen->band[b]);
    text_add(out, "\n");
}

/* Five readings of the spot, each a little lighter or darker as leather is; the fourth sits half on a crease.
 */
static int make_seat(struct room *room, const char *folder) {
    static const double wobble[5] = {1.004, 0.997, 1.001, 0.90, 0.999};
    double mass_g[ROOM_MOST];
    struct room_film film = room_film_plain((double)INFINITY, ROOM_CRUST);
    struct spectrum leather;
    struct text text = {0};
    int cognac = 0;
    while (strcmp(room_target(room, (size_t)cognac, mass_g), "cognac") != 0) cognac++;
    room_spray(room, mass_g, &film, &leather);
    begin_readings(&text, 5);
    for (int i = 0; i < 5; i++) {
        struct spectrum seen = leather;
        char id[16];
        for (int b = 0; b < BANDS; b++) seen.band[b] *= wobble[i];
        room_read(room, &seen);
        snprintf(id, sizeof id, "spot-%d", i + 1);
        add_reading(&text, id, &seen);
    }
    text_add(&text, "END_DATA\n");
    const int failed = write_file(folder, "helm-seat.cgats", &text);
    text_free(&text);
    return failed;
}

static int make_grounds(struct room *room, const char *folder) {
    struct text text = {0};
    begin_readings(&text, 2);
    for (int i = 0; i < 2; i++) {
        const struct room_film film = {0, i ? ROOM_CRUST : ROOM_FILLER, GEOMETRY_SCI, (double)NAN};
        struct spectrum seen;
        room_bare(room, &film, &seen);
        room_read(room, &seen);
        add_reading(&text, i ? "sanded-crust" : "filler", &seen);
    }
    text_add(&text, "END_DATA\n");
    const int failed = write_file(folder, "grounds.cgats", &text);
    text_free(&text);
    return failed;
}

int main(int argc, char **argv) {
    if (argc != 2) return fprintf(stderr, "make_demo FOLDER\n"), 2;
    struct room *room = room_new(20261);
    const int failed =
        make_drawdowns(room, argv[1]) || make_seat(room, argv[1]) || make_grounds(room, argv[1]);
    room_free(room);
    return failed;
}
