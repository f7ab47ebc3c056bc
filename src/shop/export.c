#include "shop/export.h"
#include "formats/json_out.h"
#include "shop/export_people.h"
#include "shop/photographs.h"
#include "shop/row_text.h"
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zip.h>

enum { CHUNK = 256 * 1024 };

/* One export at work. Everything that is read belongs to one moment (book_look). */
struct exporter {
    struct book *book;
    struct arena *arena;
    struct fault *fault;
    zip_t *zip;
    struct exported *out;
    json_t *counts, *lost;
    enum status status; /* of a source that failed while the file was closed */
    struct fault why;
};

/* A table as a stream of lines, so that a shop of any size needs little memory. */
struct row_stream {
    struct exporter *exporter;
    const struct table *table;
    const struct column *column;
    size_t count, at;
    struct query query;
    struct text pending;
    bool ended;
};

static void stream_close(struct row_stream *stream) {
    const enum status status = query_end(&stream->query);
    if (status != STATUS_OK) stream->exporter->status = status;
    text_free(&stream->pending);
}

static void stream_open(struct row_stream *stream) {
    stream->query = row_text_query(stream->exporter->book, stream->table, stream->column, stream->count,
                                   &stream->exporter->why);
    stream->at = 0;
    stream->ended = false;
}

static zip_int64_t stream_read(struct row_stream *stream, char *to, zip_uint64_t size) {
    while (!stream->ended && stream->pending.length - stream->at < size) {
        if (stream->at > CHUNK) {
            memmove(stream->pending.data, stream->pending.data + stream->at,
                    stream->pending.length - stream->at);
            stream->pending.length -= stream->at;
            stream->at = 0;
        }
        stream->ended = !query_row(&stream->query);
        if (!stream->ended) row_text_add(&stream->query, stream->column, stream->count, &stream->pending);
    }
    if (stream->query.status != STATUS_OK) return -1;
    const size_t left = stream->pending.length - stream->at, n = left < size ? left : (size_t)size;
    if (n) memcpy(to, stream->pending.data + stream->at, n);
    stream->at += n;
    return (zip_int64_t)n;
}

static zip_int64_t stream_call(void *user, void *data, zip_uint64_t size, zip_source_cmd_t command) {
    struct row_stream *stream = user;
    switch ((int)command) { /* newer ones are not asked of a source that only reads */
    case ZIP_SOURCE_OPEN:
        return stream_open(stream), 0;
    case ZIP_SOURCE_READ:
        return stream_read(stream, data, size);
    case ZIP_SOURCE_CLOSE:
        return stream_close(stream), 0;
    case ZIP_SOURCE_STAT:
        return zip_stat_init(data), (zip_int64_t)sizeof(zip_stat_t);
    case ZIP_SOURCE_ERROR:
        return zip_error_to_data(&(zip_error_t){ZIP_ER_READ, EIO, NULL}, data, size);
    case ZIP_SOURCE_FREE:
        return 0;
    case ZIP_SOURCE_SUPPORTS:
        return zip_source_make_command_bitmap(ZIP_SOURCE_OPEN, ZIP_SOURCE_READ, ZIP_SOURCE_CLOSE,
                                              ZIP_SOURCE_STAT, ZIP_SOURCE_ERROR, ZIP_SOURCE_FREE, -1);
    default:
        return -1;
    }
}

static enum status zip_fault(struct exporter *exporter, const char *name) {
    return FAULT(exporter->fault, FILE_CANNOT_WRITE, name, zip_strerror(exporter->zip));
}

