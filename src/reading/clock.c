/* clock.c - see clock.h. */
#include "reading/clock.h"

#include "reading/stamp.h"

/* Frames of two interfaces may be written a little out of order; more is a clock that was set. */
#define CLOCK_STEP_NS INT64_C(1000000)

/* Nobody leaves a recorder on for a year without one frame: within a file that is a clock that was
 * set, from the day that it wakes up with to today's (common practice, no source). */
#define CLOCK_LEAP_NS (INT64_C(366) * 24 * 3600 * NS_PER_SECOND)

/* Times stay below this, 73 years from the first frame, so that sums of a few of them fit. Only
 * hostile stamps reach it. */
#define TIME_MAX_NS (INT64_MAX / 4)

int64_t clock_sum(int64_t a, int64_t b)
{
    int64_t sum;

    if (__builtin_add_overflow(a, b, &sum))
        return a < 0 ? -INT64_MAX : INT64_MAX;
    return sum;
}

/* The clock was set: what follows goes on at the time of the frame before. */
static void take_step_out(struct clock *c, struct dbr_clock_steps *steps, int64_t at_ns, int64_t by)
{
    int64_t size = by < 0 ? -by : by;

    if (steps->count++ == 0)
        steps->first_at_ns = at_ns;
    if (size > steps->largest_ns)
        steps->largest_ns = size;
    c->correction = clock_sum(c->correction, -by);
}

void clock_set(struct clock *c, struct dbr_recording_info *info, int64_t shift, bool begun,
               struct dbr_frame *frame)
{
    if (info->time_base == DBR_TIME_NONE) {
        frame->at_ns = 0;
        return;
    }
    if (!c->started) {
        info->start_ns = frame->at_ns;
        c->started = true;
    }
    int64_t at = clock_sum(clock_sum(frame->at_ns, shift),
                            clock_sum(c->correction, -info->start_ns));
    int64_t ahead = clock_sum(at, -info->last_ns);
    if (ahead < -CLOCK_STEP_NS)
        take_step_out(c, &info->steps_back, info->last_ns, ahead);
    else if (ahead > CLOCK_LEAP_NS && begun)
        take_step_out(c, &info->steps_ahead, info->last_ns, ahead);
    else if (ahead > 0)
        info->last_ns = at < TIME_MAX_NS ? at : TIME_MAX_NS;
    frame->at_ns = info->last_ns;
}

int64_t clock_shift_behind(const struct clock *c, const struct dbr_recording_info *info,
                           int64_t first_stamp)
{
    if (!c->started)
        return 0;
    int64_t end = clock_sum(clock_sum(info->start_ns, info->last_ns), -c->correction);
    /* Pieces of one recording that count on need no shift. */
    return first_stamp < end ? end - first_stamp : 0;
}

int64_t clock_moment(const struct dbr_recording_info *info, const struct dbr_moment *moment,
                     int64_t otherwise)
{
    const int64_t day_ns = 24 * 3600 * NS_PER_SECOND;

    switch (moment->kind) {
    case DBR_MOMENT_FROM_START:
        return moment->ns;
    case DBR_MOMENT_DATE:
        return moment->ns - info->start_ns;
    case DBR_MOMENT_TIME_OF_DAY: {
        /* Recordings run past midnight: long before the start means on the next day. */
        int64_t at = moment->ns - info->start_ns % day_ns;
        return at < -day_ns / 2 ? at + day_ns : at;
    }
    case DBR_MOMENT_NONE:
        break;
    }
    return otherwise;
}
