/* The page on a report built by hand: order, each finding once, hostile names, unknowns. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "reporting/page.h"
#include "unit/reporting/built.h"

static size_t occurrences(const char *text, const char *part)
{
    size_t count = 0;

    for (; (text = strstr(text, part)); text++)
        count++;
    return count;
}

/* The body without data and script: what a person reads. */
static char *body(void)
{
    char *page = built_written(dbr_report_html);
    char *start = strstr(page, "<body"), *end = strstr(page, "<script");

    cr_assert(start && end && start < end);
    *end = '\0';
    char *copy = strdup(start);
    free(page);
    return copy;
}

Test(reporting_page, what_to_do_comes_first_then_the_picture_then_tables)
{
    static const char order[][64] = {
        "Fault: the axle speed reads zero.", "id=\"f1\"", "zero from 12.3 s to the end",
        "Before you start", "take the key out", "What to check next", "look at the sensor",
        "Because of it", "href=\"#f3\"", "id=\"f2\"", "as for <a href=\"#f1\">",
        "id=\"timeline\"", "<svg", "id=\"f3\"", "id=\"f4\"", "Speed sources</h2>", "ECUs</h2>",
        "Bus and recording", "first at line 90",
    };
    char *page = body();
    const char *from = page;

    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
        const char *found = strstr(from, order[i]);
        cr_assert_not_null(found, "%s: not in this place", order[i]);
        from = found + strlen(order[i]);
    }
    free(page);
}

Test(reporting_page, every_finding_stands_there_once)
{
    char *page = body(), id[16];

    for (int i = 1; i <= 4; i++) {
        snprintf(id, sizeof id, "id=\"f%d\"", i);
        cr_assert_eq(occurrences(page, id), 1, "%s", id);
    }
    free(page);
}

Test(reporting_page, names_cannot_inject)
{
    static const char hostile[] = "</script><img src=x onerror=alert(1)>\"'";

    built_info.interfaces[0] = hostile;
    built_files[0].path = hostile;
    built_findings[0].title = hostile;
    built_diagnosis.verdict.sentence = hostile;
    char *page = built_written(dbr_report_html);
    cr_assert_eq(occurrences(page, "<img"), 0);
    cr_assert_eq(occurrences(page, "</script>"), 2, "the two of the page itself");
    free(page);
}

Test(reporting_page, its_policy_admits_its_own_style_and_script_alone)
{
    char *page = built_written(dbr_report_html), policy[512];
    const struct page_asset *style = page_asset("page.css"), *script = page_asset("page.js");

    snprintf(policy, sizeof policy, "content=\"default-src 'none'; style-src '%s'; script-src '%s'; "
             "img-src data:; base-uri 'none'; form-action 'none'\"", style->hash, script->hash);
    cr_assert_not_null(strstr(page, policy));
    cr_assert_eq(strlen(style->hash), strlen("sha256-") + 44);
    cr_assert_eq(occurrences(page, "unsafe"), 0);
    free(page);
}

Test(reporting_page, unknown_figures_say_so)
{
    char *page = body();

    cr_assert_not_null(strstr(page, "data-head=\"highest\">unknown<"), "speed never valid");
    cr_assert_not_null(strstr(page, "no claim seen"));
    cr_assert_not_null(strstr(page, "none recorded: faults on the wires are unknown"));
    free(page);
}

Test(reporting_page, without_time_stamps_there_is_no_timeline)
{
    built_history.timed = false;
    built_info.time_base = DBR_TIME_NONE;
    char *page = body();
    cr_assert_not_null(strstr(page, "no time stamps, so there is no timeline"));
    cr_assert_null(strstr(page, "class=\"picture\""));
    cr_assert_null(strstr(page, "class=\"key\""));
    free(page);
}

Test(reporting_page, speeds_stand_in_both_units)
{
    built_sources[0].max_mps = 10;
    char *page = body();
    cr_assert_not_null(strstr(page, "<span class=\"metric\">36.0 km/h</span>"
                                    "<span class=\"us\">22.4 mph</span>"));
    free(page);
}

Test(reporting_page, trouble_codes_stand_there_in_words)
{
    static const struct dbr_trouble codes[] = {
        {.address = 128, .code = {.spn = 168, .fmi = 4, .count = DBR_OCCURRENCES_UNKNOWN},
         .spn_words = "battery <potential>", .reports = 3, .end = DBR_TROUBLE_GONE}};

    built_history.troubles.count = 1;
    built_history.troubles.items = codes;
    char *page = body();
    cr_assert_not_null(strstr(page, "SPN 168 FMI 4"));
    cr_assert_not_null(strstr(page, "battery &lt;potential&gt;"));
    cr_assert_not_null(strstr(page, "data-head=\"count\">unknown<"));
    cr_assert_not_null(strstr(page, ">gone<"));
    free(page);
}
