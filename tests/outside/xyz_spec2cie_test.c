/* XYZ of spectra against argyll's spec2cie, an external program with its own tables (package argyll). Both
 * programs read the same file, so each question has a spacing of its own:
 *   - every nm: nobody interpolates, so tables, integration and reading are what is compared; .003 (A .01)
 * for every spectrum, russet keeping one band in ten of what it reads;
 *   - every 5 and every 10 nm, russet's 1 nm tables with what spec2cie puts between the points (up to 5 nm
 *     straight lines, from there Lagrange's cubic): .003 (A .01) for every spectrum;
 *   - every 5 and every 10 nm, each with its own interpolation (russet CIE 167's Sprague): a figure, and
 * which of the two is nearer is asked of curves known at every nm. */
#include "colour/difference.h"
#include "colour/one_nm.h"
#include "colour/sprague.h"
#include "match_shelf.h"
#include "paint/predict.h"
#include "read_help.h"
#include <unistd.h>

enum { SPECTRA = 200, FILMS = 192, EVERY_NM = BAND_LAST_NM - BAND_FIRST_NM + 1 };

/* By 1 nm: the paints are formulas, the others Sprague's curve through their bands. */
static double mixes[SPECTRA][EVERY_NM], paints[SPECTRA][EVERY_NM], films[FILMS][EVERY_NM];
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

static void through_bands(const double band[BANDS], double out[EVERY_NM]) {
    for (int i = 0; i < EVERY_NM; i++) out[i] = sprague_at(band, BANDS, i / (double)BAND_STEP_NM);
}

/* The 192 films and cards of tests/data/pigments as they were measured (Geldof et al. 2018, per cent). */
static void read_films(void) {
    char line[2048];
    FILE *f = fopen(TEST_DATA "/pigments/oil-films-spectra.tsv", "r");
    int count = -1;
    for (; f && count < FILMS && fgets(line, sizeof line, f); count++) {
        double band[BANDS];
        char *at = line + strcspn(line, "\t");
        for (int i = 0; count >= 0 && i < BANDS; i++) band[i] = strtod(at, &at) / 100;
        if (count >= 0) through_bands(band, films[count]);
    }
    if (f) fclose(f);
    CHECK(count == FILMS);
}

static void make_paints(void) {
    unsigned long long seed = 1908;
    through_bands(e308_sample, paints[0]);
    for (int i = 1; i < SPECTRA; i++) {
        for (int k = 0; k < 9; k++) shape[i][k] = check_random(&seed);
        for (int k = 0; k < EVERY_NM; k++) paints[i][k] = paint_at(shape[i], BAND_FIRST_NM + k);
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
        struct spectrum seen;
        predict_reflectance(&shelf, part, &film, &seen);
        through_bands(seen.band, mixes[i]);
    }
    memory_free(shelf.toner);
}

/* spectra[count][EVERY_NM], of which every step-th nm is written. */
static void write_ti3(const char *path, const double *spectra, int count, int step) {
    FILE *f = fopen(path, "w");
    CHECK(f != NULL);
    if (!f) return;
    fprintf(f,
            "CTI3\n\nDESCRIPTOR \"check\"\nORIGINATOR \"check\"\nDEVICE_CLASS \"OUTPUT\"\nCOLOR_REP "
            "\"RGB_XYZ\"\nSPECTRAL_BANDS \"%d\"\nSPECTRAL_START_NM \"400.0\"\nSPECTRAL_END_NM "
            "\"700.0\"\n\nNUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\nSAMPLE_ID RGB_R RGB_G RGB_B",
            (EVERY_NM - 1) / step + 1, (EVERY_NM - 1) / step + 5);
    for (int i = 0; i < EVERY_NM; i += step) fprintf(f, " SPEC_%d", BAND_FIRST_NM + i);
    fprintf(f, "\nEND_DATA_FORMAT\n\nNUMBER_OF_SETS %d\nBEGIN_DATA\n", count);
    for (int k = 0; k < count; k++) {
        fprintf(f, "%d 0 0 0", k + 1);
        for (int i = 0; i < EVERY_NM; i += step) fprintf(f, " %.9f", 100 * spectra[k * EVERY_NM + i]);
        fputc('\n', f);
    }
    fputs("END_DATA\n", f);
    fclose(f);
}

static struct xyz theirs[SPECTRA];
static struct spectrum ours[SPECTRA];

