/*
 * transfers.h - messages in several frames, for stories: SAE J1939-21 5.10, ISO 11783-3, NMEA 2000.
 */
#ifndef TESTS_SUPPORT_TRANSFERS_H
#define TESTS_SUPPORT_TRANSFERS_H

#include <stddef.h>
#include <stdint.h>

#include "support/story.h"

/* A payload by the carrier that its length asks for: one frame up to 8 bytes, else announced to
 * everyone (BAM), packets 50 ms apart. */
void story_payload(struct story *s, double at, uint8_t source, uint32_t pgn, const void *data,
                   size_t length);

/* The same from a text. */
void story_text(struct story *s, double at, uint8_t source, uint32_t pgn, const char *text);

/* To one destination, granted and acknowledged (RTS, CTS, end-of-message acknowledgement). */
void story_connection(struct story *s, double at, uint8_t source, uint8_t destination,
                      uint32_t pgn, const void *data, size_t length);

/* By the extended transport protocol, in grants of 255 packets, packets 1 ms apart. */
void story_extended(struct story *s, double at, uint8_t source, uint8_t destination, uint32_t pgn,
                    const void *data, size_t length);

/* As a fast packet, at most 223 bytes. */
void story_fast(struct story *s, double at, uint8_t source, uint32_t pgn, const void *data,
                size_t length);

#endif
