/* CxF3 / ISO 17972-1 (XML): every Object of Resources/ObjectCollection with a ReflectanceSpectrum or a
 * ColorCIELab becomes a sample. StartWL (and Increment) stand on the spectrum or in the WavelengthRange of
 * its ColorSpecification, which also has geometry, light and observer and may come before or behind the
 * objects. An object with several spectra gives a sample for each. (Element names from public examples of the
 * format; those inside GeometryChoice from memory: any text there that says specular included or excluded, or
 * the angles 45 and 0, is understood.)
 *
 * Read with expat. A document type declaration is refused, and with it every entity of its own; nothing
 * outside the file is opened; depth, text and counts are bounded. */
#include "formats/sample_readers.h"
#include <expat.h>
#include <stdlib.h>
#include <string.h>

enum {
    DEPTH_MOST = 64,
    SPECS_MOST = 1000,
    VALUES_MOST = 4000000,
    TEXT_MOST = 64 * 1024,
    GEOMETRY_TEXT = 400
};

struct spec { /* a ColorSpecification */
    const char *id, *light, *observer;
    double start_nm, step_nm; /* 0: not said */
    char geometry[GEOMETRY_TEXT];
};

struct curve {
    const char *spec;
    double start_nm, step_nm;
    const double *value;
    size_t count;
    int line;
    struct curve *next;
};

struct object {
    const char *id, *name;
    int line;
    struct curve *curve;
    bool has_lab;
    double lab[3];
    const char *lab_spec;
    int lab_line;
    struct object *next;
};

struct cxf {
    XML_Parser parser;
    struct sample_build *build;
    struct arena *arena;
    const char *file;
    struct object *first_object, **object_end;
    struct object *object; /* open */
    struct spec *spec;
    size_t spec_count, object_count, value_count;
    bool in_spec, in_geometry, in_lab, root_seen;
    int depth;
    struct text text; /* of the open element */
    bool wants_text;
    struct curve *curve; /* open */
    enum status status;
    struct fault *fault;
};

static int line_of(const struct cxf *c) {
    return (int)XML_GetCurrentLineNumber(c->parser);
}

static void stop(struct cxf *c, enum status status) {
    if (c->status == STATUS_OK) c->status = status;
    XML_StopParser(c->parser, XML_FALSE);
}

static const char *local_name(const char *name) {
    const char *colon = strrchr(name, ':');
    return colon ? colon + 1 : name;
}

static const char *attribute(const char **attributes, const char *name) {
    for (; attributes[0]; attributes += 2)
        if (strcmp(local_name(attributes[0]), name) == 0) return attributes[1];
    return NULL;
}

static const char *keep(struct cxf *c, const char *text) {
    const size_t n = text ? strlen(text) : 0;
    return text ? arena_text(c->arena, text, n < 300 ? n : 300) : NULL;
}

/* 0 when it is not there; a text that is no number stops the reading. */
static double number_attribute(struct cxf *c, const char **attributes, const char *name) {
    const char *text = attribute(attributes, name);
    double number = 0;
    if (!text) return 0;
    const enum status status =
        build_number(c->build, text, DECIMAL_POINT, line_of(c), name, &number, c->fault);
    if (status != STATUS_OK) stop(c, status);
    return number;
}

/* Opening
 * -----------------------------------------------------------------------------------------------------------------
 */

static void open_object(struct cxf *c, const char **attributes) {
    if (c->object_count++ == SAMPLES_MOST) {
        stop(c, FAULT(c->fault, SAMPLES_TOO_MANY, c->file, COUNT_TEXT(line_of(c)), COUNT_TEXT(SAMPLES_MOST)));
        return;
    }
    struct object *object = arena_need(c->arena, 1, sizeof *object);
    object->id = keep(c, attribute(attributes, "Id"));
    object->name = keep(c, attribute(attributes, "Name"));
    object->line = line_of(c);
    *c->object_end = object;
    c->object_end = &object->next;
    c->object = object;
}

static void open_spec(struct cxf *c, const char **attributes) {
    if (c->spec_count == SPECS_MOST) {
        stop(c, FAULT(c->fault, CXF_SPECS_TOO_MANY, c->file, COUNT_TEXT(line_of(c)), COUNT_TEXT(SPECS_MOST)));
        return;
    }
    if (!c->spec) c->spec = arena_need(c->arena, SPECS_MOST, sizeof *c->spec);
    c->spec[c->spec_count++].id = keep(c, attribute(attributes, "Id"));
    c->in_spec = true;
}

