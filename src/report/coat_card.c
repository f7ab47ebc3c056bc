/* Layout of the coat card, A5 upright, in millimetres from the top left. Three large figures first (wet film,
 * stroke, flash-off), then a row per coat with its tick box and the clock, what to mind, what to write down,
 * and the cautions at the foot. */
#include "report/coat_card.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double LEFT = 10, RIGHT = 138, WIDTH = 128;
static const double FIGURE_TOP = 30, TABLE_TOP = 56, TABLE_ROOM = 72, FOOT = 203, CAUTION_PT = 6.5;
enum { ROWS_SHOWN_MOST = 15 };

static const char *word(enum word id) {
    return word_sentence(id);
}

/* A sentence with its figures, in the caller's room. */
static const char *told(struct fault *room, enum word id, const char *const args[]) {
    fault_set(room, id, args);
    return room->text;
}
#define TOLD(room, id, ...) told(room, WORD_##id, (const char *const[]){__VA_ARGS__, NULL})

static const char *fixed(char out[40], double x, int digits) {
    snprintf(out, 40, "%.*f", digits, x);
    return out;
}
#define FIXED(x, digits) fixed((char[40]){0}, (x), (digits))

static struct page_type type(double size_pt, bool bold, double grey, enum page_align align) {
    return (struct page_type){.size_pt = size_pt, .bold = bold, .grey = grey, .align = align};
}

static int ml_digits(double ml) {
    return ml < 30 ? 1 : 0;
}

static void draw_head(struct page *page, const struct coat_card *card) {
    char total[40];
    struct page_type title = type(17, true, 0, PAGE_LEFT);
    title.heading = true;
    snprintf(total, sizeof total, "%.*f ml", ml_digits(card->total_ml), card->total_ml);
    page_text(page, LEFT, 12.5, 0, type(7, false, .4, PAGE_LEFT), word(WORD_CARD_KIND));
    page_text(page, LEFT, 19.5, 90, title, card->title);
    page_text(page, LEFT, 24, 90, type(7.5, false, .3, PAGE_LEFT), card->subtitle);
    page_text(page, RIGHT, 12.5, 0, type(7, false, .4, PAGE_RIGHT), word(WORD_CARD_TOTAL));
    page_text(page, RIGHT, 19.5, 36, type(17, true, 0, PAGE_RIGHT), total);
    struct fault each;
    page_text(page, RIGHT, 24, 36, type(7.5, false, .3, PAGE_RIGHT),
              TOLD(&each, CARD_EACH, FIXED(card->coat_ml, ml_digits(card->coat_ml))));
}

/* The plan is drawn for air that says wait: that stands above all of it. */
static void draw_wait(struct page *page, const struct coat_card *card) {
    struct fault line;
    if (!card->has_air || card->air_go) return;
    TOLD(&line, CARD_NOT_NOW, FIXED(card->margin_k, 1), FIXED(card->drying_index, 2));
    page_text(page, LEFT, 28.4, WIDTH, type(9, true, 0, PAGE_LEFT), line.text);
}

/* A large figure under its label, with a small line below. */
static void draw_figure(struct page *page, double x, enum word label, const char *figure, const char *below) {
    page_text(page, x, FIGURE_TOP + 2, 40, type(7, false, .4, PAGE_LEFT), word(label));
    page_text(page, x, FIGURE_TOP + 11, 40, type(21, true, 0, PAGE_LEFT), figure);
    page_text(page, x, FIGURE_TOP + 15.5, 41, type(7, false, .2, PAGE_LEFT), below);
}

static void minutes_text(char *out, size_t n, double seconds) {
    const long s = lround(seconds);
    snprintf(out, n, s >= 3600 ? "%ld:%02ld h" : "%ld:%02ld min", s >= 3600 ? s / 3600 : s / 60,
             s >= 3600 ? s / 60 % 60 : s % 60);
}

