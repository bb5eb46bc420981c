/*
 * excerpt.h - which frames of a recording belong to a smaller one.
 *
 * What is wanted is said by windows of time, addresses and parameter groups. A message
 * that travels in several frames is kept whole where any part of it is wanted: its
 * frames outside the window, and the answers of its receiver. Who they are is known
 * only at its end, so the recording is read twice:
 *
 *     excerpt = dbr_excerpt_new(definitions, &wish, &error);
 *     dbr_excerpt_learn(excerpt, &frame);               all frames, in order
 *     dbr_excerpt_learned(excerpt, end_ns, &error);
 *     if (dbr_excerpt_wants(excerpt, &frame)) keep();   the same frames once more
 */
#ifndef DRAWBAR_EXCERPT_H
#define DRAWBAR_EXCERPT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/definitions.h"
#include "drawbar/error.h"
#include "drawbar/frame.h"

DBR_API_BEGIN

struct dbr_window {
    int64_t from_ns, to_ns; /* both included; since the first frame */
};

struct dbr_number_range {
    uint32_t low, high; /* both included */
};

/* Each list may be empty: then it leaves nothing out. The lists are borrowed. */
struct dbr_excerpt_wish {
    size_t window_count;
    const struct dbr_window *windows;
    size_t address_count; /* frames sent by these addresses, or to them alone */
    const struct dbr_number_range *addresses;
    size_t pgn_count;     /* of single frames, and of messages in several */
    const struct dbr_number_range *pgns;
    bool claims; /* all address claims and requests for them as well, wherever they stand: they
                    name the senders */
    bool values; /* of each value that holds until the next (process data, and what takes part in
                    the diagnosis) the last before each window as well */
};

struct dbr_excerpt;

/* NULL on failure (out of memory). `definitions` tell which groups are fast packets. */
struct dbr_excerpt *dbr_excerpt_new(const struct dbr_definitions *definitions,
                                    const struct dbr_excerpt_wish *wish, struct dbr_error *error);

void dbr_excerpt_learn(struct dbr_excerpt *excerpt, const struct dbr_frame *frame);

/* All frames have been learned. -1: out of memory. */
int dbr_excerpt_learned(struct dbr_excerpt *excerpt, int64_t end_ns, struct dbr_error *error);

/*
 * Whether a frame belongs to the excerpt; asked for all frames in order. Error frames have
 * neither address nor group: the windows alone decide. Frames with 11 bits, remote and FD
 * frames are left out where addresses or groups are wished for.
 */
bool dbr_excerpt_wants(struct dbr_excerpt *excerpt, const struct dbr_frame *frame);

/* Transfers beyond DBR_EXCERPT_TRANSFERS_MAX, which may be kept in part only, and values beyond
 * DBR_EXCERPT_VALUES_MAX. */
uint64_t dbr_excerpt_beyond(const struct dbr_excerpt *excerpt);

void dbr_excerpt_free(struct dbr_excerpt *excerpt);

DBR_API_END

#endif
