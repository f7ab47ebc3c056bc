/* Values: the 10 nm sample of ASTM E308 (31 bands), written in every way that is read (tests/data/formats).
 */
#include "formats/cgats_out.h"
#include "formats/lamp_file.h"
#include "read_help.h"

static const double e308[BANDS] = {.0641, .0654, .0645, .0605, .0562, .0543, .0537, .0541,
                                   .0559, .0603, .0651, .0680, .0705, .0736, .0772, .0809,
                                   .0870, .0990, .1128, .1251, .1360, .1439, .1511, .1590,
                                   .1688, .1828, .1996, .2187, .2397, .2618, .2852};

static void check_is_e308(const struct sample *sample) {
    CHECK(sample->reading.has_spectrum);
    for (int b = 0; b < BANDS; b++) CHECK_NEAR(sample->reading.reflectance.band[b], e308[b], 1e-9);
    /* D65/10 by spec2cie of Debian's argyll. */
    CHECK_NEAR(sample->reading.lab.l, 36.7865, 0.003);
    CHECK_NEAR(sample->reading.lab.a, 13.0296, 0.003);
    CHECK_NEAR(sample->reading.lab.b, 13.9806, 0.003);
}

static void every_spelling_of_a_spectral_column_is_read(void) {
    for (int i = 0; i < 9; i++) {
        char name[40];
        snprintf(name, sizeof name, "spelling-%d.txt", i);
        CHECK(read_data(name) == STATUS_OK);
        if (file.count != 1) continue;
        check_is_e308(&file.sample[0]);
        CHECK_TEXT(file.format, "CGATS");
        CHECK_TEXT(file.sample[0].reading.id, "E308 sample");
        CHECK(file.sample[0].reading.geometry == GEOMETRY_SCI);
        CHECK(file.sample[0].line == 10);
    }
}

static void the_scale_is_told_by_keyword_before_magnitude(void) {
    static const char *const want[][2] = {{"percent-magnitude.txt", "percent (by magnitude)"},
                                          {"percent-keyword.txt", "percent (SPECTRAL_PCT)"},
                                          {"fraction-keyword.txt", "fraction (SPECTRAL_DEC)"},
                                          {"pairs.txt", "percent (SPECTRAL_PCT)"},
                                          {"spelling-0.txt", "fraction (by magnitude)"}};
    for (size_t i = 0; i < sizeof want / sizeof want[0]; i++) {
        CHECK(read_data(want[i][0]) == STATUS_OK);
        CHECK_TEXT(file.scale, want[i][1]);
        if (file.count) check_is_e308(&file.sample[0]);
    }
    CHECK(read_data("percent-norm.txt") == STATUS_OK); /* .0641 per cent, because the file says so */
    CHECK_TEXT(file.scale, "percent (SPECTRAL_NORM 100)");
    if (file.count) CHECK_NEAR(file.sample[0].reading.reflectance.band[0], .000641, 1e-12);
}

/* Three rows, the second in per cent: it is read as what it is and named; no other row changes. */
static void a_row_of_per_cent_among_fractions_is_put_right(void) {
    struct text text = {0};
    text_add(&text, "SAMPLE_ID");
    for (int b = 0; b < BANDS; b++) text_format(&text, ",%d", 400 + 10 * b);
    for (int row = 0; row < 3; row++) {
        text_format(&text, "\nrow %d", row);
        for (int b = 0; b < BANDS; b++) text_format(&text, ",%.4f", e308[b] * (row == 1 ? 100 : 1));
    }
    CHECK(read_string(text.data) == STATUS_OK && file.count == 3);
    for (size_t k = 0; k < file.count; k++) check_is_e308(&file.sample[k]);
    CHECK(file.note_count > 0 &&
          strstr(file.note[0].text, "line 3, row 1: 28.52 cannot be a fraction") != NULL);
    text_free(&text);
}

static void csv_is_read_in_both_orientations_and_encodings(void) {
    static const char *const names[] = {"column.csv", "column-bare.csv",   "columns-two.csv",
                                        "rows.csv",   "rows-reversed.csv", "rows-utf16.csv"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        CHECK(read_data(names[i]) == STATUS_OK);
        for (size_t k = 0; k < file.count; k++) check_is_e308(&file.sample[k]);
        CHECK_TEXT(file.format, "CSV");
    }
    CHECK_TEXT(file.count ? file.sample[0].reading.id : NULL, "caf\xC3\xA9");
    CHECK(read_data("rows.csv") == STATUS_OK && file.count == 2);
    if (file.count) CHECK_TEXT(sample_field_text(&file.sample[0], "note"), "with, comma and \"quote\"");
    CHECK(read_data("columns-two.csv") == STATUS_OK && file.count == 2);
    CHECK_TEXT(file.scale, "percent (by the heading)");
}

