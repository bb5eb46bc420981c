/* prove.c - the worked examples of a definition, worked again. */
#include <math.h>

#include "drawbar/definitions.h"

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

static int prove_example(const struct dbr_message *message, size_t index,
                         struct dbr_error *error)
{
    const struct dbr_example *example = &message->examples[index];

    for (size_t i = 0; i < example->expect_count; i++) {
        const struct dbr_expectation *expect = &example->expect[i];
        const struct dbr_signal *signal = &message->signals[expect->signal];
        struct dbr_value value = dbr_signal_decode(signal, example->data, example->length);
        if (agrees(signal, expect, &value))
            continue;
        return dbr_error_set(error, DBR_ERROR_SCHEMA,
                             "%s: group %u, example %zu: \"%s\" is %g (%s, raw %llu), expected %g "
                             "(%s, raw %llu)",
                             message->file, message->pgn, index + 1, signal->name, value.number,
                             dbr_value_status_name(value.status), (unsigned long long)value.raw,
                             expect->number, dbr_value_status_name(expect->status),
                             (unsigned long long)expect->raw);
    }
    return 0;
}

int dbr_message_prove(const struct dbr_message *message, struct dbr_error *error)
{
    for (size_t i = 0; i < message->example_count; i++)
        if (prove_example(message, i, error) < 0)
            return -1;
    return 0;
}