static void draw_figures(struct page *page, const struct coat_card *card) {
    char figure[60];
    struct fault below;
    snprintf(figure, sizeof figure, "%zu \u00d7 %.0f \u00b5m", card->row_count, card->wet_um);
    draw_figure(page, LEFT, WORD_CARD_WET, figure, TOLD(&below, CARD_DRY_EACH, FIXED(card->dry_um, 1)));
    const double flash_s = card->row_count ? card->row[0].flash_s : 0;
    minutes_text(figure, sizeof figure, flash_s);
    const char *drying = TOLD(&below, CARD_DRYING, FIXED(card->drying_index, 2));
    draw_figure(page, LEFT + 44, WORD_CARD_FLASH, flash_s > 0 ? figure : "-",
                card->has_air ? drying : word(WORD_CARD_AIR_USUAL));
    if (!card->has_gun) return;
    snprintf(figure, sizeof figure, "%.1f s", card->stroke_s);
    draw_figure(page, LEFT + 88, WORD_CARD_STROKE, figure,
                TOLD(&below, CARD_STROKES, COUNT_TEXT(card->strokes), FIXED(card->step_mm, 0),
                     FIXED(card->speed_m_s, 2)));
}

static void draw_gun(struct page *page, const struct coat_card *card) {
    struct fault line;
    if (!card->has_gun) return;
    TOLD(&line, CARD_GUN, FIXED(card->flow_ml_min, 0), FIXED(card->fan_mm, 0), FIXED(100 * card->overlap, 0),
         FIXED(card->distance_low_mm, 0), FIXED(card->distance_high_mm, 0));
    page_text(page, LEFT, FIGURE_TOP + 20.5, WIDTH, type(7.5, false, .2, PAGE_LEFT), line.text);
}

static void draw_table_head(struct page *page, double y) {
    const struct page_type small = type(7, false, .4, PAGE_LEFT);
    page_text(page, LEFT + 6, y, 0, small, word(WORD_CARD_COAT));
    page_text(page, LEFT + 22, y, 0, small, word(WORD_CARD_START));
    page_text(page, LEFT + 50, y, 0, small, word(WORD_CARD_WAIT));
    page_text(page, LEFT + 98, y, 0, type(7, false, .4, PAGE_RIGHT), word(WORD_CARD_FILM));
    page_line(page, LEFT, y + 2, RIGHT, y + 2, .4, 0);
}

/* What is special about this coat: it hides, or a fresh pot is mixed before it. */
static void draw_remark(struct page *page, double y, const struct coat_card *card, size_t i) {
    struct fault remark;
    const struct coat_card_row *row = &card->row[i];
    const bool new_pot = row->pot > 1 && i > 0 && card->row[i - 1].pot != row->pot;
    const struct page_type small = type(7.5, true, 0, PAGE_RIGHT);
    if (row->hides_first) page_text(page, RIGHT, y + (new_pot ? -1.4 : .9), 28, small, word(WORD_CARD_HIDES));
    if (!new_pot) return;
    page_text(page, RIGHT, y + (row->hides_first ? 1.9 : .9), 28, small,
              TOLD(&remark, CARD_NEW_POT, COUNT_TEXT(row->pot)));
}

static void draw_row(struct page *page, double top, double height, const struct coat_card *card, size_t i) {
    char text[60];
    const struct coat_card_row *row = &card->row[i];
    const double y = top + height / 2, size_pt = fmin(13, height * 1.8);
    const double side = fmin(4, height * .7);
    page_tick_box(page, LEFT, y - side / 2, side);
    snprintf(text, sizeof text, "%zu", i + 1);
    page_text(page, LEFT + 7, y + 1.6, 12, type(size_pt, true, 0, PAGE_LEFT), text);
    minutes_text(text, sizeof text, row->start_s);
    page_text(page, LEFT + 22, y + 1.6, 26, type(size_pt, true, 0, PAGE_LEFT),
              *row->start ? row->start : text);
    minutes_text(text, sizeof text, row->flash_s);
    page_text(page, LEFT + 50, y + 1.6, 26, type(size_pt * .8, false, 0, PAGE_LEFT),
              row->flash_s > 0 ? text : word(WORD_CARD_LAST));
    snprintf(text, sizeof text, "%.1f \u00b5m", row->film_um);
    page_text(page, LEFT + 98, y + 1.6, 22, type(size_pt * .8, false, 0, PAGE_RIGHT), text);
    draw_remark(page, y + .7, card, i);
    page_line(page, LEFT, top + height, RIGHT, top + height, .1, .7);
}

