/*
 * interrupt.h - Ctrl-C and what else ends a program from outside.
 *
 * No half-written file outlives it. While a recording is read for a report, Ctrl-C ends the
 * reading and not the program: the report is made of what was read, and says so.
 */
#ifndef DRAWBAR_COMMANDS_INTERRUPT_H
#define DRAWBAR_COMMANDS_INTERRUPT_H

#include <signal.h>

/* Once, before anything is written. A signal that is ignored stays so. */
void interrupt_start(void);

/* Holds signals back where a file exists and is not guarded yet, or not any more. */
void interrupt_hold(sigset_t *before);
void interrupt_release(const sigset_t *before);

/* A file to be removed where the program ends; `path` must stay until it is no longer guarded. */
void interrupt_guard(const char *path);
void interrupt_unguard(const char *path);

/* From here on Ctrl-C sets what is returned, once; the next one ends the program. */
const volatile sig_atomic_t *interrupt_expect(void);
/* Ctrl-C ends the program again. */
void interrupt_expect_no_more(void);

#endif
