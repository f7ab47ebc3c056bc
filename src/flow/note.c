#include "flow/note.h"
#include "formats/json_out.h"

json_t *word_object(enum word word) {
    char key[80];
    json_t *object = json_object();
    word_key(word, key, sizeof key);
    json_put_text(object, "id", key);
    json_put_text(object, "text", word_sentence(word));
    return object;
}

json_t *word_array(const enum word word[], size_t count) {
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++) json_array_append_new(array, word_object(word[i]));
    return array;
}

void note_add(json_t *reply, enum word word, const char *const args[]) {
    struct fault note;
    fault_set(&note, word, args);
    json_add_note(reply, &note);
}
