/* XYZ of spectra against argyll's spec2cie, an external program with its own tables (package argyll). It
 * interpolates with Lagrange's cubic where CIE 167 has Sprague, so there are two questions:
 *   - the same interpolation on russet's 1 nm tables: the rest must agree to what spec2cie prints;
 *   - russet's own weights: what the two interpolations make of the same spectra. The aim is .003 (A .01);
 *     curves that turn sharply within a band or two miss it, and are counted. */
#include "colour/difference.h"
#include "colour/one_nm.h"
#include "match_shelf.h"
#include "paint/predict.h"
#include <unistd.h>

enum { SPECTRA = 200, FILMS = 192 };

static struct spectrum mixes[SPECTRA], paints[SPECTRA], films[FILMS];
static char folder[64] = "/tmp/russet-spec2cie-XXXXXX";

static const double e308_sample[BANDS] = {.0641, .0654, .0645, .0605, .0562, .0543, .0537, .0541,
                                          .0559, .0603, .0651, .0680, .0705, .0736, .0772, .0809,
                                          .0870, .0990, .1128, .1251, .1360, .1439, .1511, .1590,
                                          .1688, .1828, .1996, .2187, .2397, .2618, .2852};

/* A step, two bands of absorption, a level; the step rises over 25..80 nm (common practice: paints are that
 * broad). */
static double shape[SPECTRA][9];

static double paint_at(const double p[9], double nm) {
    const double step = 1 / (1 + exp(-(nm - 430 - 230 * p[0]) / (12 + 40 * p[1])));
    const double first = exp(-pow((nm - 400 - 300 * p[2]) / (30 + 50 * p[3]), 2));
    const double second = exp(-pow((nm - 400 - 300 * p[4]) / (30 + 50 * p[5]), 2));
    return .03 + .9 * p[6] * (.15 + .85 * step) * (1 - .8 * p[7] * first) * (1 - .8 * p[8] * second);
}

/* The 192 films and cards of tests/data/pigments as they were measured (Geldof et al. 2018, per cent). */
static void read_films(void) {
    char line[2048];
    FILE *f = fopen(TEST_DATA "/pigments/oil-films-spectra.tsv", "r");
    int count = -1;
    for (; f && count < FILMS && fgets(line, sizeof line, f); count++) {
        char *at = line + strcspn(line, "\t");
        for (int i = 0; count >= 0 && i < BANDS; i++) films[count].band[i] = strtod(at, &at) / 100;
    }
    if (f) fclose(f);
    CHECK(count == FILMS);
}

static void make_paints(void) {
    unsigned long long seed = 1908;
    memcpy(paints[0].band, e308_sample, sizeof e308_sample);
    for (int i = 1; i < SPECTRA; i++) {
        for (int k = 0; k < 9; k++) shape[i][k] = check_random(&seed);
        for (int b = 0; b < BANDS; b++) paints[i].band[b] = paint_at(shape[i], 400 + 10 * b);
    }
}

/* What the program is for: one to four of the nineteen pigments of data/pigments (Berns 2016) and mostly
 * white, films of 15..45 um or opaque ones over a grey. */
static void make_mixes(void) {
    struct shelf shelf = match_shelf(19, true);
    const int white = shelf_find(&shelf, "titanium-white");
    unsigned long long seed = 2016;
    CHECK(white >= 0);
    for (int i = 0; i < SPECTRA && white >= 0; i++) {
        double part[20] = {0}, sum = 0;
        struct film_case film = match_film(i % 4 == 3);
        if (i % 4 < 3) film.film_um = 15 + 30 * check_random(&seed);
        for (int k = 0; k < 1 + i % 4; k++)
            part[(size_t)(19 * check_random(&seed))] += pow(check_random(&seed), 2) + .01;
        if (i % 5) part[white] += check_random(&seed);
        for (int k = 0; k < 19; k++) sum += part[k];
        part[19] = .4 + .4 * check_random(&seed);
        for (int k = 0; k < 19; k++) part[k] *= (1 - part[19]) / sum;
        predict_reflectance(&shelf, part, &film, &mixes[i]);
    }
    memory_free(shelf.toner);
}

