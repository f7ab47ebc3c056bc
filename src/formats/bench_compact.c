/* The compact recipe: what fits into a QR code and still gives the same windows.
 *
 * A curve is 33 bytes: its largest value m as 16 bits of log10 over -8 .. 3 (0.04 % each; 0: the whole curve
 * is 0), then per band a code 0 (zero) or 1 .. 255 = m 10^(-4 (255 - code) / 254), steps of 3.7 %. The
 * logarithmic rounding error of a band is carried into the next one, so that it cancels over neighbouring
 * bands as the eye adds them up. Values under m / 10^4 become zero or the smallest code, whichever is nearer.
 *
 *   {"russet", "kind":"recipe", "format":1, "name", "geometry", "film_um", "sheen_gu", "haze", "oblique" and
 * "returned" (where a 45/0 or sce shelf has them), "surface":[k1,k2,sheen_return,haze], "target":[L,a,b] or
 * null, "backing": base 64 of 31 bytes (fraction * 200, at most 1.275) or null, "parts":[[id, name, role
 * letter, mass fraction, density or 0, bend, crowd, lean if any],
 * ...], "ks": base 64 of K then S of each part}
 */
#include "formats/bench_compact.h"
#include "formats/base64.h"
#include "formats/json_in.h"
#include "formats/json_out.h"
#include "formats/text_in.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double LOG_LOW = -8, LOG_SPAN = 11, DECADES = 4;
static const char role_letters[] = "cbwk"; /* colour, binder, white, black: in the order of enum toner_role */

static double largest_of(const double curve[BANDS]) {
    double most = 0;
    for (int b = 0; b < BANDS; b++) most = fmax(most, curve[b]);
    return most;
}

static double decoded(double most, int code) {
    return code ? most * pow(10, -DECADES * (255 - code) / 254) : 0;
}

static double most_of(unsigned steps) {
    return steps ? pow(10, LOG_LOW + LOG_SPAN * (steps - 1) / 65534) : 0;
}

void bench_curve_pack(const double curve[BANDS], unsigned char out[CURVE_BYTES]) {
    const double largest = largest_of(curve);
    const double place = largest > 0 ? round((log10(largest) - LOG_LOW) / LOG_SPAN * 65534) : -1;
    const unsigned steps = place < 0 ? 0 : 1 + (unsigned)fmin(place, 65534);
    const double most = most_of(steps);
    double carried = 0; /* log10 */
    out[0] = (unsigned char)(steps >> 8);
    out[1] = (unsigned char)(steps & 255);
    for (int b = 0; b < BANDS; b++) {
        const double wanted = curve[b] > 0 && most > 0 ? log10(curve[b] / most) + carried : -99;
        const double code = 255 + wanted * 254 / DECADES;
        out[2 + b] = (unsigned char)(code < .5 ? 0 : fmin(255, round(code)));
        carried = out[2 + b] ? fmax(-.02, fmin(.02, wanted - log10(decoded(1, out[2 + b])))) : 0;
    }
}

void bench_curve_unpack(const unsigned char in[CURVE_BYTES], double curve[BANDS]) {
    const double most = most_of((unsigned)in[0] << 8 | in[1]);
    for (int b = 0; b < BANDS; b++) curve[b] = decoded(most, in[2 + b]);
}

void bench_toner_name(struct toner *toner, const char *name) {
    size_t n = strlen(name);
    if (n > sizeof toner->name - 1) n = sizeof toner->name - 1;
    while (n && !text_is_utf8(name, n)) n--;
    memcpy(toner->name, name, n);
    toner->name[n] = 0;
    for (char *c = toner->name; *c; c++)
        if ((unsigned char)*c < ' ' || *c == 127) *c = ' ';
}

static json_t *base64_json(const unsigned char *data, size_t n) {
    struct text text = {0};
    base64_add(&text, data, n);
    json_t *value = json_string(text.data);
    text_free(&text);
    return value;
}

static json_t *part_json(const struct toner *toner, double part) {
    json_t *p = json_array();
    const char role[2] = {role_letters[toner->role], 0};
    json_array_append_new(p, json_string(toner->id));
    json_array_append_new(p, json_string(strcmp(toner->name, toner->id) == 0 ? "" : toner->name));
    json_array_append_new(p, json_string(role));
    json_array_append_new(p, json_number(part, DIGITS_FRACTION));
    json_array_append_new(p, json_number(toner->density_g_ml, 4));
    json_array_append_new(p, json_number(toner->bend, 4));
    json_array_append_new(p, json_number(toner->crowd, 4));
    if (toner->lean != 0) json_array_append_new(p, json_number(toner->lean, 2));
    return p;
}

static json_t *backing_json(const struct film_case *film) {
    unsigned char bytes[BANDS];
    if (isinf(film->film_um)) return json_null();
    for (int b = 0; b < BANDS; b++)
        bytes[b] = (unsigned char)round(200 * fmin(1.275, fmax(0, film->backing.band[b])));
    return base64_json(bytes, BANDS);
}

