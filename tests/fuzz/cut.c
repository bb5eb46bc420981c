/*
 * cut.c - a part of a recording chosen and written in a form; what is read back is the same.
 *
 * The head of the input: byte 0 the form and options (bits below), bytes 1 and 2 a window in
 * sixteenths of the recording, bytes 3 and 4 addresses, bytes 5 and 6 a parameter group.
 */
#include <string.h>

#include "drawbar/excerpt.h"
#include "fuzz/definitions_once.h"
#include "fuzz/packed.h"
#include "fuzz/readings.h"
#include "fuzz/target.h"
#include "fuzz/written.h"

#define FORM_MASK 0x03u
#define OPTION_COMPRESS 0x04u
#define OPTION_RELATIVE 0x08u
#define OPTION_UNTIMED 0x10u
#define OPTION_WINDOW 0x20u
#define OPTION_ADDRESSES 0x40u
#define OPTION_GROUPS 0x80u

#define START_NS INT64_C(1717000000123456789)
#define START_RELATIVE_NS INT64_C(12345678000)
/* From here on a stamp is taken for clock time (src/reading/source.c): what
 * counts from power-on for three years cannot be told from it. */
#define RELATIVE_END_NS (INT64_C(100000000) * INT64_C(1000000000))
#define PCAP_END_NS (INT64_C(4294967296) * INT64_C(1000000000)) /* 32 bits of seconds */

struct wish {
    struct dbr_window window;
    struct dbr_number_range addresses, groups;
    struct dbr_excerpt_wish wish;
};

static void read_wish(struct wish *w, const uint8_t *head, int64_t end_ns)
{
    *w = (struct wish){
        .window = {end_ns / 16 * (head[1] % 17), end_ns / 16 * (head[2] % 17)},
        .addresses = {head[3], head[4]},
        .groups = {(uint32_t)head[5] << 8, (uint32_t)head[6] << 8 | 0xFF},
    };
    w->wish = (struct dbr_excerpt_wish){
        .window_count = head[0] & OPTION_WINDOW ? 1 : 0, .windows = &w->window,
        .address_count = head[0] & OPTION_ADDRESSES ? 1 : 0, .addresses = &w->addresses,
        .pgn_count = head[0] & OPTION_GROUPS ? 1 : 0, .pgns = &w->groups,
        .claims = head[1] & 0x80};
}

/* What is wanted by time alone is what lies in the window; nothing wished for leaves all. */
static void choice_must_hold(const struct wish *w, const struct dbr_frame *frame, bool wanted)
{
    bool inside = w->wish.window_count == 0 ||
                  (frame->at_ns >= w->window.from_ns && frame->at_ns <= w->window.to_ns);
    bool by_time_alone = w->wish.address_count == 0 && w->wish.pgn_count == 0;

    if (by_time_alone && inside)
        MUST(wanted);
    if (frame->flags & DBR_FRAME_ERROR)
        MUST(wanted == inside);
}

/* Keeps the frames that are wanted; returns how many. */
static size_t choose(struct dbr_frame *kept, const struct wish *w, const struct dbr_frame *frames,
                     size_t count)
{
    struct dbr_excerpt *excerpt = dbr_excerpt_new(definitions_once(), &w->wish, NULL);
    size_t wanted = 0;

    MUST(excerpt != NULL);
    for (size_t i = 0; i < count; i++)
        dbr_excerpt_learn(excerpt, &frames[i]);
    MUST(dbr_excerpt_learned(excerpt, frames[count - 1].at_ns, NULL) == 0);
    for (size_t i = 0; i < count; i++) {
        bool wants = dbr_excerpt_wants(excerpt, &frames[i]);
        choice_must_hold(w, &frames[i], wants);
        if (wants)
            kept[wanted++] = frames[i];
    }
    dbr_excerpt_free(excerpt);
    return wanted;
}

