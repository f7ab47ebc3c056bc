/* Measured curves: nineteen pigments in an acrylic binder (Berns 2016, Artist Paint Spectral Database, 24th
 * Color and Imaging Conference: data/pigments/two-constant-acrylics.csv), relative, white's S = 1, to be used
 * with Saunderson's k1 = .03, k2 = .65.
 *
 * INVENTED curves (marked so wherever they come out): iron oxides and carbon blacks, the heart of tan and
 * black, are not in that table. From what is known of them (absorption edges near 500 nm for goethite and 570
 * nm for hematite, browns and umbers flatter, carbon nearly even with a slight rise towards blue, strong and
 * hardly scattering; from memory):
 *
 *     K = floor + height / (1 + exp((nm - edge) / width)),   S = s_low below the edge .. s_high above it
 *
 * A Colour Index name without a curve of its own is taken as its nearest relative, with a less sure shape. A
 * family is the geometric mean of its members, with a still less sure one. */
#include "paint/pigment.h"
#include "base/text.h"
#include "paint/pigment_row.h"
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static const double own_shape = .10, invented_shape = .20, relative_shape = .25, family_shape = .35;
static const double strength_sd = .69, scatter_sd = .35; /* a factor of two; S against K */

struct edge { /* INVENTED */
    const char *name;
    double floor, height, edge_nm, width_nm, s_low, s_high;
};
static const struct edge edges[] = {
    {"goethite", .025, .85, 502, 19, .18, .34},    {"hematite", .11, 1.75, 573, 13, .17, .38},
    {"brown-iron", .28, 1.5, 540, 36, .14, .22},   {"umber-earth", .40, 1.0, 530, 52, .12, .17},
    {"sienna-earth", .08, 1.0, 528, 28, .15, .28}, {"carbon", 3.6, .5, 460, 65, .03, .03},
    {"magnetite", 1.3, .3, 520, 70, .09, .09},     {"clear-binder", 0, .0005, 430, 20, 0, 0},
};

