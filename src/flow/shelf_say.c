#include "flow/money_say.h"
#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>
#include <string.h>

extern operation_say shelf_toners_say, shelf_show_say, shelf_keep_say, shelf_receive_say, shelf_count_say,
    shelf_sheet_say, shelf_drawdowns_say, shelf_copy_say, pot_log_say, pot_list_say, finish_find_say,
    finish_keep_say, finish_name_say, finish_show_say;

static void say_lots(const json_t *toner, struct text *out) {
    size_t i;
    json_t *lot;
    json_array_foreach(json_object_get(toner, "lots"), i, lot) {
        char price[MONEY_TEXT];
        text_add(out, "      lot ");
        text_add_column(out, say_string(lot, "name"), 16);
        text_format(out, " %8.0f g  key %.13s%s%s\n", say_number(lot, "left_g"), say_string(lot, "id"),
                    *say_string(lot, "expires") ? "  until " : "", say_string(lot, "expires"));
        if (!json_is_null(json_object_get(lot, "price_minor_per_kg")))
            text_format(out, "          %s %s a kg\n", money_bare(lot, lot, "price_minor_per_kg", price),
                        say_string(lot, "currency"));
        if (strcmp(say_string(lot, "frost"), "yes") == 0) text_add(out, "          was frozen\n");
        if (json_is_true(json_object_get(lot, "used_up"))) text_add(out, "          used up\n");
    }
}

static void say_toner(const json_t *toner, struct text *out) {
    const double density = say_number(toner, "density_g_ml"), films = say_number(toner, "films"),
                 sd = say_number(toner, "strength_sd");
    text_format(out, "  %-16s ", say_string(toner, "id"));
    text_add_column(out, say_string(toner, "name"), 30);
    if (json_array_size(json_object_get(toner, "lots")))
        text_format(out, " %8.0f g left", say_number(toner, "left_g"));
    else
        text_add(out,
                 "  no lot received"); /* then nobody knows what is left, and match counts it as plenty */
    if (isfinite(density)) text_format(out, "  %.2f g/ml", density);
    text_add(out, "\n");
    const double off = say_number(toner, "fit_de00");
    if (films > 0) text_format(out, "      %.0f films", films);
    if (films > 0 && isfinite(off)) text_format(out, ", %.2f dE00 off on average", off);
    if (isfinite(sd)) text_format(out, "%sstrength sure to %.1f %%", films > 0 ? "; " : "      ", 100 * sd);
    if (films > 0 || isfinite(sd)) text_add(out, "\n");
    say_lots(toner, out);
    if (*say_string(toner, "safety_sheet")) text_add(out, "      its safety data sheet is kept\n");
}

static void say_shelf(const json_t *reply, struct text *out) {
    if (!*say_string(reply, "shelf_at_local")) return;
    text_format(out, "The shelf of %.10s", say_string(reply, "shelf_at_local"));
    if (isfinite(say_number(reply, "films")))
        text_format(out, ", from %.0f films", say_number(reply, "films"));
    text_format(out, "%s%s\n", *say_string(reply, "shelf_words") ? ": " : "",
                say_string(reply, "shelf_words"));
    if (*say_string(reply, "drawdowns"))
        text_format(out, "Its drawdowns: %s, kept on %.10s\n", say_string(reply, "drawdowns"),
                    say_string(reply, "drawdowns_at_local"));
}

void shelf_show_say(const json_t *reply, struct text *out) {
    size_t i;
    json_t *toner;
    say_shelf(reply, out);
    if (json_array_size(json_object_get(reply, "toners")) == 0)
        text_add(out, "The shelf is empty. `russet shelf keep toners.json` puts the toners on it.\n");
    json_array_foreach(json_object_get(reply, "toners"), i, toner) say_toner(toner, out);
    say_notes(reply, out);
}

void shelf_drawdowns_say(const json_t *reply, struct text *out) {
    say_shelf(reply, out);
}

void shelf_copy_say(const json_t *reply, struct text *out) {
    const char *file = say_string(reply, "file"), *name = say_string(reply, "name");
    text_format(out, "Written to %s", file);
    text_format(out, strcmp(file, name) == 0 ? ".\n" : ": %s\n", name);
}

void shelf_keep_say(const json_t *reply, struct text *out) {
    shelf_show_say(reply, out);
}

