#include "shop/import.h"
#include "formats/json_in.h"
#include "shop/photographs.h"
#include "shop/row_text.h"
#include "shop/rows.h"
#include "shop/scrub.h"
#include "shop/zip_in.h"
#include <stdio.h>
#include <string.h>

enum { PICTURES_NAMED = 9 }; /* "pictures/" */

/* One import at work. */
struct importer {
    struct book *book;
    struct zip_in *zip;
    struct arena *arena;
    struct work *work;
    struct imported *out;
    const char *path;
    json_t *manifest;
    long long last_own; /* the last photograph that was here before: what we lost is not the import's fault */
    struct kept *kept;  /* the pictures that came */
    size_t kept_count;
};
struct kept {
    char sha256[SHA256_TEXT];
    struct photograph_kind kind;
};

/* One table at work: its statement is made once. */
struct join {
    struct importer *importer;
    const struct table *table;
    struct column *column;
    size_t count;
    struct query insert, renew, reveal; /* reveal: of customers alone */
    const char *file;
};

static bool is_table_name(const char *name) {
    char table[60];
    if (sscanf(name, "rows/%50[a-z_].jsonl", table) != 1) return false;
    const struct table *found = table_find(table);
    return found && found->join != JOIN_NEVER && strlen(name) == strlen(table) + 11;
}

static bool is_picture_name(const char *name) {
    char sha256[SHA256_TEXT];
    if (!text_starts(name, "pictures/")) return false;
    snprintf(sha256, sizeof sha256, "%.64s", name + PICTURES_NAMED);
    return sha256_is_good(sha256) && name[PICTURES_NAMED + 64] == '.';
}

static bool is_for_people(const char *name) {
    return !strchr(name, '/') &&
           (text_ends_ignoring_case(name, ".csv") || text_ends_ignoring_case(name, ".cgats") ||
            strcmp(name, "russet.json") == 0);
}

static enum status check_names(const struct importer *importer, struct fault *fault) {
    for (size_t i = 0; i < zip_in_count(importer->zip); i++) {
        const char *name = zip_in_name(importer->zip, i);
        if (!is_table_name(name) && !is_picture_name(name) && !is_for_people(name))
            return FAULT(fault, ZIP_NAME, importer->path, name);
    }
    return STATUS_OK;
}

static enum status check_manifest(struct importer *importer, struct fault *fault) {
    struct bytes bytes;
    json_t *manifest = NULL;
    double schema;
    if (!zip_in_has(importer->zip, "russet.json")) return FAULT(fault, IMPORT_NOT_ONE, importer->path);
    enum status status = zip_in_read(importer->zip, "russet.json", 1, importer->arena, &bytes, fault);
    if (status == STATUS_OK) status = json_read(&bytes, &manifest, fault);
    if (status == STATUS_OK) status = json_check_kind(manifest, "shop-export", bytes.name, fault);
    const struct json_place place = {"russet.json", ""};
    if (status == STATUS_OK) status = json_get_number(manifest, "schema", 1, 1e6, place, &schema, fault);
    if (status == STATUS_OK && schema > BOOK_SCHEMA)
        status =
            FAULT(fault, BOOK_NEWER, importer->path, COUNT_TEXT((long long)schema), COUNT_TEXT(BOOK_SCHEMA));
    importer->manifest = manifest;
    return status;
}

static void note_kept(struct importer *importer, const char *sha256, const struct photograph_kind *kind) {
    importer->kept = rows_grow(importer->arena, importer->kept, importer->kept_count, sizeof *importer->kept);
    struct kept *kept = &importer->kept[importer->kept_count++];
    memcpy(kept->sha256, sha256, SHA256_TEXT);
    kept->kind = *kind;
}

/* The files come first, under the pen, so that no row names one that is not there; what no row names in the
 * end is swept. None of them lies in memory whole. */