static void columns_may_be_parted_by_blanks(void) {
    struct text text = {0};
    for (int b = 0; b < BANDS; b++)
        text_format(&text, "  %d   %.4f %s\n", 400 + 10 * b, e308[b], b % 2 ? "" : " ");
    CHECK(read_string(text.data) == STATUS_OK && file.count == 1);
    if (file.count) check_is_e308(&file.sample[0]);
    text_free(&text);
}

static void a_cxf3_file_gives_its_objects_with_geometry(void) {
    CHECK(read_data("two-objects.cxf") == STATUS_OK && file.count == 2);
    if (file.count != 2) return;
    check_is_e308(&file.sample[0]);
    CHECK(file.sample[0].reading.geometry == GEOMETRY_SCI);
    CHECK(!file.sample[1].reading.has_spectrum);
    CHECK_NEAR(file.sample[1].reading.lab.b, -20, 0);
    const struct sample *found = NULL;
    CHECK(sample_file_find(&file, "o1", &found, &fault) == STATUS_OK && found == &file.sample[0]);
    CHECK(sample_file_find(&file, "only Lab", &found, &fault) == STATUS_OK && found == &file.sample[1]);
}

#define FLAT_31 ".2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2"
#define FLAT_30 ".2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2 .2"
#define SPEC(id, geometry)                                                                           \
    "<ColorSpecification Id='" id "'><MeasurementSpec><GeometryChoice>" geometry "</GeometryChoice>" \
    "<WavelengthRange StartWL='400' Increment='10'/></MeasurementSpec></ColorSpecification>"

/* Specifications before the objects, no prefix, a spot in three geometries, a curve in pieces of text. */
static void a_cxf3_object_in_several_geometries_is_told_apart(void) {
    static const char text[] =
        "<?xml version='1.0' encoding='ISO-8859-1'?><CxF><Resources><ColorSpecificationCollection>" //
        SPEC("i", "<Sphere>Specular Included</Sphere>") SPEC("e", "<Sphere><X Specular='excluded'/></Sphere>")
            SPEC(
                "d",
                "<SingleAngle><IlluminationAngle>45</IlluminationAngle><MeasurementAngle>0</"
                "MeasurementAngle></SingleAngle>") "</ColorSpecificationCollection><ObjectCollection><Object "
                                                   "Name='caf\xE9' Id='1'><ColorValues>"
                                                   "<ReflectanceSpectrum ColorSpecification='i'>" FLAT_31
                                                   "</ReflectanceSpectrum>"
                                                   "<ReflectanceSpectrum "
                                                   "ColorSpecification='e'><![CDATA[.1]]> <!-- c -->" FLAT_30
                                                   "</ReflectanceSpectrum>"
                                                   "<ReflectanceSpectrum ColorSpecification='d' "
                                                   "StartWL='395'>.3 " FLAT_31 "</ReflectanceSpectrum>"
                                                   "</ColorValues></Object></ObjectCollection></Resources></"
                                                   "CxF>";
    CHECK(read_string(text) == STATUS_OK && file.count == 3);
    if (fault.word) printf("  %s\n", fault.text);
    if (file.count != 3) return;
    CHECK(file.sample[0].reading.geometry == GEOMETRY_SCI && file.sample[1].reading.geometry == GEOMETRY_SCE);
    CHECK(file.sample[2].reading.geometry == GEOMETRY_45_0);
    CHECK_TEXT(file.sample[0].reading.id, "caf\xC3\xA9");
    CHECK_NEAR(file.sample[1].reading.reflectance.band[0], .1, 1e-12);
    CHECK(read_bytes(text, strlen(text), GEOMETRY_SCE) == STATUS_OK && file.count == 1 &&
          has_note(WORD_GEOMETRY_PICKED));
}

