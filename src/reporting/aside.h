/* aside.h - a stream into memory, for what must be known before it is written. */
#ifndef DRAWBAR_REPORTING_ASIDE_H
#define DRAWBAR_REPORTING_ASIDE_H

#include <stdbool.h>
#include <stdio.h>

struct aside {
    FILE *out;
    char *text; /* once it is closed: ends with a NUL; owned */
    size_t length, room;
};

/* False where memory is out. */
bool aside_open(struct aside *a);

/* False where not all of it found memory; aside_release is due all the same. */
bool aside_close(struct aside *a);
void aside_release(struct aside *a);

#endif
