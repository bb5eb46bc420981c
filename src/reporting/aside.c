/*
 * aside.c - see aside.h. The stream that the C library has for this loses what memory fails for
 * without a word; one of our own has the error that every stream has.
 */
#include "reporting/aside.h"

#include <stdlib.h>
#include <string.h>

#include "text/own_stream.h"

static ssize_t take(void *context, const char *from, size_t count)
{
    struct aside *a = context;

    if (a->length + count + 1 > a->room) {
        size_t room = 2 * (a->length + count + 1);
        char *larger = realloc(a->text, room);
        if (!larger)
            return 0;
        a->text = larger;
        a->room = room;
    }
    memcpy(a->text + a->length, from, count);
    a->length += count;
    a->text[a->length] = '\0';
    return (ssize_t)count;
}

bool aside_open(struct aside *a)
{
    *a = (struct aside){0};
    a->out = own_stream_to_write(a, take);
    return a->out != NULL;
}

bool aside_close(struct aside *a)
{
    bool whole = fflush(a->out) == 0 && !ferror(a->out);
    whole = fclose(a->out) == 0 && whole;
    a->out = NULL;
    return whole;
}

void aside_release(struct aside *a)
{
    if (a->out)
        fclose(a->out);
    free(a->text);
}
