/* Lines of messages in every form: keys, statuses, unknowns, quoting, columns. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "support/printed.h"
#include "support/story.h"

static const cJSON *member(const cJSON *object, const char *key)
{
    return cJSON_GetObjectItemCaseSensitive(object, key);
}

/* The keys of an object, with a blank after each. */
static const char *keys_of(const cJSON *object)
{
    static char keys[256];
    const cJSON *item;

    keys[0] = '\0';
    cJSON_ArrayForEach(item, object)
    {
        strncat(keys, item->string, sizeof keys - strlen(keys) - 2);
        strncat(keys, " ", sizeof keys - strlen(keys) - 1);
    }
    return keys;
}

#define HEAD "t interface address destination priority pgn name data signals "

/* The example of the contract: 65096 from 240 at 12.345678 s. */
Test(reporting_printing, ndjson_has_the_keys_and_types_of_the_contract)
{
    struct dbr_frame frame =
        printed_frame(12.345678, story_id(3, 65096, 255, 240), "E8030000000000FD");
    cJSON *line = printed_json(NULL, &frame);

    cr_expect_str_eq(keys_of(line), HEAD);
    cr_expect_float_eq(member(line, "t")->valuedouble, 12.345678, 1e-12);
    cr_expect_str_eq(member(line, "interface")->valuestring, "can0");
    cr_expect_eq(member(line, "address")->valueint, 240);
    cr_expect(cJSON_IsNull(member(line, "destination")));
    cr_expect_eq(member(line, "priority")->valueint, 3);
    cr_expect_eq(member(line, "pgn")->valueint, 65096);
    cr_expect_str_eq(member(line, "name")->valuestring, "Wheel-based speed and distance");
    cr_expect_str_eq(member(line, "data")->valuestring, "E8030000000000FD");

    const cJSON *speed = printed_signal(line, "Wheel-based machine speed");
    cr_assert(speed);
    cr_expect_str_eq(keys_of(speed), "name spn value unit status ");
    cr_expect_eq(member(speed, "spn")->valueint, 1862);
    cr_expect_eq(member(speed, "value")->valuedouble, 1.0);
    cr_expect_str_eq(member(speed, "unit")->valuestring, "m/s");
    cr_expect_str_eq(member(speed, "status")->valuestring, "valid");

    const cJSON *direction = printed_signal(line, "Wheel-based machine direction");
    cr_assert(direction);
    cr_expect_str_eq(keys_of(direction), "name spn value text status ");
    cr_expect_eq(member(direction, "value")->valueint, 1);
    cr_expect_str_eq(member(direction, "text")->valuestring, "forward");
    cJSON_Delete(line);
}

Test(reporting_printing, value_is_null_unless_valid)
{
    static const struct {
        const char *data, *status;
    } rows[] = {{"FFFF", "not_available"}, {"00FE", "error"}, {"00FC", "out_of_range"},
                {"E8", "absent"}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_frame frame = printed_frame(1, story_id(3, 65096, 255, 240), rows[i].data);
        cJSON *line = printed_json(NULL, &frame);
        const cJSON *speed = printed_signal(line, "Wheel-based machine speed");
        cr_expect(cJSON_IsNull(member(speed, "value")), "%s", rows[i].data);
        cr_expect_str_eq(member(speed, "status")->valuestring, rows[i].status);
        cJSON_Delete(line);
    }
}

Test(reporting_printing, what_no_definition_knows_has_no_name_and_no_signals)
{
    struct dbr_frame frame = printed_frame(1, story_id(6, 61184, 247, 128), "0102");
    cJSON *line = printed_json(NULL, &frame);

    cr_expect_str_eq(keys_of(line), HEAD);
    cr_expect(cJSON_IsNull(member(line, "name")));
    cr_expect_eq(member(line, "destination")->valueint, 247);
    cr_expect_eq(cJSON_GetArraySize(member(line, "signals")), 0);
    cJSON_Delete(line);
}

/* Command 3, element 2, DDI 141 (actual work state), 1; ISO 11783-10 annex B, worked by hand. */
Test(reporting_printing, process_data_has_command_element_and_ddi)
{
    struct dbr_frame frame =
        printed_frame(1, story_id(3, DBR_PGN_PROCESS_DATA, 247, 128), "23008D0001000000");
    cJSON *line = printed_json(NULL, &frame);
    const cJSON *process = member(line, "process");
    const cJSON *signal = cJSON_GetArrayItem(member(line, "signals"), 0);

    cr_expect_str_eq(member(line, "name")->valuestring, "Process data");
    cr_expect_str_eq(member(process, "command")->valuestring, "value");
    cr_expect_eq(member(process, "element")->valueint, 2);
    cr_expect_eq(member(process, "ddi")->valueint, 141);
    cr_expect_str_eq(member(signal, "name")->valuestring, "actual work state");
    cr_expect_eq(member(signal, "value")->valueint, 1);
    cJSON_Delete(line);
}

