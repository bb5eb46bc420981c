/*
 * recording_words.c - flaws of a recording that reading tells of: lines that were no frames, files
 * that end early, a clock that stepped, pauses.
 *
 * Reading is played here: what it would have told of its files stands in the story's own account.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/story.h"

static bool says(const struct dbr_finding *f, const char *words)
{
    for (size_t i = 0; f && i < f->evidence.count; i++)
        if (strstr(f->evidence.items[i], words))
            return true;
    return false;
}

/* The same history, judged once more with what was changed in the account of its recording. */
static void judge_again(struct outcome *o)
{
    struct dbr_diagnosis_options options = {.units = DBR_UNITS_METRIC};

    dbr_diagnosis_free(o->diagnosis);
    o->diagnosis = dbr_diagnosis_new(o->history, &o->info, &options, NULL);
    cr_assert_not_null(o->diagnosis);
}

static struct outcome *quiet(void)
{
    struct story *s = story_new();

    story_background(s, 0, 30);
    return story_tell(s);
}

#define MS INT64_C(1000000)
#define DAY (INT64_C(86400000) * MS)

Test(diagnosis_recording_words, which_way_the_clock_stepped)
{
    static const struct {
        struct dbr_clock_steps back, ahead;
        const char *title, *words[2];
        int64_t at_ns;
        uint64_t count;
    } rows[] = {
        {{1, 5000 * MS, 250 * MS}, {0, 0, 0}, "the recorder's clock ran backwards",
         {"backwards first at 5.0 s, at most by 0.250 s"}, 5000 * MS, 1},
        {{0, 0, 0}, {2, 7000 * MS, 400 * DAY}, "the recorder's clock leapt ahead",
         {"ahead first at 7.0 s, at most by 400.0 days"}, 7000 * MS, 2},
        {{1, 5000 * MS, DAY / 2}, {1, 7000 * MS, 500 * DAY},
         "the recorder's clock ran backwards and leapt ahead",
         {"at most by 43200.000 s", "at most by 500.0 days"}, 5000 * MS, 2},
        {{1, 9000 * MS, 250 * MS}, {1, 7000 * MS, 500 * DAY},
         "the recorder's clock ran backwards and leapt ahead", {"backwards first at 9.0 s"},
         7000 * MS, 2},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *o = quiet();
        o->info.steps_back = rows[i].back;
        o->info.steps_ahead = rows[i].ahead;
        judge_again(o);
        const struct dbr_finding *f = outcome_finding(o, "recording-clock-step", -1);
        cr_assert_not_null(f, "%s", outcome_codes(o));
        cr_expect_str_eq(f->title, rows[i].title);
        cr_expect_eq(f->start_ns, rows[i].at_ns, "row %zu", i);
        cr_expect_eq(f->count, rows[i].count, "row %zu", i);
        for (size_t k = 0; k < 2 && rows[i].words[k]; k++)
            cr_expect(says(f, rows[i].words[k]), "row %zu: %s", i, f->evidence.items[k]);
        outcome_free(o);
    }
}

/* Rejected records of all files are one finding; a file without any is not named. */
Test(diagnosis_recording_words, what_could_not_be_read)
{
    static const struct dbr_file_info files[] = {
        {.path = "one.log", .by_line = true, .records = 100, .rejected = 2,
         .rejections[DBR_REJECTION_BAD_LENGTH] = {.count = 2, .first_at = 17}},
        {.path = "sound.log", .by_line = true, .records = 50},
        {.path = "two.pcap", .records = 30, .rejected = 1, .truncated = true,
         .truncated_why = "the last packet is cut", .frames = 29,
         .rejections[DBR_REJECTION_PACKET_CUT] = {.count = 1, .first_at = 30}},
    };
    struct outcome *o = quiet();

    o->info.file_count = sizeof files / sizeof files[0];
    o->info.files = files;
    judge_again(o);
    const struct dbr_finding *f = outcome_finding(o, "recording-rejected", -1);
    const struct dbr_finding *cut = outcome_finding(o, "recording-truncated", -1);
    cr_assert(f && cut, "%s", outcome_codes(o));
    cr_expect_str_eq(f->title, "3 of 180 records could not be read");
    cr_expect_eq(f->count, 3);
    cr_expect(says(f, "one.log: 2 times, first at line 17"));
    cr_expect(says(f, "two.pcap: 1 times, first at packet 30"));
    cr_expect_not(says(f, "sound.log"));
    cr_expect_str_eq(cut->title, "two.pcap ends before its own end");
    cr_expect(says(cut, "the last packet is cut; 29 frames were read"));
    outcome_free(o);
}

/* All is silent for a while, once or twice, on a bus that else never pauses. */
Test(diagnosis_recording_words, pauses_of_the_whole_recording)
{
    for (int twice = 0; twice < 2; twice++) {
        struct story *s = story_new();
        story_background(s, 0, 20);
        story_background(s, 23, 40);
        story_background(s, twice ? 44 : 40, 60);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "recording-gap", -1);
        cr_assert_not_null(f, "%s", outcome_codes(o));
        cr_expect_eq(strstr(f->title, "more than once") != NULL, twice);
        cr_expect_eq(f->evidence.count, twice ? 2 : 1);
        outcome_free(o);
    }
}

static bool leaves_open(const struct outcome *o, const char *words)
{
    for (size_t i = 0; i < o->diagnosis->cannot_tell.count; i++)
        if (strstr(o->diagnosis->cannot_tell.items[i], words))
            return true;
    return false;
}

/* One of two buses ends before the recording does: nobody is left on it who could be silent. */
Test(diagnosis_recording_words, a_bus_that_ends_early)
{
    static const struct {
        const char *what;
        double every, until;
        bool told;
    } rows[] = {
        {"halfway", 0.1, 40, true},
        {"2 s before the end", 0.1, 87.9, false},
        {"that carried a message in 8 s only", 8, 80, false},
        {"never", 0.1, 90, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 90);
        story_on(s, 1);
        story_beat(s, story_id(6, 65300, 255, 140), rows[i].every, 1, rows[i].until,
                   "0000000000000000");
        struct outcome *o = story_tell(s);
        cr_expect_eq(leaves_open(o, "nothing was recorded on"), rows[i].told, "%s", rows[i].what);
        outcome_free(o);
    }
}
