/* writers.c - see writers.h. */
#include "farm/writers.h"

#include <string.h>

void farm_write(const struct farm_scenario *s, const struct farm_recording *r,
                struct farm_bytes *out)
{
    switch (s->format) {
    case FARM_FORMAT_CANDUMP:
        farm_write_candump(r, out);
        break;
    case FARM_FORMAT_PCAPNG:
        farm_write_pcapng(r, out);
        break;
    }
}

bool farm_is_zipped(const struct farm_scenario *s)
{
    size_t length = strlen(s->file);

    return length > 3 && strcmp(s->file + length - 3, ".gz") == 0;
}
