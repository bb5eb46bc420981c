/* rules_rig.h - where the rig takes part in the findings of others. */
#ifndef DRAWBAR_DIAGNOSIS_RULES_RIG_H
#define DRAWBAR_DIAGNOSIS_RULES_RIG_H

#include "diagnosis/rules.h"
#include "diagnosis/silences.h"

/* Says between which sections a silence lies, as far as a rig tells. */
void rig_locate(struct findings *f, struct found *found, const struct silence_group *g);

/* How many send of whom the recording does not tell who of the rig they are. */
size_t rig_strangers(const struct findings *f);

/* Whether an ECU of the rig that was not heard may be there all the same: the rig knows it by its
 * NAME alone, and there are strangers. */
bool rig_untold(const struct findings *f, size_t entry);

/* Whether a rig expects a source of this kind. */
bool rig_expects_speed(const struct findings *f, enum dbr_speed_kind kind);

#endif