static void open_curve(struct cxf *c, const char **attributes) {
    struct curve *curve = arena_need(c->arena, 1, sizeof *curve);
    curve->spec = keep(c, attribute(attributes, "ColorSpecification"));
    curve->start_nm = number_attribute(c, attributes, "StartWL");
    curve->step_nm = number_attribute(c, attributes, "Increment");
    if (curve->step_nm == 0) curve->step_nm = number_attribute(c, attributes, "IncrementWL");
    curve->line = line_of(c);
    curve->next = c->object->curve;
    c->object->curve = curve;
    c->curve = curve;
}

static void open_lab(struct cxf *c, const char **attributes) {
    c->in_lab = !c->object->has_lab;
    if (!c->in_lab) return;
    c->object->lab_spec = keep(c, attribute(attributes, "ColorSpecification"));
    c->object->lab_line = line_of(c);
}

static void add_geometry(struct spec *spec, const char *text, size_t n) {
    const size_t at = strlen(spec->geometry);
    if (at + n + 2 > GEOMETRY_TEXT) return;
    spec->geometry[at] = ' ';
    memcpy(spec->geometry + at + 1, text, n);
}

static void open_in_spec(struct cxf *c, const char *name, const char **attributes) {
    struct spec *spec = &c->spec[c->spec_count - 1];
    if (strcmp(name, "GeometryChoice") == 0) c->in_geometry = true;
    if (c->in_geometry) {
        add_geometry(spec, name, strlen(name));
        for (const char **a = attributes; a[0]; a += 2) add_geometry(spec, a[1], strlen(a[1]));
    }
    if (strcmp(name, "WavelengthRange") == 0) {
        spec->start_nm = number_attribute(c, attributes, "StartWL");
        spec->step_nm = number_attribute(c, attributes, "Increment");
        if (spec->step_nm == 0) spec->step_nm = number_attribute(c, attributes, "IncrementWL");
    }
    c->wants_text = c->in_geometry || build_same_any(name, "Illuminant", "Observer");
}

static void open_in_object(struct cxf *c, const char *name, const char **attributes) {
    if (strcmp(name, "ReflectanceSpectrum") == 0) open_curve(c, attributes);
    if (strcmp(name, "ColorCIELab") == 0) open_lab(c, attributes);
    c->wants_text = c->curve || (c->in_lab && build_same_any(name, "L", "A", "B"));
}

static void XMLCALL on_open(void *user, const XML_Char *full, const XML_Char **attributes) {
    struct cxf *c = user;
    const char *name = local_name(full);
    if (!c->root_seen && strcmp(name, "CxF") != 0) {
        stop(c, FAULT(c->fault, XML_NOT_CXF, c->file, SHOWN_TEXT(name)));
        return;
    }
    c->root_seen = true;
    if (++c->depth > DEPTH_MOST) {
        stop(c, FAULT(c->fault, XML_TOO_DEEP, c->file, COUNT_TEXT(line_of(c)), COUNT_TEXT(DEPTH_MOST)));
        return;
    }
    c->wants_text = false;
    c->text.length = 0;
    if (c->object)
        open_in_object(c, name, attributes);
    else if (c->in_spec)
        open_in_spec(c, name, attributes);
    else if (strcmp(name, "Object") == 0)
        open_object(c, attributes);
    else if (strcmp(name, "ColorSpecification") == 0)
        open_spec(c, attributes);
}

static void XMLCALL on_text(void *user, const XML_Char *s, int n) {
    struct cxf *c = user;
    if (!c->wants_text || n <= 0) return;
    if (c->text.length + (size_t)n > TEXT_MOST) {
        stop(c, FAULT(c->fault, XML_TEXT_LONG, c->file, COUNT_TEXT(line_of(c))));
        return;
    }
    text_add_bytes(&c->text, s, (size_t)n);
}

/* Closing
 * -----------------------------------------------------------------------------------------------------------------
 */

static size_t trim(char **s) {
    *s += strspn(*s, " \t\r\n");
    size_t n = strlen(*s);
    while (n > 0 && strchr(" \t\r\n", (*s)[n - 1])) n--;
    (*s)[n] = 0;
    return n;
}

