/*
 * story.h - recordings told in code: who sends what, when; and what the program makes of them.
 *
 *     struct story *s = story_new();
 *     story_wheel(s, 240, drive, 1.0, 0, 90);          tractor: 65096, ten times a second
 *     story_axle(s, 128, drive, 0.0, 0, 90);           implement: DDI 397, dead
 *     struct outcome *o = story_tell(s);
 *     cr_assert(outcome_has(o, "speed-stuck-zero", 128));
 *     outcome_free(o);
 */
#ifndef TESTS_SUPPORT_STORY_H
#define TESTS_SUPPORT_STORY_H

#include "drawbar/diagnosis.h"
#include "drawbar/tracking.h"

struct story;

/* Writes the data of a message sent at `t`; returns false to leave this one out. */
typedef bool filler(double t, uint8_t data[8], void *context);

/* A speed in m/s at a time. */
typedef double profile(double t);

struct story *story_new(void);

/* Message definitions to use as well, as text; borrowed. */
void story_define(struct story *s, const char *definitions);

/* What the machine should have; borrowed. */
void story_rig(struct story *s, const struct dbr_rig *rig);

/* What is told from here on is of this bus, 0 or 1. */
void story_on(struct story *s, uint8_t interface);

/* A 29-bit identifier. */
uint32_t story_id(unsigned priority, uint32_t pgn, uint8_t destination, uint8_t source);

/* One frame; data as hexadecimal digits. */
void story_frame(struct story *s, double at, uint32_t id, const char *hex);
void story_error(struct story *s, double at, uint32_t classes, const char *hex);

/* A frame of any kind. */
void story_raw(struct story *s, const struct dbr_frame *frame);

/* A message again and again, with half a millisecond of jitter. */
void story_every(struct story *s, uint32_t id, double period, double from, double to, filler *fill,
                 void *context);

/* The same with constant data. */
void story_beat(struct story *s, uint32_t id, double period, double from, double to,
                const char *hex);

/* The data of a value command of process data (ISO 11783-10), as hexadecimal digits; they hold until
 * the next call. */
const char *story_value(unsigned element, unsigned ddi, unsigned value);

/* Address claim of a NAME, and the request for it. */
void story_claim(struct story *s, double at, uint8_t address, uint64_t name);
void story_request(struct story *s, double at, uint8_t from, uint8_t to);

/* Speed sources that follow a drive times a scale. */
void story_wheel(struct story *s, uint8_t address, profile *drive, double scale, double from,
                 double to);
void story_ground(struct story *s, uint8_t address, profile *drive, double scale, double from,
                  double to);
void story_gnss(struct story *s, uint8_t address, profile *drive, double scale, double from,
                double to);
void story_axle(struct story *s, uint8_t address, profile *drive, double scale, double from,
                double to);

/* Stands for 5 s, drives at about 10 km/h with the small changes of a real drive, stops at 80 s. */
double drive_field(double t);
double drive_stand(double t);

/* Some other ECU that keeps the bus alive. */
void story_background(struct story *s, double from, double to);

/* A field of 90 s: tractor with wheel and ground speed, satellites, and the spreader, whose axle
 * sensor tells `axle_scale` times the truth; below 0: nothing. */
struct story *story_field(double axle_scale);

/* NAMEs: industry group 2, manufacturer 2047. */
#define NAME_TRACTOR UINT64_C(0xA0008600FFE00001)   /* class 0, function 134: tractor ECU */
#define NAME_SPREADER UINT64_C(0xA00A8000FFE00002)  /* class 5 fertilizers, function 128 */
#define NAME_WEIGHER UINT64_C(0x200A8200FFE00003)   /* class 5, function 130, fixed address */
#define NAME_NEWCOMER UINT64_C(0x200A8200FFE00001)  /* lower than NAME_WEIGHER */

struct outcome {
    struct dbr_definitions *definitions;
    struct dbr_tracking *tracking;
    struct dbr_recording_info info;
    const struct dbr_history *history;
    struct dbr_diagnosis *diagnosis;
};

/* Sorts, tracks, judges; frees the story. `untimed`: as if the recording had no stamps. */
struct outcome *story_tell(struct story *s);
struct outcome *story_tell_untimed(struct story *s);
void outcome_free(struct outcome *o);

/* The first finding with this code and address (-1: whatever address); NULL: none. */
const struct dbr_finding *outcome_finding(const struct outcome *o, const char *code, int address);
bool outcome_has(const struct outcome *o, const char *code, int address);

/* Whether nothing at fault or warning level was found; tells what was, for the message. */
bool outcome_clean(const struct outcome *o);
const char *outcome_codes(const struct outcome *o);

/* Whether `effect` names `cause` among its causes. */
bool outcome_because(const struct outcome *o, const struct dbr_finding *effect,
                     const struct dbr_finding *cause);

#endif
