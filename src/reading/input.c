/* input.c - see input.h. */
#include "reading/input.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static int input_open(struct input *in, struct interface_table *interfaces,
                      struct dbr_error *error)
{
    in->batch = calloc(1, sizeof *in->batch);
    if (!in->batch)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "%s: out of memory", in->source.info.path);
    in->open = true;
    in->batch->capacity = DBR_BATCH_FRAMES;
    return source_open(&in->source, in->source.info.path, interfaces, in->halt, error);
}

void input_stop_on(struct input *in, const atomic_bool *stop)
{
    in->stop = stop;
    in->source.stream.stop = stop;
}

void input_close(struct input *in)
{
    if (in->open)
        source_close(&in->source);
    free(in->batch);
    in->open = false;
    in->batch = NULL;
}

bool input_refill(struct input *in)
{
    in->used = 0;
    if (source_next(&in->source, in->batch) > 0)
        return true;
    in->state = INPUT_DONE;
    input_close(in);
    return false;
}

/* Pipes cannot be opened twice. */
static bool can_reopen(const char *path)
{
    struct stat status;
    return strcmp(path, "-") != 0 && stat(path, &status) == 0 && S_ISREG(status.st_mode);
}

int input_probe(struct input *in, struct interface_table *interfaces, bool among_others,
                struct dbr_error *error)
{
    struct dbr_error why = {.code = DBR_ERROR_NONE};

    if (input_open(in, interfaces, &why) < 0) {
        /* Log rotation leaves an empty last file behind: no reason to refuse the others. */
        bool empty_among_others = why.code == DBR_ERROR_EMPTY && among_others;
        if (!empty_among_others)
            return dbr_error_set(error, why.code, "%s", why.text);
        source_truncate(&in->source, "the file is empty");
        in->empty = true;
        in->state = INPUT_DONE;
        input_close(in);
        return 0;
    }
    in->empty = !input_refill(in);
    in->time_base = in->source.time_base;
    if (in->empty)
        return 0;
    in->first_stamp = in->batch->frames[0].at_ns;
    in->state = INPUT_ACTIVE;
    if (among_others && can_reopen(in->source.info.path)) {
        input_close(in);
        in->state = INPUT_WAITING;
    }
    return 0;
}

void input_reopen(struct input *in, struct interface_table *interfaces)
{
    struct dbr_error why;

    in->state = INPUT_ACTIVE;
    if (input_open(in, interfaces, &why) == 0) {
        in->source.stream.stop = in->stop;
        input_refill(in);
        return;
    }
    source_truncate(&in->source, "cannot be read again: %.100s", why.text);
    input_close(in);
    in->state = INPUT_DONE;
}
