/* russet toners fit: drawdown file (and about.json) -> kind `toners`: the shelf as shelf_put writes it, and
 * beside it
 *
 *     "fit": {"films", "left_out", "de00_median", "de00_p95", "de00_max", "film_sd",
 *             "toners": {"<id>": {"films", "de00_mean", "k_sd", "s_sd", "s_known"}},
 *             "drawdowns": [{"id", "line", "de00", "film_um" (as found) or null, "counted"}]},
 *     "disbelieved": [{"id", "line", "de00", "cause", "toner" or null, "factor" or null, "other" or null,
 * "de00_if", "text"}]
 *
 * cause: tenfold, swapped, cards, scale, film, unknown. */
#include "flow/operation.h"
#include "flow/place.h"
#include "flow/toners_prior.h"
#include "formats/about_json.h"
#include "formats/drawdowns.h"
#include "formats/json_out.h"
#include "formats/shelf_json.h"
#include "paint/fit.h"
#include <math.h>
#include <string.h>

extern operation_flow toners_fit_flow;

static const char *const cause_name[] = {"none",  "tenfold", "swapped", "cards",
                                         "scale", "toner",   "film",    "unknown"};
static const double coarse_de00 = .6;
static const double THINNEST_UM = 5, THICKEST_UM = 500; /* common practice: a coat dries to 8 um and more */

struct job {
    struct drawdown_file file;
    struct about about;
    bool has_about;
    struct shelf shelf; /* labels first, then fitted */
    struct fit_report report;
    struct fault notes[4];
    size_t note_count;
};

static enum status read_files(const struct surroundings *around, const struct request *request,
                              struct job *job, struct fault *fault) {
    struct bytes bytes;
    enum geometry geometry = GEOMETRY_UNKNOWN;
    const char *name = request_text(request, "--geometry");
    if (name && !geometry_from_name(name, &geometry)) return FAULT(fault, FIT_PHOTO, name);
    enum status status = disk_read(around->disk, request_text(request, "DRAWDOWNS"), DISK_TEXT_MIB,
                                   around->arena, &bytes, fault);
    if (status == STATUS_OK) status = drawdowns_read(&bytes, geometry, around->arena, &job->file, fault);
    if (status != STATUS_OK) return status;
    if (job->file.set.geometry == GEOMETRY_PHOTO) return FAULT(fault, FIT_PHOTO, "photo");
    if (job->file.set.geometry == GEOMETRY_UNKNOWN) {
        job->file.set.geometry = GEOMETRY_SCI;
        FAULT0(&job->notes[job->note_count++], FIT_SCI_ASSUMED);
    }
    job->file.set.weighing_sd_g = request_number(request, "--scale-step", 0) / sqrt(12);
    const char *about = request_text(request, "--about");
    if (!about) return STATUS_OK;
    job->has_about = true;
    status = disk_read(around->disk, about, DISK_TEXT_MIB, around->arena, &bytes, fault);
    return status == STATUS_OK ? about_read(&bytes, around->arena, &job->about, fault) : status;
}

static void label(const struct surroundings *around, const struct request *request, struct job *job) {
    const struct drawdown_set *set = &job->file.set;
    job->shelf = (struct shelf){.count = set->toner_count};
    job->shelf.toner = arena_need(around->arena, set->toner_count + 1, sizeof *job->shelf.toner);
    for (size_t i = 0; i < set->toner_count; i++)
        memcpy(job->shelf.toner[i].id, set->toner_id[i], TONER_ID_MAX);
    struct fault *note = &job->notes[job->note_count];
    if (about_apply(job->has_about ? &job->about : NULL, request_text(request, "--about"), &job->shelf, note))
        job->note_count++;
}

static void put_quality(json_t *reply, const struct job *job) {
    const struct fit_report *report = &job->report;
    json_t *fit = json_object(), *toners = json_object(), *rows = json_array();
    json_put_count(fit, "films", (long long)report->films);
    json_put_count(fit, "left_out", (long long)report->doubted);
    json_put_number(fit, "de00_median", report->de00_median, DIGITS_LAB);
    json_put_number(fit, "de00_p95", report->de00_p95, DIGITS_LAB);
    json_put_number(fit, "de00_max", report->de00_max, DIGITS_LAB);
    json_put_number(fit, "film_sd", report->film_sd, DIGITS_LAB);
    for (size_t i = 0; i < job->shelf.count; i++) {
        json_t *toner = json_object();
        json_put_count(toner, "films", report->toner[i].films);
        json_put_number(toner, "de00_mean", report->toner[i].de00_mean, DIGITS_LAB);
        json_put_number(toner, "k_sd", fmin(report->toner[i].k_sd, 99), DIGITS_LAB);
        json_put_number(toner, "s_sd", fmin(report->toner[i].s_sd, 99), DIGITS_LAB);
        json_put_flag(toner, "s_known", report->toner[i].s_known);
        json_put(toners, job->shelf.toner[i].id, toner);
    }
    for (size_t i = 0; i < job->file.set.count; i++) {
        const struct drawdown *from = &job->file.set.row[i];
        if (from->is_bare) continue;
        json_t *row = json_object();
        json_put_text(row, "id", from->id);
        json_put_count(row, "line", from->line);
        json_put_number(row, "de00", report->row[i].de00, DIGITS_LAB);
        if (isnan(report->row[i].film_um))
            json_put_null(row, "film_um");
        else
            json_put_number(row, "film_um", report->row[i].film_um, 2);
        json_put_flag(row, "counted", report->row[i].counted);
        json_array_append_new(rows, row);
    }
    json_put(fit, "toners", toners);
    json_put(fit, "drawdowns", rows);
    json_put(reply, "fit", fit);
}

