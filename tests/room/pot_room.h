/* What the trials of correction share: a shop whose shelf was fitted and whose lots then drifted, a pot, its
 * cards. */
#ifndef RUSSET_TESTS_ROOM_POT_ROOM_H
#define RUSSET_TESTS_ROOM_POT_ROOM_H

#include "paint/adjust.h"
#include "room/room_fit.h"

enum { POT_CARDS = 24 };

struct pot_shop {
    struct room *room;
    struct arena *arena;
    struct shelf shelf;     /* as fitted before the drift */
    struct spectrum ground; /* filler, as read */
    struct spectrum white;  /* the card's white half, as read; see pot_shop_halves */
    double film_um;
    enum geometry geometry; /* how pots are looked at: sci */
};

/* How a lot differs: more or less pigment in the bottle (K and S alike), or K and S apart. */
enum drift_kind { DRIFT_WHOLE, DRIFT_APART };

/* Fits the usual drawdowns of room `seed`, then lets every lot drift. */
bool pot_shop_open(unsigned long long seed, double drift, double shape, enum drift_kind kind,
                   struct pot_shop *out);
void pot_shop_close(struct pot_shop *shop);

struct pot {
    double written_g[ROOM_MOST]; /* as the scale said */
    double real_g[ROOM_MOST];    /* as it is */
    double taken_g;
};

/* The recipe that `russet match` puts first: four toners, 60 g, .01 g, over filler at the shop's film, coats
 * and pours counted. Returns its dE00 (D65), negative on failure. */
double pot_match(const struct pot_shop *shop, const struct spectrum *target, struct match_task *task,
                 struct pot *pot);
void pot_pour(const struct pot_shop *shop, struct pot *pot, const struct addition *add, size_t count);

/* Takes 2 g for a card, sprays it with 5 % of film spread and reads it. part must live as long as the card.
 */
void pot_card(const struct pot_shop *shop, struct pot *pot, struct card *card, double part[ROOM_MOST]);
/* From now on cards have a white half. */
void pot_shop_halves(struct pot_shop *shop);
/* The same card (2 g, one film) over white, card[0], and over filler, card[1]. */
void pot_card_halves(const struct pot_shop *shop, struct pot *pot, struct card card[2],
                     double part[ROOM_MOST]);
/* dE00 (D65/10) of the pot at the nominal film, as a perfect instrument sees it. */
double pot_truth(const struct pot_shop *shop, const struct pot *pot, const struct spectrum *target);
void pot_spectrum(const struct pot_shop *shop, const struct pot *pot, struct spectrum *out);

#endif
