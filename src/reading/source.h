/*
 * source.h - one file of a recording, and what a reader of one form must provide.
 *
 * A source joins a stream of bytes with the reader that understands them, and
 * counts what becomes of every record. Its frames carry their stamps as the file
 * has them; joining files and making time run forward is recording.c's business.
 */
#ifndef DRAWBAR_READING_SOURCE_H
#define DRAWBAR_READING_SOURCE_H

#include "drawbar/reading.h"
#include "reading/stream.h"

/* at_ns of a frame that has no stamp of its own. */
#define NO_STAMP INT64_MIN

/* The interface names of a recording, shared by its files. */
struct interface_table {
    size_t count;
    char names[DBR_INTERFACES_MAX][DBR_INTERFACE_NAME_MAX];
};

/* The index of a name, added where it is new (a long name is cut); -1 where the table is full. */
int interface_table_index(struct interface_table *table, const char *name, size_t length);

struct source;

/* What the reader of one form provides. All members are required; the table is in readers.c. */
struct reader {
    const char *name;

    /* Whether a file that begins so is of this form. `prefix` is all of it, or DBR_PROBE_BYTES. */
    bool (*probe)(const uint8_t *prefix, size_t length);

    /* Takes the stream from its first byte; sets source->state. An error names the file. */
    int (*open)(struct source *source, struct dbr_error *error);

    /*
     * Reads up to `capacity` frames; 0 only at the end. Counts records, frames
     * and rejections in the source's info. A frame's `at_ns` is its stamp or
     * NO_STAMP, its interface an index into source->interfaces.
     */
    size_t (*next)(struct source *source, struct dbr_frame *frames, size_t capacity);

    /* Frees source->state, which may be NULL after a failed open. */
    void (*close)(struct source *source);
};

struct source {
    struct stream stream;
    const struct reader *reader;
    void *state; /* the reader's own */
    struct interface_table *interfaces;
    enum dbr_time_base time_base; /* known once a frame was read */
    bool stamped;                 /* some frame had a stamp */
    int64_t last_stamp;           /* for frames without one among frames with */
    uint64_t place;               /* the line or packet that is being read, from 1 */
    struct dbr_file_info info;
};

/* Opens a file and finds its reader; `halt` is `stop` of the options of reading. Release with
 * source_close, also after failure. */
int source_open(struct source *s, const char *path, struct interface_table *interfaces,
                const volatile sig_atomic_t *halt, struct dbr_error *error);
void source_close(struct source *s);

/* Fills the batch, every frame with a stamp (0 where the file has none at all). 0 at the end. */
size_t source_next(struct source *s, struct dbr_batch *batch);

/* For readers: a record that became no frame; a file that breaks off (the first reason stays). */
void source_reject(struct source *s, enum dbr_rejection why);
void source_truncate(struct source *s, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* For readers: what a first stamp says about the time base of a file. */
enum dbr_time_base source_time_base(int64_t stamp_ns);

/* readers.c: the table, most specific first, and its end. */
extern const struct reader *const readers[];
extern const size_t reader_count;

extern const struct reader text_reader;
extern const struct reader pcap_reader;
extern const struct reader pcapng_reader;

#endif
