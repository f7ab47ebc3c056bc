/* What is known of a toner before it was ever measured: curves of known pigments by their Colour Index name,
 * or of a family ("yellow-oxide", "warm-black"), with how sure they are.
 *
 *     struct toner_prior prior; double k[BANDS], s[BANDS];
 *     pigment_blend("PB15:3+PW6:.1", k, s, &prior, &role, bad)
 */
#ifndef RUSSET_PAINT_PIGMENT_H
#define RUSSET_PAINT_PIGMENT_H

#include "paint/toner.h"

/* S of the white (PW6) of the table per um of dry film at unit mass fraction: the one number that turns the
 * table's relative unit into films. An assumption (from memory: titanium white at usual loading scatters .1
 * to .2 per um); every toner's strength is a factor of two unsure beside it. */
#define PIGMENT_WHITE_S_PER_UM .15

/* "NAME[:WEIGHT][+NAME[:WEIGHT]...]": NAME a Colour Index name (any case; "PB15:3" is one, "PW6:.1" is PW6
 * with weight .1) or a family; weights by mass, 1 when left out. k and s per um at unit mass fraction. False
 * when a name or weight is not known: bad[48] receives it. */
bool pigment_blend(const char *text, double k[BANDS], double s[BANDS], struct toner_prior *prior,
                   enum toner_role *role, char bad[48]);

/* What a shelf of such toners is besides them, before any film: how light goes in and out, and whites that
 * crowd. Call it once, after the toners are named. */
void pigment_shelf(struct shelf *shelf);

/* Is a toner of such a text made of white, black, oxides and earths alone? */
bool pigment_is_dull(const char *text);

/* Names of the families, for a sentence: "yellow-oxide, red-oxide, ...". */
void pigment_families(char *out, size_t room);

#endif
