/* Written: fractions with SPECTRAL_NORM "1", columns SPECTRAL_NM400 ... SPECTRAL_NM700, a geometry when it is
 * known; blank fields as "". Grams and um with up to six decimals, trailing zeros left out. Lines end in LF.
 */
#include "formats/cgats_out.h"
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* In double quotes, a quote within doubled; a line end within becomes a blank. */
static void add_quoted(struct text *out, const char *s) {
    text_add(out, "\"");
    for (; *s; s++) {
        if (*s == '"')
            text_add(out, "\"\"");
        else
            text_add_bytes(out, *s == '\n' || *s == '\r' ? " " : s, 1);
    }
    text_add(out, "\"");
}

static void add_amount(struct text *out, double value) {
    char number[64];
    snprintf(number, sizeof number, "%.6f", value);
    size_t n = strlen(number);
    while (number[n - 1] == '0') n--;
    if (number[n - 1] == '.') n--;
    text_add(out, " ");
    text_add_bytes(out, number, n);
}

static void add_amount_or_blank(struct text *out, double value) {
    if (isnan(value))
        text_add(out, " \"\"");
    else
        add_amount(out, value);
}

static void add_head(struct text *out, const char *originator, enum geometry geometry, size_t fields) {
    text_add(out, "CGATS.17\n");
    if (originator) {
        text_add(out, "ORIGINATOR ");
        add_quoted(out, originator);
        text_add(out, "\n");
    }
    if (geometry != GEOMETRY_UNKNOWN)
        text_format(out, "MEASUREMENT_GEOMETRY \"%s\"\n", geometry_name(geometry));
    text_add(out, "KEYWORD \"SPECTRAL_NORM\"\nSPECTRAL_NORM \"1\"\n");
    text_format(out, "NUMBER_OF_FIELDS %zu\nBEGIN_DATA_FORMAT\nSAMPLE_ID", fields);
}

static void add_bands(struct text *out, size_t sets) {
    for (int b = 0; b < BANDS; b++) text_format(out, " SPECTRAL_NM%d", BAND_FIRST_NM + b * BAND_STEP_NM);
    text_format(out, "\nEND_DATA_FORMAT\nNUMBER_OF_SETS %zu\nBEGIN_DATA\n", sets);
}

static void add_spectrum(struct text *out, const struct spectrum *spectrum) {
    for (int b = 0; b < BANDS; b++) text_format(out, " %.6f", spectrum->band[b]);
    text_add(out, "\n");
}

void cgats_write_readings(const struct reading *reading, size_t count, const char *originator,
                          struct text *out) {
    assert(count > 0);
    add_head(out, originator, reading[0].geometry, 1 + BANDS);
    add_bands(out, count);
    for (size_t i = 0; i < count; i++) {
        assert(reading[i].has_spectrum && reading[i].geometry == reading[0].geometry);
        add_quoted(out, reading[i].id);
        add_spectrum(out, &reading[i].reflectance);
    }
    text_add(out, "END_DATA\n");
}

static bool has_topcoats(const struct drawdown_set *set) {
    for (size_t i = 0; i < set->count; i++)
        if (!isnan(set->row[i].topcoat_gu)) return true;
    return false;
}

static void add_row(struct text *out, const struct drawdown_set *set, const struct drawdown *row,
                    bool topcoats) {
    add_quoted(out, row->id);
    text_add(out, " ");
    const bool over = row->backing != DRAWDOWN_OPAQUE;
    add_quoted(out, row->is_bare ? "" : over ? set->row[row->backing].id : "-");
    add_amount_or_blank(out, row->film_um);
    if (topcoats) add_amount_or_blank(out, row->topcoat_gu);
    for (size_t t = 0; t < set->toner_count; t++) add_amount(out, row->mass_g[t]);
    add_spectrum(out, &row->reflectance);
}

void cgats_write_drawdowns(const struct drawdown_set *set, const char *originator, struct text *out) {
    const bool topcoats = has_topcoats(set);
    add_head(out, originator, set->geometry, 3 + topcoats + set->toner_count + BANDS);
    text_add(out, topcoats ? " BACKING FILM_UM TOPCOAT" : " BACKING FILM_UM");
    for (size_t t = 0; t < set->toner_count; t++) text_format(out, " MIX_%s", set->toner_id[t]);
    add_bands(out, set->count);
    for (size_t i = 0; i < set->count; i++) add_row(out, set, &set->row[i], topcoats);
    text_add(out, "END_DATA\n");
}