static enum status keep_picture(struct importer *importer, const char *name, struct fault *fault) {
    struct zip_member *member;
    struct photograph_kind kind;
    struct fault here = {0};
    char sha256[SHA256_TEXT];
    snprintf(sha256, sizeof sha256, "%.64s", name + PICTURES_NAMED);
    enum status status = zip_in_member(importer->zip, name, &member, fault);
    if (status != STATUS_OK) return status;
    status = photographs_keep_fed(importer->book, zip_member_feed, member, name, sha256, &kind, &here);
    zip_member_close(member);
    if (status == STATUS_OK) note_kept(importer, sha256, &kind);
    importer->out->photographs++;
    if (here.word == WORD_PHOTOGRAPH_CHANGED) return FAULT(fault, IMPORT_PICTURE, importer->path, name);
    if (here.word == WORD_FILE_READ_FAILED) return FAULT(fault, ZIP_BROKEN, importer->path, name);
    if (status != STATUS_OK && fault) *fault = here;
    return status;
}

static enum status keep_pictures(struct importer *importer, struct fault *fault) {
    enum status status = STATUS_OK;
    for (size_t i = 0; status == STATUS_OK && i < zip_in_count(importer->zip); i++) {
        const char *name = zip_in_name(importer->zip, i);
        if (is_picture_name(name)) status = keep_picture(importer, name, fault);
        work_report(importer->work, 0.5 * (double)i / (double)zip_in_count(importer->zip));
        if (status == STATUS_OK && work_is_cancelled(importer->work)) status = FAULT0(fault, CANCELLED);
    }
    return status;
}

/* "INSERT INTO t (a, b) VALUES (?1, ?2) ON CONFLICT (key) DO NOTHING RETURNING 1" */
static void write_insert(const struct join *join, struct text *sql) {
    const bool book = strcmp(join->table->name, "book") == 0;
    text_format(sql, "INSERT INTO %s (", join->table->name);
    for (size_t i = 0; i < join->count; i++) text_format(sql, "%s%s", i ? ", " : "", join->column[i].name);
    text_add(sql, book ? ", own) VALUES (" : ") VALUES (");
    for (size_t i = 0; i < join->count; i++) text_format(sql, "%s?%zu", i ? ", " : "", i + 1);
    text_format(sql, "%s ON CONFLICT (%s) DO NOTHING RETURNING 1", book ? ", 0)" : ")", join->table->key);
}

static size_t place_of(const struct join *join, const char *name) {
    for (size_t i = 0; i < join->count; i++)
        if (strcmp(join->column[i].name, name) == 0) return i + 1;
    return 0;
}

/* Later wins; what was erased here or accepted here stays. */
static void write_renew(const struct join *join, struct text *sql) {
    const bool customer = strcmp(join->table->name, "customer") == 0;
    const bool quote = strcmp(join->table->name, "quote") == 0;
    bool first = true;
    text_format(sql, "UPDATE %s SET ", join->table->name);
    for (size_t i = 0; i < join->count; i++) {
        if (join->column[i].is_key || (quote && strstr("job origin series number", join->column[i].name)))
            continue;
        text_format(sql, "%s%s = ?%zu", first ? "" : ", ", join->column[i].name, i + 1);
        first = false;
    }
    text_format(sql, " WHERE %s = ?%zu AND changed_ms < ?%zu%s RETURNING 1", join->table->key,
                place_of(join, join->table->key), place_of(join, "changed_ms"),
                customer ? " AND erased_ms IS NULL"
                : quote  ? " AND accepted_ms IS NULL"
                         : "");
}

/* A customer who was erased here and is known there: what is looked for in the rows that come must be known
 * until the end of this transaction, which erases again. */
static void write_reveal(const struct join *join, struct text *sql) {
    text_format(
        sql,
        "UPDATE customer SET name = ?%zu, telephone = ?%zu, email = ?%zu, address = ?%zu, erased_ms = "
        "NULL WHERE id = ?%zu AND ?%zu IS NULL AND id IN (SELECT id FROM tombstone) RETURNING 1",
        place_of(join, "name"), place_of(join, "telephone"), place_of(join, "email"),
        place_of(join, "address"), place_of(join, "id"), place_of(join, "erased_ms"));
}