static void a_cxf3_curve_without_its_grid_is_refused(void) {
    CHECK(read_string("<CxF><Object Id='1'><ReflectanceSpectrum StartWL='400'>" FLAT_31
                      "</ReflectanceSpectrum></Object></CxF>") == STATUS_INPUT);
    CHECK(fault.word == WORD_CXF_GRID_MISSING);
    CHECK(read_string("<CxF>\n<Object Id='1'><ReflectanceSpectrum StartWL='400' Increment='10'>" FLAT_30
                      " x</ReflectanceSpectrum></Object></CxF>") == STATUS_INPUT);
    CHECK_TEXT(fault.text,
               "t: line 2, column ReflectanceSpectrum: \"x\" is not a number; write it like 0.1234.");
    CHECK(read_string("<CxF><Object><ReflectanceSpectrum StartWL='400' Increment='10'>" FLAT_30
                      "</ReflectanceSpectrum></Object></CxF>") == STATUS_INPUT);
    CHECK(fault.word == WORD_BANDS_NARROW);
    CHECK(read_string("<CxF><Object><ReflectanceSpectrum StartWL='1e3x' Increment='10'/></Object></CxF>") ==
          STATUS_INPUT);
    CHECK(fault.word == WORD_VALUE_NOT_NUMBER);
}

static void what_is_written_as_readings_comes_back(void) {
    struct reading reading[2] = {{.id = "a \"b\"", .geometry = GEOMETRY_PHOTO, .has_spectrum = true},
                                 {.id = "#2", .geometry = GEOMETRY_PHOTO, .has_spectrum = true}};
    struct text text = {0};
    for (int b = 0; b < BANDS; b++) {
        reading[0].reflectance.band[b] = e308[b];
        reading[1].reflectance.band[b] = 1.000001;
    }
    cgats_write_readings(reading, 2, "two \"spots\"", &text);
    CHECK(read_string(text.data) == STATUS_OK && file.count == 2);
    if (file.count == 2) {
        check_is_e308(&file.sample[0]);
        CHECK_TEXT(file.sample[0].reading.id, "a \"b\"");
        CHECK_TEXT(file.sample[1].reading.id, "#2");
        CHECK_NEAR(file.sample[1].reading.reflectance.band[7], 1.000001, 0);
        CHECK(file.sample[1].reading.geometry == GEOMETRY_PHOTO);
        CHECK_TEXT(file.scale, "fraction (SPECTRAL_NORM 1)");
    }
    text_free(&text);
}

static void a_spreadsheet_may_say_its_separator(void) {
    struct text text = {0};
    text_add(&text, "sep=;\r\n# comment\r\nwavelength;a,b\r\n");
    for (int b = 0; b < BANDS; b++)
        text_format(&text, "%d;0,%04d\r\n", 400 + 10 * b, (int)lround(e308[b] * 1e4));
    CHECK(read_string(text.data) == STATUS_OK && file.count == 1);
    if (file.count) check_is_e308(&file.sample[0]);
    CHECK_TEXT(file.count ? file.sample[0].reading.id : NULL, "a,b");
    text_free(&text);
}

/* "Wellenlaenge;Wert" above "400 nm;6,41": the rows say what it is, whatever language heads them. */
static void a_heading_of_another_language_stands_above_wavelengths(void) {
    struct text text = {0};
    text_add(&text, "Wellenl\xe4nge;Sitz\r\n");
    for (int b = 0; b < BANDS; b++)
        text_format(&text, "%d nm;0,%04d\r\n", 400 + 10 * b, (int)lround(e308[b] * 1e4));
    CHECK(read_string(text.data) == STATUS_OK && file.count == 1);
    if (file.count) check_is_e308(&file.sample[0]);
    CHECK_TEXT(file.count ? file.sample[0].reading.id : NULL, "Sitz");
    CHECK(read_string("Wellenlaenge;Wert\nSitz;6,41\n") == STATUS_INPUT);
    CHECK(fault.word == WORD_FORMAT_NOT_KNOWN);
    text_free(&text);
}

static void a_second_table_of_lab_is_not_a_second_reading(void) {
    CHECK(read_data("two-tables.txt") == STATUS_OK && file.count == 1);
    if (file.count) check_is_e308(&file.sample[0]);
    CHECK(has_note(WORD_LAB_TABLE_LEFT_OUT));
}

