/* Sentences of the catalogue inside a reply. */
#ifndef RUSSET_FLOW_NOTE_H
#define RUSSET_FLOW_NOTE_H

#include "base/fault.h"
#include <jansson.h>

/* {"id": "...", "text": "..."} */
json_t *word_object(enum word word);
json_t *word_array(const enum word word[], size_t count);
/* Appends the sentence with its arguments (ended by NULL) to reply.notes. */
void note_add(json_t *reply, enum word word, const char *const args[]);
#define NOTE(reply, word, ...) note_add(reply, WORD_##word, (const char *const[]){__VA_ARGS__, NULL})
#define NOTE0(reply, word) note_add(reply, WORD_##word, (const char *const[]){NULL})

#endif
