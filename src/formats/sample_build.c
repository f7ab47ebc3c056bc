/* The rules for a measured spectrum, whatever the format it came in:
 *   grid       regular, 1..20 nm, inside 340..830 nm, covering 400..700 nm; names of bands may be rounded to
 * whole nm when the file gives start, end and number of bands (docs/formats.md) scale      percent when a
 * keyword says so or any value of the table is over 2, else fraction; reported limits     fraction -0.005 ..
 * 2; from -0.005 to 0 counts as 0, with a note Lab alone  only under D65 and the 10 degree observer
 * (docs/decisions.md): never adapted */
#include "formats/sample_build.h"
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct extreme {
    double value;
    int line;
    char column[80];
};

struct pending { /* beside each sample */
    bool lab_given, lab_refused, light_assumed;
    const char *light, *observer;
};

struct sample_build {
    struct arena *arena;
    const char *file;
    enum geometry assumed;
    struct sample_file *out;
    struct sample *sample;
    struct pending *pending;
    size_t count, capacity;
    struct fault *note;
    size_t note_count;
    struct sample_about about;
    size_t group_first, negatives;
    bool has_values;
    struct extreme high, low;
    struct sampled *lamp; /* NULL: the spectra are reflectances */
};

struct sample_build *build_start(const char *file, enum geometry assumed, struct arena *arena,
                                 struct sample_file *out) {
    struct sample_build *build = arena_need(arena, 1, sizeof *build);
    build->arena = arena;
    build->file = file;
    build->assumed = assumed;
    build->out = out;
    build->note = arena_need(arena, NOTES_MOST, sizeof *build->note);
    *out = (struct sample_file){.name = file};
    return build;
}

void build_lamp(struct sample_build *build, struct sampled *lamp) {
    build->lamp = lamp;
    *lamp = (struct sampled){0};
}

size_t build_count(const struct sample_build *build) {
    return build->count;
}

const char *build_file(const struct sample_build *build) {
    return build->file;
}

void build_decimal_comma(struct sample_build *build) {
    build->out->decimal_comma = true;
}

void build_note(struct sample_build *build, const struct fault *note) {
    if (build->note_count < NOTES_MOST) build->note[build->note_count++] = *note;
}

void build_group(struct sample_build *build, const struct sample_about *about) {
    build->about = *about;
    build->group_first = build->count;
    build->negatives = 0;
    build->has_values = false;
}

void build_scale_continues(struct sample_build *build, const struct sample_about *about) {
    const enum scale_said scale = build->about.scale;
    const char *scale_by = build->about.scale_by;
    build->about = *about;
    build->about.scale = scale;
    build->about.scale_by = scale_by;
}

static void make_room(struct sample_build *build) {
    if (build->count < build->capacity) return;
    const size_t capacity = build->capacity ? build->capacity * 2 : 16;
    struct sample *sample = arena_need(build->arena, capacity, sizeof *sample);
    struct pending *pending = arena_need(build->arena, capacity, sizeof *pending);
    if (build->count) memcpy(sample, build->sample, build->count * sizeof *sample);
    if (build->count) memcpy(pending, build->pending, build->count * sizeof *pending);
    build->sample = sample;
    build->pending = pending;
    build->capacity = capacity;
}

static void copy_id(char out[64], const char *id) {
    size_t n = strlen(id);
    if (n > 63) n = 63;
    while (n > 0 && id[n] && ((unsigned char)id[n] & 0xC0) == 0x80) n--;
    memcpy(out, id, n);
    out[n] = 0;
}

enum status build_sample(struct sample_build *build, const char *id, int line, struct sample **out,
                         struct fault *fault) {
    if (build->count >= SAMPLES_MOST)
        return FAULT(fault, SAMPLES_TOO_MANY, build->file, COUNT_TEXT(line), COUNT_TEXT(SAMPLES_MOST));
    make_room(build);
    struct sample *sample = &build->sample[build->count];
    memset(sample, 0, sizeof *sample);
    memset(&build->pending[build->count], 0, sizeof *build->pending);
    build->count++;
    copy_id(sample->reading.id, id && *id ? id : COUNT_TEXT((long long)build->count));
    sample->line = line;
    sample->reading.geometry =
        build->about.geometry != GEOMETRY_UNKNOWN ? build->about.geometry : build->assumed;
    *out = sample;
    return STATUS_OK;
}

