/* The ring of dabs judged by a simulated eye: it sees each dab's difference to the part (dE00, daylight) with
 * a noise of EYE_NOISE and cannot tell two dabs whose differences lie within EYE_THRESHOLD; it then says that
 * the part lies between them. */
#ifndef RUSSET_TESTS_ROOM_RING_EYE_H
#define RUSSET_TESTS_ROOM_RING_EYE_H

#include "paint/ring.h"
#include "room/pot_room.h"

struct lab ring_eye_sees(const struct spectrum *r);
/* dE00 of the pot to the part. */
double ring_eye_off(const struct pot_shop *shop, const struct pot *pot, struct lab part);
/* One ring of dabs of 2 g, asked and answered; what was heard goes into the story, what it says to be left
 * into told. */
void ring_eye_once(struct pot_shop *shop, const struct match_task *task, struct pot *pot, struct lab part,
                   struct heard *story, size_t *heard, double *told);

#endif
