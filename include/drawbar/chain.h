/*
 * chain.h - what an implement needs to meter and map, link by link, and what became of it.
 *
 * Part of the history (tracking.h). Each link is judged by its own evidence alone:
 * which of them is the cause is the business of the diagnosis.
 */
#ifndef DRAWBAR_CHAIN_H
#define DRAWBAR_CHAIN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/limits.h"
#include "drawbar/spells.h"

DBR_API_BEGIN

/* The chain of conditions under which an implement meters and maps, in its order. */
enum dbr_link {
    DBR_LINK_ON_BUS,
    DBR_LINK_CONTROLLER,
    DBR_LINK_SPEED,
    DBR_LINK_WORKING,
    DBR_LINK_SETPOINT,
    DBR_LINK_METERING,
    DBR_LINK_RATE,
    DBR_LINK_COVERAGE,
    DBR_LINKS
};

enum dbr_answer { DBR_ANSWER_UNKNOWN, DBR_ANSWER_FAILED, DBR_ANSWER_HELD };

/* Why a link is as it is. One list yields codes and words. */
#define DBR_LINK_REASONS(X)                                                                        \
    X(NOTHING_SEEN, "nothing in the recording tells")                                              \
    X(HEARD, "it is heard")                                                                        \
    X(SILENT, "it is silent while the bus goes on")                                                \
    X(CONTROLLER_THERE, "the task controller's status comes")                                      \
    X(CONTROLLER_GONE, "the task controller's status stopped")                                     \
    X(CONTROLLER_NEVER, "it asks for a task controller, and none answers")                         \
    X(CONTROLLER_NONE, "no task controller is on the bus")                                         \
    X(CONTROLLER_NOT_YET, "it is still connecting")                                                \
    X(MOVING, "a valid speed above walking pace is there")                                         \
    X(STANDING, "the machine stands")                                                              \
    X(OWN_SPEED_DEAD, "its own speed is dead while the machine moves")                             \
    X(OWN_SPEED_GONE, "its own speed has no value")                                                \
    X(NO_SPEED, "no source has a speed")                                                           \
    X(WORKS, "it is lowered or working")                                                           \
    X(RAISED, "it is neither lowered nor working")                                                 \
    X(SETPOINT_ABOVE, "a rate above zero is asked for")                                            \
    X(SETPOINT_ZERO, "the rate that is asked for is zero")                                         \
    X(TURNING, "a meter turns")                                                                    \
    X(METERS_STAND, "all meters stand")                                                            \
    X(RATE_ABOVE, "the actual rate is above zero")                                                 \
    X(RATE_ZERO, "the actual rate is zero")                                                        \
    X(RATE_NONE, "the actual rate has no value")                                                   \
    X(WORK_STATE_ON, "the actual work state is on")                                                \
    X(WORK_STATE_OFF, "the actual work state is off")                                              \
    X(NOT_DESCRIBED, "its description lists nothing that would tell")                              \
    X(NEVER_SENT, "its description lists what would tell, and none was sent")                      \
    X(WORK_STATE_ERROR, "the actual work state is in error")                                       \
    X(SECTIONS_OFF, "all its sections are off")

enum dbr_link_reason {
#define DBR_REASON_ENUM(name, words) DBR_REASON_##name,
    DBR_LINK_REASONS(DBR_REASON_ENUM)
#undef DBR_REASON_ENUM
    DBR_REASON_COUNT
};

/* A link over an interval in which its answer and reason stayed the same. */
struct dbr_link_interval {
    enum dbr_answer answer;
    enum dbr_link_reason reason;
    int64_t start_ns, end_ns;
};

struct dbr_link_story {
    size_t count;
    uint64_t folded; /* changes beyond the ceiling: the last interval covers them */
    struct dbr_link_interval items[DBR_LINK_INTERVALS_MAX];
};

/* What one metering element did on average while it was asked for a rate and moved. */
struct dbr_meter {
    uint16_t element;
    double seconds;
    double setpoint_kg_m2; /* mass per area; other set-points are not kept */
    double actual_kg_m2;   /* NAN: not told */
    double speed_mps;      /* of the implement's own source, else of the others */
    double turns_per_s;    /* NAN: not told */
    double width_m;        /* that it serves, by the implement's description: its own, else the
                              widest of any element; NAN: not described */
};

struct dbr_implement {
    uint8_t interface, address; /* of its working set master */
    int64_t first_ns;
    struct dbr_link_story links[DBR_LINKS];
    struct dbr_spells rate_missing;     /* count: elements that lack their rate at most; mask: which
                                           of `elements` lacked it */
    uint64_t rate_shown;                /* mask: which of `elements` put out as asked, for as
                                           long as a missing rate needs to show */
    struct dbr_spells coverage_missing; /* mask: evidence, enum dbr_work_evidence bits */
    struct dbr_spells controller_lost;  /* with its last status, or since it asked in vain */
    bool controller_seen;
    uint8_t controller;          /* its last address, where it was seen */
    bool drive_disengaged, drive_engaged; /* what a PTO said while the rate was missing */
    uint64_t refused;                   /* commands that it refused, and the reasons that it gave */
    uint8_t refusal_bits;               /* ISO 11783-10, process data acknowledge */
    size_t element_count;               /* that have a rate or a meter; numbers of them */
    uint16_t elements[DBR_IMPLEMENT_ELEMENTS_MAX];
    size_t meter_count;                 /* meters that turned while a rate was asked for */
    struct dbr_meter meters[DBR_METERS_MAX];
    /* of the time in which a rate was asked for: how often rate and motion of a source agreed */
    uint32_t follow_total;
    uint32_t follow_agreed[DBR_SPEED_SOURCES_MAX];
    uint64_t applied_without; /* sources that were dead for a while, and it put out all the same */
};

enum dbr_work_evidence {
    DBR_EVIDENCE_WORK_SETPOINT = 1 << 0, /* the controller wants it to work */
    DBR_EVIDENCE_METER = 1 << 1,
    DBR_EVIDENCE_RATE = 1 << 2,
    DBR_EVIDENCE_LOWERED = 1 << 3,
    DBR_EVIDENCE_DRIVE = 1 << 4,
    DBR_EVIDENCE_STATE_ERROR = 1 << 5,   /* no such evidence, but what its state was: in error */
    DBR_EVIDENCE_SECTIONS = 1 << 6       /* or told by its sections alone */
};

/* The first so many of them say that it works. */
#define DBR_WORK_EVIDENCES 5

/* "on_bus", ... as in the JSON report, and "on the bus", ... for people. Static storage. */
const char *dbr_link_name(enum dbr_link link);
const char *dbr_link_words(enum dbr_link link);

/* "held", ...; the words of a reason. Static storage. */
const char *dbr_answer_name(enum dbr_answer answer);
const char *dbr_link_reason_words(enum dbr_link_reason reason);

/* How long a link had an answer, in all. */
int64_t dbr_link_time_ns(const struct dbr_link_story *story, enum dbr_answer answer);

DBR_API_END

#endif
