/* transport.c - see drawbar/transport.h. Not yet written: it follows no transfer so far. */
#include "drawbar/transport.h"

#include <stdlib.h>

struct dbr_transport {
    struct dbr_transport_counts counts;
};

struct dbr_transport *dbr_transport_new(dbr_transfer_ended *ended, void *context,
                                        struct dbr_error *error)
{
    (void)ended;
    (void)context;
    (void)error;
    return calloc(1, sizeof(struct dbr_transport));
}

void dbr_transport_frame(struct dbr_transport *transport, const struct dbr_frame *frame,
                         bool is_fast)
{
    (void)transport;
    (void)frame;
    (void)is_fast;
}

void dbr_transport_finish(struct dbr_transport *transport, int64_t end_ns)
{
    (void)transport;
    (void)end_ns;
}

void dbr_transport_free(struct dbr_transport *transport)
{
    free(transport);
}
