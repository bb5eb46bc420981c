/*
 * silences.h - silences of ECUs put together: which fell silent at the same moment.
 */
#ifndef DRAWBAR_DIAGNOSIS_SILENCES_H
#define DRAWBAR_DIAGNOSIS_SILENCES_H

#include "diagnosis/findings.h"

#define SILENCE_GROUP_MAX 254u /* ECUs of one group: every one of a bus */

/* ECUs of one bus that fell silent together. */
struct silence_group {
    uint8_t interface;
    size_t count;                       /* >= 1 */
    const struct dbr_ecu *ecus[SILENCE_GROUP_MAX];
    const struct dbr_spell *spells[SILENCE_GROUP_MAX];
    int64_t start_ns, end_ns;
    bool open;
};

/*
 * Calls `visit` for each group, in the order of time. Silences with which a
 * machine is switched off, and those that were ordered, are left out.
 */
void silences_visit(struct findings *f, const struct rule *rule,
                    void (*visit)(struct findings *f, const struct rule *rule,
                                  const struct silence_group *group));

/* Whether a silence belongs to switching the machine off. */
bool silence_is_shutdown(const struct findings *f, const struct dbr_ecu *ecu,
                         const struct dbr_spell *silence);

/* The order to stop broadcasting (DM13) that a silence obeys: it begins with the order and ends
 * with it. NULL: none. */
const struct dbr_broadcast_stop *silence_order(const struct findings *f,
                                               const struct dbr_ecu *ecu,
                                               const struct dbr_spell *silence);

#endif
