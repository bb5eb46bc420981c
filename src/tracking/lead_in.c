/*
 * lead_in.c - what comes before the window that is to be judged.
 *
 * ECUs claim, tell what they are and send their description once, mostly at key-on. A tracking
 * of its own takes those frames; who is who passes on, and nothing else of it.
 */
#include <stdlib.h>
#include <string.h>

#include "tracking/trackers.h"

int dbr_tracking_lead_in(struct dbr_tracking *t, const struct dbr_frame *frames, size_t count,
                         struct dbr_error *error)
{
    const struct dbr_tracking_options options = {.bitrate = t->bitrate};

    if (count == 0)
        return 0;
    if (!t->before) {
        t->ecus.prior = calloc(DBR_INTERFACES_MAX, sizeof *t->ecus.prior);
        if (!t->ecus.prior)
            return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        t->before = dbr_tracking_new(t->definitions, &options, error);
        if (!t->before)
            return -1;
    }
    dbr_tracking_frames(t->before, frames, count);
    return 0;
}

static void adopt_names(struct ecus *ecus, const struct ecus *before)
{
    for (size_t i = 0; i < before->count; i++) {
        const struct dbr_ecu *ecu = &before->items[i]->seen;
        struct prior_ecu *prior = &ecus->prior[ecu->interface][ecu->address];
        prior->heard = true;
        prior->named = ecu->name_count > 0;
        if (prior->named)
            prior->name = ecu->names[ecu->name_count - 1];
    }
}

void lead_in_end(struct dbr_tracking *t)
{
    struct dbr_tracking *before = t->before;

    if (!before)
        return;
    t->before = NULL;
    adopt_names(&t->ecus, &before->ecus);
    t->identities = before->identities;
    memset(&before->identities, 0, sizeof before->identities);
    t->devices = before->devices;
    memset(&before->devices, 0, sizeof before->devices);
    t->implements.sets = before->implements.sets;
    t->devices.out_of_memory = trackers_out_of_memory(before);
    dbr_tracking_free(before);
}
