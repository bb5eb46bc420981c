/* repair.c - see repair.h. */
#include "support/repair.h"

#include <criterion/criterion.h>
#include <string.h>

static struct dbr_side side_of(const struct outcome *o)
{
    return (struct dbr_side){.info = &o->info, .history = o->history, .diagnosis = o->diagnosis};
}

static const struct dbr_comparison_row *row_of(const struct dbr_comparison *c, const char *code)
{
    for (size_t i = 0; i < c->row_count; i++) {
        const struct dbr_finding *f = c->rows[i].before ? c->rows[i].before : c->rows[i].after;
        if (strcmp(f->code, code) == 0)
            return &c->rows[i];
    }
    return NULL;
}

void repair_expect(const char *what, struct outcome *before, struct outcome *after,
                   const char *code, enum dbr_change change, const char *why)
{
    struct dbr_side sides[] = {side_of(before), side_of(after)};
    struct dbr_comparison *c = dbr_comparison_new(&sides[0], &sides[1], NULL);
    const struct dbr_comparison_row *row = row_of(c, code);

    cr_assert_not_null(row, "%s: %s", what, outcome_codes(before));
    cr_expect_eq(row->change, change, "%s: %s, %s", what, dbr_change_name(row->change),
                 row->why ? row->why : "");
    cr_expect_eq(row->why != NULL, row->change == DBR_CHANGE_CANNOT_TELL, "%s", what);
    cr_expect(!why || (row->why && strstr(row->why, why)), "%s: %s", what,
              row->why ? row->why : "");
    dbr_comparison_free(c);
    outcome_free(before);
    outcome_free(after);
}
