/* load_signals.c - the signals of a message: position, scaling, unit, role, states. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "decoding/loader.h"

#define BITS_MAX 64L

/* What a role demands of its unit, and how units relate to SI. */
enum quantity { QUANTITY_ANY, QUANTITY_SPEED, QUANTITY_LENGTH, QUANTITY_VOLTAGE };

static const struct {
    const char *unit;
    enum quantity quantity;
    double si_factor;
} units[] = {
    {"m/s", QUANTITY_SPEED, 1.0},
    {"mm/s", QUANTITY_SPEED, 0.001},
    {"km/h", QUANTITY_SPEED, 1 / 3.6},
    {"mph", QUANTITY_SPEED, 0.44704}, /* 1609.344 m an hour, exact */
    {"m", QUANTITY_LENGTH, 1.0},
    {"mm", QUANTITY_LENGTH, 0.001},
    {"km", QUANTITY_LENGTH, 1000.0},
    {"V", QUANTITY_VOLTAGE, 1.0},
    {"mV", QUANTITY_VOLTAGE, 0.001},
};

static enum quantity role_quantity(enum dbr_role role)
{
    const char *name = dbr_role_name(role);

    if (strncmp(name, "speed.", 6) == 0)
        return QUANTITY_SPEED;
    if (strncmp(name, "distance.", 9) == 0)
        return QUANTITY_LENGTH;
    return role == DBR_ROLE_SUPPLY_VOLTAGE ? QUANTITY_VOLTAGE : QUANTITY_ANY;
}

static bool load_role(struct loader *l, const struct json_object *o, struct dbr_signal *signal)
{
    const char *name = NULL;

    signal->role = DBR_ROLE_NONE;
    if (!json_string(&l->reader, o, "role", JSON_OPTIONAL, &name))
        return false;
    for (int i = 1; name && i < DBR_ROLE_COUNT && signal->role == DBR_ROLE_NONE; i++)
        if (strcmp(name, dbr_role_name((enum dbr_role)i)) == 0)
            signal->role = (enum dbr_role)i;
    if (name && signal->role == DBR_ROLE_NONE)
        return json_fail_member(&l->reader, o, "role", "\"%.40s\" is no role", name);
    return true;
}

static bool load_unit(struct loader *l, const struct json_object *o, struct dbr_signal *signal)
{
    const char *unit = NULL;
    enum quantity wanted = role_quantity(signal->role);

    if (!json_string(&l->reader, o, "unit", JSON_OPTIONAL, &unit))
        return false;
    signal->si_factor = 1.0;
    signal->unit = loader_text(l, unit ? unit : "");
    for (size_t i = 0; unit && i < sizeof units / sizeof units[0]; i++)
        if (strcmp(units[i].unit, unit) == 0) {
            signal->si_factor = units[i].si_factor;
            if (wanted == units[i].quantity)
                wanted = QUANTITY_ANY;
        }
    if (wanted != QUANTITY_ANY)
        return json_fail(&l->reader, o->place, "the role %s needs a unit of its kind",
                         dbr_role_name(signal->role));
    return signal->unit != NULL;
}

static bool load_position(struct loader *l, const struct json_object *o,
                          const struct dbr_message *message, struct dbr_signal *signal)
{
    long byte = 0, bit = 1, bits = 0;

    if (!json_integer(&l->reader, o, "byte", JSON_REQUIRED, 1, DBR_EXAMPLE_BYTES_MAX, &byte) ||
        !json_integer(&l->reader, o, "bit", JSON_OPTIONAL, 1, 8, &bit) ||
        !json_integer(&l->reader, o, "bits", JSON_REQUIRED, 1, BITS_MAX, &bits))
        return false;
    long first = (byte - 1) * 8 + bit - 1;
    if (message->length > 0 && first + bits > 8L * message->length)
        return json_fail(&l->reader, o->place, "the signal ends beyond the %u bytes of the message",
                         message->length);
    signal->first_bit = (uint16_t)first;
    signal->bits = (uint8_t)bits;
    return true;
}

static bool load_scaling(struct loader *l, const struct json_object *o, struct dbr_signal *signal)
{
    signal->scale = 1;
    signal->offset = 0;
    if (!json_number(&l->reader, o, "scale", JSON_OPTIONAL, &signal->scale) ||
        !json_number(&l->reader, o, "offset", JSON_OPTIONAL, &signal->offset))
        return false;
    if (fabs(signal->scale) <= 0)
        return json_fail_member(&l->reader, o, "scale", "\"scale\" must not be 0");
    return true;
}

static bool load_range(struct loader *l, const struct json_object *o, struct dbr_signal *signal)
{
    const cJSON *range = NULL;

    if (!json_array(&l->reader, o, "range", JSON_OPTIONAL, &range) || !range)
        return !range && !cJSON_GetObjectItemCaseSensitive(o->node, "range");
    const cJSON *low = cJSON_GetArrayItem(range, 0), *high = cJSON_GetArrayItem(range, 1);
    if (cJSON_GetArraySize(range) != 2 || !cJSON_IsNumber(low) || !cJSON_IsNumber(high) ||
        low->valuedouble > high->valuedouble)
        return json_fail_member(&l->reader, o, "range",
                                "\"range\" must be two numbers, the lower one first");
    signal->has_range = true;
    signal->low = low->valuedouble;
    signal->high = high->valuedouble;
    return true;
}

