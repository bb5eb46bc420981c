/* progress.c - see progress.h. */
#include "commands/progress.h"

#include <stdio.h>
#include <unistd.h>

#define STEP 200000u /* frames: several times a second */

struct progress progress_start(void)
{
    return (struct progress){.on = isatty(STDERR_FILENO), .next = STEP};
}

void progress_show(struct progress *p, uint64_t frames, int64_t at_ns)
{
    if (!p->on || frames < p->next)
        return;
    p->next = frames + STEP;
    p->shown = true;
    fprintf(stderr, "\r%.1f million frames", (double)frames / 1e6);
    if (at_ns > 0) /* without time stamps it stays 0: unknown */
        fprintf(stderr, ", %.0f s of recording ", (double)at_ns / 1e9);
}

void progress_end(struct progress *p)
{
    if (p->shown)
        fputs("\r\033[K", stderr);
}
