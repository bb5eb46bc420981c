/* own_stream.c - see own_stream.h. */
#define _GNU_SOURCE /* fopencookie */
#include "text/own_stream.h"

FILE *own_stream_to_read(void *context, ssize_t (*read)(void *context, char *out, size_t count))
{
    return fopencookie(context, "r", (cookie_io_functions_t){.read = read});
}

FILE *own_stream_to_write(void *context,
                          ssize_t (*write)(void *context, const char *from, size_t count))
{
    return fopencookie(context, "w", (cookie_io_functions_t){.write = write});
}
