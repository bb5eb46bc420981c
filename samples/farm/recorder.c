/* recorder.c - see recorder.h. Limits of the counters: ISO 11898-1, linux/can/error.h. */
#include "farm/recorder.h"

#include "farm/maths.h"

#define FAILED_SEND_COST 8u /* transmit error counter, a frame that failed (from memory) */
#define WARNING_LIMIT    96u
#define PASSIVE_LIMIT    128u
#define BUS_OFF_LIMIT    256u

/* The driver waits one second, then the controller 128 times 11 recessive bits. */
#define RESTART_NS (FARM_NS_PER_S + 128 * 11 * 4 * FARM_NS_PER_US)

/* Classes and details of error frames: linux/can/error.h. */
#define CLASS_CONTROLLER        0x004u
#define CLASS_BUS_OFF           0x040u
#define CLASS_RESTARTED         0x100u
#define CLASS_COUNTERS          0x200u
#define DETAIL_TRANSMIT_WARNING 0x08u
#define DETAIL_TRANSMIT_PASSIVE 0x20u

static void report(struct farm_recorder *r, int64_t at_ns, uint32_t classes, uint8_t detail)
{
    struct farm_frame frame = {.id = classes, .error = true, .length = 8};

    frame.data[1] = detail;
    if (classes & CLASS_COUNTERS)
        frame.data[6] = (uint8_t)r->transmit_errors;
    farm_recording_add(r->out, at_ns, &frame);
}

static void go_bus_off(struct farm_recorder *r, int64_t at_ns)
{
    r->bus_off = true;
    r->restart_ns = at_ns + RESTART_NS;
    report(r, at_ns, CLASS_BUS_OFF, 0);
}

static bool crossed(unsigned before, unsigned after, unsigned limit)
{
    return before < limit && after >= limit;
}

static void count_failure(struct farm_recorder *r, int64_t at_ns)
{
    unsigned before = r->transmit_errors;
    unsigned after = r->transmit_errors += FAILED_SEND_COST;

    if (crossed(before, after, WARNING_LIMIT))
        report(r, at_ns, CLASS_CONTROLLER | CLASS_COUNTERS, DETAIL_TRANSMIT_WARNING);
    if (crossed(before, after, PASSIVE_LIMIT))
        report(r, at_ns, CLASS_CONTROLLER | CLASS_COUNTERS, DETAIL_TRANSMIT_PASSIVE);
    if (crossed(before, after, BUS_OFF_LIMIT))
        go_bus_off(r, at_ns);
}

void farm_recorder_hear(struct farm_recorder *r, const struct farm_transfer *transfer, bool own)
{
    if (r->bus_off)
        return;
    if (transfer->failed && own) {
        count_failure(r, transfer->end_ns);
        return;
    }
    if (own && r->transmit_errors > 0)
        r->transmit_errors--;
    farm_recording_add(r->out, transfer->end_ns, &transfer->frame);
}

void farm_recorder_tick(struct farm_recorder *r, int64_t now_ns)
{
    if (!r->bus_off || now_ns < r->restart_ns)
        return;
    r->bus_off = false;
    r->transmit_errors = 0;
    report(r, r->restart_ns, CLASS_RESTARTED, 0);
}
