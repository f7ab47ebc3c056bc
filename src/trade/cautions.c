/* Facts behind the sentences (words/pour.def): isocyanate mist is the commonest cause of occupational asthma
 * among sprayers, filter masks do not serve, air-fed breathing apparatus does, and the booth has a clearance
 * time (HSE); over .1 % monomeric diisocyanate only with training in the EU since 2023-08-24 (REACH annex
 * XVII entry 74); aziridine crosslinkers sensitise; isocyanate and water make gas (carbon dioxide); solvent
 * near a flame, heater or switch (OSHA 1910.107). A crosslinker that was not named is treated as both. */
#include "trade/cautions.h"

size_t cautions_of_pour(const struct pour_work *work, enum word out[CAUTIONS_MOST]) {
    size_t n = 0;
    out[n++] = WORD_CAUTION_SHEET_FIRST;
    if (work->crosslinker != CROSSLINKER_NONE) out[n++] = WORD_CAUTION_CROSSLINKED_POT;
    if (work->crosslinker == CROSSLINKER_UNKNOWN || work->crosslinker == CROSSLINKER_ISOCYANATE) {
        out[n++] = WORD_CAUTION_ISOCYANATE;
        out[n++] = WORD_CAUTION_ISOCYANATE_TRAINING;
    }
    if (work->crosslinker == CROSSLINKER_UNKNOWN || work->crosslinker == CROSSLINKER_AZIRIDINE)
        out[n++] = WORD_CAUTION_AZIRIDINE;
    if (work->thinned) out[n++] = WORD_CAUTION_SOLVENT;
    out[n++] = WORD_CAUTION_MIST;
    out[n++] = WORD_CAUTION_SCALE_OUTSIDE;
    return n;
}
