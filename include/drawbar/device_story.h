/*
 * device_story.h - what became of an implement's description: sent, taken, refused, only activated.
 *
 * Part of the history (tracking.h). An implement sends its description to a task controller
 * once; afterwards the controller has it stored, and the implement only activates it by its
 * structure label (ISO 11783-10). Then no description is in the recording: unknown, not none.
 */
#ifndef DRAWBAR_DEVICE_STORY_H
#define DRAWBAR_DEVICE_STORY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/device.h"
#include "drawbar/limits.h"
#include "drawbar/transport.h"

DBR_API_BEGIN

/* What a controller refused. */
enum dbr_refusal_kind {
    DBR_REFUSED_MEMORY,     /* to take a description of that size */
    DBR_REFUSED_TRANSFER,   /* what was sent */
    DBR_REFUSED_ACTIVATION,
    DBR_REFUSED_DELETION,
    DBR_REFUSED_DESIGNATOR
};

struct dbr_device_refusal {
    enum dbr_refusal_kind kind;
    int64_t at_ns;
    uint8_t reasons;          /* byte 2 of the response; of a deletion byte 3 (ISO 11783-10) */
    uint16_t parent, object;  /* ids that it finds faulty; DBR_OBJECT_NONE: it names none */
    uint8_t object_reasons;   /* activation: byte 7 */
};

/* A transfer of a description that did not come to its end. */
struct dbr_device_failure {
    enum dbr_transfer_end end;
    int64_t at_ns;
    uint32_t packets, received;
    bool extended;
    uint8_t abort_reason;
};

struct dbr_device_story {
    uint8_t interface, address; /* of the implement, as it was last used */
    bool named;                 /* it claimed a NAME in this recording */
    uint64_t name;
    int64_t first_ns;           /* it first spoke of its description */
    uint8_t version, controller_version; /* that each told; DBR_VERSION_UNKNOWN */
    const struct dbr_device *description; /* NULL: not in this recording */
    bool from_prefix;           /* of a transfer that failed: what came before it broke off */
    uint64_t transfers;         /* that came whole, of this description */
    uint64_t bytes_beyond;      /* of it that exceeded the ceiling of memory */
    uint64_t failed;            /* transfers; the last one: */
    struct dbr_device_failure failure;
    bool activated, deleted;    /* what was last asked for and not refused */
    bool ever_activated;
    bool structure_told, localization_told; /* labels of what the controller has stored */
    uint8_t structure_label[DBR_LABEL_BYTES], localization_label[DBR_LABEL_BYTES];
    uint64_t refused;           /* all; the first of them: */
    size_t refusal_count;
    struct dbr_device_refusal refusals[DBR_DEVICE_REFUSALS_MAX];
};

/* Whether all of its description is known: it came whole, and was read to its end. */
bool dbr_device_story_complete(const struct dbr_device_story *story);

/* What is wrong with what is known of the description, in a sentence, the most important first;
 * NULL: nothing. Else returns out. */
const char *dbr_device_story_problem(char *out, size_t size, const struct dbr_device_story *story);

/* "the controller did not activate it: errors in it, object 12 (in 3): unknown reference". */
const char *dbr_device_refusal_text(char *out, size_t size,
                                    const struct dbr_device_refusal *refusal);

DBR_API_END

#endif
