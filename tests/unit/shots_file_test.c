/* The log of test shots as a sprayer keeps it: with a spreadsheet's separators, blank grain, and mistakes. */
#include "check.h"
#include "formats/shots_file.h"
#include <stdint.h>

static struct gun_shot shot[GUN_SHOTS_MOST];
static int line[GUN_SHOTS_MOST];
static size_t count;
static struct fault fault;

static enum status read(const char *text) {
    struct arena *arena = arena_new();
    const struct bytes bytes = {(const uint8_t *)text, strlen(text), "shots.csv"};
    const enum status status = shots_read(&bytes, arena, shot, line, &count, &fault);
    arena_free(arena);
    return status;
}

#define HEADING "pressure_bar,fluid_turns,distance_mm,viscosity_s,coats,Sal_mm,Sa_um\n"

static void shots_are_read_in_order(void) {
    CHECK(read(HEADING "2,1.5,150,20,1,.31,8\n# thinned\n\n1.8,1.5,150,22,2,.33,9\n") == STATUS_OK);
    CHECK(count == 2 && line[0] == 2 && line[1] == 5);
    CHECK_NEAR(shot[1].setting.knob[GUN_PRESSURE], 1.8, 0);
    CHECK_NEAR(shot[1].setting.knob[GUN_COATS], 2, 0);
    CHECK_NEAR(shot[1].sal_mm, .33, 0);
    CHECK_NEAR(shot[0].sa_um, 8, 0);
}

static void columns_stand_anywhere_and_coats_may_be_missing(void) {
    CHECK(read("Sa_um;note;SAL_MM;viscosity_s;distance_mm;fluid_turns;pressure_bar\r\n"
               "8,5;first;0,3;20;150;1;2\r\n") == STATUS_OK);
    CHECK(count == 1);
    CHECK_NEAR(shot[0].sa_um, 8.5, 0);
    CHECK_NEAR(shot[0].setting.knob[GUN_COATS], 1, 0);
}

static void a_flow_stands_for_turns(void) {
    CHECK(read("pressure_bar,flow_ml_min,distance_mm,viscosity_s,Sal_mm,Sa_um\n2,150,150,20,.3,8\n") ==
          STATUS_OK);
    CHECK_NEAR(shot[0].setting.knob[GUN_TURNS], 1.5, 1e-12);
    CHECK(read("pressure_bar,flow_ml_min,distance_mm,viscosity_s,Sal_mm,Sa_um\n2,1e5,150,20,.3,8\n") ==
          STATUS_INPUT);
}

static void a_shot_without_its_grain_waits(void) {
    CHECK(read(HEADING "2,1,150,20,1,,\n2,1,150,20,1,.3,8\n") == STATUS_OK);
    CHECK(count == 1 && line[0] == 3);
}

static void mistakes_are_told_with_their_line(void) {
    CHECK(read(HEADING "2,1,150,20,1,.3,8\n2,one,150,20,1,.3,8\n") == STATUS_INPUT);
    CHECK(fault.word == WORD_SHOTS_NO_NUMBER);
    CHECK(read(HEADING "2,1,150,20,1,.3,-8\n") == STATUS_INPUT);
    CHECK(read(HEADING "2,1,150,20,1,nan,8\n") == STATUS_INPUT);
    CHECK(read(HEADING "2,1,150,20\n") == STATUS_OK && count == 0);
    CHECK(read("pressure_bar,distance_mm\n") == STATUS_INPUT && fault.word == WORD_SHOTS_NO_HEADING);
    CHECK(read("") == STATUS_INPUT && read("\n\n") == STATUS_INPUT);
}

static void too_many_shots_are_refused(void) {
    static char text[8000];
    strcpy(text, HEADING);
    for (int i = 0; i <= GUN_SHOTS_MOST; i++) strcat(text, "2,1,150,20,1,.3,8\n");
    CHECK(read(text) == STATUS_INPUT && fault.word == WORD_SHOTS_MANY);
}

int main(void) {
    RUN(shots_are_read_in_order);
    RUN(columns_stand_anywhere_and_coats_may_be_missing);
    RUN(a_flow_stands_for_turns);
    RUN(a_shot_without_its_grain_waits);
    RUN(mistakes_are_told_with_their_line);
    RUN(too_many_shots_are_refused);
    return check_done();
}
