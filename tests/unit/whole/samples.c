/*
 * The demo recordings, from file to report: what each was made to show is found,
 * nothing else at fault or warning level is, and the report is the same whatever
 * the size of the batches.
 */
#include <criterion/criterion.h>
#include <cjson/cJSON.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/reporting.h"
#include "support/kept.h"
#include "support/whole.h"

#define SAMPLE(name) SOURCE_DIRECTORY "/samples/" name

static const char *const all[] = {
    SAMPLE("healthy.log"),          SAMPLE("axle-sensor-dead.log"),
    SAMPLE("axle-sensor-repaired.log"), SAMPLE("axle-message-stops.log"),
    SAMPLE("address-conflict.log"), SAMPLE("recorder-bus-off.log"),
    SAMPLE("booms-drop-out.pcapng"), SAMPLE("healthy-long.log.gz"),
    SAMPLE("setpoint-zero.log.gz"), SAMPLE("controller-absent.log.gz"),
    SAMPLE("drive-not-engaged.log.gz"), SAMPLE("weigher-removed.log.gz"),
    SAMPLE("booms-flicker.log.gz"), SAMPLE("two-faults.log.gz")};

/* Codes of findings at fault or warning level without a cause among the others. */
Test(whole_samples, each_shows_what_it_was_made_to_show)
{
    static const struct {
        const char *path;
        const char *root; /* NULL: clean */
        int address;
        double from_s, until_s; /* where the root begins */
    } rows[] = {
        {SAMPLE("healthy.log"), NULL, -1, 0, 0},
        {SAMPLE("axle-sensor-repaired.log"), NULL, -1, 0, 0},
        {SAMPLE("healthy-long.log.gz"), NULL, -1, 0, 0},
        {SAMPLE("axle-message-stops.log"), "speed-lost", 128, 24, 25.1},
        {SAMPLE("address-conflict.log"), "address-conflict", 131, 25.5, 26.5},
        {SAMPLE("recorder-bus-off.log"), "bus-off", -1, 26.5, 27.1},
        {SAMPLE("booms-drop-out.pcapng"), "harness-section-silent", -1, 23.4, 24.1},
        {SAMPLE("booms-flicker.log.gz"), "harness-section-silent", -1, 15.8, 16.5},
        {SAMPLE("drive-not-engaged.log.gz"), "rate-missing", 128, 14, 18},
        /* settings, and what was taken off on purpose: no faults */
        {SAMPLE("setpoint-zero.log.gz"), NULL, -1, 0, 0},
        {SAMPLE("controller-absent.log.gz"), NULL, -1, 0, 0},
        {SAMPLE("weigher-removed.log.gz"), NULL, -1, 0, 0},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct whole *w = whole_read(&rows[i].path, 1);
        cr_assert_not_null(w->diagnosis, "%s", w->error.text);
        const struct dbr_verdict *v = &w->diagnosis->verdict;
        cr_assert_eq(v->root_cause_count, rows[i].root ? 1 : 0, "%s: %s", rows[i].path,
                     v->sentence);
        if (rows[i].root) {
            const struct dbr_finding *f = &w->diagnosis->findings[v->root_causes[0]];
            cr_assert_str_eq(f->code, rows[i].root);
            cr_assert_eq(f->address, rows[i].address);
            double start = (double)f->start_ns / 1e9;
            cr_assert(start >= rows[i].from_s && start <= rows[i].until_s, "%s: %f",
                      rows[i].path, start);
        }
        whole_free(w);
    }
}

/* What a code of the maker's own means nobody else knows: it stays a cause of its own, and the
 * speed says that it is there. */
Test(whole_samples, a_dead_sensor_and_the_code_of_its_ecu)
{
    struct whole *w = whole_read((const char *[]){SAMPLE("axle-sensor-dead.log")}, 1);
    const struct dbr_verdict *v = &w->diagnosis->verdict;

    cr_assert_eq(v->root_cause_count, 2, "%s", v->sentence);
    const struct dbr_finding *speed = &w->diagnosis->findings[v->root_causes[0]];
    const struct dbr_finding *code = &w->diagnosis->findings[v->root_causes[1]];
    cr_assert_str_eq(speed->code, "speed-stuck-zero");
    cr_expect_eq(speed->address, 128);
    cr_expect(speed->start_ns > INT64_C(13000000000) && speed->start_ns < INT64_C(17000000000));
    cr_expect(strstr(speed->evidence.items[speed->evidence.count - 1], "SPN 520201"));
    cr_assert_str_eq(code->code, "fault-code-active");
    cr_expect_eq(code->severity, DBR_WARNING);
    cr_expect_eq(code->trouble->code.fmi, 5);
    cr_expect_eq(code->trouble->code.count, 3);
    whole_free(w);
}

Test(whole_samples, two_faults_have_two_roots)
{
    struct whole *w = whole_read((const char *[]){SAMPLE("two-faults.log.gz")}, 1);
    const struct dbr_verdict *v = &w->diagnosis->verdict;

    cr_assert_eq(v->root_cause_count, 2, "%s", v->sentence);
    cr_assert_str_eq(w->diagnosis->findings[v->root_causes[0]].code, "address-conflict");
    cr_assert_str_eq(w->diagnosis->findings[v->root_causes[1]].code, "speed-stuck-zero");
    whole_free(w);
}

