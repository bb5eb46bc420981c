/*
 * transfer_story.h - messages in several frames, frame by frame, in a story (SAE J1939-21 5.10): 20
 * bytes in three packets of group 65259, whole or broken.
 *
 *     control(s, 5.0, 140, 38, "10140003FF");      140 announces it to 38
 *     control(s, 5.01, 38, 140, "110301FFFF");     38 grants three packets from number 1 on
 *     packet(s, 5.02, 140, 38, 1);
 */
#ifndef TESTS_SUPPORT_TRANSFER_STORY_H
#define TESTS_SUPPORT_TRANSFER_STORY_H

#include "support/story.h"

/* The first five bytes of a control message as hexadecimal digits; the group follows them. */
void control(struct story *s, double at, uint8_t from, uint8_t to, const char *start);
void packet(struct story *s, double at, uint8_t from, uint8_t to, unsigned number);

/* A whole one, but for a packet that is lacking (0: none). */
void connection(struct story *s, double at, unsigned lacking);
void connection_of(struct story *s, double at, uint8_t from, uint8_t to, unsigned lacking);

/* 140 and 38 are on the bus, beside others. */
struct story *bus_of_both(double to);

/* Title and evidence, a line each; valid until the next call. */
const char *evidence_of(const struct dbr_finding *f);
bool says(const struct dbr_finding *f, const char *words);

/* How many findings are about a transfer. */
size_t findings_of(const struct outcome *o);

#endif
