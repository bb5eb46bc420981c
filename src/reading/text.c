/*
 * text.c - reader of candump-style text.
 *
 * candump.c understands one line; here is what needs more than one: explanation
 * lines that belong to the error frame before them, stamps that are differences,
 * and lines too long to be any frame.
 */
#include <stdlib.h>
#include <string.h>

#include "reading/candump.h"
#include "reading/candump_quick.h"
#include "reading/source.h"
#include "reading/stamp.h"

static const uint8_t utf8_mark[3] = {0xEF, 0xBB, 0xBF}; /* byte order mark, RFC 3629 6 */

struct text_state {
    bool delta;         /* each stamp is the time since the frame before */
    bool after_error;   /* the last record was an error frame: its explanation may follow */
    bool log_form;      /* the last frame had that form, and `interface` is its interface */
    int64_t sum;        /* of delta stamps */
    char interface[DBR_INTERFACE_NAME_MAX]; /* the last one, and its index */
    size_t interface_length;
    int interface_index;
};

/* A line within `bytes`: its length without the line feed, or `length` where none is in sight. */
static size_t line_length(const uint8_t *bytes, size_t length)
{
    const uint8_t *feed = memchr(bytes, '\n', length);
    return feed ? (size_t)(feed - bytes) : length;
}

/* Calls `visit` for each whole line of the prefix until it returns false. */
static void for_each_line(const uint8_t *prefix, size_t length,
                          bool (*visit)(void *context, const struct candump_line *line),
                          void *context)
{
    struct candump_line line;
    size_t at = 0;

    while (at < length) {
        size_t count = line_length(prefix + at, length - at);
        candump_line_read(&line, (const char *)prefix + at, count);
        if (!visit(context, &line))
            return;
        at += count + 1;
    }
}

static bool stop_at_frame(void *context, const struct candump_line *line)
{
    *(bool *)context = line->kind == LINE_FRAME;
    return line->kind != LINE_FRAME;
}

/* Text has no NUL and hardly any control characters. */
static bool looks_like_text(const uint8_t *bytes, size_t length)
{
    size_t controls = 0;

    for (size_t i = 0; i < length; i++) {
        if (bytes[i] == 0)
            return false;
        if (bytes[i] < ' ' && bytes[i] != '\n' && bytes[i] != '\r' && bytes[i] != '\t')
            controls++;
    }
    return controls * 100 <= length;
}

/* Text is taken even where its first part holds no frame: a damaged head must not hide the rest. */
static bool text_probe(const uint8_t *prefix, size_t length)
{
    bool frame_seen = false;

    if (looks_like_text(prefix, length))
        return true;
    for_each_line(prefix, length, stop_at_frame, &frame_seen);
    return frame_seen;
}

/* How stamps in the first part of a file follow each other. */
struct stamp_trend {
    bool any;
    bool from_zero; /* the first one is 0, as that of every recording of differences is */
    int64_t last;
    size_t ups, downs, equals;
};

static bool note_stamp(void *context, const struct candump_line *line)
{
    struct stamp_trend *trend = context;

    if (line->kind != LINE_FRAME || line->stamp == STAMP_NONE)
        return true;
    int64_t stamp = line->frame.at_ns;
    if (line->stamp == STAMP_DATE || source_time_base(stamp) == DBR_TIME_EPOCH)
        return false;
    if (trend->any && stamp > trend->last)
        trend->ups++;
    else if (trend->any && stamp < trend->last)
        trend->downs++;
    else if (trend->any && stamp > 0)
        trend->equals++;
    trend->from_zero = trend->any ? trend->from_zero : stamp == 0;
    trend->any = true;
    trend->last = stamp;
    return true;
}

/* With fewer changes than this, disorder of two interfaces looks like differences. */
#define CHANGES_ENOUGH 32u

/*
 * Differences between frames go up and down from line to line, while time only
 * rises, apart from rare clock steps: an eighth of all changes going down is far
 * from both. Stamps that never change after the first are differences too: one
 * moment cannot hold a whole recording.
 */
static bool stamps_are_deltas(const uint8_t *prefix, size_t length)
{
    struct stamp_trend trend = {0};

    for_each_line(prefix, length, note_stamp, &trend);
    if (!trend.from_zero && trend.ups + trend.downs < CHANGES_ENOUGH)
        return false;
    if (trend.downs == 0)
        return trend.equals >= 3 && trend.ups <= 1;
    return trend.downs * 8 >= trend.ups + trend.downs;
}

static int text_open(struct source *s, struct dbr_error *error)
{
    const uint8_t *prefix;
    struct text_state *state = calloc(1, sizeof *state);

    if (!state)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "%s: out of memory", s->info.path);
    s->state = state;
    s->info.by_line = true;
    state->interface_index = -1;
    size_t length = stream_peek(&s->stream, DBR_PROBE_BYTES, &prefix);
    if (length >= sizeof utf8_mark && memcmp(prefix, utf8_mark, sizeof utf8_mark) == 0) {
        stream_skip(&s->stream, sizeof utf8_mark);
        length = stream_peek(&s->stream, DBR_PROBE_BYTES, &prefix);
    }
    state->delta = stamps_are_deltas(prefix, length);
    return 0;
}

