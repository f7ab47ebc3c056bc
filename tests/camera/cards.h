/* Cards as a shop has them, and leathers to photograph; all made in the spray room (tests/room). */
#ifndef RUSSET_TESTS_CAMERA_CARDS_H
#define RUSSET_TESTS_CAMERA_CARDS_H

#include "camera/render.h"
#include "room/room.h"

/* The own card: neutrals and seventeen leather colours sprayed from the toners of the room's shelf, opaque,
 * read once (45/0) with the instrument's noise. truth[patch]: without the noise. */
void card_own(struct room *room, struct photo_card *card, struct spectrum truth[CARD_PATCHES_MOST]);

extern const struct spectrum chart_seen[24];
/* The classic chart of 24 patches in its frame, its values the Lab that is published; the spectra are what is
 * in the picture. */
void card_classic(struct photo_card *card, struct spectrum truth[CARD_PATCHES_MOST]);

/* Leathers: 0..39 of pigments that the shelf does not have, 40..49 such blacks; from LEATHER_LIKE on the same
 * kinds of colour mixed from the shelf's own toners. All as an opaque film, 45/0. */
enum { LEATHERS = 50, LEATHER_LIKE = 100, LEATHERS_LIKE = 24 };
const char *leather_colour(struct room *room, int i, struct spectrum *out);

#endif
