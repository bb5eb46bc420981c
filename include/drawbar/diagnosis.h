/*
 * diagnosis.h - from what happened to what is wrong, why, and what to check next.
 *
 * Each finding has one code out of the table in src/diagnosis/rules.c, evidence
 * with figures and times, the next checks in the order in which a technician
 * would make them, and the cautions that those need. `because_of` names the
 * findings that caused it; the verdict lists those that nothing else explains.
 *
 *     diagnosis = dbr_diagnosis_new(history, info, &options, &error);
 *     for (i = 0; i < diagnosis->finding_count; i++)
 *         show(&diagnosis->findings[i]);
 *     dbr_diagnosis_free(diagnosis);
 *
 * Everything inside belongs to the diagnosis. Texts are valid UTF-8 without
 * control characters, whatever the recording held.
 */
#ifndef DRAWBAR_DIAGNOSIS_H
#define DRAWBAR_DIAGNOSIS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/error.h"
#include "drawbar/reading.h"
#include "drawbar/rig.h"
#include "drawbar/tracking.h"

DBR_API_BEGIN

enum dbr_severity { /* least first */
    DBR_NOTE,       /* worth knowing */
    DBR_WARNING,    /* a technician should look */
    DBR_FAULT       /* the machine cannot do its work while this lasts */
};

/* A list of lines of text. */
struct dbr_lines {
    size_t count;
    const char **items;
};

struct dbr_finding {
    const char *code; /* "speed-stuck-zero", ...; static storage */
    enum dbr_severity severity;
    int interface;           /* index into the recording's interfaces; -1: none */
    int address;             /* the ECU that it is about; -1: none */
    size_t address_count;    /* further addresses, where there are several; else 0 */
    uint8_t addresses[254];  /* every one of a bus */
    int32_t pgn;             /* -1: none */
    const struct dbr_trouble *trouble; /* the trouble code that it is about; NULL: none */
    bool timed;              /* start_ns (and end_ns unless open) hold */
    int64_t start_ns, end_ns;
    bool open;               /* lasted to the end of the recording */
    uint64_t count;          /* how often it happened, >= 1 */
    const char *section;     /* of the rig, where it is placed in one; NULL: not known */
    const char *missing;     /* label of the ECU of the rig that it misses; NULL: none */
    const char *title;       /* one line: what happened to whom */
    struct dbr_lines evidence;
    struct dbr_lines checks;   /* next steps, first one first */
    struct dbr_lines cautions; /* before doing the checks */
    size_t cause_count;      /* because_of: indices into the findings */
    const size_t *causes;
};

struct dbr_verdict {
    const char *sentence;     /* the whole report in one sentence or two */
    size_t root_cause_count;  /* findings at fault or warning without a cause among the others */
    const size_t *root_causes; /* indices, most important first */
};

struct dbr_diagnosis {
    size_t finding_count;
    const struct dbr_finding *findings; /* worst first, then in the order of time */
    uint64_t findings_dropped;          /* beyond the ceiling; 0 in any sane recording */
    struct dbr_lines cannot_tell;   /* what this recording leaves open, and why */
    struct dbr_lines untold;        /* labels of ECUs of the rig: there or not, it is unknown */
    struct dbr_lines record_better; /* how the next one would tell more */
    struct dbr_verdict verdict;
};

enum dbr_units { DBR_UNITS_METRIC, DBR_UNITS_US };

struct dbr_diagnosis_options {
    enum dbr_units units;     /* of the figures in texts */
    const struct dbr_rig *rig; /* NULL: what the machine should have is not known */
};

/* NULL on failure (out of memory). `history` and `info` must outlive the diagnosis. */
struct dbr_diagnosis *dbr_diagnosis_new(const struct dbr_history *history,
                                        const struct dbr_recording_info *info,
                                        const struct dbr_diagnosis_options *options,
                                        struct dbr_error *error);
void dbr_diagnosis_free(struct dbr_diagnosis *diagnosis);

/* "fault", "warning", "note". Static storage. */
const char *dbr_severity_name(enum dbr_severity severity);

DBR_API_END

#endif
