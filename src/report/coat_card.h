/* The coat card: what hangs beside the booth. A5, read at arm's length with gloves on, ticked with a pencil.
 */
#ifndef RUSSET_REPORT_COAT_CARD_H
#define RUSSET_REPORT_COAT_CARD_H

#include "report/page.h"

enum { COAT_CARD_ROWS_MOST = 60, COAT_CARD_NOTES_MOST = 16, COAT_CARD_CAUTIONS_MOST = 12 };

struct coat_card_row {
    double start_s, flash_s, film_um; /* flash_s 0: the last coat */
    const char *start;                /* clock time, or "" */
    bool hides_first;                 /* the coat from which it hides */
    unsigned pot;                     /* 0: no crosslinker */
};

struct coat_card {
    const char *title, *subtitle;
    double total_ml, coat_ml, wet_um, dry_um;
    bool has_gun;
    double speed_m_s, stroke_s, step_mm, flow_ml_min, fan_mm, overlap, distance_low_mm, distance_high_mm;
    unsigned strokes;
    bool has_air, air_go;
    double margin_k, drying_index;
    const char *first_pot_ends; /* clock time, or "" */
    double pot_life_s;          /* NAN: no crosslinker */
    size_t row_count;
    struct coat_card_row row[COAT_CARD_ROWS_MOST];
    size_t note_count, caution_count;
    const char *note[COAT_CARD_NOTES_MOST], *caution[COAT_CARD_CAUTIONS_MOST];
};

enum status coat_card_draw(const struct coat_card *card, enum page_kind kind, struct text *out,
                           struct fault *fault) MUST_USE;

#endif
