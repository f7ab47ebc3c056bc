/* Only for the readers of this folder: gathers samples as a reader meets them and holds every rule that does
 * not depend on the format: limits, grids, fraction or percent, negative values, lights of Lab values,
 * geometry, notes. */
#ifndef RUSSET_FORMATS_SAMPLE_BUILD_H
#define RUSSET_FORMATS_SAMPLE_BUILD_H

#include "formats/sample_file.h"
#include "formats/text_in.h"

enum {
    SAMPLES_MOST = 20000,
    COLUMNS_MOST = 1024,
    FIELDS_MOST = 2000000,
    BANDS_FEWEST = 6,
    BANDS_MOST = 491,
    NOTES_MOST = 20
};

enum scale_said { SCALE_UNSAID, SCALE_FRACTION, SCALE_PERCENT };
enum decimal { DECIMAL_POINT, DECIMAL_EITHER };

/* What a file says about all samples of one table. */
struct sample_about {
    enum geometry geometry; /* GEOMETRY_UNKNOWN: not said */
    enum scale_said scale;
    const char *scale_by;     /* the keyword that said so */
    const char *light;        /* as the file spells it; NULL: not said */
    const char *observer;     /* as the file spells it; NULL: not said */
    bool silent_means_d65_10; /* Lab without a word about its light is under D65/10 */
    double start_nm, end_nm;  /* of the spectrum by keyword, for columns whose names are rounded */
    size_t bands;             /* 0: not said */
};

/* One value of a spectrum and where it stands. */
struct band_value {
    double nm, value;
    int line;
    const char *column; /* its heading; NULL: it is named by its wavelength */
};

struct sample_build;
struct sample_build *build_start(const char *file, enum geometry assumed, struct arena *arena,
                                 struct sample_file *out);

/* The spectra are those of lamps: no scale, no upper limit; the one spectrum of the file goes to *lamp. */
void build_lamp(struct sample_build *build, struct sampled *lamp);

/* Samples between group and group_end share one scale and one struct sample_about. */
void build_group(struct sample_build *build, const struct sample_about *about);
/* What the next samples of the open group are about; its scale stays one. */
void build_scale_continues(struct sample_build *build, const struct sample_about *about);
enum status build_group_end(struct sample_build *build, struct fault *fault) MUST_USE;
/* The next sample; the fields are the reader's. id may be NULL: its number in the file. */
enum status build_sample(struct sample_build *build, const char *id, int line, struct sample **out,
                         struct fault *fault) MUST_USE;
/* Takes back the samples first .. first + count - 1. */
void build_drop(struct sample_build *build, size_t first, size_t count);
size_t build_count(const struct sample_build *build);
const char *build_file(const struct sample_build *build);

/* Sorts the values by wavelength and checks that they make a regular grid that covers 400..700. */
enum status build_grid(const struct sample_build *build, struct band_value *value, size_t count,
                       struct fault *fault) MUST_USE;
/* The same and sets the spectrum of the sample (still unscaled until group_end). */
enum status build_spectrum(struct sample_build *build, struct sample *sample, struct band_value *value,
                           size_t count, struct fault *fault) MUST_USE;
/* A spectrum that is fractions on the 31 bands already, each -0.005 .. 2. */
void build_reflectance(struct sample_build *build, struct sample *sample, const double value[BANDS]);
enum status build_lab(struct sample_build *build, struct sample *sample, const double lab[3], int line,
                      struct fault *fault) MUST_USE;
void build_decimal_comma(struct sample_build *build); /* fields may be written with one */
/* A note; only the first NOTES_MOST are kept. */
void build_note(struct sample_build *build, const struct fault *note);
/* Checks that there is anything, settles lights and Lab values, and hands everything to the sample_file. */
enum status build_finish(struct sample_build *build, const char *format, struct fault *fault) MUST_USE;

/* A cell of a table as a number, with line and column in the complaint. */
enum status build_number(const struct sample_build *build, const char *text, enum decimal decimal, int line,
                         const char *column, double *out, struct fault *fault) MUST_USE;
/* ASCII without case. */
bool build_holds(const char *text, const char *word);
bool build_starts(const char *text, const char *word);
bool build_is_among(const char *text, const char *const words[]); /* words ended by NULL */
#define build_same_any(text, ...) build_is_among((text), (const char *const[]){__VA_ARGS__, NULL})
/* "45/0", "d/8 SCI", "Sphere, specular excluded" ...: GEOMETRY_UNKNOWN when it cannot be told. */
enum geometry build_geometry(const char *text);

#endif
