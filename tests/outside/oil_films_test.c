/* Real films: oil paints of known mass per cent over white and black cards, Geldof et al. 2018, Heritage
 * Science 6:17, doi 10.1186/s40494-018-0181-6 (CC0 1.0; part of the data is in tests/data/pigments). Fitted
 * on masstone, tint and black mixes with their two cards; predicted are the three 50 % films over their white
 * card with a nominal film, since thickness was not measured. */
#include "check.h"
#include "colour/difference.h"
#include "paint/fit.h"
#include "paint/predict.h"

enum { ROWS_MOST = 260, FILMS_MOST = 64, PIGMENTS_MOST = 8 };

struct named {
    char id[12];
    struct spectrum seen;
};
static struct named measured[ROWS_MOST];
static size_t measured_count;

struct paint { /* a line of the specification: mass per cent by name */
    char id[8];
    size_t count;
    char name[6][40];
    double percent[6];
};
static struct paint paints[80];
static size_t paint_count;

static void read_spectra(void) {
    FILE *file = fopen(TEST_DATA "/pigments/oil-films-spectra.tsv", "r");
    char line[1024];
    CHECK(file != NULL);
    while (file && fgets(line, sizeof line, file) && measured_count < ROWS_MOST) {
        char *cell = strtok(line, "\t");
        if (!cell || strcmp(cell, "Name") == 0) continue;
        struct named *m = &measured[measured_count];
        snprintf(m->id, sizeof m->id, "%s", cell);
        int b = 0;
        while (b < BANDS && (cell = strtok(NULL, "\t\n")) != NULL) m->seen.band[b++] = atof(cell) / 100;
        if (b == BANDS) measured_count++;
    }
    if (file) fclose(file);
}

static void read_paints(void) {
    FILE *file = fopen(TEST_DATA "/pigments/oil-films-specification.txt", "r");
    char line[300];
    CHECK(file != NULL);
    while (file && fgets(line, sizeof line, file)) {
        char names[200], percents[80];
        struct paint *p = &paints[paint_count];
        if (sscanf(line, "%7s %199[^|]|%79s", p->id, names, percents) != 3) continue;
        p->count = 0;
        for (char *n = strtok(names, "-"); n && p->count < 6; n = strtok(NULL, "-"))
            snprintf(p->name[p->count++], sizeof p->name[0], "%s", n);
        size_t i = 0;
        for (char *n = strtok(percents, "-"); n && i < p->count; n = strtok(NULL, "-"))
            p->percent[i++] = atof(n);
        paint_count++;
    }
    if (file) fclose(file);
}

static const struct spectrum *seen_of(const char *paint, const char *card) {
    char id[24];
    snprintf(id, sizeof id, "%s%s", paint, card);
    for (size_t i = 0; i < measured_count; i++)
        if (strcmp(measured[i].id, id) == 0) return &measured[i].seen;
    return NULL;
}

static const struct paint *paint_of(const char *id) {
    for (size_t i = 0; i < paint_count; i++)
        if (strcmp(paints[i].id, id) == 0) return &paints[i];
    return NULL;
}

static int toner_of(struct toner toner[], size_t *count, const char *name) {
    char id[TONER_ID_MAX] = "";
    for (size_t i = 0; name[i] && i + 1 < sizeof id; i++)
        id[i] = (char)(name[i] >= 'A' && name[i] <= 'Z' ? name[i] + 32 : name[i]);
    for (size_t i = 0; i < *count; i++)
        if (strcmp(toner[i].id, id) == 0) return (int)i;
    if (*count == PIGMENTS_MOST) return -1;
    struct toner *t = &toner[*count];
    *t = (struct toner){.price_minor_per_kg = -1,
                        .role = strcmp(id, "zincwhite") == 0   ? ROLE_WHITE
                                : strcmp(id, "boneblack") == 0 ? ROLE_BLACK
                                                               : ROLE_COLOUR};
    memcpy(t->id, id, sizeof id);
    return (int)(*count)++;
}

static void masses_of(const char *paint, struct toner toner[], size_t *toners, double mass_g[PIGMENTS_MOST]) {
    const struct paint *p = paint_of(paint);
    memset(mass_g, 0, PIGMENTS_MOST * sizeof *mass_g);
    for (size_t i = 0; p && i < p->count; i++)
        if (p->percent[i] > 0) mass_g[toner_of(toner, toners, p->name[i])] = p->percent[i];
}

struct set {
    struct drawdown row[4 * FILMS_MOST];
    double mass_g[4 * FILMS_MOST][PIGMENTS_MOST];
    struct toner toner[PIGMENTS_MOST];
    char toner_id[PIGMENTS_MOST][TONER_ID_MAX];
    size_t rows, toners;
};