/* 340..830 nm by 5 holds the 31 bands: they are picked. */
static void a_finer_and_wider_grid_is_picked_from(void) {
    struct text text = {0};
    text_add(&text, "wavelength;value\r");
    for (int nm = 340; nm <= 830; nm += 5)
        text_format(&text, "%d;%.6f\r", nm,
                    nm >= 400 && nm <= 700 && nm % 10 == 0 ? e308[(nm - 400) / 10] : 0.1);
    CHECK(read_string(text.data) == STATUS_OK && file.count == 1);
    if (file.count) check_is_e308(&file.sample[0]);
    text_free(&text);
}

static void make_row(struct text *text, int first, int step, int count, const char *values) {
    text->length = 0;
    text_add(text, "SAMPLE_ID");
    for (int i = 0; i < count; i++) text_format(text, ",%d", first + step * i);
    text_format(text, "\nA%s\n", values);
}

static void grids_that_cannot_be_read_are_named_with_line_and_column(void) {
    struct text text = {0}, values = {0};
    static const struct {
        int first, step, count;
        enum word word;
    } bad[] = {{410, 10, 30, WORD_BANDS_NARROW},  {400, 10, 30, WORD_BANDS_NARROW},
               {330, 10, 40, WORD_BANDS_OUTSIDE}, {400, 10, 45, WORD_BANDS_OUTSIDE},
               {400, 25, 13, WORD_BANDS_STEP},    {400, 60, 6, WORD_BANDS_STEP}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        values.length = 0;
        for (int k = 0; k < bad[i].count; k++) text_add(&values, ",0.2");
        make_row(&text, bad[i].first, bad[i].step, bad[i].count, values.data);
        CHECK(read_string(text.data) == STATUS_INPUT);
        CHECK(fault.word == bad[i].word);
    }
    text_free(&text);
    text_free(&values);
}

static char *rows_with(char *out, size_t n, int at, const char *value, int leave_out) {
    size_t length = 0;
    for (int nm = 400; nm <= 700; nm += 10)
        if (nm != leave_out)
            length += (size_t)snprintf(out + length, n - length, "%d,%s\n", nm, nm == at ? value : "0.25");
    return out;
}

static void a_missing_band_is_named_where_it_is_missing(void) {
    char text[2000];
    CHECK(read_string(rows_with(text, sizeof text, 0, "", 530)) == STATUS_INPUT);
    CHECK(fault.word == WORD_BANDS_IRREGULAR);
    CHECK(strstr(fault.text, "line 14") && strstr(fault.text, "540 nm stands behind 520 nm"));
}

static void values_that_are_no_reflectance_are_named_with_their_line(void) {
    char text[2000];
    static const struct {
        const char *value;
        enum word word;
    } bad[] = {{"nan", WORD_VALUE_NOT_NUMBER},    {"inf", WORD_VALUE_NOT_NUMBER},
               {"-inf", WORD_VALUE_NOT_NUMBER},   {"", WORD_VALUE_MISSING},
               {"0x1p3", WORD_VALUE_NOT_NUMBER},  {"-0.0051", WORD_REFLECTANCE_NEGATIVE},
               {"-7", WORD_REFLECTANCE_NEGATIVE}, {"1e308", WORD_REFLECTANCE_HIGH},
               {"1e309", WORD_VALUE_NOT_NUMBER},  {"201", WORD_REFLECTANCE_HIGH},
               {"O.25", WORD_VALUE_NOT_NUMBER}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        CHECK(read_string(rows_with(text, sizeof text, 450, bad[i].value, 0)) == STATUS_INPUT);
        CHECK(fault.word == bad[i].word);
        CHECK(strstr(fault.text, "t: line 6, column value") != NULL);
    }
    CHECK(read_string(rows_with(text, sizeof text, 450, "0,25", 0)) == STATUS_INPUT); /* a third cell */
    CHECK(fault.word == WORD_CSV_ROW_LENGTH);
}

static void just_under_zero_counts_as_zero_and_says_so(void) {
    char text[2000];
    CHECK(read_string(rows_with(text, sizeof text, 450, "-0.005", 0)) == STATUS_OK);
    if (file.count) CHECK_NEAR(file.sample[0].reading.reflectance.band[5], 0, 0);
    CHECK(has_note(WORD_NEGATIVE_AS_ZERO));
    CHECK(read_string(rows_with(text, sizeof text, 450, "1.9", 0)) == STATUS_OK);
    CHECK(has_note(WORD_SCALE_DOUBTFUL));
}

