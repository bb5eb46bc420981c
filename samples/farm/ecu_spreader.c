/*
 * ecu_spreader.c - the belt controller on the spreader's frame, master of the working set.
 *
 * Proprietary B 65305, each second and on change, layout invented: byte 1 outlets
 * of the left boom, byte 2 of the right boom that it wants (0 closed, 1 open); rest FF.
 */
#include <string.h>

#include "farm/ecus.h"
#include "farm/maths.h"
#include "farm/process_data.h"
#include "farm/simulation.h"

#define BOOM_LOST_NS FARM_NS_PER_S /* ten of its messages */

#define AXLE_SUPPLY_SPN   520201u
#define AXLE_SUPPLY_FMI   5u /* current below normal, or open circuit */
#define AXLE_SUPPLY_COUNT 3u /* times that it occurred */

static void start(struct farm_sim *sim, struct farm_ecu *ecu)
{
    (void)ecu;
    memset(&sim->spreader, 0, sizeof sim->spreader);
    sim->metering.wanted = false;
}

static void hear_boom(struct farm_sim *sim, const struct farm_frame *frame)
{
    if (farm_id_group(frame->id) != FARM_PGN_OUTLETS)
        return;
    if (farm_id_source(frame->id) == FARM_LEFT_BOOM_ADDRESS)
        sim->spreader.boom_ns[0] = sim->now_ns;
    else if (farm_id_source(frame->id) == FARM_RIGHT_BOOM_ADDRESS)
        sim->spreader.boom_ns[1] = sim->now_ns;
}

static void hear(struct farm_sim *sim, struct farm_ecu *ecu, const struct farm_frame *frame)
{
    hear_boom(sim, frame);
    farm_connect_hear(sim, ecu, frame);
}

static void watch_booms(struct farm_sim *sim)
{
    for (unsigned i = 0; i < FARM_BOOMS; i++) {
        int64_t heard_ns = sim->spreader.boom_ns[i];
        sim->metering.boom_heard[i] = heard_ns > 0 && sim->now_ns - heard_ns <= BOOM_LOST_NS;
    }
}

/*
 * PGN 65095, ISO 11783-7. Byte 1: no demand for power (the key is on); byte 2: in
 * work, ready to work, not in park, not in transport position.
 */
static bool compose_maintain_power(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    (void)ecu;
    data[1] = sim->metering.working ? 0x05 : 0x04;
    return true;
}

static bool compose_commands(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    (void)ecu;
    for (unsigned i = 0; i < FARM_BOOMS; i++)
        data[i] = sim->metering.commanded[i];
    return true;
}

static void send_composed(struct farm_sim *sim, struct farm_ecu *ecu, const struct farm_message *m)
{
    uint8_t data[8];

    memset(data, 0xFF, sizeof data);
    if (m->compose(sim, ecu, data))
        farm_ecu_send(sim, ecu, m->priority, m->pgn, m->destination, data, 0);
}

static bool compose_client_task(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    (void)ecu;
    data[4] = sim->spreader.connection == FARM_CONNECTED ? FARM_STATUS_TOTALS_ACTIVE : 0;
    memset(data + 5, 0, 3);
    return farm_connect_announced(&sim->spreader);
}

/*
 * DM1 (SAE J1939-73 5.7.1), each second. Lamps are not used on this bus. The supply of the axle
 * sensor draws no current: FMI 5, under a number of the maker's own (516096 and above), as no
 * SPN of the standard means such a sensor of an implement.
 */
static bool compose_trouble_codes(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    bool active = sim->scenario->axle_unplugged &&
                  farm_sensor_fault(sim->scenario, FARM_SENSOR_AXLE, sim->now_ns);

    (void)ecu;
    memset(data + 2, 0, 4); /* no fault */
    if (active) {
        farm_put16(data + 2, AXLE_SUPPLY_SPN & 0xFFFFu);
        data[4] = (uint8_t)(AXLE_SUPPLY_SPN >> 16 << 5 | AXLE_SUPPLY_FMI);
        data[5] = AXLE_SUPPLY_COUNT;
    }
    return true;
}

static const struct farm_message maintain_power = {FARM_PGN_MAINTAIN_POWER, 6, FARM_GLOBAL, 0, 0,
                                                   compose_maintain_power};

static const struct farm_message messages[] = {
    {FARM_PGN_PROCESS_DATA, 3, FARM_CONTROLLER_ADDRESS, 2000, 730, compose_client_task},
    {FARM_PGN_OUTLET_COMMANDS, 6, FARM_GLOBAL, 1000, 410, compose_commands},
    {FARM_PGN_TROUBLE_CODES, 6, FARM_GLOBAL, 1000, 640, compose_trouble_codes},
};
#define COMMANDS (&messages[1])

static void tell_changes(struct farm_sim *sim, struct farm_ecu *ecu)
{
    struct farm_spreader *s = &sim->spreader;

    if (s->was_working != sim->metering.working) {
        s->was_working = sim->metering.working;
        send_composed(sim, ecu, &maintain_power);
    }
    if (memcmp(s->commanded, sim->metering.commanded, sizeof s->commanded) != 0) {
        memcpy(s->commanded, sim->metering.commanded, sizeof s->commanded);
        send_composed(sim, ecu, COMMANDS);
    }
}

static void tick(struct farm_sim *sim, struct farm_ecu *ecu)
{
    watch_booms(sim);
    farm_connect_tick(sim, ecu);
    farm_report_tick(sim, ecu);
    tell_changes(sim, ecu);
}

const struct farm_ecu_design farm_spreader_design = {
    .name = {.industry_group = 2,
             .device_class = 5,
             .function = 128,
             .identity = 4071,
             .self_configurable = true},
    .address = FARM_SPREADER_ADDRESS,
    .boot_ms = 850,
    .clock_ppm = 85,
    .jitter_us = 1800,
    .messages = messages,
    .message_count = sizeof messages / sizeof *messages,
    .told = {"2.4.1*belts 1.7*", "GS-24-10*4071*frame*belt controller**B*"},
    .start = start,
    .tick = tick,
    .hear = hear,
};