static char *json_of(const struct whole *w)
{
    struct dbr_report report = {.info = w->info,
                                .history = w->history,
                                .diagnosis = w->diagnosis,
                                .bitrate = 250000};
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(dbr_report_json(out, &report, NULL), 0);
    fclose(out);
    return kept(text);
}

Test(whole_samples, any_size_of_batch_gives_the_same_report)
{
    static const size_t sizes[] = {1, 3, 100};

    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        struct whole *w = whole_read(&all[i], 1);
        char *expected = json_of(w);
        whole_free(w);
        for (size_t k = 0; k < sizeof sizes / sizeof sizes[0]; k++) {
            w = whole_read_in(&all[i], 1, sizes[k]);
            char *found = json_of(w);
            cr_assert_str_eq(found, expected, "%s in batches of %zu", all[i], sizes[k]);
            free(found);
            whole_free(w);
        }
        free(expected);
    }
}

Test(whole_samples, the_json_keeps_its_keys_and_its_indices_in_range)
{
    static const char *const keys[] = {"schema",   "program", "recording", "buses",  "ecus",
                                       "speed_sources", "chain",   "findings",  "verdict"};
    static const char *const finding_keys[] = {
        "code",  "severity", "interface", "address",    "pgn",    "start",   "end",
        "count", "title",    "evidence",  "because_of", "checks", "cautions"};

    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        struct whole *w = whole_read(&all[i], 1);
        char *text = json_of(w);
        cJSON *root = cJSON_Parse(text), *finding, *cause;
        cr_assert_not_null(root);
        for (size_t k = 0; k < sizeof keys / sizeof keys[0]; k++)
            cr_assert_not_null(cJSON_GetObjectItemCaseSensitive(root, keys[k]), "%s", keys[k]);
        cJSON *findings = cJSON_GetObjectItemCaseSensitive(root, "findings");
        int count = cJSON_GetArraySize(findings);
        cJSON_ArrayForEach(finding, findings)
        {
            for (size_t k = 0; k < sizeof finding_keys / sizeof finding_keys[0]; k++)
                cr_assert_not_null(cJSON_GetObjectItemCaseSensitive(finding, finding_keys[k]));
            cJSON_ArrayForEach(cause,
                               cJSON_GetObjectItemCaseSensitive(finding, "because_of"))
                cr_assert(cause->valueint >= 0 && cause->valueint < count);
        }
        cJSON_Delete(root);
        free(text);
        whole_free(w);
    }
}

Test(whole_samples, a_recording_cut_in_two_files_gives_the_same_findings)
{
    char first[] = "/tmp/drawbar-part-XXXXXX", second[] = "/tmp/drawbar-part-XXXXXX";
    FILE *in = fopen(SAMPLE("axle-sensor-dead.log"), "rb");
    FILE *parts[2] = {fdopen(mkstemp(first), "wb"), fdopen(mkstemp(second), "wb")};
    char line[256];

    for (int n = 0; fgets(line, sizeof line, in); n++)
        fputs(line, parts[n < 3000 ? 0 : 1]);
    fclose(in);
    fclose(parts[0]);
    fclose(parts[1]);
    /* given in the wrong order: time puts them right */
    struct whole *cut = whole_read((const char *[]){second, first}, 2);
    struct whole *one = whole_read((const char *[]){SAMPLE("axle-sensor-dead.log")}, 1);
    cr_assert_not_null(cut->diagnosis, "%s", cut->error.text);
    cr_assert_eq(cut->info->last_ns, one->info->last_ns);
    cr_assert_eq(cut->info->frames, one->info->frames);
    cr_assert_eq(cut->diagnosis->finding_count, one->diagnosis->finding_count);
    for (size_t i = 0; i < one->diagnosis->finding_count; i++) {
        cr_assert_str_eq(cut->diagnosis->findings[i].title, one->diagnosis->findings[i].title);
        cr_assert_eq(cut->diagnosis->findings[i].start_ns, one->diagnosis->findings[i].start_ns);
    }
    whole_free(cut);
    whole_free(one);
    remove(first);
    remove(second);
}

Test(whole_samples, a_report_that_cannot_be_written_says_so)
{
    struct whole *w = whole_read((const char *[]){SAMPLE("healthy.log")}, 1);
    struct dbr_report report = {.info = w->info,
                                .history = w->history,
                                .diagnosis = w->diagnosis,
                                .bitrate = 250000};
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    FILE *full = fopen("/dev/full", "wb");

    cr_assert_not_null(full);
    cr_assert_eq(dbr_report_json(full, &report, &error), -1);
    cr_assert_eq(error.code, DBR_ERROR_WRITE);
    fclose(full);
    full = fopen("/dev/full", "wb");
    cr_assert_eq(dbr_report_text(full, &report, &error), -1);
    fclose(full);
    whole_free(w);
}
