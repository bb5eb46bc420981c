/* rules_rig.h - where the rig takes part in the findings of others. */
#ifndef DRAWBAR_DIAGNOSIS_RULES_RIG_H
#define DRAWBAR_DIAGNOSIS_RULES_RIG_H

#include "diagnosis/rules.h"
#include "diagnosis/silences.h"

/* Says between which sections a silence lies, as far as a rig tells. */
void rig_locate(struct findings *f, struct found *found, const struct silence_group *g);

/* Whether a rig expects a source of this kind. */
bool rig_expects_speed(const struct findings *f, enum dbr_speed_kind kind);

#endif