void build_drop(struct sample_build *build, size_t first, size_t count) {
    const size_t behind = build->count - first - count;
    memmove(build->sample + first, build->sample + first + count, behind * sizeof *build->sample);
    memmove(build->pending + first, build->pending + first + count, behind * sizeof *build->pending);
    build->count -= count;
}

/* Numbers and places
 * ------------------------------------------------------------------------------------------------------ */

enum status build_number(const struct sample_build *build, const char *text, enum decimal decimal, int line,
                         const char *column, double *out, struct fault *fault) {
    const size_t n = strlen(text);
    if (text_to_number(text, n, '.', out)) return STATUS_OK;
    const bool comma = text_to_number(text, n, ',', out);
    if (comma && decimal == DECIMAL_EITHER) return STATUS_OK;
    if (n == 0) return FAULT(fault, VALUE_MISSING, build->file, COUNT_TEXT(line), SHOWN_TEXT(column));
    if (comma)
        return FAULT(fault, VALUE_DECIMAL_COMMA, build->file, COUNT_TEXT(line), SHOWN_TEXT(column),
                     SHOWN_TEXT(text));
    return FAULT(fault, VALUE_NOT_NUMBER, build->file, COUNT_TEXT(line), SHOWN_TEXT(column),
                 SHOWN_TEXT(text));
}

bool build_holds(const char *text, const char *word) {
    for (const size_t n = strlen(word); *text; text++) {
        size_t i = 0;
        while (i < n && text[i] && (text[i] | 0x20) == (word[i] | 0x20)) i++;
        if (i == n) return true;
    }
    return false;
}

bool build_starts(const char *text, const char *word) {
    while (*word && (*text | 0x20) == (*word | 0x20)) text++, word++;
    return *word == 0;
}

bool build_is_among(const char *text, const char *const words[]) {
    for (; *words; words++)
        if (text_same_ignoring_case(text, *words)) return true;
    return false;
}

enum geometry build_geometry(const char *text) {
    enum geometry geometry;
    if (geometry_from_name(text, &geometry)) return geometry;
    if (build_holds(text, "sce") || build_holds(text, "spex") || build_holds(text, "specular excl"))
        return GEOMETRY_SCE;
    if (build_holds(text, "sci") || build_holds(text, "spin") || build_holds(text, "specular incl"))
        return GEOMETRY_SCI;
    const bool has_45 = build_holds(text, "45/0") || build_holds(text, "0/45") || build_holds(text, "45:0") ||
                        build_holds(text, "0:45") || build_holds(text, "45a:0") ||
                        build_holds(text, "45c:0") || build_holds(text, "0:45a") || build_holds(text, "45-0");
    return has_45 ? GEOMETRY_45_0 : GEOMETRY_UNKNOWN;
}

/* Spectra
 * -----------------------------------------------------------------------------------------------------------------
 */

/* What a value is called in a sentence: its heading, or its wavelength. */
#define COLUMN_TEXT(value) column_text((char[80]){0}, (value))
static const char *column_text(char out[80], const struct band_value *value) {
    if (value->column) return text_in_shown(out, value->column);
    snprintf(out, 80, "%g nm", value->nm);
    return out;
}

static int by_wavelength(const void *a, const void *b) {
    const struct band_value *x = a, *y = b;
    if (x->nm != y->nm) return x->nm < y->nm ? -1 : 1;
    return x->line < y->line ? -1 : x->line > y->line;
}

/* Bands named in whole nm of a grid with a broken step: put them where start, end and number say. */
static void unround(const struct sample_about *about, struct band_value *value, size_t count) {
    if (about->bands != count || count < 2 || !(about->end_nm > about->start_nm)) return;
    const double step = (about->end_nm - about->start_nm) / (double)(count - 1);
    for (size_t i = 0; i < count; i++)
        if (!(fabs(value[i].nm - (about->start_nm + step * (double)i)) <= 0.51)) return;
    for (size_t i = 0; i < count; i++) value[i].nm = about->start_nm + step * (double)i;
}