#define BANDS_31                                                                                             \
    "NM400 NM410 NM420 NM430 NM440 NM450 NM460 NM470 NM480 NM490 NM500 NM510 NM520 NM530 NM540 NM550 NM560 " \
    "NM570 "                                                                                                 \
    "NM580 NM590 NM600 NM610 NM620 NM630 NM640 NM650 NM660 NM670 NM680 NM690 NM700"
#define TABLE(head, rows)                                                                             \
    "CGATS.17\n" head "BEGIN_DATA_FORMAT\nSAMPLE_ID " BANDS_31 "\nEND_DATA_FORMAT\nBEGIN_DATA\n" rows \
    "END_DATA\n"

static void a_cgats_row_of_wrong_length_is_named_where_it_stands(void) {
    static const struct {
        const char *text, *want;
    } bad[] = {{TABLE("", "1 " FLAT_30 "\n2 " FLAT_31 "\n"), "line 6: 31 values"},
               {TABLE("", "1 " FLAT_31 "\n2 " FLAT_30 "\n"), "line 7: 31 values"},
               {TABLE("", "1 " FLAT_31 " .3 .3\n2 " FLAT_31 "\n"), "line 6: 34 values"},
               {TABLE("", "1 " FLAT_30 "\n"), "line 6: 31 values"}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        CHECK(read_string(bad[i].text) == STATUS_INPUT);
        CHECK(fault.word == WORD_CGATS_SET_LENGTH);
        if (!strstr(fault.text, bad[i].want)) CHECK_TEXT(fault.text, bad[i].want);
    }
    CHECK(read_string(TABLE("", "1 " FLAT_30 "\n  .2\n# a comment\n2 " FLAT_31 " # and one\n")) == STATUS_OK);
    CHECK(file.count == 2);
}

static void a_cut_cgats_file_is_refused(void) {
    CHECK(read_string("CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID NM400\n") == STATUS_INPUT);
    CHECK(fault.word == WORD_CGATS_NOT_ENDED);
    CHECK(read_string("CGATS.17\nBEGIN_DATA\n1 2\nEND_DATA\n") == STATUS_INPUT);
    CHECK(fault.word == WORD_CGATS_FORMAT_MISSING);
    CHECK(read_string("CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID " BANDS_31
                      "\nEND_DATA_FORMAT\nBEGIN_DATA\n1 " FLAT_31 "\n") == STATUS_INPUT);
    CHECK(fault.word == WORD_CGATS_NOT_ENDED);
    CHECK(read_string("CGATS.17\nORIGINATOR \"open\nBEGIN_DATA\nEND_DATA\n") == STATUS_INPUT);
    CHECK(fault.word == WORD_QUOTE_OPEN);
    CHECK(read_string("CGATS.17\nBEGIN_DATA_FORMAT\nEND_DATA_FORMAT\n") == STATUS_INPUT);
    CHECK(fault.word == WORD_CGATS_FORMAT_EMPTY);
    CHECK(read_string(TABLE("", "")) == STATUS_INPUT);
    CHECK(fault.word == WORD_SAMPLES_NONE);
}

static void the_geometry_is_the_files_before_the_callers(void) {
    static const struct {
        const char *head;
        enum geometry geometry;
    } want[] = {
        {TABLE("MEASUREMENT_GEOMETRY \"45/0\"\n", "1 " FLAT_31 "\n"), GEOMETRY_45_0},
        {TABLE("MEASUREMENT_GEOMETRY \"sce\"\n", "1 " FLAT_31 "\n"), GEOMETRY_SCE},
        {TABLE("MEASUREMENT_GEOMETRY \"d/8\"\nSPECULAR \"EXCLUDED\"\n", "1 " FLAT_31 "\n"), GEOMETRY_SCE},
        {TABLE("INSTRUMENTATION \"handheld, 45/0\"\n", "1 " FLAT_31 "\n"), GEOMETRY_45_0},
        {TABLE("", "1 " FLAT_31 "\n"), GEOMETRY_SCI}};
    for (size_t i = 0; i < sizeof want / sizeof want[0]; i++) {
        CHECK(read_bytes(want[i].head, strlen(want[i].head), GEOMETRY_SCI) == STATUS_OK);
        if (file.count) CHECK(file.sample[0].reading.geometry == want[i].geometry);
    }
    CHECK(read_string(TABLE("MEASUREMENT_GEOMETRY \"upside down\"\n", "1 " FLAT_31 "\n")) == STATUS_OK);
    CHECK(has_note(WORD_GEOMETRY_NOT_KNOWN));
}

