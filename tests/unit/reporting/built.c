/* built.c - see built.h. */
#include "support/kept.h"
#include "unit/reporting/built.h"

#include <criterion/criterion.h>
#include <math.h>

#define UNTOLD 0.0 / 0.0
#define S INT64_C(1000000000)

struct dbr_file_info built_files[1] = {{
    .path = "field/dead.log", .format = "candump-log", .by_line = true,
    .records = 103, .frames = 100, .rejected = 3,
    .rejections = {[DBR_REJECTION_BAD_ID] = {1, 90}, [DBR_REJECTION_BAD_DATA] = {2, 12}},
}};

struct dbr_recording_info built_info = {
    .time_base = DBR_TIME_EPOCH, .start_ns = 1717000000 * S + 250000000, .last_ns = 95 * S,
    .frames = 100, .interface_count = 1, .interfaces = {"can0"},
    .file_count = 1, .files = built_files,
};

struct dbr_ecu built_ecus[2] = {
    {.address = 128, .name_count = 1, .names = {0xA00A8000FFE00014}, .frames = 60,
     .last_ns = 95 * S, .claims = 1},
    {.address = 131, .frames = 1, .first_ns = 2 * S, .last_ns = 2 * S, .mean_interval_s = UNTOLD},
};

struct dbr_speed_source built_sources[1] = {{
    .address = 128, .kind = DBR_SPEED_IMPLEMENT, .pgn = 51968, .frames = 40, .last_ns = 95 * S,
    .max_mps = UNTOLD, .period_s = UNTOLD, .state = DBR_SPEED_STATE_STUCK_ZERO, .reference = -1,
    .ratio_to_reference = UNTOLD, .compared_s = UNTOLD,
}};

struct dbr_bus built_buses[1] = {{
    .frames = 100, .load_mean_percent = UNTOLD, .load_peak_percent = UNTOLD,
    .transmit_errors_max = -1, .receive_errors_max = -1,
    .key_off_ns = -1, .switched_off_ns = -1,
}};

struct dbr_history built_history = {
    .end_ns = 95 * S, .timed = true, .ecu_count = 2, .source_count = 1, .bus_count = 1,
    .ecus = built_ecus, .sources = built_sources, .buses = built_buses,
};

static const char *evidence[] = {"zero from 12.3 s to the end"};
static const char *checks[] = {"look at the sensor", "swap the sensor last"};
static const char *cautions[] = {"take the key out"};
static const size_t because_of_first[] = {0};
static const size_t because_of_third[] = {2, 0};
static const size_t roots[] = {0, 1};

/* 0 and 1 are root causes; 2 follows from 0; 3 follows from 2, and from 0 as well. */
struct dbr_finding built_findings[4] = {
    {.code = "speed-stuck-zero", .severity = DBR_FAULT, .address = 128, .pgn = 51968,
     .timed = true, .start_ns = 12300000000, .end_ns = 95 * S, .open = true, .count = 1,
     .title = "the axle speed reads zero", .evidence = {1, evidence}, .checks = {2, checks},
     .cautions = {1, cautions}},
    {.code = "bus-off", .severity = DBR_FAULT, .address = -1, .pgn = -1, .timed = true,
     .start_ns = 20 * S, .end_ns = 21 * S, .count = 2, .title = "the recorder left the bus",
     .cautions = {1, cautions}},
    {.code = "rate-missing", .severity = DBR_FAULT, .address = 128, .pgn = -1, .timed = true,
     .start_ns = 13 * S, .end_ns = 13 * S, .count = 1, .title = "no rate",
     .cause_count = 1, .causes = because_of_first},
    {.code = "harness-section-silent", .severity = DBR_WARNING, .interface = -1, .address = -1,
     .address_count = 2, .addresses = {140, 141}, .pgn = -1, .count = 1,
     .title = "no coverage", .cause_count = 2, .causes = because_of_third},
};

struct dbr_diagnosis built_diagnosis = {
    .finding_count = 4, .findings = built_findings,
    .verdict = {"Fault: the axle speed reads zero.", 2, roots},
};

struct dbr_report built_report = {
    .info = &built_info, .history = &built_history, .diagnosis = &built_diagnosis,
    .bitrate = 250000,
};

char *built_written(report_writer *write)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(write(out, &built_report, NULL), 0);
    fclose(out);
    return kept(text);
}

cJSON *built_at(cJSON *item, const char *path)
{
    char key[64];

    while (item && *path) {
        size_t length = strcspn(path, ".");
        snprintf(key, sizeof key, "%.*s", (int)length, path);
        item = cJSON_IsArray(item) ? cJSON_GetArrayItem(item, (int)strtol(key, NULL, 10))
                                   : cJSON_GetObjectItemCaseSensitive(item, key);
        path += length + (path[length] == '.');
    }
    return item;
}
