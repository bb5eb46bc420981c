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

static void load_state(struct loader *l, const cJSON *node, unsigned bits,
                       struct dbr_state_text *state)
{
    if (!parse_decimal(node->string, &state->raw) || (bits < 64 && state->raw >> bits != 0))
        json_fail_key(&l->reader, node, "\"%.40s\" is not a value of %u bits, in decimal",
                      node->string, bits);
    bool is_text = cJSON_IsString(node) && node->valuestring[0] != '\0';
    if (!is_text)
        json_fail(&l->reader, node, "a state must be a text that is not empty");
    const char *text = is_text ? loader_text(l, node->valuestring) : NULL;
    state->text = text ? text : ""; /* the examples are compared with it all the same */
}

/* `o` is an object of texts by raw value; `list` has room for the values of `bits` bits. */
static void load_list(struct loader *l, const cJSON *o, unsigned bits, struct state_list *list)
{
    const cJSON *node;

    if (!json_check_map(&l->reader, o, DBR_STATES_MAX))
        return;
    struct dbr_state_text *states = loader_take(l, (size_t)cJSON_GetArraySize(o), sizeof *states);
    if (!states)
        return;
    cJSON_ArrayForEach(node, o)
    {
        struct dbr_state_text *state = &states[list->count++];
        load_state(l, node, bits, state);
        if (state->raw > list->highest)
            list->highest = state->raw;
    }
    list->states = states;
}

void load_state_lists(struct loader *l, const cJSON *document)
{
    const cJSON *o = cJSON_GetObjectItemCaseSensitive(document, "states"), *node;

    if (!o || !json_check_map(&l->reader, o, DBR_STATES_MAX))
        return;
    l->lists = loader_take(l, (size_t)cJSON_GetArraySize(o), sizeof *l->lists);
    if (!l->lists)
        return;
    cJSON_ArrayForEach(node, o)
    {
        struct state_list *list = &l->lists[l->list_count++];
        list->name = node->string;
        load_list(l, node, 64, list);
    }
}

/* A list of the document, by its name. */
static void take_shared(struct loader *l, const cJSON *node, struct dbr_signal *signal)
{
    for (size_t i = 0; i < l->list_count; i++) {
        const struct state_list *list = &l->lists[i];
        if (strcmp(list->name, node->valuestring) != 0)
            continue;
        if (signal->bits < 64 && list->highest >> signal->bits != 0)
            json_fail(&l->reader, node, "\"%.40s\" has states beyond the %u bits of this signal",
                      list->name, signal->bits);
        signal->states = list->states;
        signal->state_count = list->count;
        return;
    }
    json_fail(&l->reader, node, "\"states\" at the head of this file holds no \"%.40s\"",
              node->valuestring);
}

void load_states(struct loader *l, const cJSON *signal_object, struct dbr_signal *signal)
{
    const cJSON *o = cJSON_GetObjectItemCaseSensitive(signal_object, "states");
    struct state_list own = {0};

    if (!o)
        return;
    if (cJSON_IsString(o)) {
        take_shared(l, o, signal);
        return;
    }
    load_list(l, o, signal->bits, &own);
    signal->states = own.states;
    signal->state_count = own.states ? own.count : 0;
}
