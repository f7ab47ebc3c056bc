/* A room's shelf as a shop gets it: drawdowns, then the fit. Linked into every room test. */
#ifndef RUSSET_TESTS_ROOM_FIT_H
#define RUSSET_TESTS_ROOM_FIT_H

#include "paint/fit.h"
#include "room/room.h"

/* The labels of the room's toners (14 and the binder): roles, density 1.1, no price. */
void room_about(const struct room *room, struct toner about[ROOM_BINDER + 1]);
/* Drawdowns as planned and fitted; the shelf has the toners 0..ROOM_BINDER in the room's order. False when
 * the fit refuses. */
bool room_fit(struct room *room, const struct room_plan *plan, struct arena *arena, struct shelf *shelf,
              struct fit_report *report);

/* Quantile (sorts). */
double room_quantile(double value[], size_t n, double p);
double room_de00(const struct spectrum *a, const struct spectrum *b, enum light light);

#endif
