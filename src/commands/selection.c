/* selection.c - see selection.h. */
#include "commands/selection.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

#define NAMES_MAX 512u

int selection_possible(const struct option_values *values,
                       const struct dbr_reading_options *wanted, struct dbr_error *error)
{
    /* A time of day may be before another and yet follow it: recordings run past midnight. */
    if (wanted->from.kind != wanted->to.kind || wanted->from.kind == DBR_MOMENT_NONE ||
        wanted->from.kind == DBR_MOMENT_TIME_OF_DAY || wanted->from.ns <= wanted->to.ns)
        return 0;
    return dbr_error_set(error, DBR_ERROR_USAGE, "--from %s is after --to %s",
                         option_value(values, "from"), option_value(values, "to"));
}

static bool has_interface(const struct dbr_recording_info *info, const char *name)
{
    for (size_t i = 0; i < info->interface_count; i++)
        if (strcmp(info->interfaces[i], name) == 0)
            return true;
    return false;
}

static int no_interface(const struct dbr_recording_info *info, const char *name,
                        struct dbr_error *error)
{
    char names[NAMES_MAX] = "";
    size_t used = 0;

    for (size_t i = 0; i < info->interface_count && used < sizeof names; i++)
        used += (size_t)snprintf(names + used, sizeof names - used, "%s%s", i ? ", " : "",
                                 info->interfaces[i]);
    return dbr_error_set(error, DBR_ERROR_USAGE,
                         "--interface %s: the recording has no such interface; it has %s", name,
                         names);
}

static bool by_clock(const struct dbr_moment *moment)
{
    return moment->kind == DBR_MOMENT_TIME_OF_DAY || moment->kind == DBR_MOMENT_DATE;
}

/* A window stated in a time that the recording does not have would choose at random. */
static int check_time_base(const struct option_values *values,
                           const struct dbr_reading_options *wanted,
                           const struct dbr_recording_info *info, struct dbr_error *error)
{
    const char *name = wanted->from.kind != DBR_MOMENT_NONE ? "from" : "to";

    if (wanted->from.kind == DBR_MOMENT_NONE && wanted->to.kind == DBR_MOMENT_NONE)
        return 0;
    if (info->time_base == DBR_TIME_NONE)
        return dbr_error_set(error, DBR_ERROR_USAGE,
                             "--%s %s: the recording has no time stamps; leave --from and --to out",
                             name, option_value(values, name));
    if (info->time_base == DBR_TIME_EPOCH || (!by_clock(&wanted->from) && !by_clock(&wanted->to)))
        return 0;
    name = by_clock(&wanted->from) ? "from" : "to";
    return dbr_error_set(error, DBR_ERROR_USAGE,
                         "--%s %s: the recording has no clock time; give seconds from its start",
                         name, option_value(values, name));
}

static void clock_text(char *out, size_t size, int64_t ns)
{
    struct tm civil = {0};
    time_t seconds = (time_t)(ns / 1000000000);

    gmtime_r(&seconds, &civil); /* knows every year that 64 bits of ns reach */
    strftime(out, size, "%Y-%m-%dT%H:%M:%S", &civil);
}

static int empty_window(const struct dbr_reading_options *wanted,
                        const struct dbr_recording_info *info, struct dbr_error *error)
{
    char first[32], last[32], clock[96] = "";

    clock_text(first, sizeof first, info->start_ns);
    clock_text(last, sizeof last, info->start_ns + info->last_ns);
    if (info->time_base == DBR_TIME_EPOCH)
        snprintf(clock, sizeof clock, ", from %s to %s UTC", first, last);
    return dbr_error_set(error, DBR_ERROR_USAGE,
                         "no frames%s%s between --from and --to; the recording is %.1f s long%s",
                         wanted->interface ? " of interface " : "",
                         wanted->interface ? wanted->interface : "", (double)info->last_ns / 1e9,
                         clock);
}

int selection_found(const struct option_values *values, const struct dbr_reading_options *wanted,
                    const struct dbr_recording_info *info, uint64_t frames,
                    struct dbr_error *error)
{
    if (wanted->interface && !has_interface(info, wanted->interface))
        return no_interface(info, wanted->interface, error);
    if (check_time_base(values, wanted, info, error) < 0)
        return -1;
    return frames > 0 ? 0 : empty_window(wanted, info, error);
}
