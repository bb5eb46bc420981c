/*
 * stamp.h - time as text: seconds, dates, times of day, into nanoseconds.
 *
 * Dates have no zone in a recording: they are taken as UTC.
 */
#ifndef DRAWBAR_READING_STAMP_H
#define DRAWBAR_READING_STAMP_H

#include <stdbool.h>
#include <stdint.h>

#define NS_PER_SECOND INT64_C(1000000000)

/* Text that moves on as it is read: `at` .. `end`. */
struct text {
    const char *at;
    const char *end;
};

/* "12", "12.5", "1717000000.123456": at most 9 decimals, up to the year 2262. */
bool stamp_seconds(struct text *t, int64_t *ns);

/* "2024-06-10 08:13:20.123456" (blank or T between): nanoseconds since 1970. */
bool stamp_date(struct text *t, int64_t *ns);

/* "08:13:20.5": nanoseconds since midnight. */
bool stamp_time_of_day(struct text *t, int64_t *ns);

#endif
