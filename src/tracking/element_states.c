/* element_states.c - see element_states.h. */
#include "tracking/element_states.h"

bool element_states_tell(struct element_states *states, const struct role_value *v,
                         enum dbr_answer answer)
{
    size_t k = 0;

    while (k < states->count &&
           (states->items[k].element != v->element || states->items[k].ddi != v->ddi))
        k++;
    if (k == DBR_IMPLEMENT_STATES_MAX)
        return false;
    if (k == states->count)
        states->count++;
    states->items[k].element = v->element;
    states->items[k].ddi = v->ddi;
    states->items[k].answer = answer;
    return true;
}

/* The answer of all, where any that is on counts for all: `element` < 0, or of one alone. */
static enum dbr_answer any_of(const struct element_states *states, int element)
{
    enum dbr_answer any = DBR_ANSWER_UNKNOWN;

    for (size_t k = 0; k < states->count; k++) {
        if (element >= 0 && states->items[k].element != element)
            continue;
        if (states->items[k].answer == DBR_ANSWER_HELD)
            return DBR_ANSWER_HELD;
        if (states->items[k].answer == DBR_ANSWER_FAILED)
            any = DBR_ANSWER_FAILED;
    }
    return any;
}

enum dbr_answer element_states_any(const struct element_states *states)
{
    return any_of(states, -1);
}

enum dbr_answer element_states_of(const struct element_states *states, uint16_t element)
{
    return any_of(states, element);
}
