/* What ECUs told about themselves, in the JSON report and in the summary: known, unknown, hostile. */
#include <cjson/cJSON.h>
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "unit/reporting/built.h"

static struct dbr_told ecu, component, software, product, information, functionalities;
static struct dbr_identity identity;
static struct dbr_working_set sets[] = {{.master = 128, .announced = 3}};
static struct dbr_member members[] = {{.master = 128, .address = 131, .name = 1},
                                      {.master = 128, .address = -1, .name = 2}};

static void tell(struct dbr_told *told, enum dbr_told_group group, const void *data, size_t length)
{
    cr_assert(dbr_told_read(told, group, data, length));
    told->first_ns = 2000000000;
    told->changed_ns = -1;
    identity.told[group] = told;
}

static void tell_text(struct dbr_told *told, enum dbr_told_group group, const char *text)
{
    tell(told, group, text, strlen(text));
}

/* The first ECU tells about itself and leads the second one. */
static void set_up(void)
{
    built_ecus[0].identity = &identity;
    built_history.working_sets = sets;
    built_history.working_set_count = 1;
    built_history.members = members;
    built_history.member_count = 2;
}

TestSuite(reporting_identity, .init = set_up);

/* What stands under a key of an ECU, as JSON. */
static void expect_json(size_t index, const char *key, const char *expected)
{
    char *text = built_written(dbr_report_json);
    cJSON *root = cJSON_Parse(text);
    cr_assert_not_null(root, "%s", text);
    const cJSON *item = cJSON_GetArrayItem(cJSON_GetObjectItemCaseSensitive(root, "ecus"),
                                           (int)index);
    char *found = cJSON_PrintUnformatted(cJSON_GetObjectItemCaseSensitive(item, key));

    cr_assert_not_null(found, "%s", key);
    cr_expect_str_eq(found, expected);
    cJSON_free(found);
    cJSON_Delete(root);
    free(text);
}

static void expect_in_summary(const char *part, bool wanted)
{
    char *text = built_written(dbr_report_text);

    cr_expect_eq(strstr(text, part) != NULL, wanted, "\"%s\" in\n%s", part, text);
    free(text);
}

Test(reporting_identity, what_was_not_told_is_null)
{
    built_history.working_set_count = built_history.member_count = 0;
    expect_json(0, "identification", "null");
    expect_json(1, "identification", "null");
    expect_json(0, "functionalities", "null");
    expect_json(0, "working_set", "null");
    expect_in_summary("serial", false);
    expect_in_summary("working set", false);
}

Test(reporting_identity, each_text_under_its_key)
{
    tell_text(&ecu, DBR_TOLD_ECU, "P7*S1*left*meter**H2*");
    tell_text(&software, DBR_TOLD_SOFTWARE, "\x02" "2.1*0.9*");
    tell_text(&product, DBR_TOLD_PRODUCT, "C**X*");
    software.changed_ns = 9500000000;
    expect_json(0, "identification",
                "{\"designator\":null,\"part_number\":\"P7\",\"serial\":\"S1\",\"location\":\"left\","
                "\"type\":\"meter\",\"maker\":null,\"hardware\":\"H2\",\"make\":null,"
                "\"model\":null,\"component_serial\":null,\"unit\":null,"
                "\"software\":[\"2.1\",\"0.9\"],"
                "\"product\":{\"code\":\"C\",\"brand\":null,\"model\":\"X\"},"
                "\"product_information\":null,\"first\":2,\"changed\":9.5,\"cut\":false,"
                "\"fields_beyond\":0}");
}

Test(reporting_identity, component_and_product_information)
{
    uint8_t data[134];

    memset(data, 0xFF, sizeof data);
    memcpy(data + 36, "2.14", 4);
    tell(&information, DBR_TOLD_INFORMATION, data, sizeof data);
    tell_text(&component, DBR_TOLD_COMPONENT, "M*G*S9*3*");
    built_history.timed = false;
    expect_json(0, "identification",
                "{\"designator\":null,\"part_number\":null,\"serial\":null,\"location\":null,"
                "\"type\":null,\"maker\":null,\"hardware\":null,\"make\":\"M\",\"model\":\"G\","
                "\"component_serial\":\"S9\",\"unit\":\"3\",\"software\":null,\"product\":null,"
                "\"product_information\":{\"code\":null,\"model\":null,\"software\":\"2.14\","
                "\"version\":null,\"serial\":null},\"first\":null,\"changed\":null,\"cut\":false,"
                "\"fields_beyond\":0}");
    expect_json(0, "label", "\"rate control \\\"G\\\" (128)\"");
}

