/* buses.c - see buses.h. Error frames: bus_errors.c. */
#include "tracking/buses.h"

#include <math.h>

#include "tracking/bus_errors.h"

/* A bus is silent when nothing comes for half a second, or on a slow bus for 20 usual intervals. */
#define SILENT_NS (NS_PER_S / 2)
#define SILENT_INTERVALS 20
#define PAUSE_NS NS_PER_S /* contract: "every bus silent >= 1 s" */
#define LOAD_STEP_NS (NS_PER_S / 10)
#define LOAD_SECONDS 1.0 /* load is measured over so much (contract); of less it is unknown */

/* Contract, bus-load-high. Makers ask for 40 % on average at most; at 70 % low priorities wait. */
#define BUSY_PERCENT 70.0
#define VERY_BUSY_PERCENT 90.0

void bus_init(struct bus *b, struct dbr_series_store *load, struct dbr_series_store *errors)
{
    *b = (struct bus){.step = -1, .step_end_ns = INT64_MIN, .load_series = load, .error_series = errors};
    b->seen.transmit_errors_max = b->seen.receive_errors_max = -1;
    b->seen.key_off_ns = b->seen.switched_off_ns = -1;
    b->seen.first_foreign_ns = -1;
}

static void judge_load(struct watch *w, struct dbr_spells *spells, double percent, double limit,
                       int64_t window_start, int64_t window_end)
{
    if (percent < limit) {
        watch_end(w, spells, w->spell.end_ns, 0);
        return;
    }
    struct dbr_spell *spell = watch_hold(w, window_start);
    spell->end_ns = window_end;
    if (!(spell->high >= percent))
        spell->high = percent;
}

/* A tenth of a second is full: judges the second that ends with it. Returns its load in percent. */
static double close_step(struct bus *b, uint32_t bitrate)
{
    uint64_t bits = 0;

    for (unsigned i = 0; i < LOAD_STEPS; i++)
        bits += b->steps[i];
    double percent = 100.0 * (double)bits / bitrate;
    int64_t end = (b->step + 1) * LOAD_STEP_NS;
    if (percent > b->seen.load_peak_percent) {
        b->seen.load_peak_percent = percent;
        b->seen.load_peak_at_ns = end > NS_PER_S ? end - NS_PER_S : 0;
    }
    judge_load(&b->busy, &b->seen.busy, percent, BUSY_PERCENT, end - NS_PER_S, end);
    judge_load(&b->very_busy, &b->seen.very_busy, percent, VERY_BUSY_PERCENT, end - NS_PER_S, end);
    return percent;
}

/* The load of a whole second belongs to its middle. */
static void keep_load(struct bus *b, double percent)
{
    if (b->step - b->first_step + 1 >= LOAD_STEPS)
        series_value(b->load_series, (b->step + 1) * LOAD_STEP_NS - NS_PER_S / 2, percent);
}

/* Moves on to the step of `now`, a later one; after a second of silence all steps are empty. */
static void advance_load(struct bus *b, int64_t now, uint32_t bitrate)
{
    int64_t step = now / LOAD_STEP_NS;

    if (b->step < 0)
        b->first_step = b->step = step;
    for (unsigned i = 0; b->step < step && i <= LOAD_STEPS; i++) {
        keep_load(b, close_step(b, bitrate));
        b->step++;
        b->steps[b->step % LOAD_STEPS] = 0;
    }
    b->step = step;
    b->step_end_ns = (step + 1) * LOAD_STEP_NS;
    b->filling = &b->steps[step % LOAD_STEPS];
}

/* At least SILENT_NS: nearly every frame comes sooner, and needs no division to tell. */
static int64_t silent_after(const struct bus *b)
{
    int64_t usual = b->traffic > 1 ? b->alive_ns / (int64_t)(b->traffic - 1) : 0;
    int64_t limit = SILENT_INTERVALS * usual;
    return limit > SILENT_NS ? limit : SILENT_NS;
}

/* Moves the clock of the bus on; keeps its long pauses. A silence adds to it what the shortest one
 * does: a few frames here and there, as before a cut, are no slow bus. */
static void advance_clock(struct bus *b, int64_t now)
{
    int64_t pause = now - b->last_traffic_ns;

    if (pause < SILENT_NS) {
        b->alive_ns += pause;
        return;
    }
    int64_t limit = silent_after(b);
    b->alive_ns += pause < limit ? pause : SILENT_NS;
    b->pauses += pause >= limit;
    b->gaps += pause >= limit && pause >= PAUSE_NS;
    if (pause >= PAUSE_NS) {
        struct dbr_spell spell = spell_make(b->last_traffic_ns, now);
        spells_add(&b->seen.pauses, &spell);
    }
}

static void count_traffic(struct bus *b, int64_t now, unsigned bits, uint32_t bitrate)
{
    if (b->traffic++ > 0)
        advance_clock(b, now);
    b->last_traffic_ns = now;
    if (now >= b->step_end_ns)
        advance_load(b, now, bitrate);
    *b->filling += bits;
    b->bits += bits;
}

/* A bus of ISO 11783 carries 29-bit classical frames and nothing else. */
static void count_foreign(struct bus *b, const struct dbr_frame *frame)
{
    bool fd = frame->flags & DBR_FRAME_FD;
    bool standard = !(frame->flags & DBR_FRAME_EXTENDED);

    b->seen.fd_frames += fd;
    b->seen.standard_frames += standard;
    if ((fd || standard) && b->seen.first_foreign_ns < 0)
        b->seen.first_foreign_ns = frame->at_ns;
}

void bus_frame(struct bus *b, const struct dbr_frame *frame, unsigned bits, uint32_t bitrate)
{
    if (b->seen.frames++ == 0)
        b->seen.first_ns = frame->at_ns;
    b->seen.last_ns = frame->at_ns;
    if (frame->flags & DBR_FRAME_ERROR) {
        bus_error_frame(b, frame);
        series_value(b->error_series, frame->at_ns, 1);
        return;
    }
    count_foreign(b, frame);
    count_traffic(b, frame->at_ns, bits, bitrate);
}

void bus_finish(struct bus *b, int64_t end_ns, uint32_t bitrate, bool timed)
{
    double duration_s = (double)(b->seen.last_ns - b->seen.first_ns) / NS_PER_S;

    if (b->step >= 0)
        close_step(b, bitrate);
    watch_finish(&b->busy, &b->seen.busy, b->busy.spell.end_ns, 0);
    watch_finish(&b->very_busy, &b->seen.very_busy, b->very_busy.spell.end_ns, 0);
    bus_errors_finish(b, end_ns);
    b->seen.measured = timed && duration_s >= LOAD_SECONDS;
    b->seen.load_mean_percent =
        b->seen.measured ? 100.0 * (double)b->bits / (bitrate * duration_s) : (double)NAN;
}
