/* source.c - see source.h. */
#include "reading/source.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* A recorder whose stamps reach three years has a clock; one that counts from power-on has not. */
#define EPOCH_MIN_NS (INT64_C(100000000) * INT64_C(1000000000))

int interface_table_index(struct interface_table *table, const char *name, size_t length)
{
    if (length >= DBR_INTERFACE_NAME_MAX)
        length = DBR_INTERFACE_NAME_MAX - 1;
    for (size_t i = 0; i < table->count; i++)
        if (strncmp(table->names[i], name, length) == 0 && table->names[i][length] == '\0')
            return (int)i;
    if (table->count == DBR_INTERFACES_MAX)
        return -1;
    memcpy(table->names[table->count], name, length);
    table->names[table->count][length] = '\0';
    return (int)table->count++;
}

enum dbr_time_base source_time_base(int64_t stamp_ns)
{
    return stamp_ns >= EPOCH_MIN_NS ? DBR_TIME_EPOCH : DBR_TIME_RELATIVE;
}

void source_reject(struct source *s, enum dbr_rejection why)
{
    struct dbr_rejected *kind = &s->info.rejections[why];

    s->info.rejected++;
    if (kind->count++ == 0)
        kind->first_at = s->place;
}

void source_truncate(struct source *s, const char *format, ...)
{
    va_list arguments;

    if (s->info.truncated)
        return;
    s->info.truncated = true;
    va_start(arguments, format);
    vsnprintf(s->info.truncated_why, sizeof s->info.truncated_why, format, arguments);
    va_end(arguments);
}

/* What people hand in by mistake, told by its first bytes. NULL: something else. */
static const char *known_otherwise(const uint8_t *prefix, size_t length)
{
    static const struct {
        const char *magic;
        size_t length;
        const char *words;
    } known[] = {
        {"\xFF\xD8\xFF", 3, "it is a JPEG picture"},
        {"\x89PNG", 4, "it is a PNG picture"},
        {"%PDF", 4, "it is a PDF document"},
        {"PK\x03\x04", 4, "it is a zip archive; unpack it first"},
        {"\xFD\x37zXZ", 5, "it is xz-compressed; unpack it first"},
        {"BZh", 3, "it is bzip2-compressed; unpack it first"},
        {"\x28\xB5\x2F\xFD", 4, "it is zstd-compressed; unpack it first"},
        {"\xFF\xFE", 2, "it is UTF-16 text; save it as plain or UTF-8 text first"},
        {"\xFE\xFF", 2, "it is UTF-16 text; save it as plain or UTF-8 text first"},
        {"\x7F\x45LF", 4, "it is a program"},
    };

    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (length >= known[i].length && memcmp(prefix, known[i].magic, known[i].length) == 0)
            return known[i].words;
    return NULL;
}

/* The reader for a file that begins so; NULL after an error that says what the file is instead. */
static const struct reader *find_reader(const char *path, const uint8_t *prefix, size_t length,
                                        struct dbr_error *error)
{
    const char *other = known_otherwise(prefix, length);
    char hex[3 * 8 + 1] = "";

    for (size_t i = 0; i < reader_count && !other; i++)
        if (readers[i]->probe(prefix, length))
            return readers[i];
    if (other) {
        dbr_error_set(error, DBR_ERROR_FORMAT, "%s: not a CAN recording: %s", path, other);
        return NULL;
    }
    for (size_t i = 0; i < length && i < 8; i++)
        snprintf(hex + 3 * i, sizeof hex - 3 * i, " %02X", prefix[i]);
    dbr_error_set(error, DBR_ERROR_FORMAT,
                  "%s: not a CAN recording (candump text, pcap or pcapng): it begins with%s", path,
                  hex);
    return NULL;
}

int source_open(struct source *s, const char *path, struct interface_table *interfaces,
                const volatile sig_atomic_t *halt, struct dbr_error *error)
{
    const uint8_t *prefix;

    *s = (struct source){.interfaces = interfaces, .info = {.path = path}};
    if (stream_open(&s->stream, path, halt, error) < 0)
        return -1;
    s->info.compressed = s->stream.compressed;
    size_t length = stream_peek(&s->stream, DBR_PROBE_BYTES, &prefix);
    if (length == 0 && s->stream.flaw[0] != '\0')
        return dbr_error_set(error, DBR_ERROR_READ, "%s: cannot be read: %s", path,
                             s->stream.flaw);
    if (length == 0)
        return dbr_error_set(error, DBR_ERROR_EMPTY, "%s: is empty", path);
    s->reader = find_reader(path, prefix, length, error);
    if (!s->reader)
        return -1;
    s->info.format = s->reader->name;
    return s->reader->open(s, error);
}

void source_close(struct source *s)
{
    if (s->reader)
        s->reader->close(s);
    s->reader = NULL;
    stream_close(&s->stream);
}

/* The first stamp of a batch, or NO_STAMP. */
static int64_t first_stamp(const struct dbr_batch *batch)
{
    for (size_t i = 0; i < batch->count; i++)
        if (batch->frames[i].at_ns != NO_STAMP)
            return batch->frames[i].at_ns;
    return NO_STAMP;
}

/*
 * A frame without a stamp among frames with one happened no earlier than the one
 * before it; at the start of a file, no later than the first that has one.
 */
static void complete_stamps(struct source *s, struct dbr_batch *batch)
{
    if (!s->stamped && first_stamp(batch) != NO_STAMP) {
        s->stamped = true;
        s->last_stamp = first_stamp(batch);
    }
    for (size_t i = 0; i < batch->count; i++) {
        struct dbr_frame *frame = &batch->frames[i];
        if (frame->at_ns == NO_STAMP) {
            frame->at_ns = s->last_stamp;
            continue;
        }
        if (s->time_base == DBR_TIME_NONE)
            s->time_base = source_time_base(frame->at_ns);
        s->last_stamp = frame->at_ns;
    }
}

size_t source_next(struct source *s, struct dbr_batch *batch)
{
    batch->count = s->reader->next(s, batch->frames, batch->capacity);
    s->info.frames += batch->count;
    complete_stamps(s, batch);
    if (batch->count == 0 && s->stream.flaw[0] != '\0')
        source_truncate(s, "%s", s->stream.flaw);
    return batch->count;
}
