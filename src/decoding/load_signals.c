/* load_signals.c - the signals of a message: position, scaling, range and what they exclude. */
#include <math.h>
#include <string.h>

#include "decoding/loader.h"

#define BITS_MAX 64L
#define SPN_MAX 524287L /* 19 bits, SAE J1939-73 */

static bool load_position(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    long byte = 0, bit = 1, bits = 0;

    if (!json_integer(&l->reader, o, "byte", JSON_REQUIRED, 1, DBR_EXAMPLE_BYTES_MAX, &byte) ||
        !json_integer(&l->reader, o, "bit", JSON_OPTIONAL, 1, 8, &bit) ||
        !json_integer(&l->reader, o, "bits", JSON_REQUIRED, 1, BITS_MAX, &bits))
        return false;
    signal->first_bit = (uint16_t)((byte - 1) * 8 + bit - 1);
    signal->bits = (uint8_t)bits;
    return true;
}

/* A message without a length has room for what its frame or transfer can carry. */
static bool check_end(struct loader *l, const cJSON *o, const struct dbr_message *message,
                      const struct dbr_signal *signal)
{
    unsigned last_byte = (signal->first_bit + signal->bits - 1u) / 8u + 1u;
    unsigned room = message->length ? message->length : loader_room(message->packing);

    if (last_byte > room)
        return json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "byte"),
                         "the signal reaches byte %u of a message of %u bytes", last_byte, room);
    return true;
}

static bool load_scaling(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    signal->scale = 1;
    if (!json_number(&l->reader, o, "scale", &signal->scale) ||
        !json_number(&l->reader, o, "offset", &signal->offset))
        return false;
    if (!(fabs(signal->scale) > 0))
        return json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "scale"),
                         "\"scale\" must not be 0");
    return true;
}

static bool is_finite_number(const cJSON *node)
{
    return cJSON_IsNumber(node) && isfinite(node->valuedouble);
}

static bool load_range(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    const cJSON *range = NULL;

    if (!json_array(&l->reader, o, "range", JSON_OPTIONAL, &range))
        return false;
    if (!range)
        return true;
    const cJSON *low = cJSON_GetArrayItem(range, 0), *high = cJSON_GetArrayItem(range, 1);
    if (cJSON_GetArraySize(range) != 2 || !is_finite_number(low) || !is_finite_number(high) ||
        low->valuedouble > high->valuedouble)
        return json_fail(&l->reader, range, "\"range\" must be two numbers, the lower one first");
    signal->has_range = true;
    signal->low = low->valuedouble;
    signal->high = high->valuedouble;
    return true;
}

/* The rule of J1939 would read -1 as "not available": its signals are unsigned with an offset. */
static bool load_sign_and_special(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    if (!json_flag(&l->reader, o, "signed", &signal->is_signed) ||
        !load_special(l, o, &signal->special))
        return false;
    if (signal->is_signed && signal->special == DBR_SPECIAL_J1939)
        return json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "signed"),
                         "a signed signal needs \"special\": \"none\" or \"nmea2000\"; the j1939 "
                         "rule is for unsigned ones");
    return true;
}

static bool load_names(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    const char *name = NULL, *note = NULL;
    long spn = 0;

    if (!json_string(&l->reader, o, "name", JSON_REQUIRED, &name) ||
        !json_string(&l->reader, o, "note", JSON_OPTIONAL, &note) ||
        !json_integer(&l->reader, o, "spn", JSON_OPTIONAL, 0, SPN_MAX, &spn))
        return false;
    signal->spn = (uint32_t)spn;
    signal->name = loader_text(l, name);
    return signal->name != NULL;
}

static bool load_signal(struct loader *l, const cJSON *o, const struct dbr_message *message,
                        struct dbr_signal *signal)
{
    static const char *const keys[] = {"name",  "spn",     "byte",   "bit",      "bits",
                                       "scale", "offset",  "unit",   "role",     "states",
                                       "range", "special", "signed", "overlaps", "confidence",
                                       "note",  NULL};

    return json_check_object(&l->reader, o, keys) && load_names(l, o, signal) &&
           load_position(l, o, signal) && check_end(l, o, message, signal) &&
           load_scaling(l, o, signal) && load_role_and_unit(l, o, signal) &&
           load_range(l, o, signal) && load_sign_and_special(l, o, signal) &&
           load_confidence(l, o, &signal->from_memory) && load_states(l, o, signal);
}

/* The signals before the one that is being loaded. */
struct neighbours {
    const struct dbr_signal *signals;
    bool overlaps[DBR_SIGNALS_MAX]; /* may share bits */
};

static bool share_bits(const struct dbr_signal *a, const struct dbr_signal *b)
{
    return a->first_bit < b->first_bit + b->bits && b->first_bit < a->first_bit + a->bits;
}

/* Names and bits of a message's signals are their own, unless one says that its bits overlap. */
static bool check_neighbours(struct loader *l, const cJSON *o, struct neighbours *n, size_t index)
{
    const struct dbr_signal *signal = &n->signals[index];

    if (!json_flag(&l->reader, o, "overlaps", &n->overlaps[index]))
        return false;
    for (size_t i = 0; i < index; i++) {
        if (strcmp(n->signals[i].name, signal->name) == 0)
            return json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "name"),
                             "another signal of this message is called \"%.60s\"", signal->name);
        if (!n->overlaps[i] && !n->overlaps[index] && share_bits(&n->signals[i], signal))
            return json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "byte"),
                             "its bits belong to \"%.60s\" (\"overlaps\": true would allow it)",
                             n->signals[i].name);
    }
    return true;
}

bool load_signals(struct loader *l, const cJSON *o, struct dbr_message *message,
                  enum dbr_special special)
{
    const cJSON *list = NULL, *node;
    size_t count = 0;

    if (!json_array(&l->reader, o, "signals", JSON_REQUIRED, &list))
        return false;
    if (cJSON_GetArraySize(list) > (int)DBR_SIGNALS_MAX)
        return json_fail(&l->reader, list, "more than %u signals", DBR_SIGNALS_MAX);
    struct dbr_signal *signals = loader_take(l, (size_t)cJSON_GetArraySize(list), sizeof *signals);
    if (!signals)
        return false;
    struct neighbours neighbours = {.signals = signals};
    cJSON_ArrayForEach(node, list)
    {
        signals[count].special = special;
        if (!load_signal(l, node, message, &signals[count]) ||
            !check_neighbours(l, node, &neighbours, count))
            return false;
        count++;
    }
    message->signals = signals;
    message->signal_count = count;
    return true;
}
