/* progress.h - a line on the terminal that says how far a long reading is. */
#ifndef DRAWBAR_COMMANDS_PROGRESS_H
#define DRAWBAR_COMMANDS_PROGRESS_H

#include <stdbool.h>
#include <stdint.h>

struct progress {
    bool on; /* standard error is a terminal */
    bool shown;
    uint64_t next; /* frames at which to show again */
};

struct progress progress_start(void);
void progress_show(struct progress *p, uint64_t frames, int64_t at_ns);
void progress_end(struct progress *p);

#endif
