/* play.h - plays a scenario: world, machine and bus together, frame by frame. */
#ifndef SAMPLES_PLAY_H
#define SAMPLES_PLAY_H

#include "faults.h"
#include "wire.h"

/* Takes each frame as the recorder saw it; false stops the play. */
typedef bool play_sink(void *context, const struct wire_frame *frame);

/* Plays to the end. False where the sink stopped it or the bus was overrun. */
bool play(const struct scenario *scenario, play_sink *sink, void *context);

#endif
