/* compare.c - before against after: gone only where the recording after could have shown it. */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/compare.h"
#include "support/whole.h"

#define SAMPLE(name) SOURCE_DIRECTORY "/samples/" name

static struct dbr_side side_of(const struct whole *w)
{
    return (struct dbr_side){.info = w->info, .history = w->history, .diagnosis = w->diagnosis};
}

/* What became of the findings of a code; -1: there is no row of it. */
static int change_of(const struct dbr_comparison *c, const char *code)
{
    for (size_t i = 0; i < c->row_count; i++) {
        const struct dbr_finding *f = c->rows[i].before ? c->rows[i].before : c->rows[i].after;
        if (strcmp(f->code, code) == 0)
            return (int)c->rows[i].change;
    }
    return -1;
}

Test(whole_compare, what_becomes_of_a_finding)
{
    static const struct {
        const char *before, *after, *code;
        enum dbr_change change;
        bool repaired;
    } rows[] = {
        {SAMPLE("axle-sensor-dead.log"), SAMPLE("axle-sensor-repaired.log"), "speed-stuck-zero",
         DBR_CHANGE_GONE, true},
        {SAMPLE("axle-sensor-dead.log"), SAMPLE("axle-sensor-dead.log"), "speed-stuck-zero",
         DBR_CHANGE_STILL, false},
        {SAMPLE("axle-sensor-dead.log"), SAMPLE("address-conflict.log"), "address-conflict",
         DBR_CHANGE_NEW, false},
        /* the recording after has no error frames */
        {SAMPLE("recorder-bus-off.log"), SAMPLE("healthy.log"), "bus-off", DBR_CHANGE_CANNOT_TELL,
         false},
        /* the weighing unit is not there to be contested */
        {SAMPLE("address-conflict.log"), SAMPLE("weigher-removed.log.gz"), "address-conflict",
         DBR_CHANGE_CANNOT_TELL, false},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct whole *before = whole_read(&rows[i].before, 1), *after = whole_read(&rows[i].after, 1);
        struct dbr_side sides[] = {side_of(before), side_of(after)};
        struct dbr_comparison *c = dbr_comparison_new(&sides[0], &sides[1], NULL);
        cr_assert_not_null(c);
        int change = change_of(c, rows[i].code);
        cr_expect_eq(change, (int)rows[i].change, "%s to %s: %d", rows[i].before, rows[i].after,
                     change);
        cr_expect_eq(c->repaired, rows[i].repaired, "%s to %s", rows[i].before, rows[i].after);
        dbr_comparison_free(c);
        whole_free(before);
        whole_free(after);
    }
}