static enum status parse_values(struct cxf *c, struct curve *curve, char *text) {
    double value[BANDS_MOST + 1];
    size_t n = 0;
    for (char *at = text; *(at += strspn(at, " \t\r\n")) != 0; n++) {
        const size_t length = strcspn(at, " \t\r\n");
        const bool ended = at[length] == 0;
        at[length] = 0;
        if (n == BANDS_MOST)
            return FAULT(c->fault, CXF_VALUES_TOO_MANY, c->file, COUNT_TEXT(curve->line),
                         COUNT_TEXT(BANDS_MOST));
        const enum status status = build_number(c->build, at, DECIMAL_POINT, curve->line,
                                                "ReflectanceSpectrum", &value[n], c->fault);
        if (status != STATUS_OK) return status;
        at += length + !ended;
    }
    c->value_count += n;
    if (c->value_count > VALUES_MOST)
        return FAULT(c->fault, SAMPLES_TOO_MANY, c->file, COUNT_TEXT(curve->line), COUNT_TEXT(SAMPLES_MOST));
    double *kept = arena_need(c->arena, n, sizeof *kept);
    memcpy(kept, value, n * sizeof *kept);
    curve->value = kept;
    curve->count = n;
    return STATUS_OK;
}

static void close_lab_value(struct cxf *c, const char *name, const char *text) {
    const int i = name[0] == 'L' ? 0 : name[0] == 'A' ? 1 : 2;
    const enum status status =
        build_number(c->build, text, DECIMAL_POINT, line_of(c), name, &c->object->lab[i], c->fault);
    if (status != STATUS_OK) stop(c, status);
    if (i == 2) c->object->has_lab = true;
}

static void close_in_object(struct cxf *c, const char *name, char *text) {
    if (c->curve && strcmp(name, "ReflectanceSpectrum") == 0) {
        const enum status status = parse_values(c, c->curve, text);
        if (status != STATUS_OK) stop(c, status);
        c->curve = NULL;
    }
    if (c->in_lab && build_same_any(name, "L", "A", "B")) close_lab_value(c, name, text);
    if (strcmp(name, "ColorCIELab") == 0) c->in_lab = false;
    if (strcmp(name, "Object") == 0) c->object = NULL;
}

static void close_in_spec(struct cxf *c, const char *name, char *text, size_t n) {
    struct spec *spec = &c->spec[c->spec_count - 1];
    if (c->in_geometry)
        add_geometry(spec, text, n);
    else if (strcmp(name, "Illuminant") == 0)
        spec->light = keep(c, text);
    else if (strcmp(name, "Observer") == 0)
        spec->observer = keep(c, text);
    if (strcmp(name, "GeometryChoice") == 0) c->in_geometry = false;
    if (strcmp(name, "ColorSpecification") == 0) c->in_spec = c->in_geometry = false;
}

static void XMLCALL on_close(void *user, const XML_Char *full) {
    struct cxf *c = user;
    char none[1] = "", *text = c->text.length && c->wants_text ? c->text.data : none;
    const size_t n = trim(&text);
    c->depth--;
    if (c->object)
        close_in_object(c, local_name(full), text);
    else if (c->in_spec)
        close_in_spec(c, local_name(full), text, n);
    c->wants_text = false;
    c->text.length = 0;
}

static void XMLCALL on_doctype(void *user, const XML_Char *name, const XML_Char *system,
                               const XML_Char *public, int internal) {
    struct cxf *c = user;
    (void)name, (void)system, (void)public, (void)internal;
    stop(c, FAULT(c->fault, XML_DOCTYPE, c->file, COUNT_TEXT(line_of(c))));
}

/* Samples
 * -----------------------------------------------------------------------------------------------------------------
 */

static const struct spec *find_spec(const struct cxf *c, const char *id) {
    for (size_t i = 0; id && i < c->spec_count; i++)
        if (c->spec[i].id && strcmp(c->spec[i].id, id) == 0) return &c->spec[i];
    return NULL;
}

/* "SingleAngle ... IlluminationAngle 45 MeasurementAngle 0" or the words of a sphere. */
static enum geometry geometry_of(const char *text) {
    const bool sphere = build_holds(text, "sphere") || build_holds(text, "specular");
    if (sphere && build_holds(text, "exclu")) return GEOMETRY_SCE;
    if (sphere && build_holds(text, "inclu")) return GEOMETRY_SCI;
    const bool directed =
        build_holds(text, "IlluminationAngle 45") && build_holds(text, "MeasurementAngle 0");
    const bool reversed =
        build_holds(text, "IlluminationAngle 0") && build_holds(text, "MeasurementAngle 45");
    return directed || reversed ? GEOMETRY_45_0 : build_geometry(text);
}

static struct sample_about about_of(const struct spec *spec) {
    struct sample_about about = {0};
    if (!spec) return about;
    about.geometry = geometry_of(spec->geometry);
    about.light = spec->light;
    about.observer = spec->observer;
    return about;
}