struct meaning {
    const char *name; /* Colour Index name or family, lower case */
    const char *curve[4];
    bool relative; /* taken as its nearest relative */
};
static const struct meaning meanings[] = {
    {"pw6", {"TitaniumWhite"}, false},
    {"pw4", {"TitaniumWhite"}, true},
    {"pw7", {"TitaniumWhite"}, true},
    {"py74", {"HansaYellowOpaque"}, false},
    {"py1", {"HansaYellowOpaque"}, true},
    {"py3", {"HansaYellowOpaque"}, true},
    {"py97", {"HansaYellowOpaque"}, true},
    {"py151", {"HansaYellowOpaque"}, true},
    {"py154", {"HansaYellowOpaque"}, true},
    {"py83", {"DiarylideYellow"}, false},
    {"py110", {"DiarylideYellow"}, true},
    {"py139", {"DiarylideYellow"}, true},
    {"py65", {"DiarylideYellow"}, true},
    {"py184", {"BismuthVanadateYellow"}, false},
    {"py42", {"goethite"}, false},
    {"py43", {"goethite"}, false},
    {"po20", {"CadmiumOrange"}, false},
    {"po73", {"PyrroleOrange"}, false},
    {"po5", {"PyrroleOrange"}, true},
    {"po13", {"PyrroleOrange"}, true},
    {"po34", {"PyrroleOrange"}, true},
    {"po36", {"PyrroleOrange"}, true},
    {"pr108", {"CadmiumRedLight"}, false},
    {"pr254", {"PyrroleRed"}, false},
    {"pr3", {"PyrroleRed"}, true},
    {"pr112", {"PyrroleRed"}, true},
    {"pr168", {"PyrroleRed"}, true},
    {"pr170", {"PyrroleRed"}, true},
    {"pr188", {"PyrroleRed"}, true},
    {"pr255", {"PyrroleRed"}, true},
    {"pv19", {"QuinacridoneRed"}, false},
    {"pr202", {"QuinacridoneMagenta"}, true},
    {"pr122", {"QuinacridoneMagenta"}, false},
    {"pr101", {"hematite"}, false},
    {"pr102", {"hematite"}, false},
    {"pv23", {"DioxazinePurple"}, false},
    {"pb15", {"PhthaloBlueRedShade"}, false},
    {"pb15:1", {"PhthaloBlueRedShade"}, false},
    {"pb15:2", {"PhthaloBlueRedShade"}, false},
    {"pb15:3", {"PhthaloBlueGreenShade"}, false},
    {"pb15:4", {"PhthaloBlueGreenShade"}, false},
    {"pb15:6", {"PhthaloBlueRedShade"}, true},
    {"pb60", {"UltramarineBlue", "PhthaloBlueRedShade"}, true},
    {"pb28", {"CobaltBlue"}, false},
    {"pb29", {"UltramarineBlue"}, false},
    {"pb35", {"CeruleanBlueChromium"}, true},
    {"pb36", {"CeruleanBlueChromium"}, false},
    {"pg7", {"PhthaloGreenBlueShade"}, false},
    {"pg36", {"PhthaloGreenYellowShade"}, false},
    {"pg17", {"PhthaloGreenYellowShade", "goethite"}, true},
    {"pbr6", {"brown-iron"}, false},
    {"pbr7", {"brown-iron"}, false},
    {"pbk6", {"carbon"}, false},
    {"pbk7", {"carbon"}, false},
    {"pbk8", {"BoneBlack"}, true},
    {"pbk9", {"BoneBlack"}, false},
    {"pbk11", {"magnetite"}, false},
    {"white", {"TitaniumWhite"}, false},
    {"yellow-oxide", {"goethite"}, false},
    {"red-oxide", {"hematite"}, false},
    {"brown-oxide", {"brown-iron"}, false},
    {"umber", {"umber-earth"}, false},
    {"sienna", {"sienna-earth"}, false},
    {"warm-black", {"BoneBlack"}, true},
    {"cool-black", {"carbon"}, true},
    {"black-oxide", {"magnetite"}, false},
    {"binder", {"clear-binder"}, false},
    {"unknown-yellow", {"HansaYellowOpaque", "DiarylideYellow", "goethite"}, true},
    {"unknown-orange", {"PyrroleOrange", "CadmiumOrange"}, true},
    {"unknown-red", {"PyrroleRed", "CadmiumRedLight", "QuinacridoneRed"}, true},
    {"unknown-magenta", {"QuinacridoneMagenta", "QuinacridoneRed"}, true},
    {"unknown-violet", {"DioxazinePurple", "QuinacridoneMagenta"}, true},
    {"unknown-blue", {"PhthaloBlueRedShade", "PhthaloBlueGreenShade", "UltramarineBlue"}, true},
    {"unknown-green", {"PhthaloGreenBlueShade", "PhthaloGreenYellowShade"}, true},
    {"unknown-brown", {"brown-iron", "umber-earth", "sienna-earth"}, true},
    {"unknown-black", {"carbon", "BoneBlack", "magnetite"}, true},
};
enum { MEANINGS = sizeof meanings / sizeof meanings[0], EDGES = sizeof edges / sizeof edges[0] };

void pigment_families(char *out, size_t room) {
    size_t n = 0;
    for (int i = 0; i < MEANINGS && n + 1 < room; i++) {
        const char *name = meanings[i].name;
        if (name[0] == 'p' && isdigit((unsigned char)name[strcspn(name, "0123456789")])) continue;
        n += (size_t)snprintf(out + n, room - n, "%s%s", n ? ", " : "", name);
    }
}

/* ---- curves ---- */

struct curves {
    double k[BANDS], s[BANDS];
};

static void edge_curves(const struct edge *edge, struct curves *out) {
    for (int b = 0; b < BANDS; b++) {
        const double below =
            1 / (1 + exp((BAND_FIRST_NM + b * BAND_STEP_NM - edge->edge_nm) / edge->width_nm));
        out->k[b] = edge->floor + edge->height * below;
        out->s[b] = edge->s_high + (edge->s_low - edge->s_high) * below;
    }
}