static json_t *ks_json(const struct shelf *shelf) {
    unsigned char bytes[2 * CURVE_BYTES * RECIPE_TONERS_MOST];
    for (size_t i = 0; i < shelf->count; i++) {
        bench_curve_pack(shelf->toner[i].k, bytes + 2 * CURVE_BYTES * i);
        bench_curve_pack(shelf->toner[i].s, bytes + 2 * CURVE_BYTES * i + CURVE_BYTES);
    }
    return base64_json(bytes, 2 * CURVE_BYTES * shelf->count);
}

static json_t *off_json(const struct pour_recipe *pour) {
    if (!pour->has_target) return json_null();
    const struct lab own = pour_lab(pour, pour->part), t = pour->target;
    return json_numbers((const double[]){t.l - own.l, t.a - own.a, t.b - own.b}, 3, 3);
}

json_t *bench_compact(const struct bench_recipe *recipe) {
    const struct pour_recipe *pour = &recipe->pour;
    const struct surface *surface = &pour->shelf.surface;
    json_t *o = json_start("recipe"), *parts = json_array();
    json_put_text(o, "name", recipe->name);
    json_put_text(o, "geometry", geometry_name(pour->film.geometry));
    json_put(o, "film_um", isinf(pour->film.film_um) ? json_null() : json_number(pour->film.film_um, 3));
    json_put(o, "sheen_gu", isnan(pour->film.sheen_gu) ? json_null() : json_number(pour->film.sheen_gu, 3));
    json_put(o, "beam", pour->shelf.beam.on ? json_number(pour->shelf.beam.forward, 4) : json_null());
    json_put(o, "haze",
             pour->shelf.topcoat.measured ? json_number(pour->shelf.topcoat.haze_per_decade, 6)
                                          : json_null());
    if (surface->oblique != 0) json_put(o, "oblique", json_number(surface->oblique, 5));
    if (pour->shelf.topcoat.sheens > 0 && !isnan(pour->film.sheen_gu) &&
        pour->film.geometry == pour->shelf.geometry)
        json_put(
            o, "returned",
            json_number(topcoat_return(&pour->shelf.topcoat, pour->film.sheen_gu, pour->film.geometry), 5));
    const double constants[] = {surface->k1, surface->k2, surface->sheen_return, surface->haze};
    json_put(o, "surface", json_numbers(constants, 4, 5));
    json_put(o, "off", off_json(pour));
    json_put(o, "backing", backing_json(&pour->film));
    for (size_t i = 0; i < pour->shelf.count; i++)
        json_array_append_new(parts, part_json(&pour->shelf.toner[i], pour->part[i]));
    json_put(o, "parts", parts);
    json_put(o, "ks", ks_json(&pour->shelf));
    return o;
}

void bench_compact_text(const json_t *compact, struct text *out) {
    char *line = json_dumps(compact, JSON_COMPACT | JSON_ENSURE_ASCII | JSON_REAL_PRECISION(7));
    text_add(out, line ? line : "");
    free(line);
}

static const char *text_at(const json_t *array, size_t i) {
    const json_t *value = json_array_get(array, i);
    return json_is_string(value) ? json_string_value(value) : NULL;
}

static bool number_at(const json_t *array, size_t i, double low, double high, double *out) {
    const json_t *value = json_array_get(array, i);
    *out = json_is_number(value) ? json_number_value(value) : (double)NAN;
    return *out >= low && *out <= high;
}

static enum status read_part(const json_t *p, const char *file, struct pour_recipe *pour,
                             struct fault *fault) {
    struct toner *toner = &pour->shelf.toner[pour->shelf.count];
    const char *id = text_at(p, 0), *name = text_at(p, 1), *role = text_at(p, 2);
    const char *letter = role && role[0] && !role[1] ? strchr(role_letters, role[0]) : NULL;
    const bool numbers = number_at(p, 3, 1e-9, 1.000001, &pour->part[pour->shelf.count]) &&
                         number_at(p, 4, 0, 25, &toner->density_g_ml) &&
                         number_at(p, 5, 0, 1, &toner->bend) && number_at(p, 6, 0, 1000, &toner->crowd) &&
                         (json_array_size(p) < 8 || number_at(p, 7, -.75, .75, &toner->lean));
    if (!id || !name || !letter || !numbers || strlen(id) >= TONER_ID_MAX)
        return FAULT(fault, BENCH_COMPACT_PART, file, COUNT_TEXT((long long)pour->shelf.count + 1));
    snprintf(toner->id, sizeof toner->id, "%s", id);
    bench_toner_name(toner, *name ? name : id);
    toner->role = (enum toner_role)(letter - role_letters);
    pour->shelf.count++;
    return STATUS_OK;
}

static enum status read_parts(const json_t *compact, const char *file, struct arena *arena,
                              struct pour_recipe *pour, struct fault *fault) {
    const json_t *parts = json_object_get(compact, "parts");
    if (json_array_size(parts) > RECIPE_TONERS_MOST)
        return FAULT(fault, BENCH_TOO_MANY, file, COUNT_TEXT(RECIPE_TONERS_MOST));
    pour->shelf.toner = arena_need(arena, RECIPE_TONERS_MOST, sizeof *pour->shelf.toner);
    for (size_t i = 0; i < json_array_size(parts); i++) {
        const enum status status = read_part(json_array_get(parts, i), file, pour, fault);
        if (status != STATUS_OK) return status;
    }
    return STATUS_OK;
}