static enum status check_range(const char *file, const struct band_value *value, size_t count, double step,
                               struct fault *fault) {
    const double first = value[0].nm, last = value[count - 1].nm;
    const char *line = COUNT_TEXT(value[0].line);
    if (!(first >= 340 && last <= 830))
        return FAULT(fault, BANDS_OUTSIDE, file, line, NUMBER_TEXT(first), NUMBER_TEXT(last));
    if (!(first <= 400.001 && last >= 699.999))
        return FAULT(fault, BANDS_NARROW, file, line, NUMBER_TEXT(first), NUMBER_TEXT(last));
    if (!(step >= 0.999 && step <= 20.001)) return FAULT(fault, BANDS_STEP, file, line, NUMBER_TEXT(step));
    return STATUS_OK;
}

static enum status check_regular(const char *file, const struct band_value *value, size_t count, double step,
                                 struct fault *fault) {
    for (size_t i = 1; i < count; i++) {
        const struct band_value *v = &value[i];
        if (v->nm == v[-1].nm)
            return FAULT(fault, BAND_TWICE, file, COUNT_TEXT(v->line), COLUMN_TEXT(v), NUMBER_TEXT(v->nm));
        const double want = value[0].nm + step * (double)i;
        if (!(fabs(v->nm - want) <= 0.02))
            return FAULT(fault, BANDS_IRREGULAR, file, COUNT_TEXT(v->line), COLUMN_TEXT(v),
                         NUMBER_TEXT(v->nm), NUMBER_TEXT(v[-1].nm), NUMBER_TEXT(step));
    }
    return STATUS_OK;
}

/* The step that most of the file keeps: a missing band must be named where it is missing, not where the mean
 * step drifts off. */
static double usual_step(const struct band_value *value, size_t count) {
    const double mean = (value[count - 1].nm - value[0].nm) / (double)(count - 1);
    const double first = value[1].nm - value[0].nm;
    return fabs(mean - first) <= 0.001 ? mean : first;
}

enum status build_grid(const struct sample_build *build, struct band_value *value, size_t count,
                       struct fault *fault) {
    if (count < BANDS_FEWEST)
        return FAULT(fault, BANDS_TOO_FEW, build->file, COUNT_TEXT(count ? value[0].line : 0),
                     COUNT_TEXT((long long)count));
    qsort(value, count, sizeof *value, by_wavelength);
    unround(&build->about, value, count);
    const double step = usual_step(value, count);
    enum status status = check_regular(build->file, value, count, step, fault);
    if (status == STATUS_OK) status = check_range(build->file, value, count, step, fault);
    return status;
}

static void keep_extreme(struct extreme *extreme, const struct band_value *value) {
    extreme->value = value->value;
    extreme->line = value->line;
    column_text(extreme->column, value);
}

static void watch(struct sample_build *build, const struct band_value *value) {
    if (!build->has_values || value->value > build->high.value) keep_extreme(&build->high, value);
    if (!build->has_values || value->value < build->low.value) keep_extreme(&build->low, value);
    build->has_values = true;
    if (value->value < 0) build->negatives++;
}

/* What is no reflectance on either scale need not wait for the scale. */
static enum status check_value(const struct sample_build *build, const struct band_value *value,
                               struct fault *fault) {
    const char *line = COUNT_TEXT(value->line), *number = NUMBER_TEXT(value->value);
    if (!(value->value <= 200))
        return FAULT(fault, REFLECTANCE_HIGH, build->file, line, COLUMN_TEXT(value), number, "per cent",
                     "200");
    if (!(value->value >= -0.5))
        return FAULT(fault, REFLECTANCE_NEGATIVE, build->file, line, COLUMN_TEXT(value), number);
    return STATUS_OK;
}