static enum status start_sample(struct cxf *c, const struct object *object, int line, struct sample **out) {
    const char *name = object->name && *object->name ? object->name : object->id;
    const enum status status = build_sample(c->build, name, line, out, c->fault);
    if (status != STATUS_OK) return status;
    struct sample_field *field = arena_need(c->arena, 2, sizeof *field);
    field[0] = (struct sample_field){"SAMPLE_ID", (*out)->reading.id, line};
    field[1] = (struct sample_field){"OBJECT_ID", object->id ? object->id : "", line};
    if (name) field[0].text = name;
    (*out)->field = field;
    (*out)->field_count = 2;
    return STATUS_OK;
}

static enum status add_curve(struct cxf *c, const struct object *object, const struct curve *curve) {
    const struct spec *spec = find_spec(c, curve->spec);
    const double start = curve->start_nm > 0 ? curve->start_nm : spec ? spec->start_nm : 0;
    const double step = curve->step_nm > 0 ? curve->step_nm : spec ? spec->step_nm : 0;
    if (!(start > 0 && step > 0)) return FAULT(c->fault, CXF_GRID_MISSING, c->file, COUNT_TEXT(curve->line));
    struct band_value value[BANDS_MOST];
    for (size_t i = 0; i < curve->count; i++)
        value[i] = (struct band_value){start + step * (double)i, curve->value[i], curve->line, NULL};
    struct sample *sample;
    const struct sample_about about = about_of(spec);
    build_scale_continues(c->build, &about);
    const enum status status = start_sample(c, object, curve->line, &sample);
    return status == STATUS_OK ? build_spectrum(c->build, sample, value, curve->count, c->fault) : status;
}

static enum status add_lab(struct cxf *c, const struct object *object) {
    struct sample *sample;
    const struct sample_about about = about_of(find_spec(c, object->lab_spec));
    build_scale_continues(c->build, &about);
    const enum status status = start_sample(c, object, object->lab_line, &sample);
    return status == STATUS_OK ? build_lab(c->build, sample, object->lab, object->lab_line, c->fault)
                               : status;
}

/* The curves of an object were put in front of each other; they leave in the order of the file. */
static enum status add_curves(struct cxf *c, const struct object *object, const struct curve *curve) {
    if (!curve) return STATUS_OK;
    struct curve *turned = NULL;
    for (const struct curve *next; curve; curve = next) {
        struct curve *copy = arena_need(c->arena, 1, sizeof *copy);
        *copy = *curve;
        next = curve->next;
        copy->next = turned;
        turned = copy;
    }
    enum status status = STATUS_OK;
    for (; turned && status == STATUS_OK; turned = turned->next) status = add_curve(c, object, turned);
    return status;
}

static enum status make_samples(struct cxf *c) {
    const struct sample_about about = {0};
    enum status status = STATUS_OK;
    build_group(c->build, &about);
    for (const struct object *o = c->first_object; o && status == STATUS_OK; o = o->next) {
        status = add_curves(c, o, o->curve);
        if (status == STATUS_OK && !o->curve && o->has_lab) status = add_lab(c, o);
    }
    return status == STATUS_OK ? build_group_end(c->build, c->fault) : status;
}

static enum status parse(struct cxf *c, const struct text_in *text) {
    XML_SetUserData(c->parser, c);
    XML_SetElementHandler(c->parser, on_open, on_close);
    XML_SetCharacterDataHandler(c->parser, on_text);
    XML_SetStartDoctypeDeclHandler(c->parser, on_doctype);
    XML_SetParamEntityParsing(c->parser, XML_PARAM_ENTITY_PARSING_NEVER);
    const enum XML_Status parsed = XML_Parse(c->parser, text->data, (int)text->size, XML_TRUE);
    if (c->status != STATUS_OK || parsed == XML_STATUS_OK) return c->status;
    return FAULT(c->fault, XML_BROKEN, c->file, COUNT_TEXT(line_of(c)),
                 XML_ErrorString(XML_GetErrorCode(c->parser)));
}

enum status cxf3_read(struct sample_build *build, const struct text_in *text, struct arena *arena,
                      struct fault *fault) {
    struct cxf c = {.build = build, .arena = arena, .file = build_file(build), .fault = fault};
    c.object_end = &c.first_object;
    /* The text is UTF-8 by now, whatever its declaration says. */
    c.parser = XML_ParserCreate("UTF-8");
    if (!c.parser) return FAULT0(fault, MEMORY_OUT);
    enum status status = parse(&c, text);
    XML_ParserFree(c.parser);
    text_free(&c.text);
    if (status == STATUS_OK) status = make_samples(&c);
    return status;
}
