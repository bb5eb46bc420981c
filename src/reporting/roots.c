/* roots.c - see roots.h. */
#include "reporting/roots.h"

#include <stdbool.h>
#include <stdlib.h>

/* Positions only ever sink, so it ends. */
size_t *roots_find(const struct dbr_diagnosis *d)
{
    const struct dbr_verdict *v = &d->verdict;
    size_t *root_of = malloc((d->finding_count + 1) * sizeof *root_of);
    bool changed = root_of != NULL;

    if (!root_of)
        return NULL;
    for (size_t i = 0; i < d->finding_count; i++)
        root_of[i] = v->root_cause_count;
    for (size_t i = v->root_cause_count; i-- > 0;)
        root_of[v->root_causes[i]] = i;
    while (changed) {
        changed = false;
        for (size_t i = 0; i < d->finding_count; i++)
            for (size_t k = 0; k < d->findings[i].cause_count; k++) {
                size_t root = root_of[d->findings[i].causes[k]];
                if (root >= root_of[i])
                    continue;
                root_of[i] = root;
                changed = true;
            }
    }
    return root_of;
}

static const char **cautions_of(const struct dbr_finding *f)
{
    return f->cautions.items;
}

static const char **checks_of(const struct dbr_finding *f)
{
    return f->checks.items;
}

static size_t told_before(const struct dbr_diagnosis *d, size_t position,
                          const char **(*part)(const struct dbr_finding *))
{
    const size_t *roots = d->verdict.root_causes;

    for (size_t i = 0; i < position; i++)
        if (part(&d->findings[roots[i]]) == part(&d->findings[roots[position]]))
            return i;
    return position;
}

size_t roots_told_cautions(const struct dbr_diagnosis *d, size_t position)
{
    return told_before(d, position, cautions_of);
}

size_t roots_told_checks(const struct dbr_diagnosis *d, size_t position)
{
    return told_before(d, position, checks_of);
}
