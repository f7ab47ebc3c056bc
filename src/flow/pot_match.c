#include "flow/pot_match.h"
#include "flow/pot_json.h"
#include <math.h>
#include <string.h>

/* Two sums of weighings of one cup differ by rounding and by what stays on the stick. */
static const double SAME_PART = 0.02, SAME_G = 0.2;

static double number(const json_t *object, const char *key) {
    return json_number_value(json_object_get(object, key));
}

static bool near(double a, double b) {
    return fabs(a - b) <= fmax(SAME_G, SAME_PART * fmax(a, b));
}

/* What had been weighed in when the correction was reckoned. */
static double weighed_g(const json_t *document, const char *toner) {
    const char *key;
    json_t *g;
    double sum = 0;
    json_object_foreach(json_object_get(document, "pot"), key, g) if (!toner || strcmp(key, toner) == 0)
        sum += json_number_value(g);
    return sum;
}

/* The book's pot as poured, or less what was taken; the document's likewise. */
static bool same_sum(const struct pot_row *pot, const json_t *document, double weighed) {
    const double poured = (double)pot->poured_mg / 1000,
                 left = (double)(pot->poured_mg - pot->taken_mg) / 1000,
                 rest = weighed - number(document, "taken_g");
    return near(weighed, poured) || near(weighed, left) || near(rest, left) || near(rest, poured);
}

static double book_g(const struct pour_row *pour, size_t count, const char *toner) {
    double g = 0;
    for (size_t k = 0; k < count; k++)
        if (strcmp(pour[k].toner, toner) == 0) g += (double)pour[k].mg / 1000;
    return g;
}

/* The toner whose share differs most, or NULL. */
static const char *odd_toner(const struct pour_row *pour, size_t count, double poured_g,
                             const json_t *document, double weighed) {
    const char *odd = NULL;
    double most = SAME_PART;
    for (size_t i = 0; i < count; i++) {
        const double off = fabs(book_g(pour, count, pour[i].toner) / poured_g -
                                weighed_g(document, pour[i].toner) / weighed);
        if (off > most) most = off, odd = pour[i].toner;
    }
    return odd;
}

enum status pot_match_document(struct book *book, const struct pot_row *pot, long long job, const char *kind,
                               const json_t *document, struct arena *arena, struct fault *fault) {
    struct pour_row *pour;
    size_t count = 0;
    const double weighed = weighed_g(document, NULL), poured = (double)pot->poured_mg / 1000;
    if (!(weighed > 0) || !(poured > 0)) return STATUS_OK; /* of an older russet: it does not say */
    const enum status status = pot_store_pours(book, pot->id, arena, &pour, &count, fault);
    if (status != STATUS_OK) return status;
    if (!same_sum(pot, document, weighed))
        return FAULT(fault, JOB_LOG_OTHER_GRAMS, kind, NUMBER_TEXT(round(100 * weighed) / 100),
                     pot_label(pot, arena), NUMBER_TEXT((double)(pot->poured_mg - pot->taken_mg) / 1000),
                     COUNT_TEXT(job));
    const char *odd = odd_toner(pour, count, poured, document, weighed);
    if (!odd) return STATUS_OK;
    return FAULT(fault, JOB_LOG_OTHER_PARTS, kind, NUMBER_TEXT(round(100 * weighed_g(document, odd)) / 100),
                 odd, pot_label(pot, arena), NUMBER_TEXT(book_g(pour, count, odd)), COUNT_TEXT(job));
}