static struct dbr_writing_options writing_of(const uint8_t *head)
{
    bool relative = head[0] & OPTION_RELATIVE;
    struct dbr_writing_options options = {
        .form = (enum dbr_form)((head[0] & FORM_MASK) % 3),
        .compress = head[0] & OPTION_COMPRESS,
        .time_base = relative ? DBR_TIME_RELATIVE : DBR_TIME_EPOCH,
        .start_ns = relative ? START_RELATIVE_NS : START_NS,
        .directions = true,
        .interface_count = PACKED_INTERFACES,
        .interfaces = written_names,
    };

    if (options.form == DBR_FORM_PCAP)
        options.interface_count = 1;
    if ((head[0] & OPTION_UNTIMED) && options.form == DBR_FORM_TEXT) {
        options.time_base = DBR_TIME_NONE;
        options.start_ns = 0;
    }
    return options;
}

/* Reading takes a leap of more than a year for a clock that was set. */
#define LEAP_NS (INT64_C(366) * 24 * 3600 * 1000000000)

/* What the form cannot hold is not asked of it: later times, more interfaces, times at all. */
static size_t fit(struct dbr_frame *frames, size_t count, const struct dbr_writing_options *options)
{
    size_t fitting = 0;
    int64_t end_ns = options->time_base == DBR_TIME_RELATIVE ? RELATIVE_END_NS : INT64_MAX;

    if (options->form == DBR_FORM_PCAP && PCAP_END_NS < end_ns)
        end_ns = PCAP_END_NS;
    for (size_t i = 0; i < count; i++) {
        struct dbr_frame *frame = &frames[i];
        if (options->form == DBR_FORM_PCAP)
            frame->interface = 0;
        if (options->time_base == DBR_TIME_NONE)
            frame->at_ns = 0;
        if (options->start_ns + frame->at_ns >= end_ns ||
            (fitting > 0 && frame->at_ns - frames[fitting - 1].at_ns > LEAP_NS))
            continue;
        frames[fitting++] = *frame;
    }
    return fitting;
}

static void frame_must_be(const struct reading *r, size_t index, const struct dbr_frame *written,
                          const struct dbr_writing_options *options)
{
    struct dbr_frame read = r->frames[index], wrote = *written;
    int64_t start_ns = r->account.info->start_ns;

    if (options->form != DBR_FORM_PCAP)
        MUST(strcmp(r->account.info->interfaces[read.interface],
                    options->interfaces[wrote.interface]) == 0);
    if (options->time_base != DBR_TIME_NONE)
        MUST(start_ns + read.at_ns == options->start_ns + wrote.at_ns);
    read.at_ns = wrote.at_ns;
    read.interface = wrote.interface;
    read.flags &= (uint8_t)~DBR_FRAME_COPY; /* concluded by the reading */
    MUST(memcmp(&read, &wrote, sizeof read) == 0);
}

static void cut_run(const uint8_t *data, size_t size)
{
    static struct dbr_frame frames[PACKED_FRAMES_MAX], kept[PACKED_FRAMES_MAX];
    static struct memory_file file;
    static struct reading reading;
    struct wish w;
    size_t count = packed_frames(frames, data, size);

    if (count == 0)
        return;
    struct dbr_writing_options options = writing_of(data);
    read_wish(&w, data, frames[count - 1].at_ns);
    count = fit(kept, choose(kept, &w, frames, count), &options);
    if (count == 0)
        return;
    written_put(&file, &options, kept, count);
    reading_take(&reading, &file, DBR_BATCH_FRAMES);
    MUST(reading.count == count && reading.account.info->files[0].rejected == 0);
    MUST(!reading.account.info->files[0].truncated);
    MUST(reading.account.info->time_base == options.time_base);
    for (size_t i = 0; i < count; i++)
        frame_must_be(&reading, i, &kept[i], &options);
    reading_end(&reading);
}

const struct fuzz_target cut_target = {.name = "cut",
                                       .size_max = PACKED_HEAD + 256 * PACKED_FRAME,
                                       .run = cut_run,
                                       .mutate = packed_mutate};
