/* repair.h - two stories side by side: what became of a finding (drawbar/compare.h). */
#ifndef TESTS_SUPPORT_REPAIR_H
#define TESTS_SUPPORT_REPAIR_H

#include "drawbar/compare.h"
#include "support/story.h"

/*
 * Expects what became of the first finding of a code, and, where the recording after cannot tell,
 * words of the reason (NULL: whatever it is). Frees both.
 */
void repair_expect(const char *what, struct outcome *before, struct outcome *after,
                   const char *code, enum dbr_change change, const char *why);

#endif
