#include "check.h"
#include "formats/json_in.h"

static json_t *object;
static struct fault fault;

static enum status read_text(const char *text) {
    json_decref(object);
    const struct bytes bytes = {(const unsigned char *)text, strlen(text), "a.json"};
    memset(&fault, 0, sizeof fault);
    return json_read(&bytes, &object, &fault);
}

static void a_complaint_names_file_line_and_column(void) {
    CHECK(read_text("{\"a\": 1,\n \"b\": NaN}") == STATUS_INPUT);
    CHECK(object == NULL);
    CHECK(strstr(fault.text, "a.json: line 2, column"));
}

static void what_rfc_8259_forbids_is_refused(void) {
    static const char *const bad[] = {"{\"a\":1,\"a\":2}",
                                      "{} {}",
                                      "[1,]",
                                      "{\"a\":1e999}",
                                      "{\"a\":\"\\u0000\"}",
                                      "",
                                      "\xEF\xBB\xBF",
                                      "{'a':1}",
                                      "[Infinity]",
                                      "{\"a\":123456789012345678901}"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) CHECK(read_text(bad[i]) == STATUS_INPUT);
}

/* Found by json_fuzz and about_fuzz: the parser's own message ends within a character. */
static void a_message_of_the_parser_cut_within_a_character_is_mended(void) {
    CHECK(read_text("{\"\x8A"
                    "e\xFF\\\xFF\"\x8A"
                    "e\xFF\xFF\xFFt\"") == STATUS_INPUT);
    CHECK(text_is_utf8(fault.text, strlen(fault.text)));
}

/* Found by about_fuzz: a key of another's file in the path of a complaint. */
static void a_long_key_is_cut_between_characters(void) {
    char key[200] = "";
    double x;
    for (int i = 0; i < 60; i++) strcat(key, "\xC3\xA9");
    for (int shift = 0; shift < 3; shift++) {
        CHECK(read_text("{}") == STATUS_OK);
        json_object_set_new(object, key + 2 * shift, json_string("no number"));
        CHECK(json_get_number(object, key + 2 * shift, 0, 1, (struct json_place){"f", key}, &x, &fault) ==
              STATUS_INPUT);
        CHECK(text_is_utf8(fault.text, strlen(fault.text)));
        memmove(key + 1, key, strlen(key) + 1);
        key[0] = 'x';
    }
}

static void a_mark_and_utf16_are_read(void) {
    CHECK(read_text("\xEF\xBB\xBF{\"a\":1}") == STATUS_OK);
    static const unsigned char wide[] = {0xFF, 0xFE, '{', 0, '"', 0, 'a', 0, '"', 0, ':', 0, '2', 0, '}', 0};
    json_decref(object);
    CHECK(json_read(&(struct bytes){wide, sizeof wide, "w"}, &object, &fault) == STATUS_OK);
    CHECK(json_integer_value(json_object_get(object, "a")) == 2);
}

static void depth_and_number_of_values_are_bounded(void) {
    enum { N = 3000000 };
    char *text = malloc(N + 1);
    memset(text, '[', N);
    text[N] = 0;
    text[5000] = 0;
    CHECK(read_text(text) == STATUS_INPUT);
    memset(text, ',', N);
    text[0] = '[';
    CHECK(read_text(text) == STATUS_INPUT);
    CHECK(fault.word == WORD_JSON_TOO_MANY);
    memset(text, ',', N); /* within a string commas are only text */
    memcpy(text, "{\"a\":\"", 6);
    memcpy(text + N - 2, "\"}", 2);
    CHECK(read_text(text) == STATUS_OK);
    free(text);
}

static void a_kind_is_one_of_those_asked_for(void) {
    CHECK(read_text("{\"kind\":\"match\",\"format\":1}") == STATUS_OK);
    CHECK(json_check_kind(object, "match|prediction", "f", &fault) == STATUS_OK);
    CHECK(json_check_kind(object, "prediction|match", "f", &fault) == STATUS_OK);
    CHECK(json_check_kind(object, "mat|matching", "f", &fault) == STATUS_INPUT);
    CHECK_TEXT(fault.text, "f: is of kind \"match\"; here a file of kind mat or matching is needed.");
    CHECK(read_text("{\"kind\":\"match\",\"format\":2}") == STATUS_OK);
    CHECK(json_check_kind(object, "match", "f", &fault) == STATUS_INPUT);
    CHECK(fault.word == WORD_JSON_FORMAT_NEWER);
    CHECK(read_text("[]") == STATUS_OK);
    CHECK(json_check_kind(object, "match", "f", &fault) == STATUS_INPUT);
    CHECK(read_text("{\"kind\":\"\"}") == STATUS_OK);
    CHECK(json_check_kind(object, "match", "f", &fault) == STATUS_INPUT);
}

static void values_are_typed_and_bounded_and_named_by_their_path(void) {
    double x = -1, three[3];
    const char *text;
    const struct json_place place = {"t.json", "toners.white"};
    CHECK(read_text("{\"a\":2,\"b\":\"t\",\"n\":null,\"l\":[1,2,\"x\"]}") == STATUS_OK);
    CHECK(json_get_number(object, "a", 0, 5, place, &x, &fault) == STATUS_OK);
    CHECK_NEAR(x, 2, 0);
    CHECK(json_get_number(object, "a", 3, 5, place, &x, &fault) == STATUS_INPUT);
    CHECK_TEXT(fault.text, "t.json: toners.white.a is 2; it must be from 3 to 5.");
    CHECK(json_get_number(object, "z", 3, 5, place, &x, &fault) == STATUS_INPUT);
    CHECK_TEXT(fault.text, "t.json: toners.white.z is missing; it must be a number.");
    CHECK(json_get_number_or(object, "z", 3, 5, 7, place, &x, &fault) == STATUS_OK && x == 7);
    CHECK(json_get_number_or(object, "n", 3, 5, 8, place, &x, &fault) == STATUS_OK && x == 8);
    CHECK(json_get_number_or(object, "b", 3, 5, 8, place, &x, &fault) == STATUS_INPUT);
    CHECK(json_get_text(object, "b", place, &text, &fault) == STATUS_OK);
    CHECK_TEXT(text, "t");
    CHECK(json_get_text(object, "a", place, &text, &fault) == STATUS_INPUT);
    CHECK(json_get_numbers(object, "l", 3, 0, 9, place, three, &fault) == STATUS_INPUT);
    CHECK_TEXT(fault.text, "t.json: toners.white.l[2] must be a number, and is a text.");
    CHECK(json_get_numbers(object, "l", 2, 0, 9, place, three, &fault) == STATUS_INPUT);
    CHECK_TEXT(fault.text, "t.json: toners.white.l has 3 numbers; 2 are needed.");
}

int main(void) {
    RUN(a_complaint_names_file_line_and_column);
    RUN(what_rfc_8259_forbids_is_refused);
    RUN(a_message_of_the_parser_cut_within_a_character_is_mended);
    RUN(a_long_key_is_cut_between_characters);
    RUN(a_mark_and_utf16_are_read);
    RUN(depth_and_number_of_values_are_bounded);
    RUN(a_kind_is_one_of_those_asked_for);
    RUN(values_are_typed_and_bounded_and_named_by_their_path);
    json_decref(object);
    return check_done();
}
