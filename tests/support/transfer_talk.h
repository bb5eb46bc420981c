/*
 * transfer_talk.h - transfers told as a script, and what the transport layer makes of them.
 *
 * A line is one frame: milliseconds, what it is, from whom to whom, two numbers.
 *
 *     0 BAM 1>255 20          20 bytes follow; also RTS, and XRTS of the extended protocol
 *     50 DT 1>255 1           packet 1; ODT: the same with other content; XDT: number, offset
 *     10 CTS 2>1 3 1          3 packets from number 1 on; XCTS
 *     15 XDPO 1>2 3 0         3 packets after the first 0
 *     90 ACK 2>1 20           acknowledges 20 bytes; XACK
 *     95 ABORT 2>1 3          with reason 3; XABORT
 *     0 FP 3>255 20 0 5       fast packet of 20 bytes, frame 0, sequence counter 5; OFP
 *     800 BUS 9>255           any other message
 *
 * The group is 65251 unless the line ends with /PGN; fast packets are always 129029. The
 * interface is 0 unless the line starts with "@N ".
 */
#ifndef TESTS_SUPPORT_TRANSFER_TALK_H
#define TESTS_SUPPORT_TRANSFER_TALK_H

#include "drawbar/transport.h"

/*
 * Plays a script and returns what ended, in order, as text: "complete 1>2 20B 3/3 ack; ...
 * | stray data 1, control 2". Every payload is compared with what was sent. Valid until the
 * next call.
 */
const char *talk_outcome(const char *script);

/* Scripts, each with what it is about and how it must end. */
struct talk_sequence {
    const char *what, *script, *outcome;
};

void talk_expect(const struct talk_sequence *rows, size_t count);

#define TALK_EXPECT(rows) talk_expect(rows, sizeof(rows) / sizeof(rows)[0])

/* The byte at a place of every payload. */
uint8_t talk_content(uint32_t offset);

/* One frame of a transport group; data as 8 bytes. */
struct dbr_frame talk_frame(int64_t at_ns, uint32_t pgn, uint8_t source, uint8_t destination,
                            const uint8_t data[8]);

#endif
