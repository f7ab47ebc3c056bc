/* Where a colour comes from on a command line: FILE, FILE#SAMPLE_ID, "-" (standard input), "-#SAMPLE_ID" or
 * --lab=L,a,b. */
#ifndef RUSSET_FLOW_PLACE_H
#define RUSSET_FLOW_PLACE_H

#include "colour/repeats.h"
#include "flow/operation.h"
#include "formats/sample_file.h"
#include "paint/toner.h"

/* What stands at a place: the sample named behind '#', or every sample of the file. A literal file name wins
 * over FILE#ID. */
struct place {
    const char *text;               /* as given */
    const char *name;               /* of the file, for messages; "--lab" for a Lab value */
    const struct sample_file *file; /* NULL for a Lab value */
    size_t count;
    const struct reading *reading;
};

/* One reading: the robust mean of what stands at the place (repeats of one spot). geometry: assumed when the
 * file does not say, and picked when it holds several. The text "--lab=L,a,b" is a place too, so that
 * `--target --lab=50,10,20` works. */
enum status place_read(const struct surroundings *around, const char *text, enum geometry geometry,
                       struct reading *out, struct fault *fault) MUST_USE;
/* The same; what was assumed about the file and which repeats were left out is added to reply as notes. */
enum status place_read_noted(const struct surroundings *around, const char *text, enum geometry geometry,
                             json_t *reply, struct reading *out, struct fault *fault) MUST_USE;
/* "L,a,b" under D65/10. */
enum status place_from_lab(const double *lab, size_t count, struct reading *out,
                           struct fault *fault) MUST_USE;
/* Reads a shelf (kind `toners`). */
enum status place_read_shelf(const struct surroundings *around, const char *path, struct shelf *out,
                             struct fault *fault) MUST_USE;

/* The steps of place_read, for those who show them. All memory is the arena's. */
enum status place_open(const struct surroundings *around, const char *text, enum geometry geometry,
                       struct place *out, struct fault *fault) MUST_USE;
void place_add_notes(const struct place *place, json_t *reply);
/* The value of --geometry; unknown when it was left out. */
enum geometry place_geometry(const struct request *request);
/* The name of the mean of several: the file's, without folder and ending. */
void place_name_after_file(const char *path, char id[64]);
/* A note for each repeat that was left out. */
void place_note_rejected(const struct place *place, const struct repeats *repeats, json_t *reply);

/* Why a repeat was left out, as a sentence. */
void place_say_why(const struct repeat_rejected *rejected, struct fault *why);

#endif
