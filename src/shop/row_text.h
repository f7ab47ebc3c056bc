/* A row of a table as one line of JSON, and back. Columns in the table's order; a document stands in it as
 * JSON, not as a text of JSON. */
#ifndef RUSSET_SHOP_ROW_TEXT_H
#define RUSSET_SHOP_ROW_TEXT_H

#include "base/text.h"
#include "shop/tables.h"
#include <jansson.h>

/* All rows of the export, in its order; the statement's columns are those of table_columns. */
struct query row_text_query(struct book *book, const struct table *table, const struct column *column,
                            size_t count, struct fault *fault);
/* Appends the current row and a line end. */
void row_text_add(const struct query *query, const struct column *column, size_t count, struct text *out);

/* Binds the values of a row that came, in the order of the columns. INPUT with the file and the line when one
 * is of the wrong type, missing, or not known. */
enum status row_text_bind(struct query *query, const json_t *row, const struct column *column, size_t count,
                          const char *file, size_t line, struct fault *fault) MUST_USE;

#endif
