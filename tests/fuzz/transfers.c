/*
 * transfers.c - messages in several frames: any frames by the promises of transport.h, and
 * those that the plain second reading can follow by what that makes of them.
 */
#include <stdio.h>

#include "drawbar/transport.h"
#include "fuzz/packed.h"
#include "fuzz/target.h"
#include "support/plain_transport.h"

#define HIGHEST 3u         /* addresses that take part: few, so that they meet often */
#define FRAMES_COMPARED 400u /* the plain reading goes through all of them for each pair */

static volatile uint8_t touched; /* so that a sanitizer sees each byte read */

static void touch(const uint8_t *bytes, size_t length)
{
    for (size_t i = 0; bytes && i < length; i++)
        touched ^= bytes[i];
}

static void complete_must_hold(const struct dbr_transfer *t)
{
    MUST(t->breach == DBR_BREACH_NONE && t->first_missing == 0);
    MUST(t->received == t->packets && t->size > 0);
    MUST(t->prefix == NULL);
    touch(t->data, t->size);
}

static void ended(void *context, const struct dbr_transfer *t)
{
    size_t *count = context;

    ++*count;
    MUST(t->carrier > DBR_CARRIER_FRAME && t->carrier <= DBR_CARRIER_FAST);
    MUST(t->end <= DBR_TRANSFER_UNFINISHED && t->breach <= DBR_BREACH_ACKNOWLEDGED);
    MUST(t->start_ns <= t->end_ns);
    MUST(t->received <= t->packets && t->first_missing <= t->packets);
    MUST((t->end == DBR_TRANSFER_TIMED_OUT) == (t->timer != DBR_TIMER_NONE));
    MUST(dbr_carrier_name(t->carrier) && dbr_transfer_end_words(t->end));
    if (t->end == DBR_TRANSFER_COMPLETE) {
        complete_must_hold(t);
        return;
    }
    MUST(t->data == NULL);
    MUST((t->prefix != NULL) == (t->prefix_length > 0) && t->prefix_length <= t->size);
    touch(t->prefix, t->prefix_length);
}

static void strayed(void *context, const struct dbr_stray_control *control)
{
    (void)context;
    touched ^= control->control;
}

static void promises_must_hold(const struct dbr_frame *frames, size_t count, bool all_fast)
{
    size_t ends = 0;
    struct dbr_transport *t = dbr_transport_new(ended, &ends, NULL);

    MUST(t != NULL);
    dbr_transport_on_stray(t, strayed);
    for (size_t i = 0; i < count; i++)
        dbr_transport_frame(t, &frames[i], all_fast || (frames[i].id >> 8 & 1) != 0);
    dbr_transport_finish(t, count > 0 ? frames[count - 1].at_ns : 0);
    MUST(ends <= count);
    dbr_transport_free(t);
}

/* Frames of the five groups become such as the plain reading has room for. */
static struct dbr_frame within_reach(struct dbr_frame frame)
{
    static const uint32_t groups[] = {60416, 60160, 51200, 50944, PLAIN_FAST_GROUP};
    uint32_t format = frame.id >> 16 & 0xFFu, source = frame.id & 0xFFu;
    uint32_t to = frame.id >> 8 & 0xFFu, group = groups[format % 5];

    frame.flags = DBR_FRAME_EXTENDED;
    frame.raw_dlc = 0;
    frame.length = 8;
    frame.interface %= 2;
    for (size_t i = 0; i < 5; i++)
        group = groups[i] >> 8 == format ? groups[i] : group;
    to = group == PLAIN_FAST_GROUP ? PLAIN_FAST_GROUP & 0xFFu : to == 255 ? 255 : to % (HIGHEST + 1);
    frame.id = 6u << 26 | (group & 0x1FF00u) << 8 | to << 8 | source % (HIGHEST + 1);
    if (group == 60416 || group == 51200)
        frame.data[7] &= 3; /* 18 bits of a group; we drop those beyond, the plain one keeps them */
    if (group == 51200) {
        frame.data[2] = frame.data[0] == 20 ? frame.data[2] % 16 : frame.data[2];
        frame.data[3] = frame.data[4] = 0;
    }
    return frame;
}

static void transfers_run(const uint8_t *data, size_t size)
{
    static struct dbr_frame frames[PACKED_FRAMES_MAX];
    static char difference[1024];
    size_t count = packed_frames(frames, data, size);

    promises_must_hold(frames, count, packed_head(data, size, 0) & 1);
    count = count < FRAMES_COMPARED ? count : FRAMES_COMPARED;
    for (size_t i = 0; i < count; i++)
        frames[i] = within_reach(frames[i]);
    if (!plain_agrees(frames, count, HIGHEST, NULL, difference, sizeof difference))
        MUST_NOT(difference);
}

const struct fuzz_target transfers_target = {.name = "transfers",
                                             .size_max = PACKED_HEAD + 400 * PACKED_FRAME,
                                             .run = transfers_run,
                                             .mutate = packed_mutate};