static enum status prepare(struct join *join, struct fault *fault) {
    static void (*const writers[])(const struct join *, struct text *) = {write_insert, write_renew,
                                                                          write_reveal};
    struct query *const queries[] = {&join->insert, &join->renew, &join->reveal};
    const bool needed[] = {true, join->table->join == JOIN_NEWER, strcmp(join->table->name, "customer") == 0};
    enum status status = table_columns(join->importer->book, join->table, join->importer->arena,
                                       &join->column, &join->count, fault);
    for (size_t i = 0; status == STATUS_OK && i < 3; i++) {
        struct text sql = {0};
        if (!needed[i]) continue;
        writers[i](join, &sql);
        *queries[i] = query_make(join->importer->book, sql.data, fault);
        status = queries[i]->status;
        text_free(&sql);
    }
    return status;
}

static enum status put(struct join *join, struct query *query, const json_t *row, size_t number, bool *done,
                       struct fault *fault) {
    query_again(query);
    enum status status = row_text_bind(query, row, join->column, join->count, join->file, number, fault);
    *done = status == STATUS_OK && query_row(query);
    while (status == STATUS_OK && query_row(query)) {
    }
    return status == STATUS_OK ? query->status : status;
}

static enum status put_row(struct join *join, const json_t *row, size_t number, struct fault *fault) {
    struct imported *out = join->importer->out;
    bool added, renewed = false, revealed;
    enum status status = put(join, &join->insert, row, number, &added, fault);
    if (status == STATUS_OK && !added && join->table->join == JOIN_NEWER)
        status = put(join, &join->renew, row, number, &renewed, fault);
    if (status == STATUS_OK && !added && join->reveal.statement)
        status = put(join, &join->reveal, row, number, &revealed, fault);
    if (status != STATUS_OK) return status;
    if (added)
        out->added++;
    else if (renewed)
        out->renewed++;
    else
        out->kept++;
    return status;
}

/* Keys may come to stand in names of files and in addresses: they are what this program makes, no more. */
static enum status check_key(const struct join *join, const json_t *row, size_t number, struct fault *fault) {
    const char *id = json_string_value(json_object_get(row, "id"));
    if (!id || strcmp(join->table->name, "toner") == 0 || id_is_good(id)) return STATUS_OK;
    return FAULT(fault, IMPORT_VALUE, join->file, COUNT_TEXT((long long)number), "id");
}

static enum status take_line(void *to, const char *line, size_t size, size_t number, struct fault *fault) {
    struct join *join = to;
    json_error_t error;
    json_t *row = json_loadb(line, size, JSON_REJECT_DUPLICATES, &error);
    if (!row) return FAULT(fault, IMPORT_LINE, join->file, COUNT_TEXT((long long)number));
    enum status status = check_key(join, row, number, fault);
    if (status == STATUS_OK) status = put_row(join, row, number, fault);
    json_decref(row);
    if (status == STATUS_OK && work_is_cancelled(join->importer->work)) status = FAULT0(fault, CANCELLED);
    return status;
}

static enum status join_table(struct importer *importer, const struct table *table, struct fault *fault) {
    char file[80];
    snprintf(file, sizeof file, "rows/%s.jsonl", table->name);
    struct join join = {.importer = importer, .table = table, .file = file};
    if (!zip_in_has(importer->zip, file)) return STATUS_OK; /* an older version had no such table */
    enum status status = prepare(&join, fault);
    if (status == STATUS_OK) status = zip_in_lines(importer->zip, file, take_line, &join, fault);
    const enum status ended[] = {query_end(&join.insert), query_end(&join.renew), query_end(&join.reveal)};
    for (size_t i = 0; status == STATUS_OK && i < 3; i++) status = ended[i];
    return status;
}

/* Tombstones come early: whoever is known here and was erased there is erased while the name is still known.
 */
static enum status bury_first(struct importer *importer, const struct table *table, struct fault *fault) {
    if (strcmp(table->name, "tombstone") != 0) return STATUS_OK;
    return erase_tombstoned(importer->book, &importer->out->erased, fault);
}