static void write_ti3(const char *path, const struct spectrum *spectra, int count) {
    FILE *f = fopen(path, "w");
    CHECK(f != NULL);
    if (!f) return;
    fputs(
        "CTI3\n\nDESCRIPTOR \"check\"\nORIGINATOR \"check\"\nDEVICE_CLASS \"OUTPUT\"\nCOLOR_REP \"RGB_XYZ\"\n"
        "SPECTRAL_BANDS \"31\"\nSPECTRAL_START_NM \"400.0\"\nSPECTRAL_END_NM \"700.0\"\n\n"
        "NUMBER_OF_FIELDS 35\nBEGIN_DATA_FORMAT\nSAMPLE_ID RGB_R RGB_G RGB_B",
        f);
    for (int i = 0; i < BANDS; i++) fprintf(f, " SPEC_%d", 400 + 10 * i);
    fprintf(f, "\nEND_DATA_FORMAT\n\nNUMBER_OF_SETS %d\nBEGIN_DATA\n", count);
    for (int k = 0; k < count; k++) {
        fprintf(f, "%d 0 0 0", k + 1);
        for (int i = 0; i < BANDS; i++) fprintf(f, " %.9f", 100 * spectra[k].band[i]);
        fputc('\n', f);
    }
    fputs("END_DATA\n", f);
    fclose(f);
}

static bool convert(const char *illuminant, const char *observer, const struct spectrum *spectra, int count,
                    char out[160]) {
    char in[160], command[600];
    snprintf(in, sizeof in, "%s/in.ti3", folder);
    snprintf(out, 160, "%s/out.ti3", folder);
    write_ti3(in, spectra, count);
    snprintf(command, sizeof command, "spec2cie -i %s -o %s -n %s %s > /dev/null 2>&1", illuminant, observer,
             in, out);
    const bool done = system(command) == 0;
    CHECK(done && "spec2cie of the package argyll");
    remove(in);
    return done;
}

/* Lines between BEGIN_DATA and END_DATA: id, three device values, X, Y, Z, then Lab values. */
static int read_ti3(const char *path, struct xyz xyz[SPECTRA]) {
    char line[1024];
    FILE *f = fopen(path, "r");
    int rows = -1;
    while (f && rows < SPECTRA && fgets(line, sizeof line, f)) {
        if (rows >= 0 && strncmp(line, "END_DATA", 8) == 0) break;
        double v[7];
        char *at = line;
        for (int i = 0; rows >= 0 && i < 7; i++) v[i] = strtod(at, &at);
        if (rows >= 0) xyz[rows] = (struct xyz){v[4], v[5], v[6]};
        if (rows >= 0 || strncmp(line, "BEGIN_DATA\n", 11) == 0) rows++;
    }
    if (f) fclose(f);
    remove(path);
    return rows;
}

/* Lagrange's cubic through the four nearest bands, shifted inwards at the ends, folded like russet's own. */
static struct weights cubic_weights(struct view view) {
    struct one_nm light;
    struct one_nm_observer cmf;
    one_nm_light(view.light, &light);
    one_nm_observer(view.observer, &cmf);
    struct weights w = {.view = view};
    double white = 0;
    for (int i = 0; i < ONE_NM_COUNT; i++) white += light.value[i] * cmf.y.value[i] / 100;
    for (int i = 0; i < ONE_NM_COUNT; i++) {
        const double at = fmin(fmax((ONE_NM_FIRST + i - 400) / 10., 0), BANDS - 1);
        const int first = (int)fmin(fmax(floor(at) - 1, 0), BANDS - 4);
        for (int b = first; b < first + 4; b++) {
            double part = light.value[i] / white;
            for (int j = first; j < first + 4; j++)
                if (j != b) part *= (at - j) / (b - j);
            w.x[b] += part * cmf.x.value[i], w.y[b] += part * cmf.y.value[i], w.z[b] += part * cmf.z.value[i];
        }
    }
    return w;
}

