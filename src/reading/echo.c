/* echo.c - see echo.h. */
#include "reading/echo.h"

#include <string.h>

/* A frame that waits a second for the bus waits because the bus is broken (common practice). */
#define ECHO_WITHIN_NS INT64_C(1000000000)

static bool same_content(const struct dbr_frame *a, const struct dbr_frame *b)
{
    const uint8_t kind = DBR_FRAME_EXTENDED | DBR_FRAME_REMOTE | DBR_FRAME_ERROR;

    return a->id == b->id && a->interface == b->interface && a->length == b->length &&
           (a->flags & kind) == (b->flags & kind) && memcmp(a->data, b->data, a->length) == 0;
}

static bool are_halves(const struct dbr_frame *waiting, const struct dbr_frame *frame)
{
    return (waiting->flags & DBR_FRAME_SENT) != (frame->flags & DBR_FRAME_SENT) &&
           frame->at_ns - waiting->at_ns <= ECHO_WITHIN_NS && same_content(waiting, frame);
}

static void remember(struct echo *e, const struct dbr_frame *frame)
{
    e->waiting[e->next] = *frame;
    e->next = (e->next + 1) % ECHO_WAITING;
    if (e->count < ECHO_WAITING)
        e->count++;
}

bool echo_mark(struct echo *e, struct dbr_frame *frame)
{
    if (e->count == 0 && !(frame->flags & DBR_FRAME_SENT))
        return false;
    for (size_t i = 0; i < e->count; i++) {
        if (!are_halves(&e->waiting[i], frame))
            continue;
        frame->flags |= DBR_FRAME_COPY;
        e->waiting[i].at_ns = INT64_MIN / 2; /* found its other half: matches no more */
        return true;
    }
    remember(e, frame);
    return false;
}
