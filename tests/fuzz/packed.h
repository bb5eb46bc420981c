/*
 * packed.h - frames in a form that a fuzzer can change piece by piece.
 *
 * A head of 16 bytes, which a target may read as its options, then 16 bytes a frame:
 *
 *     0     time since the frame before, in units:
 *     1     bits 0-2 the unit (100 us, 1 ms, 10 ms, 100 ms, 1 s, 1 min, 1 h, 1 d),
 *           bits 3-4 the interface, bit 5 a raw length code
 *     2     length of data; of FD frames the index of their length
 *     3     flags as in frame.h, but bit 0 for an identifier of 11 bits
 *     4-7   identifier, least significant byte first
 *     8-15  data; what FD frames have beyond that follows from these
 *
 * Any bytes are frames that a bus can carry, in order of time.
 */
#ifndef TESTS_FUZZ_PACKED_H
#define TESTS_FUZZ_PACKED_H

#include "drawbar/frame.h"
#include "fuzz/target.h"

#define PACKED_HEAD 16u
#define PACKED_FRAME 16u
#define PACKED_FRAMES_MAX 1024u
#define PACKED_SIZE_MAX (PACKED_HEAD + PACKED_FRAMES_MAX * PACKED_FRAME)
#define PACKED_INTERFACES 4u

/* The frames of an input, PACKED_FRAMES_MAX at most. Returns how many. */
size_t packed_frames(struct dbr_frame *frames, const uint8_t *data, size_t size);

/* Byte `index` of the head; 0 where the input is shorter. */
uint8_t packed_head(const uint8_t *data, size_t size, size_t index);

/* The other way round: one frame, `pause_ns` after the one before. What does not fit is left out. */
void packed_put(uint8_t out[PACKED_FRAME], const struct dbr_frame *frame, int64_t pause_ns);

/* For struct fuzz_target: changes, repeats, moves and removes whole frames. */
size_t packed_mutate(uint8_t *data, size_t size, size_t room, unsigned seed, bytes_mutator *bytes);

#endif
