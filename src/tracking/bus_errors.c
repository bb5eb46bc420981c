/* bus_errors.c - see bus_errors.h. Meanings: linux/can/error.h, by decoding/error_frame.c. */
#include "tracking/bus_errors.h"

#define CLUSTER_NS NS_PER_S      /* error frames closer than this belong together */
#define BURST_NS NS_PER_S        /* contract: more than 10 in 1 s */
#define BURST_ERRORS 10u
#define BURST_RING (BURST_ERRORS + 1u)

/* The controller's states exclude each other: one begins, the others end. */
static void enter_state(struct bus *b, enum dbr_controller_state state, int64_t now)
{
    if (state == DBR_CONTROLLER_UNSAID)
        return;
    if (state != DBR_CONTROLLER_OFF)
        watch_end(&b->off, &b->seen.off, now, 0);
    if (state != DBR_CONTROLLER_PASSIVE)
        watch_end(&b->passive, &b->seen.passive, now, 0);
    if (state != DBR_CONTROLLER_WARNING)
        watch_end(&b->warning, &b->seen.warning, now, 0);
    if (state == DBR_CONTROLLER_OFF)
        watch_hold(&b->off, now);
    if (state == DBR_CONTROLLER_PASSIVE)
        watch_hold(&b->passive, now);
    if (state == DBR_CONTROLLER_WARNING)
        watch_hold(&b->warning, now);
}

static void note_counters(struct bus *b, const struct dbr_error_report *report)
{
    if (!report->counters_present)
        return;
    if (report->transmit_errors > b->seen.transmit_errors_max)
        b->seen.transmit_errors_max = report->transmit_errors;
    if (report->receive_errors > b->seen.receive_errors_max)
        b->seen.receive_errors_max = report->receive_errors;
}

static void note_acknowledge(struct bus *b, const struct dbr_error_report *report, int64_t now)
{
    if (!(report->kinds & 1u << DBR_ERROR_KIND_ACK))
        return;
    if (b->seen.no_acknowledge++ == 0)
        b->seen.first_no_acknowledge_ns = now;
    b->seen.last_no_acknowledge_ns = now;
}

static void note_cluster(struct bus *b, const struct dbr_error_report *report, int64_t now)
{
    if (b->errors.on && now - b->errors.spell.end_ns > CLUSTER_NS)
        watch_end(&b->errors, &b->seen.errors, b->errors.spell.end_ns, 0);
    struct dbr_spell *spell = watch_hold(&b->errors, now);
    spell->count++;
    spell->mask |= report->kinds;
}

static uint64_t dominating_kind(const struct bus *b)
{
    unsigned most = 0;

    for (unsigned i = 1; i < DBR_ERROR_KIND_COUNT; i++)
        if (b->kinds[i] > b->kinds[most])
            most = i;
    return b->kinds[most] ? UINT64_C(1) << most : 0;
}

static void end_burst(struct bus *b)
{
    if (b->burst.on) {
        b->burst.spell.mask = dominating_kind(b);
        watch_end(&b->burst, &b->seen.bursts, b->burst.spell.end_ns, 0);
    }
    for (unsigned i = 0; i < DBR_ERROR_KIND_COUNT; i++)
        b->kinds[i] = 0;
}

static void note_burst(struct bus *b, const struct dbr_error_report *report, int64_t now)
{
    int64_t before = b->recent[(b->disturbances + BURST_RING - 1) % BURST_RING];

    if (b->disturbances > 0 && now - before > BURST_NS)
        end_burst(b);
    b->recent[b->disturbances++ % BURST_RING] = now;
    for (unsigned i = 0; i < DBR_ERROR_KIND_COUNT; i++)
        b->kinds[i] += report->kinds >> i & 1u;
    if (b->burst.on) {
        watch_hold(&b->burst, now)->count++;
        return;
    }
    int64_t oldest = b->recent[b->disturbances % BURST_RING];
    if (b->disturbances < BURST_RING || now - oldest >= BURST_NS)
        return;
    watch_hold(&b->burst, oldest)->count = BURST_RING;
    watch_hold(&b->burst, now);
}

void bus_error_frame(struct bus *b, const struct dbr_frame *frame)
{
    struct dbr_error_report report = dbr_error_frame_read(frame);
    int64_t now = frame->at_ns;

    b->seen.error_frames++;
    if (report.classes & DBR_ERROR_CLASS_RESTARTED) {
        b->seen.restarts++;
        enter_state(b, DBR_CONTROLLER_ACTIVE, now);
    }
    enter_state(b, report.state, now);
    note_counters(b, &report);
    note_acknowledge(b, &report, now);
    /* A change of state or a restart is news of the controller, no disturbance on the wires. */
    const uint32_t disturbances = DBR_ERROR_CLASS_PROTOCOL | DBR_ERROR_CLASS_BUS_ERROR |
                                  DBR_ERROR_CLASS_NO_ACK | DBR_ERROR_CLASS_TRANSCEIVER;
    note_cluster(b, &report, now);
    if (report.classes & disturbances)
        note_burst(b, &report, now);
}

void bus_errors_finish(struct bus *b, int64_t end_ns)
{
    end_burst(b);
    watch_end(&b->errors, &b->seen.errors, b->errors.spell.end_ns, 0);
    watch_finish(&b->off, &b->seen.off, end_ns, 0);
    watch_finish(&b->passive, &b->seen.passive, end_ns, 0);
    watch_finish(&b->warning, &b->seen.warning, end_ns, 0);
}
