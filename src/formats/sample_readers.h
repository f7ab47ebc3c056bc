/* Only for this folder: the reader of each format. text->data may be written to; what is kept points into it.
 */
#ifndef RUSSET_FORMATS_SAMPLE_READERS_H
#define RUSSET_FORMATS_SAMPLE_READERS_H

#include "formats/sample_build.h"

bool cgats_is(const struct text_in *text);
enum status cgats_read(struct sample_build *build, struct text_in *text, struct arena *arena,
                       struct fault *fault) MUST_USE;
enum status sample_csv_read(struct sample_build *build, struct text_in *text, struct arena *arena,
                            struct fault *fault) MUST_USE;
enum status cxf3_read(struct sample_build *build, const struct text_in *text, struct arena *arena,
                      struct fault *fault) MUST_USE;
enum status sample_json_read(struct sample_build *build, const struct bytes *bytes, struct arena *arena,
                             struct fault *fault) MUST_USE;

#endif