/* Is it INVENTED? */
static bool curves_of(const char *name, struct curves *out) {
    for (int i = 0; i < EDGES; i++)
        if (strcmp(edges[i].name, name) == 0) return edge_curves(&edges[i], out), true;
    for (int i = 0; i < pigment_row_count; i++)
        if (strcmp(pigment_rows[i].name, name) == 0) {
            memcpy(out->k, pigment_rows[i].k, sizeof out->k);
            memcpy(out->s, pigment_rows[i].s, sizeof out->s);
        }
    return false;
}

static int members_of(const struct meaning *meaning) {
    int n = 0;
    while (n < 4 && meaning->curve[n]) n++;
    return n;
}

/* The geometric mean of the members. */
static bool mean_curves(const struct meaning *meaning, struct curves *out) {
    const int n = members_of(meaning);
    bool invented = false;
    if (n == 1) return curves_of(meaning->curve[0], out);
    struct curves ln = {{0}, {0}};
    for (int m = 0; m < n; m++) {
        struct curves one;
        invented = curves_of(meaning->curve[m], &one) || invented;
        for (int b = 0; b < BANDS; b++)
            ln.k[b] += log(one.k[b] + 1e-6) / n, ln.s[b] += log(one.s[b] + 1e-6) / n;
    }
    for (int b = 0; b < BANDS; b++) out->k[b] = exp(ln.k[b]), out->s[b] = exp(ln.s[b]);
    return invented;
}

static double shape_of(const struct meaning *meaning, bool invented) {
    if (members_of(meaning) > 1) return family_shape;
    return meaning->relative ? relative_shape : invented ? invented_shape : own_shape;
}

/* ---- the text ---- */

static bool same_name(const char *name, const char *text, size_t n) {
    if (strlen(name) != n) return false;
    for (size_t i = 0; i < n; i++)
        if (tolower((unsigned char)text[i]) != name[i]) return false;
    return true;
}

static const struct meaning *meaning_of(const char *text, size_t n) {
    for (int i = 0; i < MEANINGS; i++)
        if (same_name(meanings[i].name, text, n)) return &meanings[i];
    return NULL;
}

/* "PB15:3:.5": the longest head that is a name; what stands behind its colon is the weight. */
static const struct meaning *read_term(const char *text, size_t n, double *weight) {
    const struct meaning *whole = meaning_of(text, n);
    *weight = 1;
    if (whole) return whole;
    size_t colon = n;
    while (colon > 0 && text[colon - 1] != ':') colon--;
    if (colon < 2) return NULL;
    const struct meaning *meaning = meaning_of(text, colon - 1);
    if (!meaning || !text_to_number(text + colon, n - colon, '.', weight)) return NULL;
    return *weight > 0 && *weight <= 1000 ? meaning : NULL;
}

struct blend {
    struct curves sum;
    double weight, shape, most;
    bool invented;
    const struct meaning *main; /* what there is most of */
    int terms;
};

static void add_term(struct blend *blend, const struct meaning *meaning, double weight) {
    struct curves one;
    const bool invented = mean_curves(meaning, &one);
    for (int b = 0; b < BANDS; b++) {
        blend->sum.k[b] += weight * one.k[b];
        blend->sum.s[b] += weight * one.s[b];
    }
    blend->weight += weight;
    blend->shape = fmax(blend->shape, shape_of(meaning, invented));
    blend->invented = blend->invented || invented;
    blend->terms++;
    if (weight > blend->most) blend->most = weight, blend->main = meaning;
}

static enum toner_role role_of(const struct blend *blend) {
    const char *name = blend->main->curve[0];
    if (blend->terms > 1) return ROLE_COLOUR;
    if (strcmp(name, "TitaniumWhite") == 0) return ROLE_WHITE;
    if (strcmp(name, "clear-binder") == 0) return ROLE_BINDER;
    const bool black =
        strcmp(name, "carbon") == 0 || strcmp(name, "BoneBlack") == 0 || strcmp(name, "magnetite") == 0;
    return black ? ROLE_BLACK : ROLE_COLOUR;
}