static void lab_under_another_light_is_refused_and_not_adapted(void) {
    static const char table[] =
        "BEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n1 50 10 20\nEND_DATA\n";
    static const struct {
        const char *head;
        enum word word;
    } want[] = {
        {"", WORD_LAB_LIGHT_UNSAID},
        {"ILLUMINATION_NAME \"D65\"\n", WORD_LAB_LIGHT_UNSAID},
        {"ILLUMINATION_NAME \"D50\"\nOBSERVER_ANGLE \"2\"\n", WORD_LAB_OTHER_LIGHT},
        {"ILLUMINATION_NAME \"D65\"\nOBSERVER_ANGLE \"2\"\n", WORD_LAB_OTHER_LIGHT},
        {"ILLUMINATION_NAME \"A\"\nOBSERVER_ANGLE \"10\"\n", WORD_LAB_OTHER_LIGHT},
        {"MEASUREMENT_SOURCE \"Illumination=D50 ObserverAngle=2 WhiteBase=Abs\"\n", WORD_LAB_OTHER_LIGHT},
        {"WEIGHTING_FUNCTION \"ILLUMINANT, D65\"\nWEIGHTING_FUNCTION \"OBSERVER, 10degree\"\n", WORD_NONE},
        {"ILLUMINATION_NAME \"CIE D65\"\nOBSERVER \"CIE 1964 10 degree\"\n", WORD_NONE},
        {"ILLUMINATION_NAME \"ID65\"\nOBSERVER_ANGLE \"10\"\n", WORD_LAB_OTHER_LIGHT},
        {"MEASUREMENT_SOURCE \"Illumination=D65 ObserverAngle=10 WhiteBase=Abs\"\n", WORD_NONE},
        {"ILLUMINATION_NAME \"D65\"\nOBSERVER_ANGLE \"10\"\n", WORD_NONE}};
    for (size_t i = 0; i < sizeof want / sizeof want[0]; i++) {
        char text[600];
        snprintf(text, sizeof text, "CGATS.17\n%s%s", want[i].head, table);
        CHECK(read_string(text) == (want[i].word ? STATUS_INPUT : STATUS_OK));
        CHECK(fault.word == want[i].word);
    }
    CHECK(read_data("lab.csv") == STATUS_OK && file.count == 2);
    CHECK(has_note(WORD_LAB_LIGHT_ASSUMED));
}

static void a_repeated_id_is_refused_only_when_it_is_picked(void) {
    const struct sample *found;
    CHECK(read_string(TABLE("", "1 " FLAT_31 "\n1 .3 " FLAT_30 "\n2 " FLAT_31 "\n2 " FLAT_31 "\n")) ==
          STATUS_OK);
    CHECK(file.count == 4);
    CHECK(sample_file_find(&file, "1", &found, &fault) == STATUS_INPUT);
    CHECK_TEXT(fault.text, "t: sample \"1\" is there 2 times (lines 6 and 7 ...) with different values. Give "
                           "each its own name, or "
                           "read the whole file as repeats of one spot.");
    CHECK(sample_file_find(&file, "2", &found, &fault) ==
          STATUS_OK); /* the same values: it does not matter which */
    CHECK(sample_file_find(&file, "9", &found, &fault) == STATUS_INPUT);
    CHECK_TEXT(fault.text, "t: has no sample \"9\"; it has 1, 2.");
}

