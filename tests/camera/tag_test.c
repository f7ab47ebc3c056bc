/* Where the card is: found whenever two tags are whole, never wrongly; patch centres at twelve megapixels. */
#include "camera/trial.h"
#include "check.h"

static struct trial_room *room;

/* Mean distance of the patches' centres, pixels; negative: not found. */
static double centres_off(const struct scene *scene, double *worst, int *used) {
    struct arena *arena = arena_new();
    struct fault fault = {0};
    struct located *located = arena_need(arena, 1, sizeof *located);
    struct plate *plate = plate_expose(scene);
    const struct picture picture = plate_develop(plate, &scene->sensor, arena);
    double sum = -1;
    *worst = 0;
    if (locate_card(&picture, scene->card, located, &fault) == STATUS_OK) {
        sum = 0;
        for (int i = 0; i < scene->card->patches; i++) {
            const double *mm = scene->card->patch[i].center_mm;
            double px[2];
            plate_place(plate, mm, px);
            const struct point got = located_to_pixel(located, (struct point){mm[0], mm[1]});
            const double off = hypot(got.x - px[0], got.y - px[1]);
            sum += off / scene->card->patches, *worst = fmax(*worst, off);
        }
    } else if (getenv("RUSSET_TELL"))
        printf("  %s\n", fault.text);
    *used = located->tags_used;
    plate_free(plate);
    arena_free(arena);
    return sum;
}

static void centres(int pictures, int step) {
    double sum = 0, most = 0, worst;
    int used;
    for (int n = 0; n < pictures; n++) {
        struct scene scene;
        const int k = n * step;
        trial_scene(room, k % CAMERAS, (enum lamp)(n % LAMPS), n % TILTS, &scene);
        scene_large(&scene);
        const double off = centres_off(&scene, &worst, &used);
        CHECK(off >= 0);
        CHECK(used == 4);
        sum += off, most = fmax(most, worst);
    }
    printf("  figure: patch centres at 12 megapixels, %d pictures: %.3f px off on the mean, %.3f at most\n",
           pictures, sum / pictures, most);
    CHECK_AT_MOST(sum / pictures, .1);
}

static void patch_centres_at_twelve_megapixels(void) {
    centres(2, 7);
}
static void LONG_patch_centres_at_twelve_megapixels(void) {
    centres(20, 1);
}

/* Two tags whole, the others covered, cut or out of the picture: found, and right. */
static void two_whole_tags_suffice(int each) {
    static const int pair[6][2] = {{0, 1}, {0, 2}, {0, 3}, {1, 2}, {1, 3}, {2, 3}};
    int found = 0, tried = 0;
    double most = 0;
    for (int n = 0; n < 6 * each; n++) {
        struct scene scene;
        double worst;
        int used;
        trial_scene(room, n % CAMERAS, (enum lamp)(n % LAMPS), n % TILTS, &scene);
        scene.width = 1216, scene.height = 912;
        for (int t = 0; t < 4; t++) {
            if (t == pair[n % 6][0] || t == pair[n % 6][1]) continue;
            const double *a = scene.card->tag[t].corner_mm[0];
            const double in = n / 6 % 2 ? 0 : 11; /* the whole tag, or a corner of it */
            scene.cover[scene.covers++] = (struct cover){a[0] + in, a[1] + in, 16 - in, 16 - in, .5, NULL};
        }
        const double off = centres_off(&scene, &worst, &used);
        tried++, found += off >= 0;
        most = fmax(most, worst);
    }
    printf("  figure: two whole tags: found in %d of %d photographs, a centre %.2f px off at most (1.1 "
           "megapixels)\n",
           found, tried, most);
    CHECK(found == tried);
    CHECK_AT_MOST(most, 3);
}

static void a_card_with_two_whole_tags_is_found(void) {
    two_whole_tags_suffice(1);
}
static void LONG_a_card_with_two_whole_tags_is_found(void) {
    two_whole_tags_suffice(20);
}

/* A tag that is cut by the picture's edge, step by step: either left out or right, never a wrong place. */
static void a_cut_tag_gives_no_wrong_place(void) {
    double most = 0;
    int found = 0;
    for (int n = 0; n < 12; n++) {
        struct scene scene;
        double worst;
        int used;
        trial_scene(room, n % CAMERAS, LAMP_D65, 0, &scene);
        scene.width = 1216, scene.height = 912;
        scene.turn_deg = 3, scene.filled = .74;
        scene.shift_x = .11 + .006 * n; /* the right tags slide over the edge */
        const double off = centres_off(&scene, &worst, &used);
        if (off >= 0) found++, most = fmax(most, worst);
    }
    printf("  figure: tags sliding over the edge: %d of 12 found, a centre %.2f px off at most (1.1 "
           "megapixels)\n",
           found, most);
    CHECK(found >= 10);
    CHECK_AT_MOST(most, 3);
}

int main(void) {
    room = trial_open(TRIAL_OWN);
    RUN(patch_centres_at_twelve_megapixels);
    RUN(LONG_patch_centres_at_twelve_megapixels);
    RUN(a_card_with_two_whole_tags_is_found);
    RUN(LONG_a_card_with_two_whole_tags_is_found);
    RUN(a_cut_tag_gives_no_wrong_place);
    trial_close(room);
    return check_done();
}