#define DE00_TEXT(x) NUMBER_TEXT(round(100 * (x)) / 100)

/* What else a doubt names: a row, or the toner that was poured; NULL: nothing. */
static const char *other_of(const struct job *job, const struct fit_row *row) {
    if (row->other < 0) return NULL;
    return row->cause == CAUSE_TONER ? job->shelf.toner[row->other].id : job->file.set.row[row->other].id;
}

static void word_film(const struct fit_row *row, const struct drawdown *from, struct fault *out) {
    const double written_um = isnan(from->film_um) ? row->film_um / row->factor : from->film_um;
    const double is_um = written_um * row->factor, digits = is_um >= 10 ? 10 : 1e4; /* a unit may be wrong */
    const char *is = NUMBER_TEXT(round(digits * is_um) / digits), *written = NUMBER_TEXT(written_um);
    if (row->de00 <= row->de00_if + .3)
        FAULT(out, FIT_FILM_ONLY, from->id, is, written);
    else
        FAULT(out, FIT_FILM, from->id, DE00_TEXT(row->de00), is, written, DE00_TEXT(row->de00_if));
}

static void word_cause(const struct job *job, size_t i, struct fault *out) {
    const struct fit_row *row = &job->report.row[i];
    const struct drawdown *from = &job->file.set.row[i];
    const char *id = from->id, *other = other_of(job, row);
    const bool small = row->factor > 1;
    switch (row->cause) {
    case CAUSE_TENFOLD:
        FAULT(out, FIT_TENFOLD, id, DE00_TEXT(row->de00), job->shelf.toner[row->toner].id,
              NUMBER_TEXT(row->factor), DE00_TEXT(row->de00_if));
        return;
    case CAUSE_SWAPPED:
        FAULT(out, FIT_SWAPPED, id, DE00_TEXT(row->de00), other, DE00_TEXT(row->de00_if));
        return;
    case CAUSE_CARDS:
        FAULT(out, FIT_CARDS, id, DE00_TEXT(row->de00), other, DE00_TEXT(row->de00_if));
        return;
    case CAUSE_SCALE:
        FAULT(out, FIT_SCALE, id, small ? "small" : "large",
              small ? "a fraction in a column of per cent" : "per cent in a column of fractions");
        return;
    case CAUSE_TONER:
        FAULT(out, FIT_TONER, id, DE00_TEXT(row->de00), other, job->shelf.toner[row->toner].id,
              DE00_TEXT(row->de00_if));
        return;
    case CAUSE_FILM:
        word_film(row, from, out);
        return;
    case CAUSE_NONE:
    case CAUSE_UNKNOWN:
        break;
    }
    FAULT(out, FIT_UNKNOWN, id, DE00_TEXT(row->de00));
}

static json_t *doubt_json(const struct job *job, size_t i) {
    const struct fit_row *row = &job->report.row[i];
    const struct drawdown *from = &job->file.set.row[i];
    const bool has_factor =
        row->cause == CAUSE_TENFOLD || row->cause == CAUSE_FILM || row->cause == CAUSE_SCALE;
    struct fault sentence;
    word_cause(job, i, &sentence);
    json_t *doubt = json_object();
    json_put_text(doubt, "id", from->id);
    json_put_count(doubt, "line", from->line);
    if (from->is_bare)
        json_put_null(doubt, "de00");
    else
        json_put_number(doubt, "de00", row->de00, DIGITS_LAB);
    json_put_text(doubt, "cause", cause_name[row->cause]);
    json_put_text(doubt, "toner", row->toner >= 0 ? job->shelf.toner[row->toner].id : NULL);
    if (has_factor)
        json_put_number(doubt, "factor", row->factor, DIGITS_LAB);
    else
        json_put_null(doubt, "factor");
    json_put_text(doubt, "other", other_of(job, row));
    if (from->is_bare || row->cause == CAUSE_UNKNOWN)
        json_put_null(doubt, "de00_if");
    else
        json_put_number(doubt, "de00_if", row->de00_if, DIGITS_LAB);
    json_put_text(doubt, "text", sentence.text);
    return doubt;
}

static json_t *exchange_json(const struct job *job, int which) {
    const char *a = job->file.set.row[job->report.card[0]].id, *b = job->file.set.row[job->report.card[1]].id;
    struct fault sentence;
    FAULT(&sentence, FIT_CARDS_EXCHANGED, a, b);
    json_t *doubt = json_object();
    json_put_text(doubt, "id", which ? b : a);
    json_put_count(doubt, "line", job->file.set.row[job->report.card[which]].line);
    json_put_null(doubt, "de00");
    json_put_text(doubt, "cause", cause_name[CAUSE_CARDS]);
    json_put_null(doubt, "toner");
    json_put_null(doubt, "factor");
    json_put_text(doubt, "other", which ? a : b);
    json_put_null(doubt, "de00_if");
    json_put_text(doubt, "text", sentence.text);
    return doubt;
}

