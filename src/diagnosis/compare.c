/* compare.c - see drawbar/compare.h. */
#include "drawbar/compare.h"

#include <stdlib.h>
#include <string.h>

#include "diagnosis/compare_places.h"
#include "diagnosis/compare_shown.h"

const char *dbr_change_name(enum dbr_change change)
{
    static const char *const names[] = {"gone", "still", "new", "cannot_tell"};
    return (unsigned)change <= DBR_CHANGE_CANNOT_TELL ? names[change] : "unknown";
}

static bool share_member(const struct dbr_side *sa, const struct dbr_finding *a,
                         const struct dbr_side *sb, const struct dbr_finding *b)
{
    for (size_t i = 0; i < place_members(a); i++)
        for (size_t k = 0; k < place_members(b); k++)
            if (place_same(place_member(sa, a, i), place_member(sb, b, k)))
                return true;
    return false;
}

/* Two trouble codes of one ECU are two findings; how their layout is told belongs to them. */
static bool same_trouble(const struct dbr_trouble *a, const struct dbr_trouble *b)
{
    return a->code.spn == b->code.spn && a->code.fmi == b->code.fmi &&
           a->code.older_layout == b->code.older_layout;
}

/* ECUs of a rig that nobody heard have no address: the rig's label tells them apart. */
static bool same_missing(const char *a, const char *b)
{
    return a && b ? strcmp(a, b) == 0 : a == b;
}

static bool same_finding(const struct dbr_side *sa, const struct dbr_finding *a,
                         const struct dbr_side *sb, const struct dbr_finding *b)
{
    if (strcmp(a->code, b->code) != 0 || a->pgn != b->pgn ||
        !same_missing(a->missing, b->missing) ||
        (a->trouble && !same_trouble(a->trouble, b->trouble)))
        return false;
    return share_member(sa, a, sb, b);
}

static bool matters(const struct dbr_finding *f)
{
    return f->severity > DBR_NOTE;
}

static const struct dbr_finding *find_same(const struct dbr_side *in, const struct dbr_side *of,
                                           const struct dbr_finding *f)
{
    for (size_t i = 0; i < in->diagnosis->finding_count; i++) {
        const struct dbr_finding *other = &in->diagnosis->findings[i];
        if (matters(other) && same_finding(of, f, in, other))
            return other;
    }
    return NULL;
}

static void add_row(struct dbr_comparison *c, enum dbr_change change,
                    const struct dbr_finding *before, const struct dbr_finding *after,
                    const char *why)
{
    bool fault = (before && before->severity == DBR_FAULT) ||
                 (after && after->severity == DBR_FAULT);

    c->rows[c->row_count++] = (struct dbr_comparison_row){change, before, after, why};
    if (fault && change != DBR_CHANGE_GONE)
        c->repaired = false;
}

static void compare_findings(struct dbr_comparison *c)
{
    for (size_t i = 0; i < c->before.diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &c->before.diagnosis->findings[i];
        if (!matters(f))
            continue;
        const struct dbr_finding *still = find_same(&c->after, &c->before, f);
        const char *why = still ? NULL : compare_cannot_tell(&c->before, &c->after, f);
        add_row(c, still ? DBR_CHANGE_STILL : why ? DBR_CHANGE_CANNOT_TELL : DBR_CHANGE_GONE, f,
                still, why);
    }
    for (size_t i = 0; i < c->after.diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &c->after.diagnosis->findings[i];
        if (matters(f) && !find_same(&c->before, &c->after, f))
            add_row(c, DBR_CHANGE_NEW, NULL, f, NULL);
    }
}

struct dbr_comparison *dbr_comparison_new(const struct dbr_side *before,
                                          const struct dbr_side *after, struct dbr_error *error)
{
    size_t room = before->diagnosis->finding_count + after->diagnosis->finding_count + 1;
    struct dbr_comparison *c = calloc(1, sizeof *c);
    struct dbr_comparison_row *rows = calloc(room, sizeof *rows);

    if (!c || !rows) {
        free(c);
        free(rows);
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    *c = (struct dbr_comparison){.before = *before, .after = *after, .rows = rows,
                                 .repaired = true};
    compare_findings(c);
    return c;
}

void dbr_comparison_free(struct dbr_comparison *c)
{
    if (!c)
        return;
    free(c->rows);
    free(c);
}