/* The time of a member is always 1980-01-01 00:00, where the clock of ZIP begins. */
static enum status add_member(struct exporter *exporter, const char *name, zip_source_t *source,
                              bool packed) {
    const zip_int64_t at = source ? zip_file_add(exporter->zip, name, source, ZIP_FL_ENC_UTF_8) : -1;
    if (at < 0) {
        if (source) zip_source_free(source);
        return zip_fault(exporter, name);
    }
    const zip_uint64_t index = (zip_uint64_t)at;
    const bool set =
        zip_file_set_dostime(exporter->zip, index, 0, 0x21, 0) == 0 &&
        zip_set_file_compression(exporter->zip, index, packed ? ZIP_CM_DEFLATE : ZIP_CM_STORE, 6) == 0 &&
        zip_file_set_external_attributes(exporter->zip, index, 0, ZIP_OPSYS_UNIX, 0100600u << 16) == 0;
    exporter->out->files++;
    return set ? STATUS_OK : zip_fault(exporter, name);
}

static enum status add_text(struct exporter *exporter, const char *name, const struct text *text) {
    const char *copy = arena_text(exporter->arena, text->data ? text->data : "", text->length);
    return add_member(exporter, name, zip_source_buffer(exporter->zip, copy, text->length, 0), true);
}

static enum status count_rows(struct exporter *exporter, const struct table *table) {
    char sql[300];
    snprintf(sql, sizeof sql, "SELECT count(*) FROM %s WHERE %s", table->name, table->only);
    struct query q = query_make(exporter->book, sql, exporter->fault);
    while (query_row(&q)) {
        json_put_count(exporter->counts, table->name, query_get_count(&q, 0));
        exporter->out->rows += (unsigned long long)query_get_count(&q, 0);
    }
    return query_end(&q);
}

static enum status add_table(struct exporter *exporter, const struct table *table) {
    struct row_stream *stream = arena_need(exporter->arena, 1, sizeof *stream);
    struct column *column;
    char name[80];
    *stream = (struct row_stream){.exporter = exporter, .table = table};
    const enum status status =
        table_columns(exporter->book, table, exporter->arena, &column, &stream->count, exporter->fault);
    stream->column = column;
    snprintf(name, sizeof name, "rows/%s.jsonl", table->name);
    if (status != STATUS_OK) return status;
    return add_member(exporter, name, zip_source_function(exporter->zip, stream_call, stream), true);
}

static enum status add_tables(struct exporter *exporter) {
    size_t count;
    const struct table *table = tables_all(&count);
    enum status status = STATUS_OK;
    for (size_t i = 0; status == STATUS_OK && i < count; i++)
        if (table[i].join != JOIN_NEVER) status = add_table(exporter, &table[i]);
    return status;
}

static enum status add_manifest(struct exporter *exporter) {
    json_t *manifest = json_start("shop-export");
    struct text text = {0};
    size_t count;
    const struct table *table = tables_all(&count);
    enum status status = STATUS_OK;
    exporter->counts = json_object();
    for (size_t i = 0; status == STATUS_OK && i < count; i++)
        if (table[i].join != JOIN_NEVER) status = count_rows(exporter, &table[i]);
    json_put_count(manifest, "schema", BOOK_SCHEMA);
    json_put(manifest, "rows", exporter->counts);
    if (json_array_size(exporter->lost)) json_put(manifest, "lost_photographs", json_incref(exporter->lost));
    if (status == STATUS_OK) status = json_finish(manifest, &text, exporter->fault);
    if (status == STATUS_OK) status = add_text(exporter, "russet.json", &text);
    text_free(&text);
    json_decref(manifest);
    return status;
}

static const char *ending_of(const char *media) {
    static const char *const endings[][2] = {{"image/jpeg", "jpg"},
                                             {"image/png", "png"},
                                             {"image/tiff", "tif"},
                                             {"image/heif", "heic"},
                                             {"application/pdf", "pdf"}};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++)
        if (strcmp(endings[i][0], media) == 0) return endings[i][1];
    return "bin";
}

/* Their bytes are compared with their names first: a damaged photograph is not handed on, one that is gone
 * does not keep the rest from being handed on. */
