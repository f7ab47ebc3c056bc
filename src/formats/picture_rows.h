/* Decoded rows to their place in the picture, in linear light and turned as one looks at it. */
#ifndef RUSSET_FORMATS_PICTURE_ROWS_H
#define RUSSET_FORMATS_PICTURE_ROWS_H

#include "formats/picture_wire.h"
#include <stddef.h>

/* Bytes of one row as it comes over the wire; the sides of the picture as it is looked at. */
size_t picture_rows_stride(const struct wire_record *head);
uint32_t picture_rows_width(const struct wire_record *head);
uint32_t picture_rows_height(const struct wire_record *head);

/* Rows y..y+rows-1 of the file, which must be inside; pixels: width * height * 3 values. */
void picture_rows_place(const struct wire_record *head, uint32_t y, uint32_t rows, const void *from,
                        uint16_t *pixels);

#endif