/* Lines between BEGIN_DATA and END_DATA: id, three device values, X, Y, Z, then Lab values. */
static int read_theirs(const char *path) {
    static char line[8192];
    FILE *f = fopen(path, "r");
    int rows = -1;
    while (f && rows < SPECTRA && fgets(line, sizeof line, f)) {
        if (rows >= 0 && strncmp(line, "END_DATA", 8) == 0) break;
        double v[7];
        char *at = line;
        for (int i = 0; rows >= 0 && i < 7; i++) v[i] = strtod(at, &at);
        if (rows >= 0) theirs[rows] = (struct xyz){v[4], v[5], v[6]};
        if (rows >= 0 || strncmp(line, "BEGIN_DATA\n", 11) == 0) rows++;
    }
    if (f) fclose(f);
    return rows;
}

static int read_ours(const char *path) {
    struct bytes bytes;
    start_afresh();
    CHECK(disk_read(disk_real(), path, DISK_TEXT_MIB, arena, &bytes, &fault) == STATUS_OK);
    CHECK(sample_file_read(&bytes, GEOMETRY_UNKNOWN, arena, &file, &fault) == STATUS_OK);
    for (size_t k = 0; k < file.count && k < SPECTRA; k++) ours[k] = file.sample[k].reading.reflectance;
    return (int)file.count;
}

/* Both read the same file. */
static bool read_both(const char *illuminant, const char *observer, const double *spectra, int count,
                      int step) {
    char in[160], out[160], command[600];
    snprintf(in, sizeof in, "%s/in.ti3", folder);
    snprintf(out, sizeof out, "%s/out.ti3", folder);
    write_ti3(in, spectra, count, step);
    snprintf(command, sizeof command, "spec2cie -i %s -o %s -n %s %s > /dev/null 2>&1", illuminant, observer,
             in, out);
    const bool done = system(command) == 0;
    CHECK(done && "spec2cie of the package argyll");
    if (done) {
        CHECK(read_ours(in) == count);
        CHECK(read_theirs(out) == count);
    }
    remove(in);
    remove(out);
    return done;
}

/* The plain sum by 1 nm over russet's tables; beyond 400..700 held, as both programs hold it. */
static struct xyz by_every_nm(struct view view, const double curve[EVERY_NM]) {
    struct one_nm light;
    struct one_nm_observer cmf;
    struct xyz sum = {0};
    double white = 0;
    one_nm_light(view.light, &light);
    one_nm_observer(view.observer, &cmf);
    for (int i = 0; i < ONE_NM_COUNT; i++) {
        const int at = ONE_NM_FIRST + i - BAND_FIRST_NM;
        const double r = curve[at < 0 ? 0 : at >= EVERY_NM ? EVERY_NM - 1 : at];
        white += light.value[i] * cmf.y.value[i] / 100;
        sum.x += r * light.value[i] * cmf.x.value[i];
        sum.y += r * light.value[i] * cmf.y.value[i];
        sum.z += r * light.value[i] * cmf.z.value[i];
    }
    return (struct xyz){sum.x / white, sum.y / white, sum.z / white};
}

