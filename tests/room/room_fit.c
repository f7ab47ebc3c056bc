#include "room/room_fit.h"
#include "colour/difference.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

void room_about(const struct room *room, struct toner about[ROOM_BINDER + 1]) {
    for (size_t i = 0; i <= ROOM_BINDER; i++) {
        about[i] = (struct toner){.role = room_role(room, i), .density_g_ml = 1.1, .price_minor_per_kg = -1};
        snprintf(about[i].id, sizeof about[i].id, "%.47s", room_id(room, i));
        snprintf(about[i].name, sizeof about[i].name, "%.47s", room_id(room, i));
    }
}

bool room_fit(struct room *room, const struct room_plan *plan, struct arena *arena, struct shelf *shelf,
              struct fit_report *report) {
    struct room_set rows;
    struct drawdown_set set;
    struct toner about[ROOM_BINDER + 1];
    room_drawdowns(room, plan, &rows);
    room_set_fill(room, &rows, arena, &set);
    room_about(room, about);
    const bool done = fit_shelf(&set, about, NULL, arena, shelf, report, NULL) == STATUS_OK;
    room_set_free(&rows);
    return done;
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double room_quantile(double value[], size_t n, double p) {
    qsort(value, n, sizeof *value, by_size);
    const double at = p * (double)(n - 1);
    const size_t i = (size_t)at;
    return i + 1 < n ? value[i] + (at - (double)i) * (value[i + 1] - value[i]) : value[i];
}

double room_de00(const struct spectrum *a, const struct spectrum *b, enum light light) {
    const struct weights *w = weights_of((struct view){light, OBSERVER_10});
    return difference_de00(lab_of_spectrum(a, w), lab_of_spectrum(b, w));
}
