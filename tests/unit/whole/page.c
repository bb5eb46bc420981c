/* Pages of the demo recordings: what stands in them, and that two share a page in peace. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/compare.h"
#include "drawbar/reporting.h"
#include "support/whole.h"

#define SAMPLE(name) SOURCE_DIRECTORY "/samples/" name

static struct dbr_report report_of(const struct whole *w)
{
    return (struct dbr_report){.info = w->info, .history = w->history, .diagnosis = w->diagnosis,
                               .bitrate = 250000};
}

static struct whole *read_one(const char *path)
{
    struct whole *w = whole_read(&path, 1);

    cr_assert_not_null(w->diagnosis, "%s: %s", path, w->error.text);
    return w;
}

static char *compared(const char *before_path, const char *after_path)
{
    struct whole *before = read_one(before_path), *after = read_one(after_path);
    struct dbr_report reports[2] = {report_of(before), report_of(after)};
    struct dbr_side sides[2] = {{before->info, before->history, before->diagnosis},
                                {after->info, after->history, after->diagnosis}};
    struct dbr_comparison *c = dbr_comparison_new(&sides[0], &sides[1], NULL);
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(dbr_compare_html(out, c, &reports[0], &reports[1], NULL), 0);
    fclose(out);
    dbr_comparison_free(c);
    whole_free(before);
    whole_free(after);
    return text;
}

static char *page_of(const char *path)
{
    struct whole *w = read_one(path);
    struct dbr_report report = report_of(w);
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(dbr_report_html(out, &report, NULL), 0);
    fclose(out);
    whole_free(w);
    return text;
}

/* The n-th text between `before` and `after`; the caller frees it, NULL where there is none. */
static char *between(const char *text, const char *before, const char *after, int n)
{
    for (; n >= 0 && text; n--) {
        text = strstr(text, before);
        text = text ? text + strlen(before) : NULL;
    }
    const char *end = text ? strstr(text, after) : NULL;
    return end ? strndup(text, (size_t)(end - text)) : NULL;
}

/* Anchors must lead to one place each; those of links must exist. */
static void check_anchors(char *page)
{
    char needle[64];
    char *script = strstr(page, "<script"); /* the scripts speak of ids, too */

    cr_assert_not_null(script);
    *script = '\0';
    for (const char *at = page; (at = strstr(at, " id=\"")); at++) {
        size_t length = strcspn(at + 5, "\"") + 6;
        cr_assert_lt(length, sizeof needle);
        memcpy(needle, at, length);
        needle[length] = '\0';
        cr_assert_null(strstr(at + 1, needle), "twice:%s", needle);
    }
    for (const char *at = page; (at = strstr(at, "href=\"#")); at++) {
        snprintf(needle, sizeof needle, " id=\"%.*s\"", (int)strcspn(at + 7, "\""), at + 7);
        cr_assert_not_null(strstr(page, needle), "leads nowhere: %s", needle);
    }
}

Test(whole_page, every_anchor_of_every_page_leads_to_one_place)
{
    static const char *const samples[] = {SAMPLE("axle-sensor-dead.log"), SAMPLE("two-faults.log.gz"),
                                          SAMPLE("recorder-bus-off.log"), SAMPLE("healthy.log")};

    for (size_t i = 0; i < sizeof samples / sizeof samples[0]; i++) {
        char *page = page_of(samples[i]);
        check_anchors(page);
        free(page);
    }
    char *both = compared(SAMPLE("two-faults.log.gz"), SAMPLE("axle-sensor-dead.log"));
    check_anchors(both);
    free(both);
}

/* The repaired drive begins at another moment; on the page their first motion is in line. */
Test(whole_page, two_recordings_are_aligned_at_the_first_motion)
{
    char *page = compared(SAMPLE("axle-sensor-dead.log"), SAMPLE("healthy-long.log.gz"));
    char *before = between(page, "<path class=\"motion\" d=\"M", " ", 0);
    char *after = between(page, "<path class=\"motion\" d=\"M", " ", 1);

    cr_assert(before && after);
    cr_assert_str_eq(before, after);
    free(before);
    free(after);
    free(page);
}

Test(whole_page, a_dead_sensor_is_drawn_as_a_curve_at_zero_and_a_link_that_fails)
{
    char *page = page_of(SAMPLE("axle-sensor-dead.log"));

    cr_assert_not_null(strstr(page, "E implement, rate control"));
    cr_assert_not_null(strstr(page, "<path class=\"line c4\""));
    cr_assert_not_null(strstr(page, "not held: its own speed is dead while the machine moves"));
    free(page);
}

Test(whole_page, silences_and_restarts_stand_in_the_lanes_of_their_ecus)
{
    char *page = page_of(SAMPLE("booms-flicker.log.gz"));
    size_t silent = 0, restarts = 0;

    for (const char *at = page; (at = strstr(at, "<rect class=\"silent\" x=")); at++)
        silent++;
    for (const char *at = page; (at = strstr(at, "<path class=\"restart\" d=\"M")); at++)
        restarts++;
    cr_assert_eq(silent, 6 + 1, "two booms three times, and the key: %zu", silent);
    cr_assert_geq(restarts, 6);
    free(page);
}