/* Straight lines between every fifth nm. */
static void by_lines(const double curve[EVERY_NM], double out[EVERY_NM]) {
    for (int i = 0; i < EVERY_NM; i++) {
        const int from = i / 5 * 5, to = from + 5 < EVERY_NM ? from + 5 : from;
        out[i] = curve[from] + (i - from) / 5. * (curve[to] - curve[from]);
    }
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

/* off[k]: the largest of |dX|, |dY|, |dZ|, sorted. */
static bool differences(const char *illuminant, const char *observer_text, const struct weights *w,
                        const double *spectra, int count, int step, double off[SPECTRA]) {
    if (!read_both(illuminant, observer_text, spectra, count, step)) return false;
    for (int k = 0; k < count; k++) {
        off[k] = apart(xyz_of(&ours[k], w), theirs[k]);
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

static void same_cubic_by_10_nm(const char *what, const double *spectra, int count) {
    double off[SPECTRA];
    for (int v = 0; v < VIEWS; v++) {
        const struct weights w = cubic_weights(views[v].view);
        if (!differences(views[v].illuminant, views[v].observer_text, &w, spectra, count, 10, off)) return;
        printf("  figure: %s/%s by 10 nm, %d %s, cubic in both: worst XYZ %.1e\n", views[v].illuminant,
               views[v].observer_text, count, what, off[count - 1]);
        CHECK_AT_MOST(off[count - 1], views[v].view.light == LIGHT_A ? .01 : 5e-4);
    }
}

static void same_lines_by_5_nm(const char *what, const double *spectra, int count) {
    for (int v = 0; v < VIEWS; v++) {
        double worst = 0, lines[EVERY_NM];
        if (!read_both(views[v].illuminant, views[v].observer_text, spectra, count, 5)) return;
        for (int k = 0; k < count; k++) {
            by_lines(spectra + k * EVERY_NM, lines);
            worst = fmax(worst, apart(by_every_nm(views[v].view, lines), theirs[k]));
        }
        printf("  figure: %s/%s by 5 nm, %d %s, straight lines in both: worst XYZ %.1e\n",
               views[v].illuminant, views[v].observer_text, count, what, worst);
        CHECK_AT_MOST(worst, views[v].view.light == LIGHT_A ? .01 : 5e-4);
    }
}

static void tables_agree_where_the_interpolation_is_the_same(void) {
    same_cubic_by_10_nm("smooth spectra", *paints, SPECTRA);
    same_cubic_by_10_nm("mixes of published pigments", *mixes, SPECTRA);
    same_cubic_by_10_nm("measured films", *films, FILMS);
    same_lines_by_5_nm("smooth spectra", *paints, SPECTRA);
    same_lines_by_5_nm("mixes of published pigments", *mixes, SPECTRA);
    same_lines_by_5_nm("measured films", *films, FILMS);
}

/* What the difference is worth to the eye: the largest dE00. */
static double worst_de00(const struct weights *w, int count) {
    double worst = 0;
    for (int k = 0; k < count; k++)
        worst = fmax(worst, difference_de00(lab_of_spectrum(&ours[k], w), lab_of(theirs[k], w)));
    return worst;
}

static void own_weights(const char *what, const double *spectra, int count, int step, int least_within,
                        double worst) {
    double off[SPECTRA];
    for (int v = 0; v < VIEWS; v++) {
        const struct weights *w = weights_of(views[v].view);
        if (!differences(views[v].illuminant, views[v].observer_text, w, spectra, count, step, off)) return;
        int within = 0;
        while (within < count && off[within] <= views[v].tolerance) within++;
        printf("  figure: %s/%s by %d nm, %d %s: median XYZ %.5f, worst %.5f, within %g: %d; at most %.4f "
               "dE00\n",
               views[v].illuminant, views[v].observer_text, step, count, what, off[count / 2], off[count - 1],
               views[v].tolerance, within, worst_de00(w, count));
        CHECK(within >= least_within);
        CHECK_AT_MOST(off[count - 1], fmax(worst, views[v].tolerance));
    }
}

static void every_spectrum_by_1_nm(void) {
    own_weights("smooth spectra", *paints, SPECTRA, 1, SPECTRA, 0);
    own_weights("mixes of published pigments", *mixes, SPECTRA, 1, SPECTRA, 0);
    own_weights("measured films", *films, FILMS, 1, FILMS, 0);
}

static void two_interpolations(void) {
    own_weights("smooth spectra", *paints, SPECTRA, 5, 0, .03);
    own_weights("smooth spectra", *paints, SPECTRA, 10, 198, .005);
    own_weights("mixes of published pigments", *mixes, SPECTRA, 10, 118, .019);
    own_weights("measured films", *films, FILMS, 10, 140, .016);
}

/* Who is nearer: the 199 paints are formulas, so their sum by 1 nm is known. */
static void nearer(int step) {
    const struct view view = {LIGHT_D65, OBSERVER_10};
    double mean = 0, peer = 0, worst = 0, peer_worst = 0;
    if (!read_both("D65", "1964_10", *paints, SPECTRA, step)) return;
    for (int k = 1; k < SPECTRA; k++) {
        const struct xyz sum = by_every_nm(view, paints[k]);
        const double a = apart(xyz_of(&ours[k], weights_of(view)), sum), b = apart(theirs[k], sum);
        mean += a / (SPECTRA - 1), peer += b / (SPECTRA - 1);
        worst = fmax(worst, a), peer_worst = fmax(peer_worst, b);
    }
    printf("  figure: D65/10 by %d nm, 199 smooth curves against their own sum by 1 nm: russet mean %.5f, "
           "worst %.4f; spec2cie mean %.5f, worst %.4f\n",
           step, mean, worst, peer, peer_worst);
    CHECK_AT_MOST(worst, .0005);
    CHECK(worst < peer_worst && mean < peer);
}

static void both_against_the_curves_themselves(void) {
    nearer(10);
    nearer(5);
}

int main(void) {
    make_paints();
    make_mixes();
    if (!mkdtemp(folder)) return 1;
    RUN(read_films);
    RUN(every_spectrum_by_1_nm);
    RUN(tables_agree_where_the_interpolation_is_the_same);
    RUN(two_interpolations);
    RUN(both_against_the_curves_themselves);
    rmdir(folder);
    arena_free(arena);
    return check_done();
}
