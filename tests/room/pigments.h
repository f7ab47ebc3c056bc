/* The pigments of the spray room: true absorption and scattering per um of dry film at unit mass fraction. */
#ifndef RUSSET_TESTS_ROOM_PIGMENTS_H
#define RUSSET_TESTS_ROOM_PIGMENTS_H

#include "colour/spectrum.h"

struct pigment {
    const char *id;
    bool invented;
    double absorb[BANDS], scatter[BANDS]; /* scatter: reduced, mu_s (1 - g) */
    double forward;                       /* g of Henyey and Greenstein */
    double crowd; /* volume fraction in the dry film of the toner alone; 0: does not crowd */
};

enum { PIGMENTS = 29 }; /* in the order of the room: 14 of the shelf, binder, others */
void pigments_make(struct pigment out[PIGMENTS]);

#endif
