/* causes.h - the table of what explains what; findings_link (rules.h) applies it. */
#ifndef DRAWBAR_DIAGNOSIS_CAUSES_H
#define DRAWBAR_DIAGNOSIS_CAUSES_H

#include "diagnosis/causes_conditions.h"

/*
 * A cause, and an effect, that ends with '*' means all codes that begin so. Nobody is behind
 * itself: no chain of rows leads back to a code unless conditions keep it from closing
 * (tests/unit/diagnosis/links.c).
 */
struct link {
    const char *effect, *cause;
    condition *holds;
};

extern const struct link links[];
extern const size_t link_count;

/* Whether a code is one that a row means. */
bool link_means(const char *pattern, const char *code);

#endif
