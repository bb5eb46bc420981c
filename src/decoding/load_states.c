/* load_states.c - "states": texts for the raw values of a signal, by decimal number. */
#include <string.h>

#include "decoding/loader.h"

/* Digits alone: strtoull would take blanks, signs and a value that is too large. */
static bool parse_decimal(const char *text, uint64_t *out)
{
    uint64_t value = 0;

    if (text[0] == '\0' || (text[0] == '0' && text[1] != '\0'))
        return false; /* "07" would be a second spelling of "7" */
    for (; *text; text++) {
        if (*text < '0' || *text > '9')
            return false;
        uint64_t digit = (uint64_t)(*text - '0');
        if (value > (UINT64_MAX - digit) / 10)
            return false;
        value = value * 10 + digit;
    }
    *out = value;
    return true;
}

static bool load_state(struct loader *l, const cJSON *node, unsigned bits,
                       struct dbr_state_text *state)
{
    if (!parse_decimal(node->string, &state->raw) || (bits < 64 && state->raw >> bits != 0))
        return json_fail_key(&l->reader, node, "\"%.40s\" is not a value of %u bits, in decimal",
                             node->string, bits);
    if (!cJSON_IsString(node) || node->valuestring[0] == '\0')
        return json_fail(&l->reader, node, "a state must be a text that is not empty");
    state->text = loader_text(l, node->valuestring);
    return state->text != NULL;
}

bool load_states(struct loader *l, const cJSON *signal_object, struct dbr_signal *signal)
{
    const cJSON *o = cJSON_GetObjectItemCaseSensitive(signal_object, "states"), *node;

    if (!o)
        return true;
    if (!json_check_map(&l->reader, o, DBR_STATES_MAX))
        return false;
    struct dbr_state_text *states = loader_take(l, (size_t)cJSON_GetArraySize(o), sizeof *states);
    if (!states)
        return false;
    cJSON_ArrayForEach(node, o)
    {
        if (!load_state(l, node, signal->bits, &states[signal->state_count]))
            return false;
        signal->state_count++;
    }
    signal->states = states;
    return true;
}
