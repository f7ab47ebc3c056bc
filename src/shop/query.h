/* One SQL statement, for the stores alone. Errors stick: bind, step and read without looking, query_end
 * tells.
 *
 *     struct query q = query_make(book, "SELECT name FROM toner WHERE id = ?", fault);
 *     query_text(&q, id);                                  binds the next '?'
 *     while (query_row(&q)) use(query_get_text(&q, 0, arena));
 *     return query_end(&q);
 */
#ifndef RUSSET_SHOP_QUERY_H
#define RUSSET_SHOP_QUERY_H

#include "shop/book.h"
#include <sqlite3.h>

struct query {
    struct book *book;
    sqlite3_stmt *statement;
    struct fault *fault;
    enum status status;
    int bound;
};

struct query query_make(struct book *book, const char *sql, struct fault *fault);
void query_text(struct query *query, const char *value); /* NULL is null */
void query_count(struct query *query, long long value);
void query_number(struct query *query, double value); /* NAN is null */
void query_null(struct query *query);
bool query_row(struct query *query);
enum status query_end(struct query *query) MUST_USE;
/* Runs a statement without rows; begins with query_make and what it needs bound. */
enum status query_run(struct query *query) MUST_USE;
/* Binds from the first '?' again. */
void query_again(struct query *query);

const char *query_get_text(const struct query *query, int column, struct arena *arena); /* "" for null */
const char *query_get_text_or_null(const struct query *query, int column, struct arena *arena);
void query_get_id(const struct query *query, int column, char id[ID_LENGTH + 1]);
long long query_get_count(const struct query *query, int column); /* 0 for null */
double query_get_number(const struct query *query, int column);   /* NAN for null */
bool query_is_null(const struct query *query, int column);

/* Statements without values, parted by ';'. */
enum status query_script(struct book *book, const char *sql, struct fault *fault) MUST_USE;

sqlite3 *book_database(const struct book *book);
void book_need_pen(const struct book *book); /* asserts that the caller holds the pen */
/* The sentence for what SQLite just said. */
enum status book_fault(struct book *book, int code, struct fault *fault);
enum status book_fault_of(sqlite3 *database, int code, const char *file, struct fault *fault);

#endif
