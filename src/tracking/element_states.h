/*
 * element_states.h - on or off, as each element of an implement last told it.
 *
 * Booms and sections tell their work state one by one: an implement is on while any of
 * them is, and off once all that ever spoke are.
 */
#ifndef DRAWBAR_TRACKING_ELEMENT_STATES_H
#define DRAWBAR_TRACKING_ELEMENT_STATES_H

#include "drawbar/limits.h"
#include "tracking/sighting.h"

struct element_states {
    size_t count;
    struct {
        uint16_t element, ddi; /* sections 17 and up have DDIs of their own */
        enum dbr_answer answer;
    } items[DBR_IMPLEMENT_STATES_MAX];
};

/* Returns false where it is one too many. */
bool element_states_tell(struct element_states *states, const struct role_value *v,
                         enum dbr_answer answer);

/* Unknown where none of them says on or off. */
enum dbr_answer element_states_any(const struct element_states *states);

/* The same of one element alone; unknown where it never spoke. */
enum dbr_answer element_states_of(const struct element_states *states, uint16_t element);

#endif