static enum status keep_lamp(struct sample_build *build, const struct band_value *value, size_t count,
                             struct fault *fault) {
    const char *line = COUNT_TEXT(value[0].line);
    if (build->lamp->count) return FAULT(fault, LAMP_TWICE, build->file, line);
    double *power = arena_need(build->arena, count, sizeof *power);
    for (size_t i = 0; i < count; i++) {
        power[i] = value[i].value;
        if (!(power[i] >= 0 && power[i] <= 1e30))
            return FAULT(fault, LAMP_VALUE, build->file, COUNT_TEXT(value[i].line), COLUMN_TEXT(&value[i]),
                         NUMBER_TEXT(power[i]));
    }
    const double step = (value[count - 1].nm - value[0].nm) / (double)(count - 1);
    *build->lamp = (struct sampled){value[0].nm, step, count, power};
    return STATUS_OK;
}

enum status build_spectrum(struct sample_build *build, struct sample *sample, struct band_value *value,
                           size_t count, struct fault *fault) {
    enum status status = build_grid(build, value, count, fault);
    if (status != STATUS_OK) return status;
    if (build->lamp) return keep_lamp(build, value, count, fault);
    assert(count <= BANDS_MOST); /* 340..830 by 1 nm at least */
    double raw[BANDS_MOST];
    for (size_t i = 0; i < count; i++) {
        status = check_value(build, &value[i], fault);
        if (status != STATUS_OK) return status;
        raw[i] = value[i].value;
        watch(build, &value[i]);
    }
    const double step = (value[count - 1].nm - value[0].nm) / (double)(count - 1);
    const struct sampled sampled = {value[0].nm, step, count, raw};
    status = spectrum_resample(&sampled, &sample->reading.reflectance, fault);
    sample->reading.has_spectrum = status == STATUS_OK;
    return status;
}

void build_reflectance(struct sample_build *build, struct sample *sample, const double value[BANDS]) {
    struct fault note;
    for (int b = 0; b < BANDS; b++) {
        if (value[b] < 0 && build->negatives++ == 0) {
            FAULT(&note, NEGATIVE_BANDS_AS_ZERO, build->file, SHOWN_TEXT(sample->reading.id));
            build_note(build, &note);
        }
        sample->reading.reflectance.band[b] = fmax(value[b], 0);
    }
    sample->reading.has_spectrum = true;
    build->out->scale = "fraction (by the format)";
}

static const double WHITE_AS_FRACTION = 1.1;

static double highest(const struct sample *sample) {
    double high = 0;
    for (int b = 0; b < BANDS; b++) high = fmax(high, sample->reading.reflectance.band[b]);
    return high;
}

/* By magnitude: a row that goes over 2 is per cent; where more rows stay under what white reads as a
 * fraction, the file is in fractions and the rows over 2 are slips (mend_rows). */
static enum scale_said scale_of(const struct sample_build *build) {
    size_t per_cent = 0, fractions = 0;
    if (build->about.scale != SCALE_UNSAID) return build->about.scale;
    for (size_t i = build->group_first; i < build->count; i++) {
        const struct sample *sample = &build->sample[i];
        if (!sample->reading.has_spectrum) continue;
        per_cent += highest(sample) > 2;
        fractions += highest(sample) <= WHITE_AS_FRACTION;
    }
    if (build->high.value <= 2) return SCALE_FRACTION;
    return fractions > per_cent && per_cent > 0 ? SCALE_FRACTION : SCALE_PERCENT;
}

/* Rows of per cent in a file of fractions that did not say so are read as what they are, and named. */
static void mend_rows(struct sample_build *build, enum scale_said scale) {
    if (build->about.scale != SCALE_UNSAID || scale != SCALE_FRACTION) return;
    build->high.value = fmin(build->high.value, 2);
    for (size_t i = build->group_first; i < build->count; i++) {
        struct sample *sample = &build->sample[i];
        const double high = sample->reading.has_spectrum ? highest(sample) : 0;
        struct fault note;
        if (high <= 2) continue;
        for (int b = 0; b < BANDS; b++) sample->reading.reflectance.band[b] *= .01;
        FAULT(&note, SCALE_OF_ROW, build->file, COUNT_TEXT(sample->line), SHOWN_TEXT(sample->reading.id),
              NUMBER_TEXT(high));
        build_note(build, &note);
    }
}

