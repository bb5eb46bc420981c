/* Published values, as they come out of print: the examples of all definitions, and others. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/can_id.h"
#include "support/printed.h"

static const cJSON *member(const cJSON *object, const char *key)
{
    return cJSON_GetObjectItemCaseSensitive(object, key);
}

/* One message of any length as a line of NDJSON, the way that a whole transfer comes out. */
static cJSON *print_message(const struct dbr_definitions *definitions,
                            const struct dbr_message *message, const uint8_t *data, size_t length)
{
    const struct dbr_transfer transfer = {.carrier = DBR_CARRIER_BROADCAST};
    const struct dbr_seen seen = {.kind = DBR_SEEN_MESSAGE,
                                  .id = {.pgn = message->pgn, .source = 240, .broadcast = true},
                                  .data = data,
                                  .length = length,
                                  .message = message,
                                  .transfer = &transfer};

    return printed_seen(definitions, &seen);
}

/* What an example expects of a signal is what the line says of it. */
static void expect_signal(const struct dbr_signal *signal, const struct dbr_expectation *expected,
                          const cJSON *printed)
{
    cr_assert(printed, "%s", signal->name);
    const char *status = member(printed, "status")->valuestring;
    const cJSON *value = member(printed, "value");

    if (expected->by_raw) {
        const char *state = dbr_signal_state(signal, expected->raw);
        cr_expect_str_eq(member(printed, "text")->valuestring, state, "%s", signal->name);
        return;
    }
    cr_expect_str_eq(status, dbr_value_status_name(expected->status), "%s", signal->name);
    if (expected->status == DBR_VALUE_VALID)
        cr_expect_float_eq(value->valuedouble, expected->number, signal->scale / 2, "%s: %f",
                           signal->name, value->valuedouble);
    else
        cr_expect(cJSON_IsNull(value), "%s", signal->name);
}

Test(reference_printed, the_examples_of_every_definition)
{
    struct dbr_definitions *definitions = dbr_definitions_new(NULL);
    size_t examples = 0;

    for (size_t i = 0; i < dbr_definitions_count(definitions); i++) {
        const struct dbr_message *message = dbr_definitions_at(definitions, i);
        for (size_t k = 0; k < message->example_count; k++, examples++) {
            const struct dbr_example *example = &message->examples[k];
            cJSON *line = print_message(definitions, message, example->data, example->length);
            cr_assert_str_eq(member(line, "name")->valuestring, message->name);
            for (size_t e = 0; e < example->expect_count; e++)
                expect_signal(&message->signals[example->expect[e].signal], &example->expect[e],
                              printed_signal(line,
                                             message->signals[example->expect[e].signal].name));
            cJSON_Delete(line);
        }
    }
    cr_assert_gt(examples, 50);
    dbr_definitions_free(definitions);
}

/* SAE J1939-71 SPN 84 (1/256 km/h) and ISO 11783-7 SPN 1862 (0.001 m/s): 12 km/h, 3 m/s. */
Test(reference_printed, speeds_of_two_standards)
{
    static const struct {
        uint32_t pgn;
        const char *data, *signal, *unit;
        uint32_t spn;
        double value;
    } rows[] = {
        {65265, "FF000CFFFFFFFFFF", "Wheel-based vehicle speed", "km/h", 84, 12.0},
        {65096, "B80BFFFFFFFFFFFF", "Wheel-based machine speed", "m/s", 1862, 3.0},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_frame frame = printed_frame(0, 6u << 26 | rows[i].pgn << 8 | 240u, rows[i].data);
        cJSON *line = printed_json(NULL, &frame);
        const cJSON *signal = printed_signal(line, rows[i].signal);
        cr_assert(signal, "%s", rows[i].signal);
        cr_expect_eq(member(signal, "value")->valuedouble, rows[i].value);
        cr_expect_str_eq(member(signal, "unit")->valuestring, rows[i].unit);
        cr_expect_eq(member(signal, "spn")->valueint, (int)rows[i].spn);
        cJSON_Delete(line);
    }
}

/* SAE J1939-73 DM1: published test vectors (lamps, SPN, FMI, occurrence count). */
Test(reference_printed, trouble_codes)
{
    static const struct {
        const char *data;
        unsigned spn, fmi;
        const char *count;
        int amber, red, malfunction;
    } rows[] = {
        {"57FF9F000301", 159, 3, "occurrence count 1", 1, 1, 1},
        {"57FFFB060B32", 1787, 11, "occurrence count 50", 1, 1, 1},
        {"40FF7F020200", 639, 2, "occurrence count 0", 0, 0, 1},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_frame frame = printed_frame(0, 6u << 26 | 65226u << 8 | 128u, rows[i].data);
        cJSON *line = printed_json(NULL, &frame);
        const cJSON *code = printed_signal(line, "Trouble code");
        cr_assert(code, "%s", rows[i].data);
        cr_expect_eq(member(code, "spn")->valueint, (int)rows[i].spn);
        cr_expect_eq(member(code, "value")->valueint, (int)rows[i].fmi);
        cr_expect(strstr(member(code, "text")->valuestring, rows[i].count));
        cr_expect_eq(member(printed_signal(line, "Amber warning lamp"), "value")->valueint,
                     rows[i].amber);
        cr_expect_eq(member(printed_signal(line, "Red stop lamp"), "value")->valueint, rows[i].red);
        cr_expect_eq(member(printed_signal(line, "Malfunction indicator lamp"), "value")->valueint,
                     rows[i].malfunction);
        cJSON_Delete(line);
    }
}
