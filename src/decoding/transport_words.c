/* transport_words.c - carriers, ends, timers and abort reasons in words; see drawbar/transport.h. */
#include "drawbar/transport.h"

#include <stddef.h>

const char *dbr_carrier_name(enum dbr_carrier carrier)
{
    static const char *const names[] = {"frame", "broadcast", "connection", "extended connection",
                                        "fast packet"};
    return (unsigned)carrier < sizeof names / sizeof names[0] ? names[carrier] : "unknown";
}

const char *dbr_transfer_end_words(enum dbr_transfer_end end)
{
    static const char *const words[] = {"complete", "aborted", "timed out", "replaced by another",
                                        "broken", "acknowledged, not all of it recorded",
                                        "unfinished"};
    return (unsigned)end < sizeof words / sizeof words[0] ? words[end] : "unknown";
}

/* SAE J1939-21 5.10.2.4. */
const char *dbr_transfer_timer_words(enum dbr_transfer_timer timer)
{
    static const char *const words[] = {
        "none", "T1: no data packet within 0.75 s after the one before",
        "T2: no data packet within 1.25 s after the grant",
        "T3: neither grant nor acknowledgement within 1.25 s",
        "T4: no grant within 1.05 s after the hold"};
    return (unsigned)timer < sizeof words / sizeof words[0] ? words[timer] : "unknown";
}

/* SAE J1939-21 table 7. Byte values from 251 on are special in J1939-71. */
static const char *const shared_words[] = {
    [1] = "already in another session and cannot take a second",
    [2] = "resources are needed for something else",
    [3] = "a timeout ran out",
    [4] = "a grant came while data were being sent",
    [5] = "asked for the same packets too often",
    [6] = "an unexpected data packet came",
    [7] = "a sequence number was wrong, and it cannot be asked for again",
    [8] = "a sequence number came twice, and it cannot be told which holds",
};

/* SAE J1939-21 table 7. */
static const char *const tp_words[] = {[9] = "the message is larger than 1785 bytes"};

/* ISO 11783-3, table of the reasons of ETP; 13 is from memory. */
static const char *const etp_words[] = {
    [9] = "an unexpected data packet offset came",
    [10] = "the group in the data packet offset is another one",
    [11] = "the data packet offset covers more packets than were granted",
    [12] = "the data packet offset is wrong",
    [13] = NULL,
    [14] = "the group in the grant is another one",
    [15] = "more packets were granted than the message has",
};

#define OTHER_REASON 250u

const char *dbr_abort_reason_words(uint8_t reason, bool extended)
{
    const char *const *own = extended ? etp_words : tp_words;
    size_t own_count = extended ? sizeof etp_words / sizeof etp_words[0]
                                : sizeof tp_words / sizeof tp_words[0];

    if (reason < sizeof shared_words / sizeof shared_words[0])
        return shared_words[reason];
    if (reason < own_count)
        return own[reason];
    return reason == OTHER_REASON ? "a reason of its own" : NULL;
}
