/* play.h - plays a command in a process of its own, on a machine that fails as faults.h says. */
#ifndef TESTS_MACHINE_PLAY_H
#define TESTS_MACHINE_PLAY_H

#include <sys/types.h>

#include "machine/cases.h"

#define MACHINE_OLD_CONTENT "of an earlier run\n"
#define SHOTS_MAX 64
#define SHOT_PATH_MAX 160

/* A file as it was found. */
struct shot {
    char path[SHOT_PATH_MAX];
    char *data; /* owned, ends with a NUL */
    size_t size;
};

/* What came of a run. */
struct outcome {
    int status;       /* of the program; -1: it did not get to its end */
    int died_of;      /* signal; 0 */
    size_t live;      /* blocks of memory that it did not give back */
    int descriptors;  /* that it left open */
    struct shot out, err;
    size_t file_count;
    struct shot files[SHOTS_MAX]; /* below out/, sorted */
};

/* The failure to be played. */
struct failure {
    enum fault_kind kind;
    unsigned long at; /* 0: none */
    bool stays;
};

/* Where the built-in definitions were read for the first time, in calls before and after that. */
struct definitions_read {
    bool seen;
    unsigned long before[FAULT_KIND_COUNT], after[FAULT_KIND_COUNT];
};

/* Once. */
void play_start(void);

/* In the current folder, whose out/ it clears before. */
void play(const struct machine_case *c, const struct failure *f, struct outcome *outcome);
void outcome_release(struct outcome *outcome);

/* The first run, in this very process: what libraries keep for good is taken here. */
void play_first(const struct machine_case *c);

/* Calls at the definitions in the last run that was played. */
const struct definitions_read *play_definitions(void);

/*
 * Plays the command up to where its definitions were read, and from there on once for each failure
 * that `next` gives, until it gives none; `judge` sees each outcome. Their counts go on from the
 * start of the command. In a process of its own, which is shared memory's other side.
 */
void play_from_definitions(const struct machine_case *c,
                           bool (*next)(void *context, struct failure *f),
                           void (*judge)(void *context, const struct failure *f,
                                         const struct outcome *outcome),
                           void *context);

#endif
