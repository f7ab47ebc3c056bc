/* Renders the photograph that a phone would take of a card and what lies in its window, so that the way of
 * docs/same-day.md and every other use of `russet photo` can be walked by hand. Invented, not a measurement:
 * the photo room (docs/camera-room.md) and the toners of the spray room (docs/room.md).
 *
 *     make_photograph OUT.jpg card.json [name=value ...]
 *
 *     sheet=start.json      whose places are dabbed; the same seed gives the same dabs in every photograph
 *     seed=1                of the shop: what its toners really are, its paper, ink and films
 *     window=cognac         a leather of the room by number or by what it is called
 *     window=white:9,red-oxide:2   a dab of that mix (opaque), as it was poured
 *     beside=white:9,...    the right half of the window
 *     camera=1 lamp=1 tilt=0 shot=0 megapixels=3|12 exposure=.85 shine=.001 curve=.3
 *     tell=dabs             what every dab of the sheet truly is
 *
 * It tells the true colour of what is in the window, and where each half of it lies in pixels. */
#include "camera/cards.h"
#include "camera/render.h"
#include "device/disk.h"
#include "formats/card_json.h"
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct order {
    int words;
    char **word;
};

static const char *said(const struct order *order, const char *name, const char *otherwise) {
    const size_t n = strlen(name);
    for (int i = 0; i < order->words; i++)
        if (strncmp(order->word[i], name, n) == 0 && order->word[i][n] == '=') return order->word[i] + n + 1;
    return otherwise;
}
static double number(const struct order *order, const char *name, double otherwise) {
    const char *text = said(order, name, NULL);
    return text ? atof(text) : otherwise;
}

static struct photo_card *card_of(const char *path, struct arena *arena) {
    struct bytes bytes;
    struct fault fault;
    struct photo_card *card;
    if (disk_read(disk_real(), path, DISK_TEXT_MIB, arena, &bytes, &fault) == STATUS_OK &&
        card_read(&bytes, arena, &card, &fault) == STATUS_OK)
        return card;
    fprintf(stderr, "make_photograph: %s\n", fault.text);
    exit(3);
}

/* A patch is painted by its curve; of a Lab value alone nobody knows how it looks under this lamp. */
static void need_curves(const struct photo_card *card) {
    for (int i = 0; i < card->patches; i++) {
        if (card->patch[i].known != KNOWN_LAB) continue;
        fprintf(stderr, "make_photograph: patch %s has no reflectance to paint it by\n", card->patch[i].id);
        exit(3);
    }
}

/* "white:9,red-oxide:2": an opaque film. */
static void spray_mix(struct room *room, const char *mix, struct spectrum *out) {
    double mass_g[ROOM_MOST] = {0};
    const struct room_film film = {(double)INFINITY, ROOM_WHITE, GEOMETRY_45_0, 15};
    while (*mix) {
        char id[48] = "";
        const size_t n = strcspn(mix, ":=");
        snprintf(id, sizeof id, "%.*s", (int)n, mix);
        if (!mix[n]) break;
        mass_g[room_find(room, id)] += atof(mix + n + 1);
        mix += strcspn(mix, ",");
        mix += *mix == ',';
    }
    room_spray(room, mass_g, &film, out);
}

static void leather_of(struct room *room, const char *what, struct spectrum *out) {
    if (strchr(what, ':') || strchr(what, '=')) {
        spray_mix(room, what, out);
        return;
    }
    for (int i = 0; i < LEATHERS; i++) {
        const char *name = leather_colour(room, i, out);
        if (isdigit((unsigned char)what[0]) ? i == atoi(what) : strncmp(name, what, strlen(what)) == 0)
            return;
    }
    fprintf(stderr, "make_photograph: no leather is called %s\n", what);
    exit(2);
}

/* One film a dab, the same on both its halves. */
static void dab_all(struct room *room, const struct photo_card *sheet, struct spectrum place[]) {
    double film = 30;
    for (int i = 0; i < sheet->places; i++) {
        const struct photo_place *p = &sheet->place[i];
        const char *bare = p->parts ? p->over : p->id;
        const enum room_backing over = strcmp(bare, "bare-black") == 0 ? ROOM_BLACK : ROOM_WHITE;
        double mass_g[ROOM_MOST] = {0};
        if (p->parts && over == ROOM_BLACK) film = room_film_sprayed(room, 30, .25);
        const struct room_film at = {film, over, GEOMETRY_45_0, p->parts ? 15 : (double)NAN};
        for (int k = 0; k < p->parts; k++) mass_g[room_find(room, p->part[k].toner)] = p->part[k].g;
        if (p->parts)
            room_spray(room, mass_g, &at, &place[i]);
        else
            room_bare(room, &at, &place[i]);
    }
}

