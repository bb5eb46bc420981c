/*
 * plain_transport.h - a second, deliberately plain reading of the transport protocols.
 *
 * It has the whole recording at once and goes through it again for each pair of
 * addresses, with an array for everything. Written from include/drawbar/transport.h and
 * the standards' tables, to compare with the layer under test.
 */
#ifndef TESTS_SUPPORT_PLAIN_TRANSPORT_H
#define TESTS_SUPPORT_PLAIN_TRANSPORT_H

#include "drawbar/transport.h"

#define PLAIN_BYTES_MAX 4096 /* of a message */
#define PLAIN_FAST_GROUP 129029u

struct plain_transfer {
    struct dbr_transfer seen; /* its data: NULL or `payload` */
    uint8_t payload[PLAIN_BYTES_MAX];
};

struct plain_result {
    size_t count;
    struct plain_transfer *transfers; /* released by the caller */
    uint64_t stray_data, stray_control;
};

/* Interfaces 0 and 1, addresses 0 to `highest` and 255. */
struct plain_result plain_transport(const struct dbr_frame *frames, size_t count,
                                    uint8_t highest);

/*
 * Plays the frames to the layer under test too. Whether both tell the same; else what differs, in
 * `out`. Adds to `ends`, unless NULL, how often each end (enum dbr_transfer_end) was reached.
 */
bool plain_agrees(const struct dbr_frame *frames, size_t count, uint8_t highest, uint64_t *ends,
                  char *out, size_t size);

#endif
