/*
 * spreader.h - what the belt controller remembers, and its four concerns.
 *
 * ecu_spreader.c      the ECU: boom units, outlets, maintain power
 * spreader_connect.c  its connection to the task controller, step by step
 * spreader_pool.c     its device description
 * spreader_report.c   the values it reports, and when
 */
#ifndef FARM_SPREADER_H
#define FARM_SPREADER_H

#include "farm/ecu.h"
#include "farm/metering.h"
#include "farm/packets.h"

#define FARM_VALUES_MAX 14u

/* What it waits for (ISO 11783-10; order from the standard's start-up). */
enum farm_connection {
    FARM_WAIT_SETTLED, /* 6 s after its claim */
    FARM_WAIT_STATUS,  /* a task controller says that it is there */
    FARM_WAIT_VERSION,
    FARM_WAIT_STRUCTURE,
    FARM_WAIT_LANGUAGE,
    FARM_WAIT_LOCALIZATION,
    FARM_WAIT_ALLOWED,
    FARM_WAIT_TRANSFERRED,
    FARM_WAIT_ACTIVATED,
    FARM_CONNECTED
};

/* When a value is reported: as the task controller has asked. */
struct farm_subscription {
    int64_t interval_ns; /* 0: none */
    int64_t due_ns;
    bool on_change;
    int32_t last;
};

struct farm_spreader {
    enum farm_connection connection;
    int64_t status_ns;           /* last status of the task controller */
    int64_t boom_ns[FARM_BOOMS]; /* last frame of a boom unit; 0: none yet */
    bool known;                  /* the task controller has its device description stored */
    struct farm_sending sending;
    bool was_working;
    bool commanded[FARM_BOOMS]; /* last sent to the boom units */
    struct farm_subscription subscriptions[FARM_VALUES_MAX];
};

struct farm_process_data;

/* spreader_connect.c */
void farm_connect_tick(struct farm_sim *sim, struct farm_ecu *ecu);
void farm_connect_hear(struct farm_sim *sim, struct farm_ecu *ecu, const struct farm_frame *frame);
bool farm_connect_announced(const struct farm_spreader *s); /* the working set is known */

/* spreader_pool.c: adds the device description. */
void farm_spreader_pool(struct farm_sending *out);

/* spreader_report.c */
void farm_report_tick(struct farm_sim *sim, struct farm_ecu *ecu);
void farm_report_command(struct farm_sim *sim, struct farm_ecu *ecu,
                         const struct farm_process_data *p);

#endif
