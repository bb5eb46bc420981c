/*
 * reading.h - a recording: one file or several, any accepted form, as one stream of frames.
 *
 * Accepted are candump-style text in its log and console forms, pcap and pcapng
 * with CAN link types, each also gzip'd; the form is told from the content. A
 * damaged file is read as far as it goes: what was rejected is counted, and the
 * first place of each kind is kept. For every file `frames + rejected ==
 * records`.
 *
 *     dbr_recording_open(&recording, paths, count, &options, &error);
 *     batch.capacity = DBR_BATCH_FRAMES;
 *     while ((n = dbr_recording_next(recording, &batch, &error)) > 0)
 *         use(batch.frames, (size_t)n);
 *     info = dbr_recording_info(recording);
 *     dbr_recording_close(recording);
 *
 * Memory is fixed per open file (see limits.h) and does not grow with the length
 * of the recording. Files that do not overlap in time are open one after the other.
 */
#ifndef DRAWBAR_READING_H
#define DRAWBAR_READING_H

#include <signal.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/error.h"
#include "drawbar/frame.h"
#include "drawbar/limits.h"

DBR_API_BEGIN

enum dbr_time_base {
    DBR_TIME_NONE,     /* no stamps: everything that needs time is unknown */
    DBR_TIME_RELATIVE, /* stamps count from some moment that the recording does not tell */
    DBR_TIME_EPOCH     /* stamps are clock time, ns since 1970-01-01 UTC as the recorder had it */
};

/*
 * Why a line or packet that should hold a frame was rejected. One list yields
 * the codes and the words that people read.
 */
#define DBR_REJECTIONS(X)                                                                          \
    X(NOT_A_FRAME, "not a CAN frame in any known form")                                            \
    X(BAD_STAMP, "time stamp is not a number or date")                                             \
    X(BAD_ID, "identifier is not 3 or 8 hexadecimal digits")                                       \
    X(ID_RANGE, "identifier does not fit 11 or 29 bits")                                           \
    X(BAD_DATA, "data is not whole hexadecimal bytes")                                             \
    X(BAD_LENGTH, "data does not match its length")                                                \
    X(FD_LENGTH, "data length is not one that CAN FD has")                                         \
    X(FLAGS, "frame type flags contradict each other")                                             \
    X(CAN_XL, "CAN XL frame")                                                                      \
    X(LINE_LENGTH, "line is longer than any CAN frame")                                            \
    X(LINE_CUT, "line is cut short by the end of the file")                                        \
    X(PACKET_CUT, "packet is cut short by the end of the file")                                     \
    X(PACKET_SHORT, "packet is shorter than its headers say")                                      \
    X(NOT_CAN, "packet carries no CAN traffic")                                                    \
    X(LINK_TYPE, "packet is of a link type that carries no CAN")                                   \
    X(NO_INTERFACE, "packet names an interface that the file does not describe")                   \
    X(INTERFACES, "more interfaces than can be told apart")                                        \
    X(STAMP_RANGE, "time stamp lies before 1970 or beyond 2262")                                   \
    X(STAMP_UNIT, "time stamps count in units so small that no second fits")

enum dbr_rejection {
#define DBR_REJECTION_ENUM(name, words) DBR_REJECTION_##name,
    DBR_REJECTIONS(DBR_REJECTION_ENUM)
#undef DBR_REJECTION_ENUM
    DBR_REJECTION_COUNT
};

/* The words of a rejection. Static storage. */
const char *dbr_rejection_words(enum dbr_rejection reason);

struct dbr_rejected {
    uint64_t count;
    uint64_t first_at; /* line or packet, from 1; 0 where count is 0 */
};

/* What became of one file. */
struct dbr_file_info {
    const char *path;   /* as given; "-" is standard input */
    const char *format; /* "candump-log", "candump-console", "pcap", "pcapng"; static storage */
    bool compressed;    /* gzip */
    bool by_line;       /* places are lines (text) rather than packets */
    uint64_t records;   /* lines or packets that should hold a frame */
    uint64_t frames;
    uint64_t rejected;
    struct dbr_rejected rejections[DBR_REJECTION_COUNT];
    bool truncated;         /* the file ends, or stops making sense, before its own end */
    char truncated_why[160]; /* in words, with the place; empty where not truncated */
};

/* The recorder's clock was set while it recorded: taken out of at_ns, counted here. */
struct dbr_clock_steps {
    uint64_t count;
    int64_t first_at_ns; /* at_ns of the first frame after the first step */
    int64_t largest_ns;  /* > 0 where there are any: how far the largest went */
};

