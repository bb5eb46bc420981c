/*
 * inbox_pool.h - work divided over processes: what one of them dies of costs one piece of work.
 *
 * A process has a pipe on which it is told the number of its next piece, and one on which it
 * answers. It ends when the first is closed, also because this process was killed.
 */
#ifndef DRAWBAR_COMMANDS_INBOX_POOL_H
#define DRAWBAR_COMMANDS_INBOX_POOL_H

#include <stdbool.h>
#include <stddef.h>

#include "drawbar/error.h"

#define POOL_TEXT_MAX 1024u

struct pool_result {
    size_t piece;
    bool failed; /* text says why */
    bool hopeless; /* so will all others: no more is begun, and pool_run fails with text */
    bool died;   /* the process ended before it answered, or was given up; text says how */
    char text[POOL_TEXT_MAX];
};

struct pool {
    unsigned jobs; /* processes at a time, at least 1 */
    unsigned limit_s; /* of a piece; who needs more is killed */
    size_t count;  /* pieces: 0 .. count - 1, each is done once, in any order */
    void *context;
    /* In the process: does a piece. What it changes in memory is seen by nobody. */
    void (*work)(void *context, struct pool_result *result);
    /* In the caller: takes the result, while the process does its next piece. */
    void (*done)(void *context, const struct pool_result *result);
};

/* 0, or -1 where not one process could be started, or a piece said that there is no hope. */
int pool_run(const struct pool *pool, struct dbr_error *error);

#endif
