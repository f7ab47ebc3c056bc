#include "trade/grit.h"
#include "base/text.h"
#include <ctype.h>
#include <string.h>

static const struct {
    int number;
    double median_um;
} fepa[] = {
    {240, 58.5}, {280, 52.2}, {320, 46.2},  {360, 40.5},  {400, 35.0},  {500, 30.2},
    {600, 25.8}, {800, 21.8}, {1000, 18.3}, {1200, 15.3}, {1500, 12.6}, {2000, 10.3},
};
static const struct { int number, fepa_p; } cami[] = {{400, 800}, {600, 1200}};

static bool find_fepa(int number, struct grit *out) {
    for (size_t i = 0; i < sizeof fepa / sizeof fepa[0]; i++)
        if (fepa[i].number == number) return out->fepa_p = number, out->median_um = fepa[i].median_um, true;
    return false;
}

static bool find_cami(int number, struct grit *out) {
    for (size_t i = 0; i < sizeof cami / sizeof cami[0]; i++)
        if (cami[i].number == number) return find_fepa(cami[i].fepa_p, out);
    return false;
}

static const char *after(const char *s, const char *prefix) {
    for (; *prefix; prefix++, s++)
        if (toupper((unsigned char)*s) != *prefix) return NULL;
    while (*s == ' ' || *s == '-') s++;
    return s;
}

/* The number behind the scale's letters, or NULL when no scale is there. */
static const char *read_scale(const char *text, enum grit_scale *scale) {
    const char *number = after(text, "CAMI");
    *scale = GRIT_CAMI;
    if (number) return number;
    *scale = GRIT_FEPA_P;
    const char *rest = after(text, "FEPA");
    return after(rest ? rest : text, "P");
}

enum status grit_read(const char *text, struct grit *out, struct fault *fault) {
    struct grit grit = {0};
    unsigned long long number;
    const char *digits = read_scale(text, &grit.scale);
    if (!digits) return FAULT(fault, GRIT_NO_SCALE, text, text + strcspn(text, "0123456789"));
    if (!text_to_count(digits, 100000, &number)) return FAULT(fault, GRIT_UNKNOWN, text);
    grit.number = (int)number;
    const bool known =
        grit.scale == GRIT_CAMI ? find_cami(grit.number, &grit) : find_fepa(grit.number, &grit);
    if (!known) return FAULT(fault, GRIT_UNKNOWN, text);
    *out = grit;
    return STATUS_OK;
}