static void add_row(struct set *set, const char *paint, const char *card, const char *film) {
    const struct spectrum *bare = seen_of(paint, card), *seen = seen_of(paint, film);
    CHECK(bare != NULL && seen != NULL);
    if (!bare || !seen) return;
    for (int i = 0; i < 2; i++) {
        struct drawdown *row = &set->row[set->rows];
        *row = (struct drawdown){
            .line = (int)set->rows + 1, .is_bare = i == 0, .film_um = (double)NAN, .topcoat_gu = (double)NAN};
        snprintf(row->id, sizeof row->id, "%s%s", paint, i ? film : card);
        row->backing = i ? (int)set->rows - 1 : DRAWDOWN_OPAQUE;
        row->mass_g = set->mass_g[set->rows];
        if (i) masses_of(paint, set->toner, &set->toners, set->mass_g[set->rows]);
        row->reflectance = i ? *seen : *bare;
        set->rows++;
    }
}

static double predicted(const struct set *set, const char *paint, const char *card, const char *film,
                        double film_um, const struct shelf *shelf) {
    double mass_g[PIGMENTS_MOST], part[PIGMENTS_MOST], sum = 0;
    const struct spectrum *bare = seen_of(paint, card), *seen = seen_of(paint, film);
    CHECK(bare != NULL && seen != NULL);
    if (!bare || !seen) return (double)NAN;
    struct set copy = *set;
    masses_of(paint, copy.toner, &copy.toners, mass_g);
    for (size_t i = 0; i < shelf->count; i++) sum += mass_g[i];
    for (size_t i = 0; i < shelf->count; i++) part[i] = mass_g[i] / sum;
    struct film_case over = {
        .film_um = film_um, .geometry = GEOMETRY_SCI, .sheen_gu = (double)NAN, .backing = *bare};
    struct spectrum out;
    predict_reflectance(shelf, part, &over, &out);
    const struct weights *weights = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    return difference_de00(lab_of_spectrum(seen, weights), lab_of_spectrum(&out, weights));
}

static struct set set;

/* Fits the paints named (ended by NULL), each over both cards. */
static bool fitted(const char *const wanted[], double weighing_sd_g, struct arena *arena,
                   struct shelf *shelf) {
    set.rows = set.toners = 0;
    memset(set.mass_g, 0, sizeof set.mass_g);
    for (size_t i = 0; wanted[i]; i++) {
        add_row(&set, wanted[i], "_w", "_ow");
        add_row(&set, wanted[i], "_b", "_ob");
    }
    for (size_t i = 0; i < set.toners; i++) memcpy(set.toner_id[i], set.toner[i].id, TONER_ID_MAX);
    const struct drawdown_set drawdowns = {.toner_count = set.toners,
                                           .toner_id = (const char(*)[TONER_ID_MAX])set.toner_id,
                                           .count = set.rows,
                                           .row = set.row,
                                           .weighing_sd_g = weighing_sd_g,
                                           .geometry = GEOMETRY_SCI};
    struct fit_report report = {0};
    struct fault fault = {0};
    const enum status status = fit_shelf(&drawdowns, set.toner, NULL, arena, shelf, &report, &fault);
    if (status != STATUS_OK) fprintf(stderr, "  %s\n", fault.text);
    return status == STATUS_OK;
}

/* Masstone, tint and 10 % black mix of each pigment (of the cobalt blue there is a 1 % one only), with the
 * white and what tells the black: its mixes with white, as every shelf has them. A black that is in one film
 * alone is free, and that film then tells nothing of its pigment: `bare` is that for the record. */
enum { PAINTS_MOST = 10 };
typedef const char *const paints_of_three[3][PAINTS_MOST];
static paints_of_three alone = {{"07A", "07C", "07D", "07F", "06A", "06B", "06E"},
                                {"07A", "07C", "07D", "07F", "10A", "10B", "10E"},
                                {"07A", "07C", "07D", "07F", "12A", "12B", "12D"}};
static paints_of_three bare = {
    {"07A", "06A", "06B", "06E"}, {"07A", "10A", "10B", "10E"}, {"07A", "12A", "12B", "12D"}};
/* And with the 1 % black mixes too. */
static paints_of_three more = {{"07A", "07C", "07D", "07F", "06A", "06B", "06D", "06E"},
                               {"07A", "07C", "07D", "07F", "10A", "10B", "10D", "10E"},
                               {"07A", "07C", "07D", "07F", "12A", "12B", "12D"}};
static const char *const together[] = {"07A", "07C", "07D", "07F", "06A", "06B", "06D", "06E",
                                       "10A", "10B", "10D", "10E", "12A", "12B", "12D", NULL};
static const char *const half[3] = {"06C", "10C", "12C"};
static const double nominal_um = 30; /* what the fit takes for a film that nobody measured */

