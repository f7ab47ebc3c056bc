/* A photograph from a file. JPEG, PNG, TIFF, HEIC, DNG and the raw kinds that LibRaw reads; told by content,
 * never by name. A stranger's bytes are decoded in a process of their own (russet-decode: resource limits,
 * seccomp, no files, no network); whatever becomes of it is one sentence here (docs/pictures.md). */
#ifndef RUSSET_FLOW_PICTURE_FLOW_H
#define RUSSET_FLOW_PICTURE_FLOW_H

#include "flow/operation.h"
#include "formats/picture_out.h"
#include "surface/picture.h"

/* Reads the photograph at path ("-" is standard input). INPUT: no such file, no photograph, too large,
 * damaged, or the decoder was ended by it; MACHINE: no decoder, no memory. On success the caller ends it with
 * picture_free; a note about what was assumed is in out->note. */
enum status picture_load(const struct surroundings *around, const char *path, struct picture *out,
                         struct fault *fault) MUST_USE;
/* The photograph made small for looking (formats/picture_out.h): its longer side is at most longest pixels,
 * or a little more than half of that. Rows are added up as they come, so that it takes a few MiB for any
 * photograph. In around->arena. */
enum status picture_load_small(const struct surroundings *around, const char *path, int longest,
                               struct screen_picture *out, int *step, struct fault *fault) MUST_USE;
/* Gives the memory back; NULL and a picture that was never loaded are fine. */
void picture_free(struct picture *picture);
/* The note, when there is one, goes to object.notes, with the photograph's name before it. */
void picture_add_note(const struct picture *picture, json_t *object);

#endif