/* "states": texts by raw value, whose keys are decimal numbers that fit the signal. */
static bool load_states(struct loader *l, const struct json_object *signal_object,
                        struct dbr_signal *signal)
{
    struct json_place place = {signal_object->place, "states", 0};
    struct json_object o = {cJSON_GetObjectItemCaseSensitive(signal_object->node, "states"),
                            &place};
    const cJSON *state;

    if (!o.node)
        return true;
    if (!cJSON_IsObject(o.node))
        return json_fail(&l->reader, &place, "\"states\" must be an object");
    struct dbr_state_text *states =
        loader_take(l, (size_t)cJSON_GetArraySize(o.node), sizeof *states);
    if (!states)
        return false;
    signal->states = states;
    cJSON_ArrayForEach(state, o.node)
    {
        char *end;
        unsigned long long raw = strtoull(state->string, &end, 10);
        bool fits = signal->bits == 64 || raw >> signal->bits == 0;
        if (*end != '\0' || end == state->string || state->string[0] == '-' || !fits)
            return json_fail_member(&l->reader, &o, state->string,
                                    "\"%.40s\" is no value of %u bits", state->string,
                                    signal->bits);
        if (!cJSON_IsString(state))
            return json_fail_member(&l->reader, &o, state->string, "a state must be a text");
        const char *text = loader_text(l, state->valuestring);
        if (!text)
            return false;
        states[signal->state_count++] = (struct dbr_state_text){raw, text};
    }
    return true;
}

static bool load_signal(struct loader *l, const struct json_object *o,
                        const struct dbr_message *message, enum dbr_special special,
                        struct dbr_signal *signal)
{
    static const char *const keys[] = {"name",  "spn",     "byte",  "bit",      "bits",
                                       "scale", "offset",  "unit",  "role",     "states",
                                       "range", "special", "signed", "overlaps", "confidence",
                                       "note",  NULL};
    const char *name = NULL, *confidence = NULL;
    long spn = 0;

    signal->special = special;
    if (!json_check_object(&l->reader, o, keys) ||
        !json_string(&l->reader, o, "name", JSON_REQUIRED, &name) ||
        !json_string(&l->reader, o, "confidence", JSON_OPTIONAL, &confidence) ||
        !json_integer(&l->reader, o, "spn", JSON_OPTIONAL, 0, 524287, &spn) ||
        !load_position(l, o, message, signal) || !load_scaling(l, o, signal) ||
        !load_role(l, o, signal) || !load_unit(l, o, signal) || !load_range(l, o, signal) ||
        !load_special(l, o, &signal->special) ||
        !json_flag(&l->reader, o, "signed", &signal->is_signed) || !load_states(l, o, signal))
        return false;
    signal->spn = (uint32_t)spn;
    signal->name = loader_text(l, name);
    return signal->name != NULL;
}

static bool share_bits(const struct dbr_signal *a, const struct dbr_signal *b)
{
    return a->first_bit < b->first_bit + b->bits && b->first_bit < a->first_bit + a->bits;
}

/* Names and bits of a message's signals are its own, unless it says that bits overlap. */
static bool check_neighbours(struct loader *l, const struct json_object *o,
                             const struct dbr_signal *signals, size_t index)
{
    bool overlaps = false;

    if (!json_flag(&l->reader, o, "overlaps", &overlaps))
        return false;
    for (size_t i = 0; i < index; i++) {
        if (strcmp(signals[i].name, signals[index].name) == 0)
            return json_fail(&l->reader, o->place, "a signal \"%.60s\" exists already",
                             signals[i].name);
        if (!overlaps && share_bits(&signals[i], &signals[index]))
            return json_fail(&l->reader, o->place, "its bits belong to \"%.60s\" already",
                             signals[i].name);
    }
    return true;
}

bool load_signals(struct loader *l, const struct json_object *o, struct dbr_message *message,
                  enum dbr_special special)
{
    const cJSON *list = NULL, *node;
    size_t count = 0;

    if (!json_array(&l->reader, o, "signals", JSON_REQUIRED, &list))
        return false;
    if (cJSON_GetArraySize(list) > (int)DBR_SIGNALS_MAX)
        return json_fail_member(&l->reader, o, "signals", "more than %u signals",
                                DBR_SIGNALS_MAX);
    struct dbr_signal *signals =
        loader_take(l, (size_t)cJSON_GetArraySize(list), sizeof *signals);
    if (!signals)
        return false;
    cJSON_ArrayForEach(node, list)
    {
        struct loader_element e;
        loader_element_init(&e, o, "signals", count, node);
        if (!load_signal(l, &e.object, message, special, &signals[count]) ||
            !check_neighbours(l, &e.object, signals, count))
            return false;
        count++;
    }
    message->signals = signals;
    message->signal_count = count;
    return true;
}