static void put_doubts(json_t *reply, const struct job *job) {
    json_t *doubts = json_array();
    for (int i = 0; i < 2 && job->report.cards_exchanged; i++)
        json_array_append_new(doubts, exchange_json(job, i));
    for (size_t i = 0; i < job->file.set.count; i++)
        if (job->report.row[i].cause != CAUSE_NONE) json_array_append_new(doubts, doubt_json(job, i));
    json_put(reply, "disbelieved", doubts);
}

static void note_toners(json_t *reply, const struct job *job) {
    struct fault note;
    for (size_t i = 0; i < job->shelf.count; i++) {
        const struct fit_toner *quality = &job->report.toner[i];
        const struct toner *toner = &job->shelf.toner[i];
        if (toner->role == ROLE_BINDER || job->shelf.relative_s) continue;
        if (!quality->s_known && toner->role != ROLE_BLACK) {
            FAULT(&note, FIT_S_UNKNOWN, toner->id, NUMBER_TEXT(round(100 * fmin(quality->s_sd, 99))));
            json_add_note(reply, &note);
        }
        if (!quality->only_alone) continue;
        FAULT(&note, FIT_ALONE, toner->id);
        json_add_note(reply, &note);
    }
}

/* What the films' thicknesses rest on: nothing, or a unit that cannot be. */
static void note_films(json_t *reply, const struct job *job) {
    struct fault note;
    size_t films = 0, unwritten = 0, thin = 0, thick = 0;
    double um = 0;
    for (size_t i = 0; i < job->file.set.count; i++) {
        const struct drawdown *row = &job->file.set.row[i];
        if (row->is_bare || row->backing == DRAWDOWN_OPAQUE) continue;
        films++;
        unwritten += isnan(row->film_um) ? 1 : 0;
        thin += row->film_um < THINNEST_UM ? 1 : 0;
        thick += row->film_um > THICKEST_UM ? 1 : 0;
    }
    if (unwritten) {
        FAULT(&note, FIT_FILM_ASSUMED, COUNT_TEXT(unwritten), COUNT_TEXT(films),
              COUNT_TEXT(FIT_UNWRITTEN_UM));
        json_add_note(reply, &note);
    }
    if (2 * thin > films) um = THINNEST_UM;
    if (2 * thick > films) um = THICKEST_UM;
    if (um > 0) {
        FAULT(&note, FIT_FILM_UNIT, NUMBER_TEXT(um), um < THICKEST_UM ? "less" : "more");
        json_add_note(reply, &note);
    }
}

static void put_notes(json_t *reply, const struct job *job) {
    struct fault note;
    for (size_t i = 0; i < job->file.note_count; i++) json_add_note(reply, &job->file.note[i]);
    for (size_t i = 0; i < job->about.note_count; i++) json_add_note(reply, &job->about.note[i]);
    for (size_t i = 0; i < job->note_count; i++) json_add_note(reply, &job->notes[i]);
    if (job->report.doubted) {
        FAULT(&note, FIT_LEFT_OUT, COUNT_TEXT(job->report.doubted),
              COUNT_TEXT(job->report.doubted + job->report.films));
        json_add_note(reply, &note);
    }
    if (job->shelf.relative_s) {
        const char *anchor = "the toner used most";
        for (size_t i = job->shelf.count; i-- > 0;)
            if (job->shelf.toner[i].role == ROLE_WHITE) anchor = job->shelf.toner[i].id;
        FAULT(&note, FIT_RELATIVE, anchor);
        json_add_note(reply, &note);
    }
    if (!job->shelf.beam.on) FAULT0(&note, FIT_PLAIN_FILM), json_add_note(reply, &note);
    if (job->report.de00_median > coarse_de00) {
        FAULT(&note, FIT_COARSE, DE00_TEXT(job->report.de00_median));
        json_add_note(reply, &note);
    }
    note_films(reply, job);
    note_toners(reply, job);
}

enum status toners_fit_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                            struct fault *fault) {
    if (request_has(request, "--prior")) return toners_prior_flow(around, request, reply, fault);
    struct job *job = arena_need(around->arena, 1, sizeof *job);
    enum status status = read_files(around, request, job, fault);
    if (status != STATUS_OK) return status;
    label(around, request, job);
    struct shelf fitted;
    status = fit_shelf(&job->file.set, job->shelf.toner, around->work, around->arena, &fitted, &job->report,
                       fault);
    if (status != STATUS_OK) return status;
    memcpy(fitted.currency, job->shelf.currency, sizeof fitted.currency);
    job->shelf = fitted;
    json_t *object = json_start("toners");
    shelf_put(object, &job->shelf);
    put_quality(object, job);
    put_doubts(object, job);
    put_notes(object, job);
    *reply = object;
    return STATUS_OK;
}
