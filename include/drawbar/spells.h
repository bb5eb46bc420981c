/*
 * spells.h - intervals in which something held, a bounded list of them.
 *
 * Times are ns since the first frame. Plain values: nothing to free.
 */
#ifndef DRAWBAR_SPELLS_H
#define DRAWBAR_SPELLS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/limits.h"

/* An interval in which something held. The figures are explained where a list is declared. */
struct dbr_spell {
    int64_t start_ns;
    int64_t end_ns; /* where `open`: the last moment that is known */
    bool open;      /* lasted to the end of the recording */
    double own;     /* NAN where there is no figure */
    double low, high;
    uint64_t count; /* events inside */
    uint64_t mask;  /* bits; meaning said at the list */
};

struct dbr_spells {
    size_t count;
    uint64_t folded; /* further ones, not kept */
    struct dbr_spell items[DBR_SPELLS_MAX];
};

#endif
