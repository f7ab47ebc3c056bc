/* card.json, and the places of a photographed sheet: what is read lies on the card and is written and read
 * again as the same card. */
#include "formats/card_json.h"
#include "formats/json_out.h"
#include "formats/photo_spots.h"
#include "fuzz_help.h"
#include "mutate.h"

static void must_be_card(const struct photo_card *card) {
    MUST(card->tags >= 0 && card->tags <= CARD_TAGS_MOST && card->patches <= CARD_PATCHES_MOST);
    MUST(card->places <= CARD_PLACES_MOST && card->patches + card->places > 0);
    for (int i = 0; i < card->patches; i++) {
        const struct photo_patch *p = &card->patch[i];
        MUST(p->id[0] && p->size_mm > 0 && p->role < PATCH_ROLE_COUNT);
        for (int k = 0; k < 2; k++) MUST(p->center_mm[k] >= 0 && p->center_mm[k] <= card->size_mm[k]);
        MUST(p->known == KNOWN_NOT || (isfinite(p->lab.l) && isfinite(p->lab.a) && isfinite(p->lab.b)));
    }
    for (int i = 0; i < card->tags; i++) MUST(card->tag[i].id >= 0 && card->tag[i].id <= CARD_TAG_LAST);
    for (int i = 0; i < card->places; i++)
        MUST(card->place[i].parts >= 0 && card->place[i].parts <= CARD_PARTS_MOST);
}

static void read_spots(const struct bytes *bytes, struct arena *arena) {
    struct photo_spot *spot;
    struct fault fault = {0};
    size_t count = 0;
    if (!photo_spots_are_here(bytes)) return;
    const enum status status = photo_spots_read(bytes, arena, &spot, &count, &fault);
    if (status != STATUS_OK) {
        must_be_sentence(status, &fault);
        return;
    }
    for (size_t i = 0; i < count; i++)
        for (int k = 0; k < 3; k++) MUST(spot[i].cov[k][k] > 0 && isfinite(spot[i].lab.l));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct arena *arena = arena_new();
    struct fault fault = {0};
    struct photo_card *card, *again;
    const struct bytes bytes = {data, size, "f"};
    read_spots(&bytes, arena);
    const enum status status = card_read(&bytes, arena, &card, &fault);
    if (status != STATUS_OK) {
        must_be_sentence(status, &fault);
    } else {
        must_be_card(card);
        struct text text = {0};
        json_t *object = json_start("card");
        card_put(object, card);
        MUST(json_finish(object, &text, &fault) == STATUS_OK);
        const struct bytes written = {(const unsigned char *)text.data, text.length, "f"};
        MUST(card_read(&written, arena, &again, &fault) == STATUS_OK && again->patches == card->patches);
        json_decref(object);
        text_free(&text);
    }
    arena_free(arena);
    return 0;
}

MUTATE_BY(mutate_json);
CROSS_JSON;