/* What the number of a command means is not always the value of its DDI. */
Test(reporting_printing, process_data_commands_and_their_numbers)
{
    static const struct {
        const char *data, *text;
    } rows[] = {
        {"22008D0005000000", "request value, element 2: actual work state"},
        {"24008D00E8030000", "measure every time interval, element 2: actual work state 1000 ms"},
        {"25008D00E8030000", "measure every distance, element 2: actual work state 1000 mm"},
        {"28008D0001000000", "measure on change, element 2: actual work state 1"},
        {"2D008D0004000000",
         "acknowledge, element 2: actual work state DDI not supported by element"},
        {"23FF64E0FFFFFFFF", "value, element 4082: DDI 57444 -1"},
        {"FEFFFFFF01000000", "task controller status"},
        {"0BFF", "reserved command"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_frame frame =
            printed_frame(1, story_id(3, DBR_PGN_PROCESS_DATA, 247, 128), rows[i].data);
        char *text = printed(&(struct printed_as){.form = "text"}, &frame, 1);
        char *said = strstr(text, "Process data, ");
        cr_assert(said, "%s", text);
        said[strcspn(said, "\n")] = '\0';
        cr_expect_str_eq(said + strlen("Process data, "), rows[i].text);
        free(text);
    }
}

Test(reporting_printing, a_column_takes_measurements_and_no_intervals)
{
    const uint32_t id = story_id(3, DBR_PGN_PROCESS_DATA, 247, 128);
    const struct dbr_frame frames[] = {
        printed_frame(0, id, "23008D0001000000"), printed_frame(1, id, "22008D0000000000"),
        printed_frame(2, id, "24008D00E8030000"), printed_frame(3, id, "3A008D0000000000")};
    char *text = printed(&(struct printed_as){.form = "csv", .column = "ddi 141"}, frames, 4);

    cr_expect_str_eq(text, "time,actual work state,interface,address,element\n"
                           "0.000000,1,can0,128,2\n"
                           "3.000000,0,can0,128,3\n");
    free(text);
}

Test(reporting_printing, a_table_has_a_column_a_signal_and_empty_cells_for_what_is_unknown)
{
    const struct dbr_frame frames[] = {
        printed_frame(0, story_id(3, 65096, 255, 240), "E803FFFFFFFF00FD"),
        printed_frame(1, story_id(3, 65096, 255, 240), "FFFFFFFFFFFF00FF"),
        printed_frame(2, story_id(3, 65097, 255, 240), "E803FFFFFFFFFFFF"),
        printed_frame(3, story_id(3, 65093, 255, 240), "0547FF007DC0FFFF")};
    char *text =
        printed(&(struct printed_as){.form = "csv", .column = "wheel-based machine "}, frames, 4);

    cr_expect_str_eq(text, "time,Wheel-based machine speed [m/s],Wheel-based machine distance [m],"
                           "Wheel-based machine direction,interface,address,element\n"
                           "0.000000,1,,forward,can0,240,\n"
                           "1.000000,,,,can0,240,\n");
    free(text);
}

Test(reporting_printing, only_the_signals_that_were_asked_for)
{
    static const struct {
        const char *term;
        bool speed, direction, ground;
    } rows[] = {
        {"machine SPEED", true, false, true},   {"1864", false, true, false},
        {"Wheel-based machine speed", true, false, false}, {"direction", false, true, true},
    };
    const struct dbr_frame frames[] = {
        printed_frame(0, story_id(3, 65096, 255, 240), "E803FFFFFFFF00FD"),
        printed_frame(1, story_id(3, 65097, 255, 240), "E803FFFFFFFFFFFD"),
        printed_frame(2, story_id(6, 65300, 255, 128), "00")};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char *text = printed(&(struct printed_as){.form = "text", .only = rows[i].term}, frames, 3);
        cr_expect_eq(strstr(text, "Wheel-based machine speed 1.000 m/s") != NULL, rows[i].speed);
        cr_expect_eq(strstr(text, "Wheel-based machine direction") != NULL, rows[i].direction);
        cr_expect_eq(strstr(text, "Ground-based") != NULL, rows[i].ground);
        cr_expect_null(strstr(text, "65300"));
        free(text);
    }
}

