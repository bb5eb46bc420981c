/*
 * story_told.h - what ECUs tell about themselves, in a story: one frame or several, as it needs.
 */
#ifndef TESTS_SUPPORT_STORY_TOLD_H
#define TESTS_SUPPORT_STORY_TOLD_H

#include "support/story.h"

/* A payload to everyone, from a text. */
void story_text(struct story *s, double at, uint8_t from, uint32_t pgn, const char *text);

/* A payload of more than 8 bytes to one receiver, who grants and acknowledges. */
void story_text_to(struct story *s, double at, uint8_t from, uint8_t to, uint32_t pgn,
                   const char *text);

/* As a fast packet (NMEA 2000), at most 223 bytes. */
void story_fast(struct story *s, double at, uint8_t from, uint32_t pgn, const uint8_t *data,
                size_t length);

#endif