static void our_own_json_comes_back(void) {
    struct text text = {0};
    text_add(&text, "{\"russet\":\"0.1.0\",\"kind\":\"reading\",\"format\":1,\"id\":\"seat\",\"geometry\":"
                    "\"sce\",\"reflectance\":[");
    for (int b = 0; b < BANDS; b++) text_format(&text, "%s%.4f", b ? "," : "", e308[b]);
    text_add(&text, "],\"lab\":[1,2,3],\"illuminant\":\"A\",\"observer\":2}");
    CHECK(read_string(text.data) == STATUS_OK && file.count == 1);
    if (file.count) {
        check_is_e308(&file.sample[0]);
        CHECK_TEXT(file.sample[0].reading.id, "seat");
        CHECK(file.sample[0].reading.geometry == GEOMETRY_SCE);
    }
    text_free(&text);
    CHECK(read_string("{\"kind\":\"reading\",\"geometry\":\"photo\",\"reflectance\":null,\"lab\":[50,10,20],"
                      "\"illuminant\":\"D65\","
                      "\"observer\":10,\"lab_cov\":[[1,0.5,0],[0.5,1,0],[0,0,1]]}") == STATUS_OK);
    if (file.count) CHECK(file.sample[0].reading.has_cov && file.sample[0].reading.lab_cov[0][1] == 0.5);
    CHECK(read_string("{\"kind\":\"reading\",\"lab\":[50,10,20],\"illuminant\":\"A\",\"observer\":10}") ==
          STATUS_INPUT);
    CHECK(fault.word == WORD_LAB_OTHER_LIGHT);
    CHECK(read_string("{\"kind\":\"reading\",\"lab\":[50,10,20],\"illuminant\":\"D65\",\"observer\":10,\"lab_"
                      "cov\":[[1,2,0],[2,1,0],"
                      "[0,0,1]]}") == STATUS_INPUT);
    CHECK(fault.word == WORD_JSON_COVARIANCE);
    CHECK(read_string("{\"kind\":\"toners\"}") == STATUS_INPUT);
    CHECK(fault.word == WORD_JSON_KIND_OTHER);
    CHECK(read_string("{\"kind\":\"reading\",\"reflectance\":[0.1]}") == STATUS_INPUT);
    CHECK(fault.word == WORD_JSON_LIST_LENGTH);
}

static enum status read_lamp(const char *text, struct sampled *lamp) {
    start_afresh();
    return lamp_file_read(&(struct bytes){(const unsigned char *)text, strlen(text), "lamp"}, arena, lamp,
                          &fault);
}

static void a_lamp_keeps_its_own_grid_and_scale(void) {
    struct sampled lamp;
    struct text text = {0};
    for (int nm = 380; nm <= 730; nm += 5) text_format(&text, "%d,%d\n", nm, nm * 10);
    CHECK(read_lamp(text.data, &lamp) == STATUS_OK);
    CHECK(lamp.count == 71 && lamp.first_nm == 380 && lamp.step_nm == 5 && lamp.value[70] == 7300);
    text.data[text.length - 5] = '-';
    CHECK(read_lamp(text.data, &lamp) == STATUS_INPUT);
    text_free(&text);
    CHECK(read_lamp(TABLE("", "1 " FLAT_31 "\n2 " FLAT_31 "\n"), &lamp) == STATUS_INPUT);
    CHECK(fault.word == WORD_LAMP_TWICE);
    CHECK(read_lamp("{\"kind\":\"reading\",\"lab\":[1,2,3],\"illuminant\":\"D65\",\"observer\":10}", &lamp) ==
          STATUS_INPUT);
    CHECK(fault.word == WORD_LAMP_NONE);
}

int main(void) {
    RUN(every_spelling_of_a_spectral_column_is_read);
    RUN(the_scale_is_told_by_keyword_before_magnitude);
    RUN(a_row_of_per_cent_among_fractions_is_put_right);
    RUN(csv_is_read_in_both_orientations_and_encodings);
    RUN(columns_may_be_parted_by_blanks);
    RUN(a_cxf3_file_gives_its_objects_with_geometry);
    RUN(a_cxf3_object_in_several_geometries_is_told_apart);
    RUN(a_cxf3_curve_without_its_grid_is_refused);
    RUN(what_is_written_as_readings_comes_back);
    RUN(a_spreadsheet_may_say_its_separator);
    RUN(a_heading_of_another_language_stands_above_wavelengths);
    RUN(a_second_table_of_lab_is_not_a_second_reading);
    RUN(a_finer_and_wider_grid_is_picked_from);
    RUN(grids_that_cannot_be_read_are_named_with_line_and_column);
    RUN(a_missing_band_is_named_where_it_is_missing);
    RUN(values_that_are_no_reflectance_are_named_with_their_line);
    RUN(just_under_zero_counts_as_zero_and_says_so);
    RUN(a_cgats_row_of_wrong_length_is_named_where_it_stands);
    RUN(a_cut_cgats_file_is_refused);
    RUN(the_geometry_is_the_files_before_the_callers);
    RUN(lab_under_another_light_is_refused_and_not_adapted);
    RUN(a_repeated_id_is_refused_only_when_it_is_picked);
    RUN(our_own_json_comes_back);
    RUN(a_lamp_keeps_its_own_grid_and_scale);
    arena_free(arena);
    return check_done();
}