Test(reporting_printing, a_term_that_fits_nothing_is_a_mistake)
{
    static const char *const terms[] = {"no such signal", "999999", "DDI 70000", "ddi x"};
    const struct dbr_recording_info info = {0};
    struct dbr_definitions *definitions = dbr_definitions_new(NULL);

    for (size_t i = 0; i < sizeof terms / sizeof terms[0]; i++) {
        struct dbr_error error = {0};
        struct dbr_printing_options options = {.only = {1, {terms[i]}}, .info = &info};
        cr_expect_null(dbr_printing_new(stdout, definitions, &options, &error));
        cr_expect_eq(error.code, DBR_ERROR_USAGE);
        cr_expect(strstr(error.text, terms[i]), "%s", error.text);
    }
    dbr_definitions_free(definitions);
}

/* 64 columns fit by number; a part of a name that every signal has does not. */
Test(reporting_printing, more_columns_than_a_table_may_have_are_a_mistake)
{
    static char text[200000];
    const struct dbr_recording_info info = {0};
    struct dbr_printing_options options = {.form = 1, .columns = {1, {"probe"}}, .info = &info};
    struct dbr_definitions *definitions = dbr_definitions_new(NULL);
    struct dbr_error error = {0};
    size_t used = (size_t)snprintf(text, sizeof text, "{\"schema\":\"drawbar-messages/1\","
                                   "\"subject\":\"x\",\"source\":\"made up\",\"messages\":[");

    for (unsigned i = 0; i <= DBR_PRINT_COLUMNS_MAX; i++)
        used += (size_t)snprintf(text + used, sizeof text - used,
                                 "%s{\"pgn\":%u,\"name\":\"m\",\"signals\":[{\"name\":\"probe %u\","
                                 "\"byte\":1,\"bits\":8}]}", i ? "," : "", 61440 + i, i);
    snprintf(text + used, sizeof text - used, "]}");
    cr_assert_eq(dbr_definitions_load_text(definitions, "t", text, strlen(text), &error), 0, "%s",
                 error.text);
    cr_expect_null(dbr_printing_new(stdout, definitions, &options, &error));
    cr_expect_eq(error.code, DBR_ERROR_USAGE);
    dbr_definitions_free(definitions);
}

Test(reporting_printing, without_time_stamps_time_is_unknown_and_not_zero)
{
    struct dbr_frame frame = printed_frame(0, story_id(6, 65300, 255, 128), "00");
    char *json = printed(&(struct printed_as){.form = "ndjson", .timeless = true}, &frame, 1);
    char *csv = printed(&(struct printed_as){.form = "csv", .timeless = true}, &frame, 1);
    char *text = printed(&(struct printed_as){.form = "text", .timeless = true}, &frame, 1);

    cr_expect(strstr(json, "{\"t\":null,"), "%s", json);
    cr_expect(strstr(csv, "\n,can0,128,"), "%s", csv);
    cr_expect(strstr(text, " - can0 "), "%s", text);
    free(json);
    free(csv);
    free(text);
}

Test(reporting_printing, a_transfer_is_one_line_and_its_frames_are_there_on_request)
{
    const uint32_t control = story_id(7, DBR_PGN_TRANSPORT_CONTROL, 255, 128);
    const uint32_t data = story_id(7, DBR_PGN_TRANSPORT_DATA, 255, 128);
    const struct dbr_frame frames[] = {printed_frame(1.00, control, "20090002FF14FF00"),
                                       printed_frame(1.06, data, "0101020304050607"),
                                       printed_frame(1.12, data, "020809FFFFFFFFFF")};
    char *whole = printed(&(struct printed_as){.form = "ndjson"}, frames, 3);
    cJSON *line = cJSON_Parse(whole);
    const cJSON *transfer = member(line, "transfer");

    cr_expect_str_eq(member(line, "data")->valuestring, "010203040506070809");
    cr_expect_eq(member(line, "pgn")->valueint, 65300);
    cr_expect_float_eq(member(line, "t")->valuedouble, 1.12, 1e-9);
    cr_expect_float_eq(member(transfer, "start")->valuedouble, 1.0, 1e-9);
    cr_expect_str_eq(member(transfer, "carrier")->valuestring, "broadcast");
    cr_expect(cJSON_IsTrue(member(transfer, "complete")));
    cr_expect_eq(strchr(whole, '\n') - whole + 1, (long)strlen(whole), "one line");
    char *all = printed(&(struct printed_as){.form = "text", .fragments = true}, frames, 3);
    size_t lines = 0;
    for (const char *at = all; *at; at++)
        lines += *at == '\n';
    cr_expect_eq(lines, 4);
    cJSON_Delete(line);
    free(whole);
    free(all);
}

