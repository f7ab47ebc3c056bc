/* A shop with a camera: a shelf fitted in the room, an own card sprayed from it, pots, and photographs of
 * them by the model without pixels (quick.h). */
#ifndef RUSSET_TESTS_CAMERA_PHOTO_SHOP_H
#define RUSSET_TESTS_CAMERA_PHOTO_SHOP_H

#include "camera/cards.h"
#include "paint/adjust.h"
#include "paint/prior_fit.h"
#include "surface/camera.h"

/* Shops from this seed on take photographs with twenty other cameras: constants are set on those. */
enum { PHOTO_SHOP_SETTING = 1000 };

struct photo_shop {
    struct room *room;
    struct arena *arena;
    struct shelf shelf;
    struct spectrum ground; /* filler */
    struct photo_card card;
    struct spectrum truth[CARD_PATCHES_MOST];
    size_t library_count;
    struct spectrum *library;
    double film_um;
    struct spectrum place[CARD_PLACES_MOST]; /* the dabs of a start sheet */
    int photographs;                         /* taken so far: each has its own camera, lamp and hand */
    int phone; /* of the first day: its one camera, always in open shade; -1: any, anywhere */
    bool raw;  /* the phone keeps raw files */
};

struct shop_pot {
    double written_g[ROOM_MOST], real_g[ROOM_MOST], taken_g;
};

/* Drawdowns read 45/0, fitted; lots then drift by that much (.08), shape 3 %; 0: they do not. */
bool photo_shop_open(unsigned long long seed, double drift, struct photo_shop *out);
/* The first day: a shelf of pigment names; the room's toners are their relatives (strength x or / 2: a
 * standard deviation of ln 2 / 1.6; shape 10 %). A start sheet with dabs of unknown thickness, photographed
 * once; three films a toner (as it is over black and over white, 1 in 10 with white over black) narrow the
 * names. */
bool photo_shop_start(unsigned long long seed, bool raw, struct photo_shop *out);
/* What a photographed dab is off by, as `toners fit --prior` takes it: its own part, and what all share. */
void photo_shop_own_error(const struct camera_colour *seen, struct prior_film *film);
void photo_shop_close(struct photo_shop *shop);

/* One photograph with the leather in the window and a dab beside it: what the dab has more of L, a, b. */
enum status photo_shop_against(struct photo_shop *shop, const struct spectrum *leather,
                               const struct spectrum *dab, bool like, double dlab[3], struct fault *fault);
/* One photograph with the leather in the window and, when dab is given, a dab beside it in the same light. */
enum status photo_shop_read(struct photo_shop *shop, const struct spectrum *leather,
                            const struct spectrum *dab, bool like, struct reading *spot,
                            struct reading *of_dab, struct fault *fault);

/* Matches (four toners, 60 g, .01 g, filler, 30 um) and pours. Negative on failure, else what the match
 * promised. */
/* only: of these toners alone (mass_g > 0), or NULL. */
double photo_shop_match(struct photo_shop *shop, const struct reading *target, const double only[],
                        struct match_task *task, struct shop_pot *pot);
/* A dab of the pot: 2 g, film off by 5 %. */
void photo_shop_dab(struct photo_shop *shop, struct shop_pot *pot, struct spectrum *out);
/* One adjust by a card that reads so; trust_sd as struct card. */
bool photo_shop_adjust(struct photo_shop *shop, const struct match_task *task, const struct spectrum *target,
                       const struct spectrum *measured, double trust_sd, struct shop_pot *pot);
/* One adjust by a difference: the pot, as the shelf says it is, is asked for what takes the difference away,
 * less what a known camera makes otherwise than the eye of the dab, and of the spot when an instrument read
 * it (else NULL). */
bool photo_shop_adjust_by(struct photo_shop *shop, const struct match_task *task, const double dlab[3],
                          const struct spectrum *spot, struct shop_pot *pot);
/* dE00 (D65/10, 45/0) of the pot at the shop's film. */
double photo_shop_truth(const struct photo_shop *shop, const struct shop_pot *pot,
                        const struct spectrum *leather);

#endif
