/* The JSON report on a report built by hand: keys, unknowns, hostile texts, no memory. */
#include <cjson/cJSON.h>
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "unit/reporting/built.h"

static cJSON *parsed(void)
{
    char *text = built_written(dbr_report_json);
    cJSON *root = cJSON_Parse(text);

    cr_assert_not_null(root, "%s", text);
    cr_assert_eq(text[strlen(text) - 1], '\n');
    free(text);
    return root;
}

Test(reporting_json, values_stand_under_the_keys_of_the_contract)
{
    static const struct {
        char path[64];
        char value[48]; /* as JSON */
    } rows[] = {
        {"schema", "\"drawbar-report/1\""},
        {"program.name", "\"drawbar\""},
        {"recording.start", "1717000000.25"},
        {"recording.time_base", "\"epoch\""},
        {"recording.duration_s", "95"},
        {"recording.frames", "100"},
        {"recording.interfaces", "[\"can0\"]"},
        {"recording.error_frames_recorded", "false"},
        {"recording.files.0.path", "\"field/dead.log\""},
        {"recording.files.0.format", "\"candump-log\""},
        {"recording.files.0.compression", "\"none\""},
        {"recording.files.0.records", "103"},
        {"recording.files.0.frames", "100"},
        {"recording.files.0.rejected", "3"},
        {"recording.files.0.first_rejected.at", "12"},
        {"recording.files.0.first_rejected.reason", "\"data is not whole hexadecimal bytes\""},
        {"recording.files.0.rejections.0.first_at", "90"},
        {"recording.files.0.truncated", "false"},
        {"buses.0.interface", "\"can0\""},
        {"buses.0.bitrate", "250000"},
        {"buses.0.frames", "100"},
        {"buses.0.error_frames", "0"},
        {"ecus.0.address", "128"},
        {"ecus.0.name", "\"A00A8000FFE00014\""},
        {"ecus.0.industry_group", "2"},
        {"ecus.0.first", "0"},
        {"ecus.0.last", "95"},
        {"ecus.0.claims", "1"},
        {"ecus.0.restarts", "0"},
        {"ecus.0.silences", "[]"},
        {"speed_sources.0.kind", "\"implement\""},
        {"speed_sources.0.state", "\"stuck_zero\""},
        {"speed_sources.0.pgn", "51968"},
        {"chain", "[]"},
        {"findings.0.code", "\"speed-stuck-zero\""},
        {"findings.0.severity", "\"fault\""},
        {"findings.0.interface", "\"can0\""},
        {"findings.0.address", "128"},
        {"findings.0.pgn", "51968"},
        {"findings.0.start", "12.3"},
        {"findings.0.count", "1"},
        {"findings.0.checks.1", "\"swap the sensor last\""},
        {"findings.0.cautions", "[\"take the key out\"]"},
        {"findings.0.because_of", "[]"},
        {"findings.1.end", "21"},
        {"findings.3.because_of", "[2,0]"},
        {"findings.3.addresses", "[140,141]"},
        {"verdict.root_causes", "[0,1]"},
        {"verdict.sentence", "\"Fault: the axle speed reads zero.\""},
    };
    cJSON *root = parsed();

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char *found = cJSON_PrintUnformatted(built_at(root, rows[i].path));
        cr_assert_not_null(found, "%s is missing", rows[i].path);
        cr_assert_str_eq(found, rows[i].value, "%s: %s", rows[i].path, found);
        free(found);
    }
    cJSON_Delete(root);
}

Test(reporting_json, what_is_unknown_is_null)
{
    static const char paths[][64] = {
        "recording.files.0.truncated_reason", "buses.0.load_mean_percent",
        "buses.0.load_peak_percent", "buses.0.load_peak_at", "buses.0.transmit_errors_max",
        "buses.0.receive_errors_max", "ecus.1.name", "ecus.1.function", "ecus.1.industry_group",
        "ecus.1.manufacturer_code", "speed_sources.0.max_mps",
        "speed_sources.0.ratio_to_reference", "findings.0.end", "findings.1.address",
        "findings.1.pgn", "findings.3.interface", "findings.3.start", "findings.3.end"};
    cJSON *root = parsed();

    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++)
        cr_assert(cJSON_IsNull(built_at(root, paths[i])), "%s", paths[i]);
    cr_assert_null(built_at(root, "findings.0.addresses"));
    cJSON_Delete(root);
}

Test(reporting_json, without_time_stamps_no_time_is_told)
{
    static const char paths[][32] = {"recording.start", "recording.duration_s", "ecus.0.first",
                                     "ecus.0.last", "speed_sources.0.first"};

    built_info.time_base = DBR_TIME_NONE;
    built_history.timed = false;
    cJSON *root = parsed();
    cr_assert_str_eq(built_at(root, "recording.time_base")->valuestring, "none");
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++)
        cr_assert(cJSON_IsNull(built_at(root, paths[i])), "%s", paths[i]);
    cJSON_Delete(root);
}

Test(reporting_json, a_hostile_text_is_valid_and_a_long_one_is_whole)
{
    static char path[6000];

    memset(path, 'x', sizeof path - 1);
    memcpy(path, "\033[31m\xFF", 6);
    built_files[0].path = path;
    cJSON *root = parsed();
    const char *found = built_at(root, "recording.files.0.path")->valuestring;
    cr_assert_eq(strncmp(found, "\xEF\xBF\xBD[31m\xEF\xBF\xBDxx", 12), 0);
    cr_assert_eq(strlen(found), sizeof path - 1 + 4);
    cJSON_Delete(root);
}

Test(reporting_json, spells_that_were_not_kept_are_counted)
{
    built_ecus[0].silences = (struct dbr_spells){
        .count = 1, .folded = 7, .items = {{.start_ns = 5, .open = true}}};
    cJSON *root = parsed();
    cr_assert_eq(built_at(root, "ecus.0.silences_folded")->valueint, 7);
    cr_assert(cJSON_IsNull(built_at(root, "ecus.0.silences.0.end")));
    cJSON_Delete(root);
}

/* One allocation fails, all others succeed: then nothing else would give the lack away. */
static unsigned allocation, failing;

static void *all_but_one(size_t size)
{
    return allocation++ == failing ? NULL : malloc(size);
}

Test(reporting_json, whichever_allocation_fails_nothing_is_written)
{
    cJSON_Hooks hooks = {all_but_one, free};
    char *whole = built_written(dbr_report_json);
    struct dbr_error error;
    int status = -1;

    cJSON_InitHooks(&hooks);
    for (failing = 0; status < 0; failing++) {
        char *text = NULL;
        size_t size = 0;
        FILE *out = open_memstream(&text, &size);
        allocation = 0;
        status = dbr_report_json(out, &built_report, &error);
        fclose(out);
        cr_assert_eq(status, allocation > failing ? -1 : 0, "allocation %u", failing);
        if (status < 0)
            cr_assert_eq(error.code, DBR_ERROR_MEMORY);
        cr_assert_str_eq(text, status < 0 ? "" : whole, "allocation %u", failing);
        free(text);
    }
    cr_assert_gt(failing, 200);
    free(whole);
}
