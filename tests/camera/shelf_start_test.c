/* A shelf without an instrument: pigment names, one photographed sheet of dabs, a target read by the camera
 * or by an instrument, and corrections by photographs of the dab beside the spot. */
#include "camera/photo_shop.h"
#include "check.h"
#include "room/room_fit.h"
#include <stdlib.h>
#include <string.h>

enum { MOST = 256, SHOTS = 3 };
struct run {
    double de00[SHOTS][MOST];
    int count;
};

static void one(struct photo_shop *shop, const struct spectrum *leather, bool instrument, struct run *out) {
    struct reading target = {.geometry = GEOMETRY_PHOTO};
    struct fault fault = {0};
    struct match_task task;
    struct shop_pot pot;
    if (instrument) {
        target.has_spectrum = true, target.reflectance = *leather;
        room_read(shop->room, &target.reflectance);
        target.lab = lab_of_spectrum(&target.reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    } else if (photo_shop_read(shop, leather, NULL, false, &target, NULL, &fault) != STATUS_OK) {
        printf("  %s\n", fault.text);
        return;
    }
    if (photo_shop_match(shop, &target, NULL, &task, &pot) < 0) return;
    out->de00[0][out->count] = photo_shop_truth(shop, &pot, leather);
    for (int shot = 1; shot < SHOTS; shot++) {
        struct spectrum dab;
        double dlab[3];
        photo_shop_dab(shop, &pot, &dab);
        if (photo_shop_against(shop, leather, &dab, false, dlab, &fault) == STATUS_OK)
            photo_shop_adjust_by(shop, &task, dlab, instrument ? &target.reflectance : NULL, &pot);
        else
            printf("  %s\n", fault.text);
        out->de00[shot][out->count] = photo_shop_truth(shop, &pot, leather);
    }
    out->count++;
}

static void tell(const char *title, struct run *run, double median[SHOTS]) {
    printf("  figure: %s, %d jobs: median / p95", title, run->count);
    for (int s = 0; s < SHOTS; s++) {
        const double p95 = room_quantile(run->de00[s], (size_t)run->count, .95);
        median[s] = room_quantile(run->de00[s], (size_t)run->count, .5);
        printf("%s %.2f / %.2f",
               s == 0   ? " first shot"
               : s == 1 ? ", after one correction"
                        : ", after two",
               median[s], p95);
    }
    printf("\n");
}

/* RAW: the phone keeps raw files; else JPEG with a curve of its own. */
static void shops(bool raw, int first, int count, int jobs, int step, double median[2][SHOTS]) {
    static struct run camera, instrument;
    camera.count = instrument.count = 0;
    for (int seed = first; seed < first + count; seed++) {
        struct photo_shop *shop = memory_need(1, sizeof *shop);
        CHECK(photo_shop_start((unsigned long long)seed, raw, shop));
        for (int i = 0; i < jobs; i++) {
            struct spectrum leather;
            double mass_g[ROOM_MOST];
            const struct room_film film = {35, ROOM_CRUST, GEOMETRY_45_0, (double)NAN};
            room_target(shop->room, (size_t)(step * i), mass_g);
            room_spray(shop->room, mass_g, &film, &leather);
            one(shop, &leather, false, &camera);
            one(shop, &leather, true, &instrument);
        }
        photo_shop_close(shop);
        memory_free(shop);
    }
    tell(raw ? "raw, target by camera" : "JPEG, target by camera", &camera, median[0]);
    tell(raw ? "raw, target by instrument" : "JPEG, target by instrument", &instrument, median[1]);
}

/* Asked: 2.5, 1.2, .8. */
static void a_shelf_of_names_and_one_sheet(void) {
    double raw[2][SHOTS], jpeg[2][SHOTS];
    shops(true, 1, 2, 4, 9, raw);
    shops(false, 1, 2, 4, 9, jpeg);
    for (int k = 0; k < 2; k++) {
        const double most[SHOTS] = {2.5, 1.2, .8};
        for (int s = 0; s < SHOTS; s++) {
            CHECK_AT_MOST(raw[k][s], most[s]);
            CHECK_AT_MOST(jpeg[k][s], most[s]);
        }
    }
}

/* RUSSET_SHOPS of them from RUSSET_FIRST_SHOP on, with RUSSET_KIND raw or jpeg alone: a shop is 5 to 20 s. */
static int number_of(const char *name, int otherwise) {
    const char *text = getenv(name);
    return text && atoi(text) > 0 ? atoi(text) : otherwise;
}

static void LONG_shelves_of_names(void) {
    const int first = number_of("RUSSET_FIRST_SHOP", 61), count = number_of("RUSSET_SHOPS", 10);
    const char *kind = getenv("RUSSET_KIND");
    for (int raw = 0; raw < 2; raw++) {
        double median[2][SHOTS];
        if (kind && strcmp(kind, raw ? "raw" : "jpeg") != 0) continue;
        shops(raw == 1, first, count, 8, 5, median);
        for (int k = 0; k < 2; k++) {
            CHECK_AT_MOST(median[k][0], 2.5);
            CHECK_AT_MOST(median[k][1], 1.2);
            CHECK_AT_MOST(median[k][2], .8);
        }
    }
}

int main(void) {
    RUN(a_shelf_of_names_and_one_sheet);
    RUN(LONG_shelves_of_names);
    return check_done();
}
