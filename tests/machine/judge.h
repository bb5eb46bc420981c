/* judge.h - whether a program behaved on a failing machine. */
#ifndef TESTS_MACHINE_JUDGE_H
#define TESTS_MACHINE_JUDGE_H

#include "machine/play.h"

/* How a run that behaved well ended. */
enum ending { ENDED_REFUSED /* status 2 */, ENDED_TOLD /* goes on and says so */, ENDED_SAME };

/*
 * NULL, or what is wrong, in words. `good` is the run without a failure; `failed` says whether the
 * failure came to pass.
 */
const char *judge(const struct machine_case *c, const struct outcome *good, const struct failure *f,
                  const struct outcome *o, bool failed, const char *function, enum ending *ending);

#endif
