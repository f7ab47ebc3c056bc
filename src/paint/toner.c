#include "paint/toner.h"
#include <math.h>
#include <string.h>

static const char *const state_names[STATE_COUNT] = {"coated", "dry", "wet"};

const char *card_state_name(enum card_state state) {
    return state_names[state];
}

void shift_terms(double r, int band, double term[SHIFT_TERMS]) {
    const double some = fmax(r, 0.005);
    for (int j = 0; j < SHIFT_COSINES; j++) term[j] = cos(M_PI * j * (band + 0.5) / BANDS);
    term[SHIFT_COSINES] = log(some / 0.2);
    term[SHIFT_COSINES + 1] = 0.05 / some;
}

void shelf_shift(const struct shelf *shelf, enum card_state state, struct spectrum *reading) {
    for (int b = 0; b < BANDS; b++) {
        double ln = 0, term[SHIFT_TERMS];
        shift_terms(reading->band[b], b, term);
        for (int j = 0; j < SHIFT_TERMS; j++) ln += shelf->shift[state].ln_r[j] * term[j];
        reading->band[b] *= exp(ln);
    }
}

static const char *const role_names[ROLE_COUNT] = {"colour", "binder", "white", "black"};

const char *toner_role_name(enum toner_role role) {
    return role_names[role];
}

bool toner_role_from_name(const char *name, enum toner_role *out) {
    for (int i = 0; i < ROLE_COUNT; i++)
        if (strcmp(name, role_names[i]) == 0) return *out = (enum toner_role)i, true;
    return false;
}

bool toner_id_is_good(const char *id) {
    const size_t n = strlen(id);
    return n > 0 && n < TONER_ID_MAX && strspn(id, "abcdefghijklmnopqrstuvwxyz0123456789-") == n;
}

int shelf_find(const struct shelf *shelf, const char *id) {
    for (size_t i = 0; i < shelf->count; i++)
        if (strcmp(shelf->toner[i].id, id) == 0) return (int)i;
    return -1;
}

double crowded_part(double bend, double crowd, double c, double *by_c) {
    const double below = 1 + crowd * c;
    if (by_c) *by_c = (1 - bend * c * (2 + crowd * c)) / (below * below);
    return c * (1 - bend * c) / below;
}

double toner_counted(const struct toner *toner, double c, double *by_c) {
    return crowded_part(toner->bend, toner->crowd, c, by_c);
}

bool shelf_leans(const struct shelf *shelf) {
    bool any = false;
    for (size_t i = 0; i < shelf->count; i++) any = any || shelf->toner[i].lean != 0;
    return any && shelf->beam.on;
}

void shelf_beams(const struct shelf *shelf, const double part[], struct beam beam[BANDS]) {
    double lean[BANDS] = {0}, sum[BANDS];
    const bool leans = shelf_leans(shelf);
    for (int b = 0; b < BANDS; b++) sum[b] = 1e-12;
    for (size_t i = 0; i < shelf->count && leans; i++) {
        const struct toner *toner = &shelf->toner[i];
        for (int b = 0; b < BANDS && part[i] > 0; b++) {
            lean[b] += part[i] * toner->s[b] * toner->lean;
            sum[b] += part[i] * toner->s[b];
        }
    }
    for (int b = 0; b < BANDS; b++) beam[b] = beam_leaning(&shelf->beam, lean[b] / sum[b]);
}

void shelf_mix(const struct shelf *shelf, const double part[], double k[BANDS], double s[BANDS]) {
    for (int b = 0; b < BANDS; b++) k[b] = s[b] = 0;
    for (size_t i = 0; i < shelf->count; i++) {
        const struct toner *toner = &shelf->toner[i];
        const double c = part[i], counted = toner_counted(toner, c, NULL);
        for (int b = 0; b < BANDS; b++) {
            k[b] += c * toner->k[b];
            s[b] += counted * toner->s[b];
        }
    }
}

double shelf_mean_lean(const struct shelf *shelf, const double part[]) {
    double lean = 0, sum = 1e-12;
    for (size_t i = 0; i < shelf->count; i++)
        for (int b = 0; b < BANDS; b++) {
            lean += part[i] * shelf->toner[i].s[b] * shelf->toner[i].lean;
            sum += part[i] * shelf->toner[i].s[b];
        }
    return lean / sum;
}
