/* From files to findings in one call, as a program that links to the library makes it. */
#include <criterion/criterion.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/drawbar.h"
#include "support/kept.h"
#include "support/whole.h"

#define SAMPLE(name) SOURCE_DIRECTORY "/samples/" name

static const char *const dead[] = {SAMPLE("axle-sensor-dead.log")};

static char *json_of(const struct dbr_report *report)
{
    char *text = NULL;
    size_t length;
    FILE *out = open_memstream(&text, &length);

    cr_assert_eq(dbr_report_json(out, report, NULL), 0);
    fclose(out);
    return kept(text);
}

static char *json_of_analysis(const char *const *paths, size_t count)
{
    struct dbr_analysis *a = dbr_analysis_new(paths, count, NULL, NULL);

    cr_assert_not_null(a);
    struct dbr_report report = dbr_report_of(a);
    char *text = json_of(&report);
    dbr_analysis_free(a);
    return text;
}

Test(whole_analysis, is_what_its_steps_give)
{
    struct whole *w = whole_read(dead, 1);
    struct dbr_report report = {.info = w->info,
                                .history = w->history,
                                .diagnosis = w->diagnosis,
                                .bitrate = 250000,
                                .width = 80};
    char *steps = json_of(&report), *once = json_of_analysis(dead, 1);

    cr_expect_str_eq(once, steps);
    free(steps);
    free(once);
    whole_free(w);
}

static void keep_last(void *context, uint64_t frames, int64_t at_ns)
{
    uint64_t *last = context;

    last[0] = frames;
    last[1] = (uint64_t)at_ns;
}

Test(whole_analysis, tells_how_far_it_is)
{
    uint64_t last[2] = {0};
    struct dbr_analysis_options options = {.progress = keep_last, .progress_context = last};
    struct dbr_analysis *a = dbr_analysis_new(dead, 1, &options, NULL);

    cr_assert_not_null(a);
    cr_expect_eq(last[0], a->frames);
    cr_expect_eq(last[1], (uint64_t)a->info->last_ns);
    dbr_analysis_free(a);
}

Test(whole_analysis, judges_the_window_and_takes_who_is_who_from_before_it)
{
    struct dbr_analysis_options options = {
        .reading.from = {DBR_MOMENT_FROM_START, INT64_C(20000000000)}};
    struct dbr_analysis *a = dbr_analysis_new(dead, 1, &options, NULL);

    cr_assert_not_null(a);
    cr_expect_lt(a->frames, a->info->frames);
    const struct dbr_ecu *ecu = dbr_history_ecu(a->history, 0, 128);
    cr_assert_not_null(ecu);
    cr_expect_geq(ecu->name_count, 1);
    dbr_analysis_free(a);
}

Test(whole_analysis, of_another_interface_has_nothing_to_judge)
{
    struct dbr_analysis_options options = {.reading.interface = "can7"};
    struct dbr_analysis *a = dbr_analysis_new(dead, 1, &options, NULL);

    cr_assert_not_null(a);
    cr_expect_eq(a->frames, 0);
    dbr_analysis_free(a);
}

Test(whole_analysis, that_cannot_be_made_says_why)
{
    const char *const missing[] = {"no/such.log"};
    struct dbr_analysis_options options = {.rig = "no/such.json"};
    struct dbr_error error = {.code = DBR_ERROR_NONE};

    cr_expect_null(dbr_analysis_new(missing, 1, NULL, &error));
    cr_expect_eq(error.code, DBR_ERROR_OPEN);
    cr_expect(strstr(error.text, "no/such.log"));
    cr_expect_null(dbr_analysis_new(dead, 1, &options, &error));
    cr_expect(strstr(error.text, "no/such.json"));
    cr_expect_null(dbr_analysis_new(missing, 1, NULL, NULL));
    dbr_analysis_free(NULL);
}

static void *analyse(void *path)
{
    return json_of_analysis((const char *const[]){path}, 1);
}

/* What the library says of threads: objects of one do not concern the other. */
Test(whole_analysis, of_two_recordings_may_run_at_once)
{
    const char *paths[] = {SAMPLE("axle-sensor-dead.log"), SAMPLE("address-conflict.log")};
    pthread_t threads[2];
    void *made[2];

    for (size_t i = 0; i < 2; i++)
        cr_assert_eq(pthread_create(&threads[i], NULL, analyse, (void *)(uintptr_t)paths[i]), 0);
    for (size_t i = 0; i < 2; i++)
        cr_assert_eq(pthread_join(threads[i], &made[i]), 0);
    for (size_t i = 0; i < 2; i++) {
        char *alone = json_of_analysis(&paths[i], 1);
        cr_expect_str_eq(made[i], alone);
        free(alone);
        free(made[i]);
    }
}