static double mean_alone(paints_of_three paints_of, double weighing_sd_g, bool tell) {
    struct arena *arena = arena_new();
    double sum = 0;
    for (int i = 0; i < 3; i++) {
        struct shelf shelf;
        if (!fitted(paints_of[i], weighing_sd_g, arena, &shelf)) return (double)NAN;
        const double de00 = predicted(&set, half[i], "_w", "_ow", nominal_um, &shelf);
        if (tell)
            printf("  figure: %s predicted over white: dE00 %.2f (k2 %.2f, beam %s)\n", half[i], de00,
                   shelf.surface.k2, shelf.beam.on ? "on" : "off");
        sum += de00;
    }
    arena_free(arena);
    return sum / 3;
}

static double mean_together(double weighing_sd_g) {
    struct arena *arena = arena_new();
    struct shelf shelf;
    double sum = 0;
    const bool done = fitted(together, weighing_sd_g, arena, &shelf);
    for (int i = 0; i < 3 && done; i++) sum += predicted(&set, half[i], "_w", "_ow", nominal_um, &shelf);
    arena_free(arena);
    return done ? sum / 3 : (double)NAN;
}

/* The file gives masses to a tenth of a per cent: nobody can have weighed better than that tells, and the
 * mixes say that it was worse (docs/film.md). So what is asked must hold there and for larger errors. */
static const double written_sd_g = .1 / 3.4641016151377544; /* of 100 g */

static void half_and_half_films_are_predicted(void) {
    static const double sd_g[] = {.05, .1};
    const double mean = mean_alone(alone, written_sd_g, true);
    printf("  figure: mean of the three %.3f (asked 1.4; a plain script: 1.66)\n", mean);
    CHECK_AT_MOST(mean, 1.4);
    for (size_t i = 0; i < sizeof sd_g / sizeof sd_g[0]; i++) {
        const double worse = mean_alone(alone, sd_g[i], false);
        printf("  figure: mean of the three for a weighing error of %.2f g in 100 g: %.3f\n", sd_g[i], worse);
        CHECK_AT_MOST(worse, 1.4);
    }
}

static void half_and_half_films_are_predicted_by_one_fit_of_all(void) {
    const double joint = mean_together(written_sd_g);
    printf("  figure: all pigments, whites and blacks in one fit: mean %.3f (asked 1.4)\n", joint);
    CHECK_AT_MOST(joint, 1.4);
}

/* For the record only: what other weighing errors and other choices of films would give. */
static void LONG_what_the_weighing_error_does(void) {
    static const double sd_g[] = {.003, .01, .02, .0289, .05, .1, .2, .5};
    for (size_t i = 0; i < sizeof sd_g / sizeof sd_g[0]; i++)
        printf("  figure: weighing error %.3f g in 100 g: mean %.3f pigment by pigment, %.3f without the "
               "black's "
               "mixes with white, %.3f with the 1 %% black mixes too, %.3f all in one fit\n",
               sd_g[i], mean_alone(alone, sd_g[i], false), mean_alone(bare, sd_g[i], false),
               mean_alone(more, sd_g[i], false), mean_together(sd_g[i]));
}

/* For the record only: which share of the pigment would predict each half film best. A masstone and a tint
 * cannot tell the tint's dose, so an error of it goes straight into these (docs/film.md). */
static void LONG_what_the_half_films_act_like(void) {
    for (int i = 0; i < 3; i++) {
        struct arena *arena = arena_new();
        struct shelf shelf;
        const bool done = fitted(alone[i], written_sd_g, arena, &shelf);
        struct paint *paint = done ? &paints[paint_of(half[i]) - paints] : NULL;
        double best = HUGE_VAL, share = 0;
        for (int percent = 20; percent <= 80 && paint; percent++) {
            paint->percent[0] = percent, paint->percent[1] = 100 - percent;
            const double de00 = predicted(&set, half[i], "_w", "_ow", nominal_um, &shelf);
            if (de00 < best) best = de00, share = percent;
        }
        if (paint) paint->percent[0] = paint->percent[1] = 50;
        printf("  figure: %s acts like %.0f %% of its pigment (then dE00 %.2f)\n", half[i], share, best);
        CHECK(done && isfinite(best));
        arena_free(arena);
    }
}

static void the_data_are_whole(void) {
    read_spectra();
    read_paints();
    CHECK(measured_count == 192 && paint_count == 49);
}

int main(void) {
    RUN(the_data_are_whole);
    RUN(half_and_half_films_are_predicted);
    RUN(half_and_half_films_are_predicted_by_one_fit_of_all);
    RUN(LONG_what_the_weighing_error_does);
    RUN(LONG_what_the_half_films_act_like);
    return check_done();
}
