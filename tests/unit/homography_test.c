/* A plane through a camera: exact points come back, and so do noisy ones as near as noise allows. */
#include "check.h"
#include "surface/homography.h"

static const struct homography tilted = {{18.2, 1.7, 420, -2.1, 17.6, 310, 4e-4, -9e-4, 1}};

static void exact_points_give_the_plane_back(void) {
    const struct point mm[4] = {{3, 3}, {117, 3}, {117, 87}, {3, 87}};
    struct point px[4];
    struct homography got, back;
    for (int i = 0; i < 4; i++) px[i] = homography_apply(&tilted, mm[i]);
    CHECK(homography_fit(mm, px, 4, &got));
    CHECK(homography_inverse(&got, &back));
    for (double x = -20; x < 150; x += 17)
        for (double y = -20; y < 120; y += 13) {
            const struct point want = homography_apply(&tilted, (struct point){x, y}),
                               have = homography_apply(&got, (struct point){x, y});
            CHECK_NEAR(have.x, want.x, 1e-7);
            CHECK_NEAR(have.y, want.y, 1e-7);
            const struct point again = homography_apply(&back, have);
            CHECK_NEAR(again.x, x, 1e-8);
            CHECK_NEAR(again.y, y, 1e-8);
        }
}

/* By hand: h = (4 0 0; 0 2 0; 0 1/3 1) sends (1,1) to (4, 2) / (4/3) = (3, 1.5). */
static void a_plane_by_hand(void) {
    const struct point from[4] = {{0, 0}, {1, 0}, {1, 1}, {0, 1}},
                       to[4] = {{0, 0}, {4, 0}, {3, 1.5}, {0, 1.5}};
    const double want[9] = {4, 0, 0, 0, 2, 0, 0, 1. / 3, 1};
    struct homography got;
    CHECK(homography_fit(from, to, 4, &got));
    for (int i = 0; i < 9; i++) CHECK_NEAR(got.h[i] / got.h[8], want[i], 1e-9);
}

static void points_on_a_line_are_no_plane(void) {
    const struct point from[4] = {{0, 0}, {1, 0}, {2, 0}, {0, 1}}, to[4] = {{0, 0}, {5, 0}, {10, 0}, {0, 5}};
    const struct point same[4] = {{1, 1}, {1, 1}, {1, 1}, {1, 1}};
    struct homography got;
    CHECK(!homography_fit(from, to, 4, &got));
    CHECK(!homography_fit(same, to, 4, &got));
}

static void the_slope_is_that_of_the_map(void) {
    const struct point at = {47, 33};
    double slope[2][2];
    homography_slope(&tilted, at, slope);
    const double h = 1e-4;
    const struct point right = homography_apply(&tilted, (struct point){at.x + h, at.y}),
                       left = homography_apply(&tilted, (struct point){at.x - h, at.y}),
                       low = homography_apply(&tilted, (struct point){at.x, at.y + h}),
                       high = homography_apply(&tilted, (struct point){at.x, at.y - h});
    CHECK_NEAR(slope[0][0], (right.x - left.x) / (2 * h), 1e-5);
    CHECK_NEAR(slope[1][0], (right.y - left.y) / (2 * h), 1e-5);
    CHECK_NEAR(slope[0][1], (low.x - high.x) / (2 * h), 1e-5);
    CHECK_NEAR(slope[1][1], (low.y - high.y) / (2 * h), 1e-5);
}

static void noise_is_averaged(void) {
    unsigned long long state = 5;
    struct point mm[16], px[16];
    for (int i = 0; i < 16; i++) {
        mm[i] = (struct point){3 + 38 * (i % 4), 3 + 28 * (i / 4)};
        px[i] = homography_apply(&tilted, mm[i]);
        px[i].x += .2 * (check_random(&state) - .5), px[i].y += .2 * (check_random(&state) - .5);
    }
    struct homography got;
    CHECK(homography_fit(mm, px, 16, &got));
    const struct point want = homography_apply(&tilted, (struct point){60, 45}),
                       have = homography_apply(&got, (struct point){60, 45});
    CHECK_AT_MOST(hypot(want.x - have.x, want.y - have.y), .06);
}

int main(void) {
    RUN(exact_points_give_the_plane_back);
    RUN(a_plane_by_hand);
    RUN(points_on_a_line_are_no_plane);
    RUN(the_slope_is_that_of_the_map);
    RUN(noise_is_averaged);
    return check_done();
}