static enum status read_curves(const json_t *compact, const char *file, struct pour_recipe *pour,
                               struct fault *fault) {
    unsigned char bytes[2 * CURVE_BYTES * RECIPE_TONERS_MOST], backing[BANDS];
    const json_t *ks = json_object_get(compact, "ks"), *behind = json_object_get(compact, "backing");
    if (!json_is_string(ks) ||
        !base64_read(json_string_value(ks), bytes, 2 * CURVE_BYTES * pour->shelf.count))
        return FAULT(fault, BENCH_COMPACT_CURVES, file, "ks");
    for (size_t i = 0; i < pour->shelf.count; i++) {
        bench_curve_unpack(bytes + 2 * CURVE_BYTES * i, pour->shelf.toner[i].k);
        bench_curve_unpack(bytes + 2 * CURVE_BYTES * i + CURVE_BYTES, pour->shelf.toner[i].s);
    }
    if (isinf(pour->film.film_um)) return STATUS_OK;
    if (!json_is_string(behind) || !base64_read(json_string_value(behind), backing, BANDS))
        return FAULT(fault, BENCH_COMPACT_CURVES, file, "backing");
    for (int b = 0; b < BANDS; b++) pour->film.backing.band[b] = backing[b] / 200.0;
    return STATUS_OK;
}

static enum status read_film(const json_t *compact, const char *file, struct pour_recipe *pour,
                             struct fault *fault) {
    const struct json_place place = {file, "recipe"};
    const char *geometry;
    double haze, beam, oblique, returned, surface[4] = {0};
    enum status status =
        json_get_number_or(compact, "film_um", .01, 1e4, INFINITY, place, &pour->film.film_um, fault);
    if (status == STATUS_OK)
        status =
            json_get_number_or(compact, "sheen_gu", 0, 2000, (double)NAN, place, &pour->film.sheen_gu, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(compact, "haze", -1, 1, (double)NAN, place, &haze, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(compact, "beam", 0, .75, (double)NAN, place, &beam, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(compact, "oblique", -.2, .2, 0, place, &oblique, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(compact, "returned", 0, 1, (double)NAN, place, &returned, fault);
    if (status == STATUS_OK) status = json_get_numbers(compact, "surface", 4, 0, 10, place, surface, fault);
    if (status == STATUS_OK) status = json_get_text(compact, "geometry", place, &geometry, fault);
    if (status != STATUS_OK) return status;
    if (!geometry_from_name(geometry, &pour->film.geometry))
        return FAULT(fault, BENCH_GEOMETRY, file, SHOWN_TEXT(geometry));
    if (surface[0] > .2 || surface[1] > .95 || surface[2] > 1) return FAULT(fault, BENCH_SURFACE, file);
    pour->shelf.geometry = pour->film.geometry;
    pour->shelf.surface = (struct surface){surface[0], surface[1], surface[2], surface[3], oblique};
    if (!isnan(beam)) pour->shelf.beam = (struct beam){.on = true, .forward = beam};
    if (!isnan(haze)) pour->shelf.topcoat = (struct topcoat){.measured = true, .haze_per_decade = haze};
    if (!isnan(returned) && !isnan(pour->film.sheen_gu)) {
        pour->shelf.topcoat.sheens = 1; /* the job's own sheen is all that is asked for */
        pour->shelf.topcoat.sheen_gu[0] = pour->film.sheen_gu;
        pour->shelf.topcoat.returned[0] = returned;
    }
    return STATUS_OK;
}

static enum status read_off(const json_t *compact, const char *file, struct pour_recipe *pour,
                            struct fault *fault) {
    double off[3];
    if (!json_is_array(json_object_get(compact, "off")) || !pour->shelf.count) return STATUS_OK;
    const enum status status =
        json_get_numbers(compact, "off", 3, -300, 300, (struct json_place){file, "recipe"}, off, fault);
    if (status != STATUS_OK) return status;
    const struct lab own = pour_lab(pour, pour->part);
    pour->has_target = true;
    pour->target = (struct lab){own.l + off[0], own.a + off[1], own.b + off[2], own.view};
    return STATUS_OK;
}

enum status bench_compact_read(const json_t *compact, const char *file, struct arena *arena,
                               struct bench_recipe *out, struct fault *fault) {
    enum status status = json_check_kind(compact, "recipe", file, fault);
    if (status == STATUS_OK) status = read_film(compact, file, &out->pour, fault);
    if (status == STATUS_OK) status = read_parts(compact, file, arena, &out->pour, fault);
    if (status == STATUS_OK) status = read_curves(compact, file, &out->pour, fault);
    if (status != STATUS_OK) return status;
    const json_t *name = json_object_get(compact, "name");
    if (json_is_string(name))
        out->name = arena_text(arena, json_string_value(name), json_string_length(name));
    return read_off(compact, file, &out->pour, fault);
}
