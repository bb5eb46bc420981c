/*
 * series_code.h - series made small enough to travel inside a page.
 *
 * Each series travels twice: an overview of at most DBR_PAGE_OVERVIEW_BUCKETS, and the
 * detail in the narrowest buckets with which all details together stay within
 * DBR_PAGE_SERIES_BYTES. A recording whose detail is no longer than an overview has no
 * overview. In the page src/reporting/page/series.js unpacks them.
 *
 * As JSON, the member "series":
 *     {"duration_s": 90.1, "dropped": 0,
 *      "items": [{"quantity": "speed|rate_setpoint|rate_actual|load|errors",
 *                 "of": index into speed_sources, chain (implements) or buses of the report,
 *                 "by_mass": false, "hold_s": 0.5, "min": 0, "max": 3.2,
 *                 "overview": LEVEL|null, "detail": LEVEL}]}
 *     LEVEL = {"width_s": 1, "step": 0.02, "count": buckets, "data": base64}
 * A quantity is in m/s, kg/m2 (where by_mass), percent, or error frames a bucket. Bucket k
 * is the time from k * width_s on.
 *
 * "data" is base64 (RFC 4648) of a zlib stream (RFC 1950) of bytes:
 *     byte 0: 0 where spreads are exact, 1 where they are coarse
 *     4 bytes, least significant first: length of the first part
 *     first part: one code after the other, until `count` buckets are told:
 *         0..239  a value; its mean is the mean of the value before (0 at first) plus d
 *                 steps, d = code / 2 where the code is even, else -(code + 1) / 2
 *         240     a value; its mean follows: steps, 4 bytes, two's complement, least first
 *         253 n   n empty buckets
 *         254 n   n buckets in which the source said that it has no value
 *         255 n   n buckets in which it said that it is in error
 *     second part, in the order of the values:
 *         exact:  how far the highest lies above the mean, then how far the lowest lies
 *                 below it, two numbers in steps
 *         coarse: a byte, high half for the highest, low half for the lowest: an index
 *                 into 0, 4, 8, 16 and so on to 32768 steps, or 15, then the number follows
 *                 (first the highest's). Rounded up, so that a spread is never understated;
 *                 0 stands for up to 2 steps. `min` and `max` of the item bound it.
 * Numbers, and n above, are of 7 bits a byte, least first, high bit: more follow.
 */
#ifndef DRAWBAR_REPORTING_SERIES_CODE_H
#define DRAWBAR_REPORTING_SERIES_CODE_H

#include "reporting/json.h"

/* One series at one width. */
struct series_level {
    size_t span;  /* buckets of the series in one of the level */
    double step;
    bool exact;
};

/* The packed level, NUL-terminated, to be freed; NULL where memory is short. */
char *series_pack(const struct dbr_series *series, const struct series_level *level);

/* A text packed likewise (deflate, base64); to be freed, NULL where memory is short. */
char *series_pack_text(const char *text);

/* How many buckets a level has. */
size_t series_level_count(const struct dbr_series *series, const struct series_level *level);

/* Adds the member "series". Spoils `root` where memory is short (json.h). */
void json_add_series(cJSON *root, const struct dbr_report *r);

#endif