/* Most lines name the interface of the line before. */
static int find_interface(struct source *s, const struct candump_line *line)
{
    struct text_state *state = s->state;

    if (state->interface_index >= 0 && line->interface_length == state->interface_length &&
        memcmp(line->interface, state->interface, line->interface_length) == 0)
        return state->interface_index;
    int index = interface_table_index(s->interfaces, line->interface, line->interface_length);
    if (index >= 0 && line->interface_length < sizeof state->interface) {
        memcpy(state->interface, line->interface, line->interface_length);
        state->interface_length = line->interface_length;
        state->interface_index = index;
    }
    return index;
}

static int64_t frame_stamp(struct source *s, const struct candump_line *line)
{
    struct text_state *state = s->state;

    if (line->stamp == STAMP_NONE)
        return NO_STAMP;
    if (line->stamp == STAMP_DATE)
        s->time_base = DBR_TIME_EPOCH;
    if (!state->delta)
        return line->frame.at_ns;
    if (line->frame.at_ns < INT64_MAX - state->sum)
        state->sum += line->frame.at_ns;
    return state->sum;
}

/* A line that holds a frame. False where its interface finds no room. */
static bool accept_frame(struct source *s, const struct candump_line *line,
                         struct dbr_frame *frame)
{
    struct text_state *state = s->state;
    int interface = find_interface(s, line);

    if (interface < 0) {
        source_reject(s, DBR_REJECTION_INTERFACES);
        return false;
    }
    state->log_form = line->form == FORM_LOG && state->interface_index == interface;
    if (s->info.format == text_reader.name)
        s->info.format = line->form == FORM_LOG ? "candump-log" : "candump-console";
    *frame = line->frame;
    frame->interface = (uint8_t)interface;
    frame->at_ns = frame_stamp(s, line);
    return true;
}

/* The commonest line, where lines of the log form from one interface have been seen before it. */
static bool take_quick(struct source *s, const uint8_t *bytes, size_t length,
                       struct dbr_frame *frame)
{
    struct text_state *state = s->state;

    if (!state->log_form || state->delta ||
        !candump_quick_read(frame, (const char *)bytes, length, state->interface,
                            state->interface_length))
        return false;
    frame->interface = (uint8_t)state->interface_index;
    s->info.records++;
    state->after_error = false;
    return true;
}

/* One line; true where it became a frame. `last` says that the file ends without a line feed. */
static bool take_line(struct source *s, const uint8_t *bytes, size_t length, bool last,
                      struct dbr_frame *frame)
{
    struct text_state *state = s->state;
    struct candump_line line;

    candump_line_read(&line, (const char *)bytes, length);
    if (line.kind == LINE_BLANK || (line.kind == LINE_INDENTED && state->after_error))
        return false;
    s->info.records++;
    state->after_error = line.kind == LINE_FRAME && (line.frame.flags & DBR_FRAME_ERROR);
    /* Where the stream broke off inside a line, what is left of it may look like a shorter frame. */
    bool whole = !last || s->stream.flaw[0] == '\0';
    if (line.kind == LINE_FRAME && whole)
        return accept_frame(s, &line, frame);
    source_reject(s, last ? DBR_REJECTION_LINE_CUT : line.why);
    if (last)
        source_truncate(s, "line %llu is cut short%s%s", (unsigned long long)s->place,
                        s->stream.flaw[0] ? ": " : "", s->stream.flaw);
    return false;
}

/* Lets go of a line that is longer than any frame, whatever its length. It may be a comment. */
static void skip_long_line(struct source *s, const uint8_t *start)
{
    const uint8_t *bytes;
    size_t visible;
    struct candump_line line;

    candump_line_read(&line, (const char *)start, DBR_LINE_MAX);
    if (line.kind != LINE_BLANK) {
        s->info.records++;
        source_reject(s, DBR_REJECTION_LINE_LENGTH);
    }
    while ((visible = stream_peek(&s->stream, 1, &bytes)) > 0) {
        size_t count = line_length(bytes, visible);
        stream_skip(&s->stream, count < visible ? count + 1 : count);
        if (count < visible)
            return;
    }
}

static size_t text_next(struct source *s, struct dbr_frame *frames, size_t capacity)
{
    const uint8_t *bytes;
    size_t count = 0, visible;

    while (count < capacity && (visible = stream_peek(&s->stream, DBR_LINE_MAX, &bytes)) > 0) {
        size_t length = line_length(bytes, visible);
        s->place++;
        if (length >= DBR_LINE_MAX) {
            skip_long_line(s, bytes);
            continue;
        }
        bool last = length == visible;
        if (!last && take_quick(s, bytes, length, &frames[count]))
            count++;
        else
            count += take_line(s, bytes, length, last, &frames[count]);
        stream_skip(&s->stream, last ? length : length + 1);
    }
    return count;
}

static void text_close(struct source *s)
{
    free(s->state);
}

const struct reader text_reader = {
    .name = "candump",
    .probe = text_probe,
    .open = text_open,
    .next = text_next,
    .close = text_close,
};