static void put_in_place(const struct photo_card *sheet, const struct spectrum dab[], struct scene *scene) {
    const struct photo_card *card = scene->card;
    for (int i = 0; i < card->places; i++) {
        const int k = photo_card_place(sheet, card->place[i].id);
        if (k >= 0) scene->place[i] = dab[k];
    }
    for (int i = 0; i < card->patches; i++) {
        const char *id = card->patch[i].id;
        const int k = photo_card_place(sheet, strncmp(id, "paper", 5) == 0 ? "bare-white" : id);
        if (k >= 0) scene->patch[i] = dab[k];
    }
}

static void set(const struct order *order, struct scene *scene) {
    scene->sensor.seed += (unsigned long long)number(order, "shot", 0);
    scene->turn_deg += 3 * number(order, "shot", 0);
    if (number(order, "megapixels", 3) > 6) scene_large(scene);
    if (scene->card->size_mm[1] > scene->card->size_mm[0]) { /* a sheet stands upright, so does the phone */
        const int side = scene->width;
        scene->width = scene->height, scene->height = side, scene->filled = .82;
    }
    scene->sensor.exposure = number(order, "exposure", scene->sensor.exposure);
    scene->sensor.curve = number(order, "curve", scene->sensor.curve);
    scene->window.shine = number(order, "shine", scene->window.shine);
}

static void tell(const char *what, const struct spectrum *colour, const struct plate *plate,
                 const double mm[2]) {
    const struct lab lab = lab_of_spectrum(colour, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    double px[2];
    plate_place(plate, mm, px);
    printf("%s: truly L* %.2f a* %.2f b* %.2f; at %.0f,%.0f\n", what, lab.l, lab.a, lab.b, px[0], px[1]);
}

static void tell_dabs(const struct photo_card *sheet, const struct spectrum dab[]) {
    for (int i = 0; i < sheet->places; i++) {
        const struct lab lab = lab_of_spectrum(&dab[i], weights_of((struct view){LIGHT_D65, OBSERVER_10}));
        printf("%s: truly L* %.1f a* %.1f b* %.1f\n", sheet->place[i].id, lab.l, lab.a, lab.b);
    }
}

static int write_photograph(const char *path, const struct plate *plate, const struct scene *scene) {
    size_t bytes;
    unsigned char *jpeg = plate_jpeg(plate, &scene->sensor, &bytes);
    FILE *file = fopen(path, "wb");
    const bool good = file && fwrite(jpeg, 1, bytes, file) == bytes && fclose(file) == 0;
    memory_free(jpeg);
    if (!good) fprintf(stderr, "make_photograph: cannot write %s\n", path);
    return good ? 0 : 4;
}

int main(int argc, char **argv) {
    if (argc < 3) return fprintf(stderr, "make_photograph OUT.jpg card.json [name=value ...]\n"), 2;
    const struct order order = {argc - 3, argv + 3};
    struct arena *arena = arena_new();
    struct scene *scene = arena_need(arena, 1, sizeof *scene);
    struct spectrum *dab = arena_need(arena, CARD_PLACES_MOST, sizeof *dab), window, beside;
    const struct photo_card *card = card_of(argv[2], arena);
    struct room *room = room_new((unsigned long long)number(&order, "seed", 1));
    if (said(&order, "sheet",
             NULL)) { /* the first day: relatives of what the labels say, paper and ink of a printer */
        const struct photo_card *sheet = card_of(said(&order, "sheet", ""), arena);
        room_drift_lots(room, log(2) / 1.6, .1);
        room_print(room, .93 + .06 * room_uniform(room), .07 + .15 * room_uniform(room));
        dab_all(room, sheet, dab);
        if (said(&order, "tell", NULL)) tell_dabs(sheet, dab);
        scene_preset(scene, card, (int)number(&order, "camera", 1), (enum lamp)number(&order, "lamp", 1),
                     (int)number(&order, "tilt", 0));
        put_in_place(sheet, dab, scene);
    } else {
        need_curves(card);
        scene_preset(scene, card, (int)number(&order, "camera", 1), (enum lamp)number(&order, "lamp", 1),
                     (int)number(&order, "tilt", 0));
    }
    set(&order, scene);
    leather_of(room, said(&order, "window", "0"), &window);
    scene->window.colour = scene->ground.colour = window;
    const double *mm = card->window_center_mm, w = card->window_mm;
    if (said(&order, "beside", NULL)) {
        leather_of(room, said(&order, "beside", ""), &beside);
        scene->cover[scene->covers++] =
            (struct cover){mm[0] + .5, mm[1] - w / 2, w / 2 - .5, w, .leather = &beside};
    }
    struct plate *plate = plate_expose(scene);
    tell("window", &window, plate, (double[]){mm[0] - (scene->covers ? w / 4 : 0), mm[1]});
    if (scene->covers) tell("beside", &beside, plate, (double[]){mm[0] + w / 4, mm[1]});
    const int code = write_photograph(argv[1], plate, scene);
    plate_free(plate);
    room_free(room);
    arena_free(arena);
    return code;
}