bool pigment_blend(const char *text, double k[BANDS], double s[BANDS], struct toner_prior *prior,
                   enum toner_role *role, char bad[48]) {
    struct blend blend = {.weight = 0};
    for (const char *at = text; at;) {
        const char *plus = strchr(at, '+');
        const size_t n = plus ? (size_t)(plus - at) : strlen(at);
        double weight;
        const struct meaning *meaning = read_term(at, n, &weight);
        snprintf(bad, 48, "%.*s", (int)(n < 47 ? n : 47), at);
        if (!meaning) return false;
        add_term(&blend, meaning, weight);
        at = plus ? plus + 1 : NULL;
    }
    for (int b = 0; b < BANDS; b++) {
        k[b] = PIGMENT_WHITE_S_PER_UM * blend.sum.k[b] / blend.weight;
        s[b] = PIGMENT_WHITE_S_PER_UM * blend.sum.s[b] / blend.weight;
    }
    *role = role_of(&blend);
    *prior =
        (struct toner_prior){.on = true,
                             .strength_sd = strength_sd,
                             .scatter_sd = scatter_sd,
                             .shape_sd = blend.terms > 1 ? fmax(blend.shape, relative_shape) : blend.shape,
                             .invented = blend.invented};
    snprintf(prior->source, sizeof prior->source, "%s", text);
    return true;
}

/* Light goes through films as a beam (beam.h) with an asymmetry between fine organic pigments (about .3) and
 * titanium white (about .6); 45/0 and a photograph catch about a quarter of what a matt surface returns (dabs
 * are half glossy, and whoever holds the camera square on shades the mirror's direction). White crowds: by
 * the cube-root law (Stieg 1959, from memory) at the 12 to 20 % by volume of usual whites its scattering
 * about doubles from undiluted to traces, which is a crowd of about 1. */
static const double usual_forward = .45, usual_crowd = 1, usual_return = .25;

void pigment_shelf(struct shelf *shelf) {
    shelf->geometry = GEOMETRY_PHOTO;
    shelf->surface = (struct surface){.k1 = .03, .k2 = .65, .sheen_return = usual_return};
    shelf->beam = (struct beam){true, usual_forward};
    for (size_t i = 0; i < shelf->count; i++) {
        struct toner *toner = &shelf->toner[i];
        if (toner->role != ROLE_WHITE) continue;
        toner->crowd = usual_crowd; /* S stays what it was undiluted */
        for (int b = 0; b < BANDS; b++) toner->s[b] *= 1 + usual_crowd;
    }
}

/* By Colour Index generic names (all whites, blacks and browns; PY42, PY43, PR101, PR102 are iron oxides),
 * and by family. */
static bool is_dull(const char *name, size_t length) {
    static const char *const begins[] = {"pw", "pbk", "pbr"};
    static const char *const whole[] = {"py42",         "py43",       "pr101",         "pr102",
                                        "white",        "binder",     "umber",         "sienna",
                                        "yellow-oxide", "red-oxide",  "brown-oxide",   "black-oxide",
                                        "warm-black",   "cool-black", "unknown-brown", "unknown-black"};
    for (size_t i = 0; i < sizeof begins / sizeof begins[0]; i++) {
        const size_t n = strlen(begins[i]);
        if (length > n && strncasecmp(name, begins[i], n) == 0 && isdigit((unsigned char)name[n]))
            return true;
    }
    for (size_t i = 0; i < sizeof whole / sizeof whole[0]; i++)
        if (strlen(whole[i]) == length && strncasecmp(name, whole[i], length) == 0) return true;
    return false;
}

bool pigment_is_dull(const char *text) {
    while (*text) {
        if (!is_dull(text, strcspn(text, ":+"))) return false;
        text += strcspn(text, "+");
        text += *text == '+';
    }
    return true;
}