static void remember_scale(struct sample_build *build, enum scale_said scale) {
    struct text text = {0};
    text_format(&text, "%s (%s)", scale == SCALE_PERCENT ? "percent" : "fraction",
                build->about.scale == SCALE_UNSAID ? "by magnitude" : build->about.scale_by);
    const char *before = build->out->scale;
    if (!before)
        build->out->scale = arena_text(build->arena, text.data, text.length);
    else if (strcmp(before, text.data) != 0)
        build->out->scale = "differs by table";
    text_free(&text);
}

static void scale_samples(struct sample_build *build, double by) {
    for (size_t i = build->group_first; i < build->count; i++) {
        struct spectrum *r = &build->sample[i].reading.reflectance;
        for (int b = 0; b < BANDS && build->sample[i].reading.has_spectrum; b++)
            r->band[b] = fmax(r->band[b] * by, 0);
    }
}

static enum status check_limits(const struct sample_build *build, double by, const char *scale,
                                struct fault *fault) {
    const struct extreme *high = &build->high, *low = &build->low;
    if (!(low->value * by >= -0.005))
        return FAULT(fault, REFLECTANCE_NEGATIVE, build->file, COUNT_TEXT(low->line), low->column,
                     NUMBER_TEXT(low->value));
    if (!(high->value * by <= 2))
        return FAULT(fault, REFLECTANCE_HIGH, build->file, COUNT_TEXT(high->line), high->column,
                     NUMBER_TEXT(high->value), scale, NUMBER_TEXT(2 / by));
    return STATUS_OK;
}

static void note_of_scale(struct sample_build *build, double by) {
    struct fault note;
    const double high = build->high.value * by;
    if (build->negatives) {
        FAULT(&note, NEGATIVE_AS_ZERO, build->file, COUNT_TEXT((long long)build->negatives),
              NUMBER_TEXT(build->low.value), COUNT_TEXT(build->low.line));
        build_note(build, &note);
    }
    if (build->about.scale == SCALE_UNSAID && by == 1 && high > 1.2) {
        FAULT(&note, SCALE_DOUBTFUL, build->file, NUMBER_TEXT(high));
        build_note(build, &note);
    }
}

enum status build_group_end(struct sample_build *build, struct fault *fault) {
    if (!build->has_values) return STATUS_OK;
    const enum scale_said scale = scale_of(build);
    const double by = scale == SCALE_PERCENT ? 0.01 : 1;
    remember_scale(build, scale);
    mend_rows(build, scale);
    const enum status status =
        check_limits(build, by, scale == SCALE_PERCENT ? "per cent" : "fractions", fault);
    if (status != STATUS_OK) return status;
    note_of_scale(build, by);
    scale_samples(build, by);
    return STATUS_OK;
}

/* Lab
 * ---------------------------------------------------------------------------------------------------------------------
 */

/* "10", "10degree", "CIE 1964 ..."; not "2", "100", "1931". */
static bool observer_is_10(const char *observer) {
    while (*observer && (*observer < '0' || *observer > '9')) observer++;
    const size_t digits = strspn(observer, "0123456789");
    return (digits == 2 && text_starts(observer, "10")) || (digits == 4 && text_starts(observer, "1964"));
}

static bool light_is_d65(const char *light) {
    enum light found;
    if (light_from_name(light, &found)) return found == LIGHT_D65;
    return build_holds(light, "D65") &&
           !build_holds(light, "ID65"); /* "CIE D65"; ID65 is daylight behind glass */
}

enum status build_lab(struct sample_build *build, struct sample *sample, const double lab[3], int line,
                      struct fault *fault) {
    const bool fits = lab[0] >= 0 && lab[0] <= 130 && fabs(lab[1]) <= 200 && fabs(lab[2]) <= 200;
    if (!fits)
        return FAULT(fault, LAB_OUTSIDE, build->file, COUNT_TEXT(line), NUMBER_TEXT(lab[0]),
                     NUMBER_TEXT(lab[1]), NUMBER_TEXT(lab[2]));
    const struct sample_about *about = &build->about;
    struct pending *pending = &build->pending[sample - build->sample];
    sample->reading.lab = (struct lab){lab[0], lab[1], lab[2], {LIGHT_D65, OBSERVER_10}};
    pending->lab_given = true;
    pending->light = about->light;
    pending->observer = about->observer;
    const bool silent = !about->light && !about->observer && about->silent_means_d65_10;
    const bool said =
        about->light && about->observer && light_is_d65(about->light) && observer_is_10(about->observer);
    pending->light_assumed = silent;
    pending->lab_refused = !silent && !said;
    return STATUS_OK;
}

