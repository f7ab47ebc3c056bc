/* Values for a card's patches from a file of readings: by SAMPLE_ID, or by POS_X_MM and POS_Y_MM (within half
 * a patch). A sample that has a position where no patch is becomes a new patch there (SIZE_MM, else 6 mm). */
#ifndef RUSSET_FORMATS_CARD_VALUES_H
#define RUSSET_FORMATS_CARD_VALUES_H

#include "formats/photo_spots.h"
#include "formats/sample_file.h"

struct card_values_found {
    int put, added;             /* patches that got a value; that are new */
    const char *unknown, *left; /* ids: of samples that no patch is for, of patches without a value; "" */
};

/* INPUT: a position that is no number or not on the card, too many patches, no sample that fits. Texts are
 * the arena's. */
enum status card_values_put(struct photo_card *card, const struct sample_file *file, struct arena *arena,
                            struct card_values_found *out, struct fault *fault) MUST_USE;
/* The same from the places of a photographed sheet: each becomes a colour patch whose value is as sure as its
 * covariance says; the greys that were only roughly known leave. */
enum status card_values_put_spots(struct photo_card *card, const struct photo_spot spot[], size_t count,
                                  const char *file, struct arena *arena, struct card_values_found *out,
                                  struct fault *fault) MUST_USE;

#endif
