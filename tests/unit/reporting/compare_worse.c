/* compare_worse.c - what is still there weighs what it weighs after: a warning that has become a
 * fault is no repair. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/compare.h"
#include "drawbar/reporting.h"
#include "support/story.h"

static struct dbr_side side_of(const struct outcome *o)
{
    return (struct dbr_side){.info = &o->info, .history = o->history, .diagnosis = o->diagnosis};
}

/* The spreader claims again, unasked: once is a warning, twice a fault (contract, ecu-restart). For
 * three seconds a share of the bus is used up (0: as little as ever). */
static struct outcome *drive(int restarts, double share)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    story_gnss(s, 28, drive_field, 1.0, 0, 60);
    story_claim(s, 0.2, 128, NAME_SPREADER);
    story_beat(s, story_id(6, 65301, 255, 128), 0.1, 0.5, 60, "0000000000000000");
    for (int k = 0; k < restarts; k++)
        story_claim(s, 15.0 + 15.0 * k, 128, NAME_SPREADER);
    for (double t = 40; share > 0 && t < 43; t += 146.0 / 250000.0 / share) /* of 146 bits */
        story_frame(s, t, 0x18FEF100, "FFFFFFFFFFFFFFFF");
    return story_tell(s);
}

typedef int form(FILE *out, const struct dbr_comparison *c, struct dbr_error *error);

static int as_text(FILE *out, const struct dbr_comparison *c, struct dbr_error *error)
{
    return dbr_compare_text(out, c, DBR_UNITS_METRIC, false, error);
}

static char *written(const struct dbr_comparison *c, form *write)
{
    struct dbr_error error = {0};
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_not_null(out);
    cr_assert_eq(write(out, c, &error), 0, "%s", error.text);
    fclose(out);
    return text;
}

static void expect_in(const struct dbr_comparison *c, form *write, const char *words)
{
    char *text = written(c, write);

    cr_expect(strstr(text, words), "%s in: %s", words, text);
    free(text);
}

Test(reporting_compare_worse, what_is_still_there_is_told_as_it_is_after)
{
    static const struct {
        int before, after; /* restarts */
        bool repaired;
        const char *sentence, *row, *worse;
    } rows[] = {
        {1, 2, false, "No fault before, but worse after: 1 warning of before is a fault now.",
         "STILL THERE  fault (worse: a warning before): ", "\"worse\":\ttrue"},
        {1, 1, true, "No fault before, and none after.", "STILL THERE  warning: ",
         "\"worse\":\tfalse"},
        {2, 1, false, "0 gone, 1 still there (1 as a warning), 0",
         "STILL THERE  warning (a fault before): ", "\"worse\":\tfalse"},
        {2, 2, false, "0 gone, 1 still there, 0 new", "STILL THERE  fault: ",
         "\"worse\":\tfalse"},
        {0, 2, false, "0 gone, 0 still there, 1 new", "NEW          fault: ",
         "\"worse\":\tfalse"},
        {2, 0, true, "The repair held: all 1 faults of before are gone", "gone         fault: ",
         "\"worse\":\tfalse"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct outcome *before = drive(rows[i].before, 0), *after = drive(rows[i].after, 0);
        struct dbr_side sides[] = {side_of(before), side_of(after)};
        struct dbr_comparison *c = dbr_comparison_new(&sides[0], &sides[1], NULL);
        cr_expect_eq(c->repaired, rows[i].repaired, "row %zu", i);
        expect_in(c, as_text, rows[i].sentence);
        expect_in(c, as_text, rows[i].row);
        expect_in(c, dbr_compare_json, rows[i].worse);
        dbr_comparison_free(c);
        outcome_free(before);
        outcome_free(after);
    }
}

/* The figure is that of after. */
Test(reporting_compare_worse, a_repair_beside_it_does_not_hide_it)
{
    struct outcome *before = drive(2, 0.75), *after = drive(0, 0.95);
    struct dbr_side sides[] = {side_of(before), side_of(after)};
    struct dbr_comparison *c = dbr_comparison_new(&sides[0], &sides[1], NULL);

    cr_expect_not(c->repaired);
    expect_in(c, as_text, "of the faults, 1 gone, 0 still there, 0 new,");
    expect_in(c, as_text, "; 1 warning of before");
    expect_in(c, as_text, "STILL THERE  fault (worse: a warning before): the bus is too busy: up to 9");
    dbr_comparison_free(c);
    outcome_free(before);
    outcome_free(after);
}
