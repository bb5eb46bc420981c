/* load_signals.c - the signals of a message: position, scaling, range and what they exclude. */
#include <math.h>
#include <string.h>

#include "decoding/loader.h"

#define BITS_MAX 64L
#define SPN_MAX 524287L /* 19 bits, SAE J1939-73 */

/* A message without a length has room for what its frame or transfer can carry. */
static void check_end(struct loader *l, const cJSON *o, const struct dbr_signal *signal)
{
    unsigned last_byte = (signal->first_bit + signal->bits - 1u) / 8u + 1u;

    if (l->room > 0 && last_byte > l->room)
        json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "byte"),
                  "the signal reaches byte %u of a message of %u bytes", last_byte, l->room);
}

/* Where it is not stated well, the signal keeps 0 bits. */
static void load_position(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    long byte = 0, bit = 1, bits = 0;
    size_t before = l->reader.mistakes;

    json_integer(&l->reader, o, "byte", JSON_REQUIRED, 1, DBR_EXAMPLE_BYTES_MAX, &byte);
    json_integer(&l->reader, o, "bit", JSON_OPTIONAL, 1, 8, &bit);
    json_integer(&l->reader, o, "bits", JSON_REQUIRED, 1, BITS_MAX, &bits);
    if (!loader_unharmed(l, before))
        return;
    signal->first_bit = (uint16_t)((byte - 1) * 8 + bit - 1);
    signal->bits = (uint8_t)bits;
    check_end(l, o, signal);
}

static void load_scaling(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    signal->scale = 1;
    json_number(&l->reader, o, "scale", &signal->scale);
    json_number(&l->reader, o, "offset", &signal->offset);
    if (!(fabs(signal->scale) > 0))
        json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "scale"),
                  "\"scale\" must not be 0");
}

static bool is_finite_number(const cJSON *node)
{
    return cJSON_IsNumber(node) && isfinite(node->valuedouble);
}

static void load_range(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    const cJSON *range = NULL;

    if (!json_array(&l->reader, o, "range", JSON_OPTIONAL, &range) || !range)
        return;
    const cJSON *low = cJSON_GetArrayItem(range, 0), *high = cJSON_GetArrayItem(range, 1);
    if (cJSON_GetArraySize(range) != 2 || !is_finite_number(low) || !is_finite_number(high) ||
        low->valuedouble > high->valuedouble) {
        json_fail(&l->reader, range, "\"range\" must be two numbers, the lower one first");
        return;
    }
    signal->has_range = true;
    signal->low = low->valuedouble;
    signal->high = high->valuedouble;
}

/* A range that the bits cannot reach is a slip in one of them. */
static void check_range(struct loader *l, const cJSON *o, const struct dbr_signal *signal)
{
    double low, high, step = fabs(signal->scale);

    if (!signal->has_range || signal->bits == 0)
        return;
    dbr_signal_limits(signal, &low, &high);
    if (signal->low < low - step / 2 || signal->high > high + step / 2)
        json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "range"),
                  "its %u bits carry values from %.10g to %.10g only", signal->bits, low, high);
}

/* The rule of J1939 would read -1 as "not available": its signals are unsigned with an offset. */
static void load_sign_and_special(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    size_t before = l->reader.mistakes;

    json_flag(&l->reader, o, "signed", &signal->is_signed);
    load_special(l, o, &signal->special);
    if (signal->is_signed && signal->special == DBR_SPECIAL_J1939 && loader_unharmed(l, before))
        json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "signed"),
                  "a signed signal needs \"special\": \"none\" or \"nmea2000\"; the j1939 "
                  "rule is for unsigned ones");
}

static void load_names(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    const char *name = "", *note = NULL;
    long spn = 0;

    json_string(&l->reader, o, "name", JSON_REQUIRED, &name);
    json_string(&l->reader, o, "note", JSON_OPTIONAL, &note);
    json_integer(&l->reader, o, "spn", JSON_OPTIONAL, 0, SPN_MAX, &spn);
    signal->spn = (uint32_t)spn;
    const char *copy = loader_text(l, name);
    signal->name = copy ? copy : "";
}

static void load_signal(struct loader *l, const cJSON *o, struct dbr_signal *signal)
{
    static const char *const keys[] = {"name",  "spn",     "byte",   "bit",      "bits",
                                       "scale", "offset",  "unit",   "role",     "states",
                                       "range", "special", "signed", "overlaps", "confidence",
                                       "note",  NULL};

    signal->name = "";
    json_check_object(&l->reader, o, keys);
    if (!cJSON_IsObject(o))
        return;
    size_t before = l->reader.mistakes;
    load_names(l, o, signal);
    load_position(l, o, signal);
    load_scaling(l, o, signal);
    load_role_and_unit(l, o, signal);
    load_range(l, o, signal);
    load_sign_and_special(l, o, signal);
    load_confidence(l, o, &signal->from_memory);
    if (signal->bits > 0)
        load_states(l, o, signal);
    if (l->strict && loader_unharmed(l, before))
        check_range(l, o, signal);
}

/* The signals before the one that is being loaded. */
struct neighbours {
    const struct dbr_signal *signals;
    bool overlaps[DBR_SIGNALS_MAX]; /* may share bits */
};

/* One whose position is not known has 0 bits, and shares none. */
static bool share_bits(const struct dbr_signal *a, const struct dbr_signal *b)
{
    return a->first_bit < b->first_bit + b->bits && b->first_bit < a->first_bit + a->bits;
}

/* Names and bits of a message's signals are their own, unless one says that its bits overlap. */
static void check_neighbours(struct loader *l, const cJSON *o, struct neighbours *n, size_t index)
{
    const struct dbr_signal *signal = &n->signals[index];

    if (!json_flag(&l->reader, o, "overlaps", &n->overlaps[index]))
        n->overlaps[index] = true; /* nobody knows: no more complaints about it */
    for (size_t i = 0; i < index; i++) {
        if (*signal->name && strcmp(n->signals[i].name, signal->name) == 0)
            json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "name"),
                      "another signal of this message is called \"%.60s\"", signal->name);
        if (!n->overlaps[i] && !n->overlaps[index] && share_bits(&n->signals[i], signal))
            json_fail(&l->reader, cJSON_GetObjectItemCaseSensitive(o, "byte"),
                      "its bits belong to \"%.60s\" (\"overlaps\": true would allow it)",
                      n->signals[i].name);
    }
}

void load_signals(struct loader *l, const cJSON *o, struct dbr_message *message,
                  enum dbr_special special)
{
    const cJSON *list = NULL, *node;
    size_t count = 0;

    if (!json_array(&l->reader, o, "signals", JSON_REQUIRED, &list))
        return;
    if (cJSON_GetArraySize(list) > (int)DBR_SIGNALS_MAX) {
        json_fail(&l->reader, list, "more than %u signals", DBR_SIGNALS_MAX);
        return;
    }
    struct dbr_signal *signals = loader_take(l, (size_t)cJSON_GetArraySize(list), sizeof *signals);
    if (!signals)
        return;
    struct neighbours neighbours = {.signals = signals};
    cJSON_ArrayForEach(node, list)
    {
        size_t before = l->reader.mistakes;
        signals[count].special = special;
        load_signal(l, node, &signals[count]);
        check_neighbours(l, node, &neighbours, count);
        l->broken[count] = !loader_unharmed(l, before);
        if (l->exhausted)
            return;
        count++;
    }
    message->signals = signals;
    message->signal_count = count;
    l->signals += count;
}