static int compare_numbers(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double apart(struct xyz a, struct xyz b) {
    return fmax(fabs(a.x - b.x), fmax(fabs(a.y - b.y), fabs(a.z - b.z)));
}

static struct xyz theirs[SPECTRA];

/* off[k]: the largest of |dX|, |dY|, |dZ|, sorted. */
static bool differences(const char *illuminant, const char *observer_text, const struct weights *w,
                        const struct spectrum *spectra, int count, double off[SPECTRA]) {
    char out[160];
    if (!convert(illuminant, observer_text, spectra, count, out)) return false;
    CHECK(read_ti3(out, theirs) == count);
    for (int k = 0; k < count; k++) {
        off[k] = apart(xyz_of(&spectra[k], w), theirs[k]);
        CHECK(isfinite(off[k]));
    }
    qsort(off, (size_t)count, sizeof *off, compare_numbers);
    return true;
}

static const struct {
    const char *illuminant, *observer_text;
    struct view view;
    double tolerance;
} views[] = {
    {"D65", "1964_10", {LIGHT_D65, OBSERVER_10}, .003}, {"D65", "1931_2", {LIGHT_D65, OBSERVER_2}, .003},
    {"D50", "1964_10", {LIGHT_D50, OBSERVER_10}, .003}, {"D50", "1931_2", {LIGHT_D50, OBSERVER_2}, .003},
    {"A", "1964_10", {LIGHT_A, OBSERVER_10}, .01},      {"A", "1931_2", {LIGHT_A, OBSERVER_2}, .01},
};

enum { VIEWS = sizeof views / sizeof views[0] };

static void tables_agree_where_the_interpolation_is_the_same(void) {
    double off[SPECTRA];
    for (int v = 0; v < VIEWS; v++) {
        const struct weights w = cubic_weights(views[v].view);
        if (!differences(views[v].illuminant, views[v].observer_text, &w, films, FILMS, off)) return;
        printf("  figure: %s/%s, 192 measured films, same interpolation: worst XYZ %.1e\n",
               views[v].illuminant, views[v].observer_text, off[FILMS - 1]);
        CHECK_AT_MOST(off[FILMS - 1], views[v].view.light == LIGHT_A ? .01 : 5e-4);
    }
}

/* What the difference is worth to the eye: the largest dE00. */
static double worst_de00(const struct weights *w, const struct spectrum *spectra, int count) {
    double worst = 0;
    for (int k = 0; k < count; k++)
        worst = fmax(worst, difference_de00(lab_of_spectrum(&spectra[k], w), lab_of(theirs[k], w)));
    return worst;
}

static void own_weights(const char *what, const struct spectrum *spectra, int count, int least_within,
                        double worst) {
    double off[SPECTRA];
    for (int v = 0; v < VIEWS; v++) {
        if (!differences(views[v].illuminant, views[v].observer_text, weights_of(views[v].view), spectra,
                         count, off))
            return;
        int within = 0;
        while (within < count && off[within] <= views[v].tolerance) within++;
        printf("  figure: %s/%s, %d %s: median XYZ %.4f, worst %.4f, within %g: %d; at most %.4f dE00\n",
               views[v].illuminant, views[v].observer_text, count, what, off[count / 2], off[count - 1],
               views[v].tolerance, within, worst_de00(weights_of(views[v].view), spectra, count));
        CHECK(within >= least_within);
        CHECK_AT_MOST(off[count - 1], worst);
    }
}

static void own_weights_on_200_mixes(void) {
    make_mixes();
    own_weights("mixes of published pigments", mixes, SPECTRA, 115, .019);
}

static void own_weights_on_200_paints(void) {
    own_weights("smooth spectra", paints, SPECTRA, 195, .005);
}

static void own_weights_on_measured_films(void) {
    own_weights("measured films", films, FILMS, 140, .016);
}

/* Who is nearer: the 199 paints are formulas, so their sum by 1 nm is known (beyond 400..700 held, as both
 * hold it). */
static void both_against_the_curves_themselves(void) {
    const struct view view = {LIGHT_D65, OBSERVER_10};
    double off[SPECTRA], ours = 0, peer = 0, ours_worst = 0, peer_worst = 0;
    struct one_nm light;
    struct one_nm_observer cmf;
    one_nm_light(view.light, &light);
    one_nm_observer(view.observer, &cmf);
    if (!differences("D65", "1964_10", weights_of(view), paints, SPECTRA, off)) return;
    for (int k = 1; k < SPECTRA; k++) {
        struct xyz sum = {0};
        double white = 0;
        for (int i = 0; i < ONE_NM_COUNT; i++) {
            const double r = paint_at(shape[k], fmin(fmax(ONE_NM_FIRST + i, 400), 700));
            white += light.value[i] * cmf.y.value[i] / 100;
            sum.x += r * light.value[i] * cmf.x.value[i];
            sum.y += r * light.value[i] * cmf.y.value[i];
            sum.z += r * light.value[i] * cmf.z.value[i];
        }
        sum = (struct xyz){sum.x / white, sum.y / white, sum.z / white};
        const double a = apart(xyz_of(&paints[k], weights_of(view)), sum), b = apart(theirs[k], sum);
        ours += a / (SPECTRA - 1), peer += b / (SPECTRA - 1);
        ours_worst = fmax(ours_worst, a), peer_worst = fmax(peer_worst, b);
    }
    printf("  figure: D65/10, 199 smooth curves against their own sum by 1 nm: russet mean %.5f, worst %.4f; "
           "spec2cie mean %.5f, worst %.4f\n",
           ours, ours_worst, peer, peer_worst);
    CHECK_AT_MOST(ours_worst, .005);
}

int main(void) {
    make_paints();
    if (!mkdtemp(folder)) return 1;
    RUN(read_films);
    RUN(tables_agree_where_the_interpolation_is_the_same);
    RUN(own_weights_on_200_mixes);
    RUN(own_weights_on_200_paints);
    RUN(own_weights_on_measured_films);
    RUN(both_against_the_curves_themselves);
    rmdir(folder);
    return check_done();
}
