/* The summary on a report built by hand: order, each finding once, unknown stays unknown. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "unit/reporting/built.h"

static size_t occurrences(const char *text, const char *part)
{
    size_t count = 0;

    for (; (text = strstr(text, part)); text++)
        count++;
    return count;
}

Test(reporting_text, what_to_do_comes_before_what_follows_and_tables_come_last)
{
    static const char order[][64] = {
        "Fault: the axle speed reads zero.",
        "FAULT    the axle speed reads zero, from 12.3 s (",
        "zero from 12.3 s to the end",
        "Before you start:",
        "take the key out",
        " 1. look at the sensor",
        " 2. swap the sensor last",
        "Because of it:",
        "- fault: no rate, at 13.0 s (",
        "- warning: no coverage",
        "FAULT    the recorder left the bus",
        "Before you start: as above.",
        "ECUs",
        "Speed sources",
        "Bus",
        "Recording",
        "95.0 s long, from 2024-05-29 16:26:40 UTC",
    };
    char *text = built_written(dbr_report_text);
    const char *from = text;

    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
        from = strstr(from, order[i]);
        cr_assert_not_null(from, "%s: not in this place of\n%s", order[i], text);
        from += strlen(order[i]);
    }
    free(text);
}

/* Its cause has two causes: it is told under the first root, once. */
Test(reporting_text, a_consequence_is_told_once)
{
    static const size_t both[] = {1, 0};

    built_findings[2].causes = both;
    built_findings[2].cause_count = 2;
    char *text = built_written(dbr_report_text);
    cr_assert_eq(occurrences(text, "no rate"), 1, "%s", text);
    cr_assert_eq(occurrences(text, "no coverage"), 1, "%s", text);
    free(text);
}

/* Should causes ever go round in a circle, no root explains them; they are told all the same. */
Test(reporting_text, a_finding_that_no_root_explains_is_told)
{
    static const size_t each_other[] = {3};

    built_findings[2].causes = each_other;
    built_findings[3].causes = (const size_t[]){2};
    built_findings[3].cause_count = 1;
    char *text = built_written(dbr_report_text);
    cr_assert_eq(occurrences(text, "FAULT    no rate"), 1, "%s", text);
    cr_assert_eq(occurrences(text, "WARNING  no coverage"), 1, "%s", text);
    free(text);
}

Test(reporting_text, what_is_unknown_is_called_unknown)
{
    static const char lines[][64] = {
        "stuck zero    unknown    unknown",
        "100 frames, load unknown",
        "no error frames recorded: bus faults are unknown",
        "no time stamps: start and length are unknown",
    };

    built_info.time_base = DBR_TIME_NONE;
    built_history.timed = false;
    char *text = built_written(dbr_report_text);
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
        cr_assert_not_null(strstr(text, lines[i]), "%s: not in\n%s", lines[i], text);
    cr_assert_null(strstr(text, " 0.0 s"), "%s", text);
    free(text);
}

Test(reporting_text, speeds_are_in_the_units_asked_for)
{
    built_sources[0].max_mps = 10;
    char *metric = built_written(dbr_report_text);
    built_report.units = DBR_UNITS_US;
    char *us = built_written(dbr_report_text);
    cr_assert_not_null(strstr(metric, "36.0 km/h"));
    cr_assert_not_null(strstr(us, "22.4 mph"));
    free(metric);
    free(us);
}

Test(reporting_text, colour_adds_and_never_replaces)
{
    char *plain = built_written(dbr_report_text), *to = plain;
    built_report.color = true;
    char *coloured = built_written(dbr_report_text);

    cr_assert_null(strchr(plain, '\033'));
    cr_assert_not_null(strchr(coloured, '\033'));
    for (const char *c = coloured; *c; c++) {
        if (*c == '\033')
            c = strchr(c, 'm');
        else
            cr_assert_eq(*c, *to++);
    }
    cr_assert_eq(*to, '\0');
    free(plain);
    free(coloured);
}

Test(reporting_text, hostile_names_do_not_reach_the_terminal)
{
    built_info.interfaces[0] = "can\033[31m\xE2\x80\xAE";
    built_findings[0].title = "zero\rFAULT gone";
    built_files[0].path = "a\nb.log";
    char *text = built_written(dbr_report_text);
    cr_assert_null(strpbrk(text, "\033\r"));
    cr_assert_null(strstr(text, "\xE2\x80\xAE"));
    cr_assert_not_null(strstr(text, "a\xEF\xBF\xBD" "b.log"));
    free(text);
}

Test(reporting_text, buses_are_told_apart)
{
    static struct dbr_bus buses[2];

    buses[0] = buses[1] = built_buses[0];
    built_info.interface_count = 2;
    built_info.interfaces[1] = "can1";
    built_history.bus_count = 2;
    built_history.buses = buses;
    built_ecus[1].interface = 1;
    char *text = built_written(dbr_report_text);
    char *second = strstr(text, "ECUs on can1");
    cr_assert_not_null(second);
    cr_assert_null(strstr(second, "(128)"), "%s", second);
    cr_assert_not_null(strstr(second, "131"));
    free(text);
}
