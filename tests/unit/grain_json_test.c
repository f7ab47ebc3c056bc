/* Torches and grains as people write them. */
#include "check.h"
#include "formats/grain_json.h"

static const char *const photo[] = {"x/a.jpg", "b.jpg", "c.jpg"};
static struct stereo_light light[3];
static struct torch_mark mark[3];
static struct fault fault;

static enum status torches(const char *text) {
    const struct bytes bytes = {(const unsigned char *)text, strlen(text), "lights.json"};
    return torches_read(&bytes, photo, 3, light, mark, &fault);
}

static void torches_are_found_by_their_photograph(void) {
    CHECK(torches("{\"lights\":[{\"photo\":\"c.jpg\",\"flash\":true},{\"photo\":\"a.jpg\",\"azimuth_deg\":30,"
                  "\"elevation_deg\":25,\"distance_mm\":400},{\"photo\":\"b.jpg\",\"azimuth_deg\":120,"
                  "\"elevation_deg\":28}]}") == STATUS_OK);
    CHECK_NEAR(light[0].azimuth_deg, 30, 0);
    CHECK_NEAR(light[0].distance_mm, 400, 0);
    CHECK_NEAR(light[1].distance_mm, 0, 0);
    CHECK_NEAR(light[2].elevation_deg, 90, 0);
    CHECK(mark[0].kind == TORCH_TOLD && mark[2].kind == TORCH_TOLD);
}

static void a_pin_or_a_ball_tells_what_is_left_open(void) {
    CHECK(torches("{\"pin\":{\"foot_px\":[100,200.5],\"height_mm\":20},\"lights\":[{\"photo\":\"a.jpg\"},"
                  "{\"photo\":\"b.jpg\",\"distance_mm\":500},{\"photo\":\"c.jpg\",\"azimuth_deg\":10,"
                  "\"elevation_deg\":30}]}") == STATUS_OK);
    CHECK(mark[0].kind == TORCH_PIN && mark[1].kind == TORCH_PIN && mark[2].kind == TORCH_TOLD);
    CHECK_NEAR(mark[0].y, 200.5, 0);
    CHECK_NEAR(light[1].distance_mm, 500, 0);
    CHECK(torches("{\"ball\":{\"middle_px\":[100,200],\"radius_px\":60},\"lights\":[{\"photo\":\"a.jpg\"},"
                  "{\"photo\":\"b.jpg\"},{\"photo\":\"c.jpg\"}]}") == STATUS_OK);
    CHECK(mark[2].kind == TORCH_BALL);
}

static void mistakes_are_told(void) {
    CHECK(torches("{}") == STATUS_INPUT && fault.word == WORD_TORCH_NO_LIST);
    CHECK(torches("{\"lights\":[]}") == STATUS_INPUT && fault.word == WORD_TORCH_MISSING);
    CHECK(torches("{\"lights\":[{\"photo\":\"a.jpg\",\"azimuth_deg\":30}]}") == STATUS_INPUT);
    CHECK(torches("{\"lights\":[{\"photo\":\"a.jpg\",\"azimuth_deg\":30,\"elevation_deg\":2}]}") ==
          STATUS_INPUT);
    CHECK(torches("{\"pin\":{\"foot_px\":[1],\"height_mm\":20},\"lights\":[]}") == STATUS_INPUT);
    CHECK(fault.word == WORD_TORCH_NO_PLACE);
    CHECK(torches("[") == STATUS_INPUT);
}

static void a_grain_comes_back_as_it_was_told(void) {
    struct grain grain = {.s_mm = .25, .l_mm = 5}, got;
    for (int i = 0; i < AREAL_COUNT; i++)
        grain.value.value[i] = .01 * (i + 1), grain.u95.value[i] = .001 * (i + 1);
    grain.value.value[AREAL_STD] = 80, grain.u95.value[AREAL_STD] = 8;
    json_t *object = json_object();
    json_object_set_new(object, "kind", json_string("grain"));
    grain_put(object, &grain);
    char *text = json_dumps(object, JSON_REAL_PRECISION(17));
    const struct bytes bytes = {(const unsigned char *)text, strlen(text), "grain.json"};
    CHECK(grain_read(&bytes, &got, &fault) == STATUS_OK);
    for (int i = 0; i < AREAL_COUNT; i++) {
        CHECK_NEAR(got.value.value[i], grain.value.value[i], 1e-4 * grain.value.value[i] + 5e-5);
        CHECK_NEAR(got.u95.value[i], grain.u95.value[i], 1e-2 * grain.u95.value[i] + 5e-5);
    }
    free(text), json_decref(object);
    const char *less = "{\"kind\":\"grain\",\"Sa_um\":8}";
    const struct bytes short_one = {(const unsigned char *)less, strlen(less), "grain.json"};
    CHECK(grain_read(&short_one, &got, &fault) == STATUS_INPUT); /* Sal_mm must be there */
}

int main(void) {
    RUN(torches_are_found_by_their_photograph);
    RUN(a_pin_or_a_ball_tells_what_is_left_open);
    RUN(mistakes_are_told);
    RUN(a_grain_comes_back_as_it_was_told);
    return check_done();
}