/* The bytes of a fast packet's frames are no signals of its group. */
Test(reporting_printing, frames_of_a_fast_packet_are_not_decoded)
{
    static const char fast[] =
        "{\"schema\":\"drawbar-messages/1\",\"subject\":\"x\",\"source\":\"made up\",\"messages\":["
        "{\"pgn\":130900,\"name\":\"Fast\",\"length\":10,\"packing\":\"fast\",\"signals\":["
        "{\"name\":\"First\",\"byte\":1,\"bits\":8},{\"name\":\"Tenth\",\"byte\":10,\"bits\":8}]}]}";
    const uint32_t id = story_id(6, 130900, 255, 28);
    const struct dbr_frame frames[] = {printed_frame(1.00, id, "400A010203040506"),
                                       printed_frame(1.01, id, "410708090AFFFFFF")};
    char *text = printed(
        &(struct printed_as){.form = "text", .definitions = fast, .fragments = true}, frames, 2);

    cr_expect_str_eq(
        text, "     1.000000 can0 6  28     130900 400A010203040506 Fast; part of a transfer\n"
              "     1.010000 can0 6  28     130900 410708090AFFFFFF Fast; part of a transfer\n"
              "     1.010000 can0 6  28     130900 0102030405060708090A Fast: First 1, Tenth 10\n");
    free(text);
}

Test(reporting_printing, error_frames_in_words)
{
    static const struct {
        uint32_t classes;
        const char *data, *words;
    } rows[] = { /* linux/can/error.h */
        {0x040, "0000000000000000", "error frame: bus-off"},
        {0x100, "0000000000000000", "error frame: controller restarted"},
        {0x004, "0020000000000000", "error frame: error-passive"},
        {0x008, "0000041900000000", "error frame: bit stuffing error, no acknowledgement, in the ACK slot"},
        {0x020, "0000000000000000", "error frame: no acknowledgement"},
        {0x200, "0000000000006007", "error frame: transmit errors 96, receive errors 7"},
        {0x000, "0000000000000000", "error frame: no class of error given"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_frame frame = printed_frame(1, rows[i].classes, rows[i].data);
        frame.flags = DBR_FRAME_ERROR;
        cJSON *line = printed_json(NULL, &frame);
        cr_expect(cJSON_IsNull(member(line, "address")));
        cr_expect(cJSON_IsNull(member(line, "pgn")));
        cr_expect_str_eq(member(member(line, "frame"), "kind")->valuestring, "error");
        const char *words = member(member(line, "frame"), "text")->valuestring;
        cr_expect(strncmp(words, rows[i].words, strlen(rows[i].words)) == 0, "%s", words);
        cJSON_Delete(line);
    }
}

/* A scale that leads beyond the range of numbers is no number, and never "inf" in JSON. */
Test(reporting_printing, what_is_no_number_is_out_of_range)
{
    static const char huge[] =
        "{\"schema\":\"drawbar-messages/1\",\"subject\":\"x\",\"source\":\"made up\",\"messages\":["
        "{\"pgn\":65300,\"name\":\"Huge\",\"signals\":["
        "{\"name\":\"a\",\"byte\":1,\"bits\":16,\"scale\":1e308},"
        "{\"name\":\"b\",\"byte\":1,\"bits\":64,\"special\":\"none\",\"overlaps\":true}]}]}";
    struct dbr_frame frame = printed_frame(1, story_id(6, 65300, 255, 128), "F0F0F0F0F0F0F0F0");
    cJSON *line = printed_json(huge, &frame);

    cr_expect(cJSON_IsNull(member(printed_signal(line, "a"), "value")));
    cr_expect_str_eq(member(printed_signal(line, "a"), "status")->valuestring, "out_of_range");
    cr_expect_float_eq(member(printed_signal(line, "b"), "value")->valuedouble,
                       (double)UINT64_C(0xF0F0F0F0F0F0F0F0), 1e5);
    cJSON_Delete(line);
}

/* The longest message that J1939-21 allows holds 445 codes; a longer one says that more came. */
Test(reporting_printing, a_list_of_trouble_codes_of_any_length)
{
    static uint8_t data[2 + 4 * 500];
    const struct dbr_transfer transfer = {.carrier = DBR_CARRIER_EXTENDED};
    struct dbr_definitions *definitions = dbr_definitions_new(NULL);

    for (size_t i = 0; i < 500; i++)
        memcpy(data + 2 + 4 * i, (const uint8_t[]){(uint8_t)i, (uint8_t)(1 + i / 256), 3, 1}, 4);
    for (size_t codes = 444; codes <= 446; codes++) {
        struct dbr_seen seen = {.id = {.pgn = 65226, .broadcast = true},
                                .data = data,
                                .length = 2 + 4 * codes,
                                .transfer = &transfer};
        cJSON *line = printed_seen(definitions, &seen);
        cr_expect_eq((size_t)cJSON_GetArraySize(member(line, "signals")),
                     codes < 445 ? codes : 445);
        cr_expect_eq(member(member(line, "transfer"), "text") != NULL, codes > 445);
        cJSON_Delete(line);
    }
    dbr_definitions_free(definitions);
}
