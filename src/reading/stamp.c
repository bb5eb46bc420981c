/* stamp.c - see stamp.h. */
#include "reading/stamp.h"

#include <string.h>
#include <time.h>

#include "drawbar/reading.h"

#define SECONDS_MAX (INT64_MAX / NS_PER_SECOND - 1)
#define FRACTION_DIGITS 9

static bool is_digit(const struct text *t)
{
    return t->at < t->end && *t->at >= '0' && *t->at <= '9';
}

/* A whole number of `least` to `most` digits. */
static bool take_number(struct text *t, int least, int most, int64_t *number)
{
    int digits = 0;

    *number = 0;
    for (; digits < most && is_digit(t); digits++)
        *number = *number * 10 + (*t->at++ - '0');
    return digits >= least && !is_digit(t);
}

static bool take_char(struct text *t, char expected)
{
    if (t->at >= t->end || *t->at != expected)
        return false;
    t->at++;
    return true;
}

/* An optional fraction: ".5" is half a second. */
static bool take_fraction(struct text *t, int64_t *ns)
{
    int64_t scale = NS_PER_SECOND / 10;

    *ns = 0;
    if (!take_char(t, '.'))
        return true;
    if (!is_digit(t))
        return false;
    for (int i = 0; i < FRACTION_DIGITS && is_digit(t); i++, scale /= 10)
        *ns += (*t->at++ - '0') * scale;
    return !is_digit(t);
}

bool stamp_seconds(struct text *t, int64_t *ns)
{
    int64_t seconds, fraction;

    if (!take_number(t, 1, 10, &seconds) || seconds > SECONDS_MAX || !take_fraction(t, &fraction))
        return false;
    *ns = seconds * NS_PER_SECOND + fraction;
    return true;
}

bool stamp_time_of_day(struct text *t, int64_t *ns)
{
    int64_t hour, minute, second, fraction;

    if (!take_number(t, 1, 2, &hour) || !take_char(t, ':') || !take_number(t, 2, 2, &minute) ||
        !take_char(t, ':') || !take_number(t, 2, 2, &second) || !take_fraction(t, &fraction))
        return false;
    /* 60 is a leap second (POSIX struct tm). */
    if (hour > 23 || minute > 59 || second > 60)
        return false;
    *ns = ((hour * 60 + minute) * 60 + second) * NS_PER_SECOND + fraction;
    return true;
}

bool stamp_date(struct text *t, int64_t *ns)
{
    int64_t year, month, day, since_midnight;

    if (!take_number(t, 4, 4, &year) || !take_char(t, '-') || !take_number(t, 2, 2, &month) ||
        !take_char(t, '-') || !take_number(t, 2, 2, &day))
        return false;
    if (!take_char(t, ' ') && !take_char(t, 'T'))
        return false;
    if (!stamp_time_of_day(t, &since_midnight) || year < 1970 || year > 2261 || month < 1 ||
        month > 12 || day < 1 || day > 31)
        return false;
    struct tm civil = {
        .tm_year = (int)year - 1900, .tm_mon = (int)month - 1, .tm_mday = (int)day};
    *ns = (int64_t)timegm(&civil) * NS_PER_SECOND + since_midnight;
    return civil.tm_mday == day; /* timegm turns the 31st of a short month into the 1st */
}

int dbr_moment_parse(struct dbr_moment *moment, const char *text)
{
    const struct {
        enum dbr_moment_kind kind;
        bool (*read)(struct text *, int64_t *);
    } forms[] = {{DBR_MOMENT_FROM_START, stamp_seconds},
                 {DBR_MOMENT_TIME_OF_DAY, stamp_time_of_day},
                 {DBR_MOMENT_DATE, stamp_date}};

    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
        struct text t = {text, text + strlen(text)};
        if (!forms[i].read(&t, &moment->ns))
            continue;
        if (t.end - t.at == 1 && *t.at == 'Z' && forms[i].kind != DBR_MOMENT_FROM_START)
            t.at++;
        if (t.at != t.end)
            continue;
        moment->kind = forms[i].kind;
        return 0;
    }
    return -1;
}
