/* recording.c - see recording.h. */
#include "farm/recording.h"

#include <stdlib.h>
#include <string.h>

static bool make_room(struct farm_recording *r)
{
    if (r->count < r->room)
        return true;
    if (r->room >= FARM_RECORDS_MAX)
        return false;
    size_t room = r->room ? 2 * r->room : 1024;
    struct farm_record *items = realloc(r->items, room * sizeof *items);
    if (!items)
        return false;
    r->items = items;
    r->room = room;
    return true;
}

void farm_recording_add(struct farm_recording *r, int64_t at_ns, const struct farm_frame *frame)
{
    if (!make_room(r)) {
        r->failed = true;
        return;
    }
    r->items[r->count++] = (struct farm_record){at_ns, *frame};
}

void farm_recording_release(struct farm_recording *r)
{
    free(r->items);
    memset(r, 0, sizeof *r);
}
