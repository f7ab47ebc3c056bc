/* Curves: K and S of real pigments in an acrylic binder (data/pigments/two-constant-acrylics.csv, Berns
 * 2016), turned into radiative constants by the diffusion limits mu_a = K / 2 and mu_s (1 - g) = 4/3 S (from
 * memory: Star, Marijnissen and van Gemert 1988), and scaled so that white at mass fraction 1 has S = .16 per
 * um. Iron oxides, carbon blacks and the binder are not in that table: their curves are INVENTED here from
 * logistic edges and are marked so. The asymmetry g of each toner is invented (.3 fine organic .. .6 titanium
 * white). */
#include "room/pigments.h"
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double WHITE_S_PER_UM = .16;

struct real {
    const char *id, *name; /* name in the table */
    double strength, forward, crowd;
};
struct edge { /* INVENTED: K = floor + height / (1 + exp((nm - at) / width)) + bump; S = low .. high over the
                 same edge */
    const char *id;
    double floor, height, at_nm, width_nm, bump, bump_at_nm, s_low, s_high, forward;
};
struct source {
    struct real real;
    struct edge edge;
};

#define REAL(id, name, strength, g)   \
    {                                 \
        {id, name, strength, g, 0}, { \
            0                         \
        }                             \
    }
#define EDGE(id, floor, height, at, width, bump, bump_at, s_low, s_high, g) \
    {                                                                       \
        {0}, {                                                              \
            id, floor, height, at, width, bump, bump_at, s_low, s_high, g   \
        }                                                                   \
    }

static const struct source sources[PIGMENTS] = {
    {{"white", "TitaniumWhite", 1, .6, .15}, {0}},
    EDGE("black", 4.2, .5, 450, 60, 0, 0, .03, .03, .3),
    EDGE("yellow-oxide", .030, .90, 508, 17, .10, 640, .20, .36, .5),
    EDGE("red-oxide", .10, 1.9, 578, 11, .12, 690, .16, .40, .5),
    EDGE("brown-oxide", .30, 1.7, 545, 38, 0, 0, .14, .22, .5),
    REAL("yellow", "BismuthVanadateYellow", 1, .5),
    REAL("yellow-deep", "DiarylideYellow", 1, .4),
    REAL("orange", "PyrroleOrange", 1, .4),
    REAL("red", "PyrroleRed", 1, .4),
    REAL("magenta", "QuinacridoneMagenta", 1, .3),
    REAL("violet", "DioxazinePurple", 1, .3),
    REAL("blue", "PhthaloBlueRedShade", 1, .3),
    REAL("green", "PhthaloGreenBlueShade", 1, .3),
    REAL("ultramarine", "UltramarineBlue", 1.5, .5),
    EDGE("binder", 0, .0004, 430, 20, 0, 0, 0, 0, 0),
    REAL("other-bone-black", "BoneBlack", 3, .4),
    EDGE("other-lamp-black", 3.4, -.5, 480, 80, 0, 0, .025, .03, .3),
    EDGE("other-black-oxide", 1.2, .35, 520, 70, 0, 0, .10, .09, .5),
    REAL("other-yellow", "HansaYellowOpaque", 1, .4),
    REAL("other-orange", "CadmiumOrange", 1, .5),
    REAL("other-red", "CadmiumRedLight", 1, .5),
    REAL("other-quinacridone", "QuinacridoneRed", 1, .3),
    REAL("other-cobalt-blue", "CobaltBlue", 1, .5),
    REAL("other-cerulean", "CeruleanBlueChromium", 1, .5),
    REAL("other-blue", "PhthaloBlueGreenShade", 1, .3),
    REAL("other-green", "PhthaloGreenYellowShade", 1, .3),
    EDGE("other-sienna", .08, 1.1, 530, 26, .06, 650, .15, .28, .5),
    EDGE("other-umber", .42, 1.1, 530, 55, 0, 0, .12, .17, .5),
    {{"other-white", "TitaniumWhite", .9, .6, .15}, {0}},
};

/* The 31 numbers of one row (name, K or S) of the table; columns are named by wavelength. */
static void read_row(const char *name, char which, double out[BANDS]) {
    FILE *file = fopen(SHIPPED_DATA "/pigments/two-constant-acrylics.csv", "r");
    assert(file);
    static char line[8192];
    int column_of_400 = -1;
    bool found = false;
    while (!found && fgets(line, sizeof line, file)) {
        char *field[64] = {0};
        int n = 0;
        for (char *at = strtok(line, ",\n"); at && n < 64; at = strtok(NULL, ",\n")) field[n++] = at;
        if (n > 3 && strcmp(field[0], "pigment") == 0)
            for (int i = 3; i < n; i++)
                if (strcmp(field[i], "400") == 0) column_of_400 = i;
        found = n > 3 && column_of_400 > 0 && strcmp(field[0], name) == 0 && field[2][0] == which;
        for (int b = 0; found && b < BANDS; b++) out[b] = strtod(field[column_of_400 + b], NULL);
    }
    fclose(file);
    assert(found);
}

static void make_real(struct pigment *out, const struct real *real) {
    double k[BANDS], s[BANDS];
    read_row(real->name, 'K', k);
    read_row(real->name, 'S', s);
    out->id = real->id;
    out->forward = real->forward;
    out->crowd = real->crowd;
    for (int b = 0; b < BANDS; b++) {
        out->absorb[b] = WHITE_S_PER_UM * real->strength * k[b] / 2;
        out->scatter[b] = WHITE_S_PER_UM * real->strength * s[b] * 4 / 3;
    }
}

static void make_edge(struct pigment *out, const struct edge *edge) {
    out->id = edge->id;
    out->invented = true;
    out->forward = edge->forward;
    for (int b = 0; b < BANDS; b++) {
        const double nm = BAND_FIRST_NM + b * BAND_STEP_NM;
        const double below = 1 / (1 + exp((nm - edge->at_nm) / edge->width_nm));
        const double away = (nm - edge->bump_at_nm) / 35;
        const double k = edge->floor + edge->height * below + edge->bump * exp(-away * away);
        out->absorb[b] = WHITE_S_PER_UM * k / 2;
        out->scatter[b] = WHITE_S_PER_UM * (edge->s_high + (edge->s_low - edge->s_high) * below) * 4 / 3;
    }
}

void pigments_make(struct pigment out[PIGMENTS]) {
    memset(out, 0, PIGMENTS * sizeof out[0]);
    for (int i = 0; i < PIGMENTS; i++)
        if (sources[i].real.id)
            make_real(&out[i], &sources[i].real);
        else
            make_edge(&out[i], &sources[i].edge);
}