static enum status add_photograph(struct exporter *exporter, const char *sha256, const char *media) {
    char path[PHOTOGRAPH_PATH], name[90];
    struct stat info;
    struct fault here = {0};
    int fd;
    enum status status = photographs_open(exporter->book, sha256, &fd, &here);
    const bool lost = status != STATUS_OK && photographs_is_lost(exporter->book, sha256, &here);
    if (status == STATUS_OK) {
        if (fstat(fd, &info) == 0) exporter->out->bytes += (unsigned long long)info.st_size;
        close(fd);
    }
    if (lost) {
        lost_add(&exporter->out->lost, sha256);
        json_array_append_new(exporter->lost, json_string(sha256));
        return STATUS_OK;
    }
    if (status != STATUS_OK && exporter->fault) *exporter->fault = here;
    if (status != STATUS_OK) return status;
    snprintf(name, sizeof name, "pictures/%s.%s", sha256, ending_of(media));
    photographs_path(book_dir(exporter->book), sha256, path);
    return add_member(exporter, name, zip_source_file(exporter->zip, path, 0, -1), false);
}

static enum status add_photographs(struct exporter *exporter) {
    struct query q =
        query_make(exporter->book, "SELECT sha256, media FROM kept_file ORDER BY sha256", exporter->fault);
    enum status status = STATUS_OK;
    while (status == STATUS_OK && query_row(&q))
        status = add_photograph(exporter, query_get_text(&q, 0, exporter->arena),
                                query_get_text(&q, 1, exporter->arena));
    const enum status ended = query_end(&q);
    return status == STATUS_OK ? ended : status;
}

static enum status add_for_people(struct exporter *exporter) {
    struct people_file *file;
    size_t count;
    enum status status = export_people(exporter->book, exporter->arena, &file, &count, exporter->fault);
    for (size_t i = 0; status == STATUS_OK && i < count; i++)
        status = add_text(exporter, file[i].name, &file[i].text);
    for (size_t i = 0; i < count; i++) text_free(&file[i].text);
    return status;
}

static enum status fill(struct exporter *exporter) {
    enum status status = add_tables(exporter);
    if (status == STATUS_OK) status = add_for_people(exporter);
    if (status == STATUS_OK) status = add_photographs(exporter);
    return status == STATUS_OK ? add_manifest(exporter) : status; /* it names what was lost */
}

/* libzip writes when it is closed. */
static enum status close_zip(struct exporter *exporter, const char *name) {
    if (zip_close(exporter->zip) == 0) return STATUS_OK;
    const enum status status = exporter->status != STATUS_OK ? exporter->status : zip_fault(exporter, name);
    if (exporter->status != STATUS_OK && exporter->fault) *exporter->fault = exporter->why;
    zip_discard(exporter->zip);
    return status;
}

static enum status write_temporary(struct exporter *exporter, const char *temporary, const char *path) {
    int code;
    unlink(temporary);
    exporter->zip = zip_open(temporary, ZIP_CREATE | ZIP_EXCL, &code);
    if (!exporter->zip) {
        zip_error_t error;
        zip_error_init_with_code(&error, code);
        const enum status status =
            FAULT(exporter->fault, FILE_CANNOT_WRITE, path, zip_error_strerror(&error));
        zip_error_fini(&error);
        return status;
    }
    const enum status status = fill(exporter);
    if (status == STATUS_OK) return close_zip(exporter, path);
    zip_discard(exporter->zip);
    return status;
}

enum status export_write(struct book *book, const char *path, struct work *work, struct exported *out,
                         struct fault *fault) {
    (void)work;
    struct text temporary = {0};
    *out = (struct exported){0};
    struct exporter exporter = {
        .book = book, .arena = arena_new(), .fault = fault, .out = out, .lost = json_array()};
    text_format(&temporary, "%s.%ld.tmp", path, (long)getpid());
    enum status status = book_look(book, fault);
    if (status == STATUS_OK) status = write_temporary(&exporter, temporary.data, path);
    book_rollback(book);
    if (status == STATUS_OK) chmod(temporary.data, 0600); /* customers' data: for the owner's eyes */
    if (status == STATUS_OK) status = disk_settle(book_disk(book), temporary.data, path, fault);
    if (status != STATUS_OK) unlink(temporary.data);
    json_decref(exporter.lost);
    arena_free(exporter.arena);
    text_free(&temporary);
    return status;
}
