/*
 * story_long.h - messages of several frames in a story (SAE J1939-21 5.10, ISO 11783-3 5.12).
 *
 * Both sides are told: who sends, and who grants and acknowledges. 5 ms from frame to frame.
 */
#ifndef TESTS_SUPPORT_STORY_LONG_H
#define TESTS_SUPPORT_STORY_LONG_H

#include "support/story.h"

struct long_message {
    uint8_t from, to;     /* to 255: a broadcast */
    uint32_t pgn;
    const uint8_t *data;
    size_t length;
    size_t stop_after;    /* so many data packets are sent, and then nothing; 0: all are */
    size_t skip;          /* number of a data packet that the recorder missed; 0: none */
};

/* A broadcast, a connection, or by the extended protocol, whichever its receiver and its length
 * ask for. Returns when its last frame is sent. */
double story_long(struct story *s, double at, const struct long_message *m);

#endif
