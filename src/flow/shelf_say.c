#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>

extern operation_say shelf_toners_say, shelf_show_say, shelf_keep_say, shelf_receive_say, shelf_count_say,
    shelf_sheet_say, pot_log_say, pot_list_say, finish_find_say, finish_keep_say, finish_show_say;

static void say_lots(const json_t *toner, struct text *out) {
    size_t i;
    json_t *lot;
    json_array_foreach(json_object_get(toner, "lots"), i, lot) {
        text_format(out, "      lot %-16.16s %8.0f g%s%s%s\n", say_string(lot, "name"),
                    say_number(lot, "left_g"), *say_string(lot, "expires") ? "  until " : "",
                    say_string(lot, "expires"),
                    json_is_true(json_object_get(lot, "used_up")) ? "  used up" : "");
    }
}

void shelf_show_say(const json_t *reply, struct text *out) {
    size_t i;
    json_t *toner;
    if (json_array_size(json_object_get(reply, "toners")) == 0)
        text_add(out, "The shelf is empty. `russet shelf keep toners.json` puts the toners on it.\n");
    json_array_foreach(json_object_get(reply, "toners"), i, toner) {
        text_format(out, "  %-16s %-30.30s %8.0f g left\n", say_string(toner, "id"),
                    say_string(toner, "name"), say_number(toner, "left_g"));
        say_lots(toner, out);
    }
    say_notes(reply, out);
}

void shelf_keep_say(const json_t *reply, struct text *out) {
    shelf_show_say(reply, out);
}

void shelf_receive_say(const json_t *reply, struct text *out) {
    shelf_show_say(reply, out);
}

void shelf_count_say(const json_t *reply, struct text *out) {
    shelf_show_say(reply, out);
}

void shelf_sheet_say(const json_t *reply, struct text *out) {
    shelf_show_say(reply, out);
}

static void say_pot(const json_t *pot, struct text *out) {
    text_format(out, "%s  %s\n", say_string(pot, "id"), say_string(pot, "name"));
    say_row(out, "poured", "%.2f g", say_number(pot, "poured_g"));
    say_row(out, "taken", "%.2f g", say_number(pot, "taken_g"));
    if (json_is_true(json_object_get(pot, "crosslinked"))) {
        say_row(out, "crosslinked", "%.16s", say_string(pot, "crosslinked_at"));
        if (isfinite(say_number(pot, "life_min")))
            say_row(out, "pot life", "%.0f min", say_number(pot, "life_min"));
        say_paragraph(out, "  ", "Never seal or keep it: it makes gas.");
    }
    if (json_is_true(json_object_get(pot, "put_back"))) say_row(out, "stands", "on the shelf");
    if (json_is_true(json_object_get(pot, "emptied"))) say_row(out, "stands", "emptied");
}

void pot_log_say(const json_t *reply, struct text *out) {
    say_pot(json_object_get(reply, "pot"), out);
    say_notes(reply, out);
}

void pot_list_say(const json_t *reply, struct text *out) {
    size_t i;
    json_t *pot;
    if (json_array_size(json_object_get(reply, "pots")) == 0) text_add(out, "No pot stands there.\n");
    json_array_foreach(json_object_get(reply, "pots"), i, pot) say_pot(pot, out);
}

static void say_finish(const json_t *finish, struct text *out) {
    const json_t *lab = json_object_get(finish, "lab");
    const double de00 = say_number(finish, "de00");
    text_format(out, "%s  %-30.30s", say_string(finish, "id"), say_string(finish, "name"));
    if (isfinite(de00)) text_format(out, "  dE00 %.2f", de00);
    if (json_is_array(lab))
        text_format(out, "  Lab %.1f %.1f %.1f", json_number_value(json_array_get(lab, 0)),
                    json_number_value(json_array_get(lab, 1)), json_number_value(json_array_get(lab, 2)));
    text_add(out, "\n");
    if (*say_string(finish, "words")) say_paragraph(out, "    ", say_string(finish, "words"));
}

void finish_find_say(const json_t *reply, struct text *out) {
    size_t i;
    json_t *finish;
    if (json_array_size(json_object_get(reply, "finishes")) == 0)
        text_add(out, "Nothing like it was made before.\n");
    json_array_foreach(json_object_get(reply, "finishes"), i, finish) say_finish(finish, out);
    say_notes(reply, out);
}

void finish_keep_say(const json_t *reply, struct text *out) {
    say_finish(json_object_get(reply, "finish"), out);
    say_notes(reply, out);
}

void finish_show_say(const json_t *reply, struct text *out) {
    say_document(reply, out);
}

void shelf_toners_say(const json_t *reply, struct text *out) {
    say_document(reply, out);
}
