/* write_candump.c - "(1717000000.123456) can0 18FEF100#FF00FF00FF00FF00". */
#include <inttypes.h>
#include <stdio.h>

#include "farm/maths.h"
#include "farm/writers.h"

#define ERROR_FLAG 0x20000000u /* linux/can.h; extended frames bear no mark but eight digits */
#define LINE_ROOM  80

static void write_line(const struct farm_record *record, struct farm_bytes *out)
{
    const struct farm_frame *f = &record->frame;
    char line[LINE_ROOM];
    int64_t us = record->at_ns / FARM_NS_PER_US;
    int length =
        snprintf(line, sizeof line, "(%" PRId64 ".%06" PRId64 ") " FARM_INTERFACE " %08" PRIX32 "#",
                 FARM_EPOCH_S + us / 1000000, us % 1000000, f->id | (f->error ? ERROR_FLAG : 0u));

    for (unsigned i = 0; i < f->length; i++)
        length += snprintf(line + length, sizeof line - (size_t)length, "%02X", f->data[i]);
    line[length++] = '\n';
    farm_bytes_add(out, line, (size_t)length);
}

void farm_write_candump(const struct farm_recording *r, struct farm_bytes *out)
{
    for (size_t i = 0; i < r->count; i++)
        write_line(&r->items[i], out);
}