static enum status refuse_light(const struct sample_build *build, size_t i, struct fault *fault) {
    const struct pending *p = &build->pending[i];
    const char *line = COUNT_TEXT(build->sample[i].line);
    if (!p->light || !p->observer) return FAULT(fault, LAB_LIGHT_UNSAID, build->file, line);
    return FAULT(fault, LAB_OTHER_LIGHT, build->file, line, SHOWN_TEXT(p->light), SHOWN_TEXT(p->observer));
}

/* Lab values under another light: left out when the file has spectra, else the file is refused. */
static enum status settle_lights(struct sample_build *build, struct fault *fault) {
    size_t kept = 0, refused = build->count, left_out = 0, spectra = 0;
    bool assumed = false;
    for (size_t i = 0; i < build->count; i++) spectra += build->sample[i].reading.has_spectrum;
    for (size_t i = 0; i < build->count; i++) {
        const bool has_spectrum = build->sample[i].reading.has_spectrum;
        if (!has_spectrum && build->pending[i].lab_refused) {
            if (spectra == 0) return refuse_light(build, i, fault);
            left_out++;
            if (refused == build->count) refused = i;
            continue;
        }
        assumed = assumed || (!has_spectrum && build->pending[i].light_assumed);
        build->sample[kept++] = build->sample[i];
    }
    struct fault note;
    if (left_out) {
        FAULT(&note, LAB_LEFT_OUT, build->file, COUNT_TEXT((long long)left_out));
        build_note(build, &note);
    }
    if (assumed) {
        FAULT(&note, LAB_LIGHT_ASSUMED, build->file);
        build_note(build, &note);
    }
    build->count = kept;
    return STATUS_OK;
}

static void compute_labs(struct sample_build *build) {
    const struct weights *weights = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    for (size_t i = 0; i < build->count; i++) {
        struct reading *reading = &build->sample[i].reading;
        if (reading->has_spectrum) reading->lab = lab_of_spectrum(&reading->reflectance, weights);
    }
}

/* A file that holds one spot in several geometries: the one that was asked for counts. */
static void pick_geometry(struct sample_build *build) {
    size_t same = 0, kept = 0;
    if (build->assumed == GEOMETRY_UNKNOWN) return;
    for (size_t i = 0; i < build->count; i++) same += build->sample[i].reading.geometry == build->assumed;
    if (same == 0 || same == build->count) return;
    for (size_t i = 0; i < build->count; i++)
        if (build->sample[i].reading.geometry == build->assumed) build->sample[kept++] = build->sample[i];
    struct fault note;
    FAULT(&note, GEOMETRY_PICKED, build->file, COUNT_TEXT((long long)same), geometry_name(build->assumed),
          COUNT_TEXT((long long)(build->count - same)));
    build_note(build, &note);
    build->count = kept;
}

enum status build_finish(struct sample_build *build, const char *format, struct fault *fault) {
    if (build->count == 0) return FAULT(fault, SAMPLES_NONE, build->file, format);
    for (size_t i = 0; i < build->count; i++)
        if (!build->sample[i].reading.has_spectrum && !build->pending[i].lab_given)
            return FAULT(fault, SAMPLE_BLANK, build->file, COUNT_TEXT(build->sample[i].line),
                         SHOWN_TEXT(build->sample[i].reading.id));
    const enum status status = settle_lights(build, fault);
    if (status != STATUS_OK) return status;
    pick_geometry(build);
    compute_labs(build);
    build->out->format = format;
    if (!build->out->scale) build->out->scale = "none (Lab only)";
    build->out->sample = build->sample;
    build->out->count = build->count;
    build->out->note = build->note;
    build->out->note_count = build->note_count;
    return STATUS_OK;
}