Test(reporting_identity, functionalities_and_working_set)
{
    tell(&functionalities, DBR_TOLD_FUNCTIONALITIES, "\xFF\x02\x00\x01\x00\xC8\x02\x01\x08", 9);
    expect_json(0, "functionalities",
                "[{\"code\":0,\"words\":\"minimum control function\",\"generation\":1},"
                "{\"code\":200,\"words\":null,\"generation\":2}]");
    expect_json(0, "identification", "null");
    expect_json(0, "working_set", "{\"master\":128,\"members\":[131],\"members_not_seen\":1}");
    expect_json(1, "working_set", "{\"master\":128,\"members\":[131],\"members_not_seen\":1}");
    expect_in_summary("      can do: minimum control function, functionality 200\n", true);
    expect_in_summary("      member of the working set of rate control (128)\n", true);
}

Test(reporting_identity, name_fields_in_words)
{
    expect_json(0, "function_words", "\"rate control\"");
    expect_json(0, "device_class_words", "\"fertilizers\"");
    expect_json(0, "industry_group_words", "\"agriculture and forestry\"");
    expect_json(0, "identity_number", "20");
    expect_json(0, "self_configurable", "true");
    expect_json(1, "function_words", "null");
    expect_json(1, "identity_number", "null");
    expect_json(1, "self_configurable", "null");
}

static size_t widest_line(const char *text)
{
    size_t widest = 0, width = 0;

    for (; *text; text++) {
        width = *text == '\n' ? 0 : width + (((unsigned char)*text & 0xC0u) != 0x80u);
        widest = width > widest ? width : widest;
    }
    return widest;
}

/* Whatever it told, lines stay within the terminal, and nothing steers it. */
Test(reporting_identity, long_and_hostile_texts_fit)
{
    static char text[2000];

    memset(text, 'x', sizeof text - 1);
    for (size_t i = 199; i < sizeof text - 1; i += 200)
        text[i] = '*';
    memcpy(text + 200, "\033[31m", 5);
    tell_text(&ecu, DBR_TOLD_ECU, text);
    tell_text(&component, DBR_TOLD_COMPONENT, text);
    tell_text(&software, DBR_TOLD_SOFTWARE, text);
    tell_text(&product, DBR_TOLD_PRODUCT, text);
    char *out = built_written(dbr_report_text);
    cr_expect_leq(widest_line(out), 80, "%zu columns:\n%s", widest_line(out), out);
    cr_expect_null(strchr(out, '\033'));
    cr_expect_not_null(strstr(out, "further fields"), "%s", out);
    free(out);
}

Test(reporting_identity, software_and_serial_numbers_come_first)
{
    tell_text(&ecu, DBR_TOLD_ECU, "P7*S1*left*meter**H2*");
    tell_text(&software, DBR_TOLD_SOFTWARE, "\x02" "2.1*0.9*");
    ecu.changed_ns = 9500000000;
    expect_in_summary("      software 2.1, software 0.9, serial number S1, part number P7, hardware "
                      "H2,\n      type meter, location left, told otherwise before 9.5 s\n",
                      true);
}

/* A label that is too long for its column stands whole, above its figures. */
Test(reporting_identity, a_long_label_has_a_line_of_its_own)
{
    tell_text(&component, DBR_TOLD_COMPONENT, "M*Granule spreader*S1*3*");
    expect_in_summary("  rate control \"Granule spreader\" (128)\n"
                      "                                 A00A8000FFE00014 ",
                      true);
    tell_text(&component, DBR_TOLD_COMPONENT, "M*Spreader 24*S1*3*");
    expect_in_summary("  rate control \"Spreader 24\" (128)\n", true);
    tell_text(&component, DBR_TOLD_COMPONENT, "M*Spreader*S1*3*");
    expect_in_summary("  rate control \"Spreader\" (128)  A00A8000FFE00014 ", true);
}

Test(reporting_identity, the_page_shows_it_and_no_text_becomes_markup)
{
    tell_text(&ecu, DBR_TOLD_ECU, "P7*<script>*left*meter**H2*");
    char *page = built_written(dbr_report_html);
    cr_expect_not_null(strstr(page, "<small>serial number &lt;script&gt;, part number P7, hardware H2"));
    cr_expect_not_null(strstr(page, "rate control &quot;meter&quot; (128)"));
    cr_expect_null(strstr(page, "<script>,"));
    free(page);
}
