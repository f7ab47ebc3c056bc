#include "shop/tables.h"
#include "shop/rows.h"

/* Numbers of our own must come in their order, so that the book takes them (quote, invoice). Of the books
 * only those that gave a number, and not which of them is ours: that is for whoever holds it. */
static const struct table tables[] = {
    {"book", "id", "id",
     "id IN (SELECT origin FROM job UNION SELECT origin FROM quote UNION SELECT origin FROM invoice)",
     JOIN_OURS},
    {"tombstone", "id", "id", "1", JOIN_OURS},
    {"setting", "name", "name", "1", JOIN_OURS},
    {"kept_file", "sha256", "sha256", "1", JOIN_OURS},
    {"price_list", "id", "id", "1", JOIN_NEWER},
    {"price", "id", "id", "1", JOIN_LOG},
    {"customer", "id", "id", "1", JOIN_NEWER},
    {"job", "id", "id", "1", JOIN_NEWER},
    {"piece", "id", "id", "1", JOIN_NEWER},
    {"material", "id", "id", "1", JOIN_NEWER},
    {"colour", "id", "id", "1", JOIN_NEWER},
    {"colour_piece", "colour, piece", "colour, piece", "1", JOIN_LOG},
    {"entry", "id", "id", "1", JOIN_LOG},
    {"entry_photograph", "entry, position", "entry, position", "1", JOIN_LOG},
    {"toner", "id", "id", "1", JOIN_NEWER},
    {"lot", "id", "id", "1", JOIN_NEWER},
    {"safety_sheet", "id", "id", "1", JOIN_LOG},
    {"shelf_log", "id", "id", "1", JOIN_LOG},
    {"pot", "id", "id", "1", JOIN_LOG},
    {"pot_event", "id", "at_ms, id", "1", JOIN_LOG},
    {"pour", "id", "id", "1", JOIN_LOG},
    {"stock_move", "id", "id", "1", JOIN_LOG},
    {"coat", "id", "id", "1", JOIN_LOG},
    {"finish", "id", "id", "1", JOIN_NEWER},
    {"quote", "id", "origin, series, number", "1", JOIN_NEWER},
    {"invoice", "id", "origin, series, number", "1", JOIN_LOG},
    {"device", "id", "id", "1", JOIN_NEVER},
};

const struct table *tables_all(size_t *count) {
    *count = sizeof tables / sizeof *tables;
    return tables;
}

const struct table *table_find(const char *name) {
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++)
        if (strcmp(tables[i].name, name) == 0) return &tables[i];
    return NULL;
}

static bool is_json(const char *name) {
    return strcmp(name, "document") == 0 || strcmp(name, "about") == 0 || strcmp(name, "reflectance") == 0;
}

static enum column_type type_of(const char *name, const char *type) {
    if (strcmp(type, "INTEGER") == 0) return COLUMN_WHOLE;
    if (strcmp(type, "REAL") == 0) return COLUMN_REAL;
    return is_json(name) ? COLUMN_JSON : COLUMN_TEXT;
}

/* Whether a book is ours and its turn are of the machine that holds it. */
enum status table_columns(struct book *book, const struct table *table, struct arena *arena,
                          struct column **out, size_t *count, struct fault *fault) {
    struct query q =
        query_make(book,
                   "SELECT name, type, \"notnull\", pk FROM pragma_table_info(?1) WHERE NOT (?1 = "
                   "'book' AND name IN ('own', 'turn')) ORDER BY cid",
                   fault);
    query_text(&q, table->name);
    for (*out = NULL, *count = 0; query_row(&q); ++*count) {
        *out = rows_grow(arena, *out, *count, sizeof **out);
        struct column *column = &(*out)[*count];
        column->name = query_get_text(&q, 0, arena);
        column->type = type_of(column->name, query_get_text(&q, 1, arena));
        column->needed = query_get_count(&q, 2) != 0;
        column->is_key = query_get_count(&q, 3) != 0;
    }
    return query_end(&q);
}
