/*
 * implements.h - the chain of each implement: what holds, what failed, and since when.
 *
 * An implement is the master of a working set; members' messages count as the
 * master's. Twice a second each link of its chain is asked for its answer, from
 * the last values that were told. A link is judged by its own evidence alone:
 * which of them is the cause is the business of the diagnosis.
 */
#ifndef DRAWBAR_TRACKING_IMPLEMENTS_H
#define DRAWBAR_TRACKING_IMPLEMENTS_H

#include "tracking/devices.h"
#include "tracking/ecus.h"
#include "tracking/element_states.h"
#include "tracking/speeds.h"
#include "tracking/working_sets.h"

/* One element of an implement (a bin, a boom, a meter) with what it last said. */
struct element {
    uint16_t number;
    bool asked, told, has_meter; /* set-point, actual rate, meter speed exist */
    double setpoint;
    double actual;               /* NAN: told that it has none */
    bool by_mass;                /* set-point and rate are mass per area */
    double sums[4];              /* set-point, rate, speed, turns: of the ticks that count */
    unsigned ticks;
    unsigned shown_ticks;        /* asked to put out, and it did */
    bool lacks;                  /* asked to put out, and it tells that it does not, */
    int64_t lacks_ns;            /* since then */
    double meter;
    int64_t told_ns, meter_ns;
};

struct implement {
    struct dbr_implement seen;
    struct ecu *ecu;
    int64_t born_alive;       /* clock of the bus at its first message */
    int64_t asks_alive;       /* clock of the bus when it first spoke to a controller; -1: never */
    struct element_states work_states, work_setpoints, sections, section_setpoints;
    /* of any element, as those say */
    enum dbr_answer work_state, work_setpoint;
    bool work_state_told;
    bool work_state_error;    /* told as in error, and on by no element */
    enum dbr_answer state;    /* whether coverage is recorded: work state, else sections */
    int64_t state_ns;         /* since when */
    bool was_on;              /* its state was on before in this recording */
    bool put_off;             /* its state went off while its own wheel turned */
    enum dbr_answer sections_wanted; /* of the set-points: any section on? */
    enum dbr_answer sections_on;
    unsigned steady_ticks;           /* of work without a break */
    size_t element_count;
    struct element elements[DBR_IMPLEMENT_ELEMENTS_MAX];
    struct watch rate_missing, coverage_missing, controller_lost;
    int64_t evidence_ns[DBR_WORK_EVIDENCES]; /* since when each says that it works; -1: not */
    int64_t without_since_ns[DBR_SPEED_SOURCES_MAX]; /* it puts out while that source is dead; -1: not */
};

/* A task controller, as its status shows it. */
struct controller {
    bool seen;
    uint8_t address;
    int64_t status_ns, status_alive;
};

struct implements {
    size_t count;
    struct implement items[DBR_IMPLEMENTS_MAX];
    struct working_sets sets;
    struct controller controllers[DBR_INTERFACES_MAX];
    uint64_t beyond;
    int64_t next_tick_ns;
    struct series_pool *series;
};

/* What the links are judged by, beside the implement's own messages. */
struct surroundings {
    const struct bus *buses;
    const struct ecus *ecus;
    const struct speeds *speeds;
    const struct work *work;
    const struct devices *devices;
};

/* A frame: status of a controller, working set messages, the implement's connection. */
bool implements_concern(uint32_t pgn);
void implements_frame(struct implements *im, const struct sighting *s);
void implements_value(struct implements *im, const struct ecus *ecus, const struct speeds *speeds,
                      const struct sighting *s, const struct role_value *v);
/* The bus goes on after a gap: states change at every headland, and are unknown until the next. */
void implements_resume(struct implements *im, uint8_t interface);

/* Which implements are known to be idle, for those who ask whether a wheel must roll. */
void implements_tell_idle(const struct implements *im, struct work *w);
/* Returns when it has to be called again. */
int64_t implements_tick(struct implements *im, const struct surroundings *around, int64_t now);
void implements_finish(struct implements *im, const struct surroundings *around, int64_t end_ns);

/* Whether a task controller has told its status on this bus. */
bool implements_know_controller(const struct implements *im, uint8_t interface);

/* Whether `address` is a task controller; then process data it sends are about their receiver. */
bool implements_is_controller(const struct implements *im, uint8_t interface, uint8_t address);

/* implement_judge.c: one tick of one implement, and its end. */
#define IMPLEMENTS_TICK_NS (NS_PER_S / 2)

void implement_judge(struct implements *im, struct implement *i,
                     const struct surroundings *around, int64_t now);
void implement_finish(struct implement *i, const struct surroundings *around, int64_t end_ns);

/* chain.c: the answer of each link at one moment. */
struct link_answer {
    enum dbr_answer answer;
    enum dbr_link_reason reason;
};

struct link_answer chain_ask(enum dbr_link link, const struct implements *im,
                             const struct implement *i, const struct surroundings *around,
                             int64_t now);

/* Whether it is known not to work, though no hitch tells: it was put off, or obeys. */
bool implement_is_idle(const struct implement *i);

/* Whether it says that it is off, and not since its own speed is gone: then it stops by itself. */
bool implement_is_off(const struct implement *i, const struct surroundings *around, int64_t now);

/* What says that it works, whatever its own state: enum dbr_work_evidence bits. */
uint64_t implement_evidence(const struct implements *im, const struct implement *i,
                            const struct surroundings *around, int64_t now);

#endif