struct dbr_recording_info {
    enum dbr_time_base time_base;
    int64_t start_ns; /* stamp of the first frame; ns since 1970 where time_base is EPOCH */
    int64_t last_ns;  /* at_ns of the last frame that was read: the duration */
    int64_t from_ns;  /* what `from` of the options means as at_ns; INT64_MIN where it is NONE */
    int64_t to_ns;    /* likewise `to`; INT64_MAX where it is NONE */
    uint64_t frames;  /* all frames read, before --interface, --from, --to */
    uint64_t copies;  /* of these, frames sent by the recorder and heard again */
    size_t interface_count;
    const char *interfaces[DBR_INTERFACES_MAX];
    size_t file_count;
    const struct dbr_file_info *files; /* in time order */
    struct dbr_clock_steps steps_back;  /* by more than 1 ms */
    struct dbr_clock_steps steps_ahead; /* by more than a year within one file */
    bool joined_without_clock; /* several files without absolute time, put end to end as given */
};

enum dbr_moment_kind {
    DBR_MOMENT_NONE,
    DBR_MOMENT_FROM_START,
    DBR_MOMENT_TIME_OF_DAY,
    DBR_MOMENT_DATE
};

/* One end of a window of time, as a person states it. */
struct dbr_moment {
    enum dbr_moment_kind kind;
    int64_t ns; /* since the first frame; since midnight UTC; since 1970 UTC */
};

struct dbr_reading_options {
    const char *interface; /* deliver this interface only; NULL: all */
    struct dbr_moment from; /* deliver frames at or after; NONE: from the first */
    struct dbr_moment to;   /* deliver frames at or before; NONE: to the last */
    bool lead_in; /* deliver what comes before `from` too: NAMEs are claimed there, transfers begin.
                     Whoever asks for it compares at_ns with from_ns of the info */
    bool lead_out; /* likewise what comes after `to`: transfers end there */
    bool measure;  /* fill `bits` of the batch */
    unsigned threads; /* 2: the next batches are read on a thread of their own while the last one is
                         used; the frames are the same. 0, 1: everything on the caller's */
    /* Where this becomes other than 0, also by a signal that interrupts a read, the files end: as
     * truncated, which says why. NULL: nobody stops it. */
    const volatile sig_atomic_t *stop;
};

struct dbr_recording;

/*
 * Opens `count` files (>= 1; "-" is standard input, at most once) as one
 * recording in time order. The strings of `paths` must outlive the recording. On
 * success `*recording` is owned by the caller, who closes it. On failure -1: a
 * file that cannot be opened, is a directory, is empty, or is no recording at
 * all; files whose stamps are of different kinds (DBR_ERROR_USAGE).
 */
int dbr_recording_open(struct dbr_recording **recording, const char *const *paths, size_t count,
                       const struct dbr_reading_options *options, struct dbr_error *error);

/*
 * Fills `batch` with up to `batch->capacity` frames in time order. Returns how
 * many (batch->count), 0 at the end, -1 on failure. A file that breaks off is no
 * failure: its info says so. A recording that held no frame at all is one, told
 * at its end (DBR_ERROR_EMPTY or DBR_ERROR_FORMAT).
 */
int dbr_recording_next(struct dbr_recording *recording, struct dbr_batch *batch,
                       struct dbr_error *error);

/*
 * The same without a copy: `*batch` has DBR_BATCH_FRAMES or less, belongs to the recording and is
 * valid until the next call. Not to be mixed with dbr_recording_next.
 */
int dbr_recording_lend(struct dbr_recording *recording, const struct dbr_batch **batch,
                       struct dbr_error *error);

/*
 * What is known so far: interfaces, times and counts with every batch, `files`
 * once dbr_recording_next has returned 0. Valid until close, at the same place, and
 * changed by dbr_recording_next and _lend alone. Where that is called with a smaller capacity than
 * at first and `threads` is 2, times and counts may be of some frames further on.
 */
const struct dbr_recording_info *dbr_recording_info(const struct dbr_recording *recording);

/* Releases everything; NULL is allowed. */
void dbr_recording_close(struct dbr_recording *recording);

/*
 * Reads a moment as the command line states it: seconds ("12.5"), a time of day
 * ("08:13:20.5") or a date and time ("2024-06-10T08:13:20"). Returns 0, or -1
 * where `text` is none of them.
 */
int dbr_moment_parse(struct dbr_moment *moment, const char *text);

DBR_API_END

#endif