/* The toner that was dealt with; the others did not change. */
static void say_changed(const json_t *reply, struct text *out) {
    size_t i;
    json_t *toner;
    const char *changed = say_string(reply, "changed");
    json_array_foreach(json_object_get(reply, "toners"), i,
                       toner) if (!*changed || strcmp(say_string(toner, "id"), changed) == 0)
        say_toner(toner, out);
    say_notes(reply, out);
}

void shelf_receive_say(const json_t *reply, struct text *out) {
    say_changed(reply, out);
}

void shelf_count_say(const json_t *reply, struct text *out) {
    say_changed(reply, out);
}

void shelf_sheet_say(const json_t *reply, struct text *out) {
    say_changed(reply, out);
}

static void say_pot(const json_t *pot, struct text *out) {
    text_format(out, "%s  %s\n", say_string(pot, "id"), say_string(pot, "name"));
    say_row(out, "poured", "%.2f g", say_number(pot, "poured_g"));
    say_row(out, "taken", "%.2f g", say_number(pot, "taken_g"));
    if (json_is_true(json_object_get(pot, "crosslinked"))) {
        say_row(out, "crosslinked", "%.10s %.5s", say_string(pot, "crosslinked_at_local"),
                say_string(pot, "crosslinked_at_local") +
                    (strlen(say_string(pot, "crosslinked_at_local")) > 11 ? 11 : 0));
        if (isfinite(say_number(pot, "life_min")))
            say_row(out, "pot life", "%.0f min, %s %.10s %.5s", say_number(pot, "life_min"),
                    json_is_true(json_object_get(pot, "life_over")) ? "OVER since" : "until",
                    say_string(pot, "life_ends_at_local"), say_string(pot, "life_ends_at_local") + 11);
        say_paragraph(out, "  ", "Never seal or keep it: it makes gas.");
    }
    if (json_is_true(json_object_get(pot, "put_back"))) say_row(out, "stands", "on the shelf");
    if (json_is_true(json_object_get(pot, "emptied"))) say_row(out, "stands", "emptied");
    if (*say_string(pot, "taken_back")) say_row(out, "stands", "taken back: its pour was put right");
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
    text_add_column(out, say_string(finish, "name"), 38);
    if (isfinite(de00)) text_format(out, "  dE00 %.2f", de00);
    if (json_is_array(lab))
        text_format(out, "  Lab %.1f %.1f %.1f", json_number_value(json_array_get(lab, 0)),
                    json_number_value(json_array_get(lab, 1)), json_number_value(json_array_get(lab, 2)));
    text_format(out, "\n    %s\n", say_string(finish, "id"));
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

void finish_name_say(const json_t *reply, struct text *out) {
    finish_keep_say(reply, out);
}

static double share_of(const json_t *part, const char **id, const char **name) {
    const bool row = json_is_array(part); /* as a pour sheet's code writes it: id, name, role, share ... */
    *id = row ? json_string_value(json_array_get(part, 0)) : say_string(part, "toner");
    *name = row ? json_string_value(json_array_get(part, 1)) : say_string(part, "name");
    return row ? json_number_value(json_array_get(part, 3)) : say_number(part, "mass_fraction");
}

/* The recipe itself is for pour; people see what is in it, and how to pour it again. */
void finish_show_say(const json_t *reply, struct text *out) {
    size_t i;
    json_t *part;
    const char *name = say_string(reply, "name"), *id, *label;
    const double film = say_number(reply, "film_um");
    if (!json_array_size(json_object_get(reply, "parts"))) {
        say_document(reply, out); /* kept by an older russet */
        return;
    }
    text_format(out, "%s, in 100 g:\n", *name ? name : "The recipe");
    json_array_foreach(json_object_get(reply, "parts"), i, part) {
        const double share = share_of(part, &id, &label);
        text_add(out, "  ");
        text_add_column(out, label && *label ? label : id ? id : "", 30);
        text_format(out, " %8.2f g\n", 100 * share);
    }
    if (isfinite(film)) say_row(out, "made for a film of", "%.0f µm dry", film);
    say_paragraph(
        out, "",
        "Pour it again: this verb with --out again.json writes the recipe, and `russet pour --recipe "
        "again.json --batch-g 60` pours it.");
    say_notes(reply, out);
}

void shelf_toners_say(const json_t *reply, struct text *out) {
    say_document(reply, out);
}
