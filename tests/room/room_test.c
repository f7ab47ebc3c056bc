/* The room behaves like a room: what a sprayer would see, and what the CGATS text says. */
#include "check.h"
#include "room/room.h"

static double mean(const struct spectrum *s) {
    double sum = 0;
    for (int b = 0; b < BANDS; b++) sum += s->band[b];
    return sum / BANDS;
}

static double seen(const struct room *room, const char *id, double film_um, enum room_backing backing) {
    double mass_g[ROOM_MOST] = {0};
    struct spectrum out;
    const struct room_film film = room_film_plain(film_um, backing);
    mass_g[room_find(room, id)] = 3;
    room_spray(room, mass_g, &film, &out);
    return mean(&out);
}

static void thicker_films_hide_better(void) {
    struct room *room = room_new(1);
    double before = 0;
    for (double film = 5; film < 3000; film *= 2) {
        const double black = seen(room, "white", film, ROOM_BLACK),
                     white = seen(room, "white", film, ROOM_WHITE);
        CHECK(black > before && white >= black - 1e-9);
        before = black;
    }
    CHECK_NEAR(seen(room, "white", 3000, ROOM_BLACK), seen(room, "white", (double)INFINITY, ROOM_WHITE), .01);
    room_free(room);
}

static void a_thin_film_is_the_bare_card(void) {
    struct room *room = room_new(1);
    const struct room_film film = room_film_plain(30, ROOM_CRUST);
    struct spectrum bare;
    room_bare(room, &film, &bare);
    CHECK_NEAR(seen(room, "red-oxide", 1e-9, ROOM_CRUST), mean(&bare), 1e-6);
    room_free(room);
}

static void white_crowds(void) {
    struct room *room = room_new(1);
    const int white = room_find(room, "white"), black = room_find(room, "black");
    double seen_at[2];
    for (int i = 0; i < 2; i++) { /* same ratio of white and black, once with ten times the binder */
        double mass_g[ROOM_MOST] = {0};
        struct spectrum out;
        const struct room_film film = room_film_plain((double)INFINITY, ROOM_BLACK);
        mass_g[white] = 30, mass_g[black] = .5, mass_g[ROOM_BINDER] = i ? 300 : 0;
        room_spray(room, mass_g, &film, &out);
        seen_at[i] = mean(&out);
    }
    CHECK(seen_at[1] > seen_at[0] + .02);
    room_free(room);
}

static void a_topcoat_greys_a_black(void) {
    struct room *room = room_new(1);
    double mass_g[ROOM_MOST] = {0}, before = 0;
    mass_g[room_find(room, "black")] = 1;
    for (double gu = 85; gu >= 1; gu /= 2) {
        struct room_film film = {(double)INFINITY, ROOM_BLACK, GEOMETRY_SCE, gu};
        struct spectrum out;
        room_spray(room, mass_g, &film, &out);
        CHECK(mean(&out) > before);
        before = mean(&out);
        film.geometry = GEOMETRY_SCI;
        struct spectrum with;
        room_spray(room, mass_g, &film, &with);
        CHECK(mean(&with) > before);
    }
    room_free(room);
}

static void the_same_seed_gives_the_same_set(void) {
    struct text text[2] = {{0}, {0}};
    for (int i = 0; i < 2; i++) {
        struct room *room = room_new(7);
        const struct room_plan plan = room_plan_usual();
        struct room_set set;
        room_drawdowns(room, &plan, &set);
        room_set_write(room, &set, true, &text[i]);
        if (i) printf("  figure: the usual set has %zu rows\n", set.count);
        room_set_free(&set);
        room_free(room);
    }
    CHECK_TEXT(text[0].data, text[1].data);
    text_free(&text[0]);
    text_free(&text[1]);
}

static void noise_has_the_size_it_says(void) {
    struct room *room = room_new(3);
    double sum = 0;
    for (int i = 0; i < 400; i++) {
        struct spectrum flat = {{0}};
        for (int b = 0; b < BANDS; b++) flat.band[b] = .5;
        room_read(room, &flat);
        for (int b = 0; b < BANDS; b++) sum += (flat.band[b] - .5) * (flat.band[b] - .5);
    }
    CHECK_NEAR(sqrt(sum / 400 / BANDS), .0002, 6e-6);
    room_free(room);
}

static void targets_are_made_of_other_pigments(void) {
    struct room *room = room_new(1);
    for (size_t i = 0; i < ROOM_TARGETS + ROOM_BLACKS; i++) {
        double mass_g[ROOM_MOST];
        const char *name =
            i < ROOM_TARGETS ? room_target(room, i, mass_g) : room_black(room, i - ROOM_TARGETS, mass_g);
        for (int t = 0; t < ROOM_SHELF; t++) CHECK(mass_g[t] == 0);
        CHECK(name && mass_g[ROOM_BINDER] > 0);
    }
    room_free(room);
}

int main(void) {
    RUN(thicker_films_hide_better);
    RUN(a_thin_film_is_the_bare_card);
    RUN(white_crowds);
    RUN(a_topcoat_greys_a_black);
    RUN(the_same_seed_gives_the_same_set);
    RUN(noise_has_the_size_it_says);
    RUN(targets_are_made_of_other_pigments);
    return check_done();
}
