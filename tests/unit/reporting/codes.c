/* Trouble codes in the reports: keys, unknowns, words, hostile labels. */
#include <cjson/cJSON.h>
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "unit/reporting/built.h"

#define S INT64_C(1000000000)

static struct dbr_trouble troubles[] = {
    {.address = 128,
     .code = {.spn = 1079, .fmi = 4, .count = 3, .raw = {0x37, 0x04, 0x04, 0x03}},
     .spn_words = "sensor supply 1",
     .reports = 7,
     .first_ns = 20 * S,
     .last_ns = 26 * S,
     .first_count = DBR_OCCURRENCES_UNKNOWN,
     .lamps = {.state = {[DBR_LAMP_AMBER] = DBR_LAMP_ON}},
     .end = DBR_TROUBLE_GONE,
     .gone_ns = 27 * S,
     .returned_ns = -1},
    {.address = 131,
     .code = {.spn = 1079, .fmi = 31, .older_layout = true,
              .count = DBR_OCCURRENCES_UNKNOWN, .raw = {0x37, 0x04, 0x1F, 0xFF}},
     .reports = 1,
     .first_ns = 2 * S,
     .last_ns = 2 * S,
     .from_start = true,
     .gone_ns = -1,
     .returned_ns = -1},
    {.address = 131,
     .previously = true,
     .code = {.spn = 2128, .fmi = 9},
     .reports = 1,
     .end = DBR_TROUBLE_UNKNOWN,
     .gone_ns = -1,
     .returned_ns = -1},
};

static struct dbr_trouble_sender senders[] = {{.address = 128, .lists = 8, .told_none = true,
                                               .told_codes = true},
                                              {.address = 131, .lists = 9, .told_none = true}};

static struct dbr_trouble_clear clears[] = {
    {.requester = 249, .address = 255, .kind = DBR_CLEAR_ACTIVE, .at_ns = 30 * S,
     .answer = DBR_CLEAR_UNANSWERED, .answered_ns = -1}};

static struct dbr_broadcast_stop stops[] = {
    {.requester = 249, .address = 131, .start_ns = 40 * S, .end_ns = 95 * S, .open = true}};

static void add_troubles(void)
{
    built_history.troubles = (struct dbr_troubles){
        .count = 3, .items = troubles, .sender_count = 2, .senders = senders,
        .clear_count = 1, .clears = clears, .stop_count = 1, .stops = stops};
    built_findings[0].trouble = &troubles[0];
}

Test(reporting_codes, values_in_json)
{
    static const struct {
        char path[48], value[48]; /* as JSON */
    } rows[] = {
        {"trouble_codes.0.interface", "\"can0\""},
        {"trouble_codes.0.address", "128"},
        {"trouble_codes.0.spn", "1079"},
        {"trouble_codes.0.fmi", "4"},
        {"trouble_codes.0.spn_words", "\"sensor supply 1\""},
        {"trouble_codes.0.fmi_words", "\"voltage low or short to ground\""},
        {"trouble_codes.0.active", "true"},
        {"trouble_codes.0.previously_active", "false"},
        {"trouble_codes.0.conversion", "\"current\""},
        {"trouble_codes.0.raw", "\"37040403\""},
        {"trouble_codes.0.count", "3"},
        {"trouble_codes.0.count_at_first", "null"},
        {"trouble_codes.0.lamps.amber_warning", "\"on\""},
        {"trouble_codes.0.lamps.red_stop", "\"off\""},
        {"trouble_codes.0.lamps_flash.amber_warning", "\"slow\""},
        {"trouble_codes.0.lamps_flash.red_stop", "null"},
        {"trouble_codes.0.first", "20"},
        {"trouble_codes.0.last", "26"},
        {"trouble_codes.0.appeared", "20"},
        {"trouble_codes.0.gone", "27"},
        {"trouble_codes.0.end", "\"gone\""},
        {"trouble_codes.0.returned", "null"},
        {"trouble_codes.0.reports", "7"},
        /* an SPN that is not certain is no number and has no words */
        {"trouble_codes.1.spn", "null"},
        {"trouble_codes.1.spn_words", "null"},
        {"trouble_codes.1.conversion", "\"older\""},
        {"trouble_codes.1.raw", "\"37041FFF\""},
        {"trouble_codes.1.count", "null"},
        {"trouble_codes.1.appeared", "null"},
        {"trouble_codes.1.gone", "null"},
        {"trouble_codes.1.end", "\"stays\""},
        {"trouble_codes.2.active", "false"},
        {"trouble_codes.2.previously_active", "true"},
        {"trouble_codes.2.appeared", "null"},
        {"trouble_code_senders.0.told_codes", "true"},
        {"trouble_code_senders.1.told_no_fault", "true"},
        {"trouble_code_senders.1.told_codes", "false"},
        {"trouble_code_clears.0.requester", "249"},
        {"trouble_code_clears.0.address", "null"},
        {"trouble_code_clears.0.kind", "\"active\""},
        {"trouble_code_clears.0.answer", "\"unanswered\""},
        {"trouble_code_clears.0.answered_by", "null"},
        {"broadcast_stops.0.address", "131"},
        {"broadcast_stops.0.end", "null"},
        {"findings.0.spn", "1079"},
        {"findings.0.fmi", "4"},
    };

    add_troubles();
    char *text = built_written(dbr_report_json);
    cJSON *root = cJSON_Parse(text);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char *found = cJSON_PrintUnformatted(built_at(root, rows[i].path));
        cr_assert_not_null(found, "%s is missing", rows[i].path);
        cr_expect_str_eq(found, rows[i].value, "%s: %s", rows[i].path, found);
        free(found);
    }
    cr_expect_null(built_at(root, "findings.1.spn"), "a finding about no code has none");
    cJSON_Delete(root);
    free(text);
}

Test(reporting_codes, the_table_for_people)
{
    add_troubles();
    built_history.troubles.sender_count = 2;
    char *text = built_written(dbr_report_text);

    cr_expect_not_null(strstr(text, "\nTrouble codes\n"), "%s", text);
    cr_expect_not_null(strstr(text, "sensor supply 1, voltage low or short to ground"));
    cr_expect_not_null(strstr(text, "1079?"), "a number that is not certain is marked");
    cr_expect_not_null(strstr(text, "messages of "), "2128 names the ECU at 128");
    cr_expect_not_null(strstr(text, "previously"));
    cr_expect_not_null(strstr(text, "asked all at 30.0 s to clear active codes: unanswered"));
    cr_expect_not_null(strstr(text, "no fault, as they say themselves: address 131"), "%s", text);
    free(text);
}

Test(reporting_codes, no_table_where_nobody_tells)
{
    char *text = built_written(dbr_report_text);

    cr_expect_null(strstr(text, "Trouble codes"));
    free(text);
    text = built_written(dbr_report_json);
    cr_expect_not_null(strstr(text, "\"trouble_codes\":\t[]"), "the key is there always");
    free(text);
}

Test(reporting_codes, a_hostile_name_reaches_no_terminal)
{
    troubles[0].spn_words = "belt\033[2J\n pressure";
    add_troubles();
    char *text = built_written(dbr_report_text);

    cr_expect_null(strchr(text, '\033'));
    free(text);
}