/* Coats beyond what fits are all alike and told in one line. Returns where the next thing may start. */
static double draw_table(struct page *page, const struct coat_card *card) {
    const size_t shown = card->row_count > ROWS_SHOWN_MOST ? ROWS_SHOWN_MOST : card->row_count;
    const double top = TABLE_TOP + 2.5, height = fmin(8.5, TABLE_ROOM / (double)(shown ? shown : 1));
    draw_table_head(page, TABLE_TOP);
    for (size_t i = 0; i < shown; i++) draw_row(page, top + height * (double)i, height, card, i);
    double y = top + height * (double)shown + 4;
    if (shown < card->row_count) {
        struct fault more;
        TOLD(&more, CARD_AND_SO_ON, COUNT_TEXT(card->row_count));
        page_text(page, LEFT, y, WIDTH, type(8, true, 0, PAGE_LEFT), more.text);
        y += 4;
    }
    return y;
}

static double draw_pot(struct page *page, const struct coat_card *card, double y) {
    if (isnan(card->pot_life_s)) return y;
    struct fault line;
    char life[40];
    minutes_text(life, sizeof life, card->pot_life_s);
    const bool has_clock = card->first_pot_ends[0] != 0;
    told(&line, has_clock ? WORD_CARD_POT_CLOCK : WORD_CARD_POT,
         (const char *const[]){life, card->first_pot_ends, NULL});
    page_text(page, LEFT, y + 1, WIDTH, type(9, true, 0, PAGE_LEFT), line.text);
    return y + 5;
}

/* Lines to write on: what was measured goes into the next plan. */
static double draw_blanks(struct page *page, double y) {
    static const enum word blank[] = {WORD_CARD_BLANK_AIR, WORD_CARD_BLANK_FILM, WORD_CARD_BLANK_GLOSS};
    for (size_t i = 0; i < sizeof blank / sizeof blank[0]; i++) {
        const double x = LEFT + 43.5 * (double)i;
        page_text(page, x, y + 1, 40, type(7, false, .3, PAGE_LEFT), word(blank[i]));
        page_line(page, x, y + 7.5, x + 41, y + 7.5, .2, .4);
    }
    return y + 11;
}

struct points {
    const char *const *line;
    size_t count, drawn;
};

static double points_height(struct page *page, double size_pt, const struct points *points) {
    double height = 0;
    for (size_t i = points->drawn; i < points->count; i++)
        height += .6 + page_paragraph_height(page, WIDTH - 2.5, type(size_pt, false, .1, PAGE_LEFT),
                                             points->line[i]);
    return height;
}

/* Lines from the next one on that is not drawn yet, each only when it fits whole. */
static double draw_points(struct page *page, double y, double foot, double size_pt, struct points *points) {
    for (; points->drawn < points->count; points->drawn++) {
        const char *line = points->line[points->drawn];
        const struct points one = {&points->line[points->drawn], 1, 0};
        if (points_height(page, size_pt, &one) > foot - y) break;
        page_box(page, LEFT, y + .9, (struct page_size){1, 1}, 0);
        y += .6 + page_paragraph(page, LEFT + 2.5, y, (struct page_size){WIDTH - 2.5, foot - y},
                                 type(size_pt, false, .1, PAGE_LEFT), line);
    }
    return y;
}

/* Notes that found no room on the card: a second sheet in a PDF. */
static void draw_rest(struct page *page, const struct coat_card *card, struct points *notes) {
    struct page_type head = type(12, true, 0, PAGE_LEFT);
    head.heading = true;
    page_next(page);
    page_text(page, LEFT, 15, WIDTH, head, card->title);
    draw_points(page, 20, FOOT, 9, notes);
}

enum status coat_card_draw(const struct coat_card *card, enum page_kind kind, struct text *out,
                           struct fault *fault) {
    struct points notes = {card->note, card->note_count, 0},
                  cautions = {card->caution, card->caution_count, 0};
    struct page *page = page_new(kind, PAGE_A5, card->title);
    draw_head(page, card);
    draw_wait(page, card);
    draw_figures(page, card);
    draw_gun(page, card);
    double y = draw_pot(page, card, draw_table(page, card));
    y = draw_blanks(page, y);
    const double room = points_height(page, CAUTION_PT, &cautions) + 2; /* notes take what cautions leave */
    y = draw_points(page, y, FOOT + 4 - room, 7, &notes) + 1.5;
    page_line(page, LEFT, y - .8, RIGHT, y - .8, .2, .4);
    draw_points(page, y, FOOT + 4, CAUTION_PT, &cautions);
    if (notes.drawn < notes.count && kind == PAGE_PDF) draw_rest(page, card, &notes);
    return page_finish(page, out, fault);
}
