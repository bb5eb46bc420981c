/* prove.c - the worked examples of a definition, worked again. */
#include <math.h>
#include <stdio.h>

#include "decoding/loader.h"

#define SIDE_MAX 80u

static bool agrees(const struct dbr_signal *signal, const struct dbr_expectation *expect,
                   const struct dbr_value *value)
{
    if (expect->by_raw)
        return value->status != DBR_VALUE_ABSENT && value->raw == expect->raw;
    if (value->status != expect->status)
        return false;
    return expect->status != DBR_VALUE_VALID ||
           fabs(value->number - expect->number) <= fabs(signal->scale) / 2;
}

static void describe(const struct dbr_signal *signal, enum dbr_value_status status, double number,
                     char words[SIDE_MAX])
{
    if (status == DBR_VALUE_VALID)
        snprintf(words, SIDE_MAX, "%.10g%s%s", number, *signal->unit ? " " : "", signal->unit);
    else
        snprintf(words, SIDE_MAX, "%s", dbr_value_status_name(status));
}

static void describe_raw(const struct dbr_signal *signal, uint64_t raw, char words[SIDE_MAX])
{
    const char *text = dbr_signal_state(signal, raw);

    if (text)
        snprintf(words, SIDE_MAX, "\"%s\"", text);
    else
        snprintf(words, SIDE_MAX, "raw %llu", (unsigned long long)raw);
}

const char *prove_expectation(const struct dbr_message *message, const struct dbr_example *example,
                              const struct dbr_expectation *expect, char *words, size_t size)
{
    const struct dbr_signal *signal = &message->signals[expect->signal];
    struct dbr_value value = dbr_signal_decode(signal, example->data, example->length);
    char found[SIDE_MAX], wanted[SIDE_MAX];

    if (agrees(signal, expect, &value))
        return NULL;
    if (expect->by_raw && value.status != DBR_VALUE_ABSENT)
        describe_raw(signal, value.raw, found);
    else
        describe(signal, value.status, value.number, found);
    if (expect->by_raw)
        describe_raw(signal, expect->raw, wanted);
    else
        describe(signal, expect->status, expect->number, wanted);
    snprintf(words, size, "\"%.60s\" is %s, expected was %s", signal->name, found, wanted);
    return words;
}