static enum status join_tables(struct importer *importer, struct fault *fault) {
    size_t count;
    const struct table *table = tables_all(&count);
    enum status status = query_script(importer->book, "PRAGMA defer_foreign_keys = ON", fault);
    for (size_t i = 0; status == STATUS_OK && i < count; i++) {
        if (table[i].join != JOIN_NEVER) status = join_table(importer, &table[i], fault);
        if (status == STATUS_OK) status = bury_first(importer, &table[i], fault);
        work_report(importer->work, 0.5 + 0.5 * (double)i / (double)count);
    }
    return status;
}

static bool was_lost_before(const struct importer *importer, const char *sha256) {
    const json_t *lost = json_object_get(importer->manifest, "lost_photographs");
    for (size_t i = 0; i < json_array_size(lost); i++) {
        const char *name = json_string_value(json_array_get(lost, i));
        if (name && strcmp(name, sha256) == 0) return true;
    }
    return false;
}

/* A photograph that a row names and the file lacked would make a book that cannot pass its own check; where
 * the other shop says that it had lost it, the rest is not held back for that. */
static enum status check_pictures(struct importer *importer, struct fault *fault) {
    struct query q = query_make(importer->book, "SELECT sha256, size FROM kept_file WHERE rowid > ?", fault);
    query_count(&q, importer->last_own);
    enum status status = STATUS_OK;
    while (status == STATUS_OK && query_row(&q)) {
        struct arena *own = arena_new();
        const char *sha256 = query_get_text(&q, 0, own);
        const bool has = photographs_has(importer->book, sha256, (size_t)query_get_count(&q, 1));
        if (!has && was_lost_before(importer, sha256))
            importer->out->lost++;
        else if (!has)
            status = FAULT(fault, IMPORT_PICTURE_MISSING, importer->path, sha256);
        arena_free(own);
    }
    const enum status ended = query_end(&q);
    return status == STATUS_OK ? ended : status;
}

/* What a picture is is told by its bytes, not by the row that came with it. */
static enum status settle_pictures(struct importer *importer, struct fault *fault) {
    enum status status = STATUS_OK;
    for (size_t i = 0; status == STATUS_OK && i < importer->kept_count; i++) {
        const struct kept *kept = &importer->kept[i];
        status =
            photographs_settle_row(importer->book, kept->sha256, kept->kind.media, kept->kind.size, fault);
    }
    return status;
}

static enum status find_last_own(struct importer *importer, struct fault *fault) {
    struct query q = query_make(importer->book, "SELECT coalesce(max(rowid), 0) FROM kept_file", fault);
    while (query_row(&q)) importer->last_own = query_get_count(&q, 0);
    return query_end(&q);
}

static enum status join_all(struct importer *importer, struct fault *fault) {
    enum status status = find_last_own(importer, fault);
    if (status == STATUS_OK) status = keep_pictures(importer, fault);
    if (status == STATUS_OK) status = join_tables(importer, fault);
    if (status == STATUS_OK) status = settle_pictures(importer, fault);
    if (status == STATUS_OK) status = check_pictures(importer, fault);
    return status == STATUS_OK ? erase_tombstoned(importer->book, &importer->out->erased, fault) : status;
}

/* What an import that failed has left lies in no row. */
static void sweep(struct book *book) {
    struct fault ignored;
    size_t removed;
    if (photographs_tidy(book, &removed, &ignored) != STATUS_OK) return; /* the next check finds them */
}

enum status import_read(struct book *book, const char *path, struct work *work, struct imported *out,
                        struct fault *fault) {
    *out = (struct imported){0};
    struct importer importer = {.book = book, .arena = arena_new(), .work = work, .out = out, .path = path};
    enum status status = zip_in_open(path, &importer.zip, fault);
    if (status == STATUS_OK) status = check_names(&importer, fault);
    if (status == STATUS_OK) status = check_manifest(&importer, fault);
    const bool sound = status == STATUS_OK;
    if (status == STATUS_OK) status = book_begin(book, fault);
    if (status == STATUS_OK) status = book_end(book, join_all(&importer, fault), fault);
    if (sound) sweep(book);
    if (status == STATUS_OK) status = scrub_finish(book, fault);
    json_decref(importer.manifest);
    zip_in_close(importer.zip);
    arena_free(importer.arena);
    return status;
}
