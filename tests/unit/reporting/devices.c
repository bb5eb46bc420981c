/* Descriptions in reports: the tree, and the JSON, of a sound one, a faulty one, and none. */
#include <criterion/criterion.h>
#include <cjson/cJSON.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/reporting.h"
#include "support/kept.h"
#include "support/pool.h"
#include "support/story_long.h"

#define PROCESS_DATA 51968u

/* A spreader (128) sends this description to a controller (247). NULL: it only activates one. */
static struct outcome *told(const struct bytes *objects)
{
    struct story *s = story_new();
    struct bytes message = {0};

    story_background(s, 0, 20);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    bytes_integer(&message, 0x61, 1);
    if (objects)
        bytes_add(&message, objects->data, objects->length);
    if (objects)
        story_long(s, 8.0,
                   &(struct long_message){.from = 128,
                                          .to = 247,
                                          .pgn = PROCESS_DATA,
                                          .data = message.data,
                                          .length = message.length});
    story_frame(s, 12.0, story_id(5, PROCESS_DATA, 247, 128), "81FFFFFFFFFFFFFF");
    bytes_free(&message);
    return story_tell(s);
}

typedef int writer(FILE *out, const struct dbr_report *report, struct dbr_error *error);

static char *written(const struct outcome *o, writer *write)
{
    struct dbr_report report = {.info = &o->info,
                                .history = o->history,
                                .diagnosis = o->diagnosis,
                                .bitrate = 250000,
                                .width = 80};
    struct dbr_error error;
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(write(out, &report, &error), 0);
    fclose(out);
    return kept(text);
}

Test(reporting_devices, a_tree)
{
    struct bytes b = {0};
    pool_spreader(&b, "wide");
    struct outcome *o = told(&b);
    char *text = written(o, dbr_report_devices);

    cr_expect_str_eq(
        text,
        "\n\"Granule spreader\" at address 128\n"
        "  software \"1.4.2\", serial number \"2101\"\n"
        "  structure label GS24-07 + wide, localization label 0x656E4F040000FF\n"
        "  NAME A00A8000FFE00002\n"
        "  element 0, device \"Spreader\"\n"
        "    element 1, function \"Boom\"\n"
        "        DDI 141 actual work state \"Work state\" (default set, on change)\n"
        "      element 5, section \"Left boom\"\n"
        "          DDI 67 actual working width \"Width\" = 12.00 m\n"
        "          DDI 135 offset of the element to the right \"To the left\" = -6000 mm\n"
        "      element 6, section \"Right boom\"\n"
        "          DDI 67 actual working width \"Width\" = 12.00 m\n"
        "          DDI 135 offset of the element to the right \"To the right\" = 6000 mm\n"
        "    element 3, bin \"Left belt\"\n"
        "        DDI 6 set-point mass per area \"Rate asked for\" [kg/ha] (settable, on change)\n"
        "        DDI 7 actual mass per area \"Rate\" [kg/ha] (default set, by time, on change)\n"
        "    element 4, bin \"Right belt\"\n"
        "        DDI 6 set-point mass per area \"Rate asked for\" [kg/ha] (settable, on change)\n"
        "        DDI 7 actual mass per area \"Rate\" [kg/ha] (default set, by time, on change)\n"
        "  listed by no element:\n"
        "    DDI 74 set-point mass content \"Content left\" [g]\n"
        "    DDI 57400 (the maker's own) \"Own value\" (control source, total)\n");
    free(text);
    outcome_free(o);
    bytes_free(&b);
}

/* Problems stand where they are; texts of a recording do no harm to a terminal. */
Test(reporting_devices, a_faulty_one)
{
    static const uint16_t lost[] = {999};
    struct bytes b = {0};

    pool_device(&b, &(struct pool_device){"\x1b[31mRed", "1", "2", NAME_SPREADER + 1, "1234567",
                                          "1234567", NULL});
    pool_element(&b, 1, 1, "Whole", 0, 0, lost, 1);
    pool_element(&b, 2, 99, "Circle", 1, 2, NULL, 0);
    struct outcome *o = told(&b);
    char *text = written(o, dbr_report_devices);

    cr_expect_str_eq(
        text, "\n\"\xEF\xBF\xBD[31mRed\" at address 128\n"
              "  software \"1\", serial number \"2\"\n"
              "  structure label 1234567, localization label 1234567\n"
              "  NAME A00A8000FFE00003\n"
              "  ! it claimed its address with another NAME: A00A8000FFE00002\n"
              "  element 0, device \"Whole\"\n"
              "      ! byte 40 (DET, object 1): it refers to an object that is not there: 999\n"
              "  under no element that is there:\n"
              "    element 1, type 99 \"Circle\"\n"
              "        ! byte 60 (DET, object 2): its parents go round in a circle: 2\n");
    free(text);
    outcome_free(o);
    bytes_free(&b);
}

Test(reporting_devices, none_and_one_that_is_only_activated)
{
    struct story *s = story_new();
    story_background(s, 0, 20);
    struct outcome *o = story_tell(s);
    char *text = written(o, dbr_report_devices);
    cr_expect_not_null(strstr(text, "No implement speaks of its description in this recording."));
    cr_expect_not_null(strstr(text, "To record it"));
    free(text);
    outcome_free(o);

    o = told(NULL);
    text = written(o, dbr_report_devices);
    cr_expect_not_null(strstr(text, "Implement at address 128\n"));
    cr_expect_not_null(strstr(text, "only activated"), "%s", text);
    cr_expect_not_null(strstr(text, "To record it"));
    free(text);
    outcome_free(o);
}

static const cJSON *at(const cJSON *object, const char *key)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, key);
    cr_assert_not_null(item, "%s", key);
    return item;
}

static cJSON *report_of(const struct outcome *o)
{
    char *text = written(o, dbr_report_json);
    cJSON *root = cJSON_Parse(text);

    cr_assert_not_null(root);
    free(text);
    return root;
}

Test(reporting_devices, in_json)
{
    struct bytes b = {0};
    pool_spreader(&b, NULL);
    struct outcome *o = told(&b);
    cJSON *root = report_of(o);
    const cJSON *device = cJSON_GetArrayItem(at(root, "devices"), 0);

    cr_expect_str_eq(at(device, "designator")->valuestring, "Granule spreader");
    cr_expect_str_eq(at(device, "name")->valuestring, "A00A8000FFE00002");
    cr_expect_str_eq(at(device, "structure_label")->valuestring, "GS24-07");
    cr_expect(cJSON_IsTrue(at(device, "complete")));
    cr_expect(cJSON_IsNull(at(device, "problem")));
    cr_expect(cJSON_IsNull(at(device, "version")), "nobody told one");
    const cJSON *elements = at(device, "elements");
    cr_assert_eq(cJSON_GetArraySize(elements), 6);
    const cJSON *left = cJSON_GetArrayItem(elements, 4);
    cr_expect_str_eq(at(left, "name")->valuestring, "Left boom");
    cr_expect_str_eq(at(left, "type")->valuestring, "section");
    cr_expect_eq(at(left, "number")->valueint, 5);
    cr_expect_eq(at(left, "parent")->valueint, 1, "the number of the element above");
    cr_expect_eq(at(left, "working_width_m")->valuedouble, 12.0);
    const cJSON *width = cJSON_GetArrayItem(at(left, "properties"), 0);
    cr_expect_eq(at(width, "ddi")->valueint, 67);
    cr_expect_eq(at(width, "raw")->valueint, 12000);
    cr_expect_eq(at(width, "value")->valuedouble, 12.0);
    cr_expect_str_eq(at(width, "unit")->valuestring, "m");
    const cJSON *rate =
        cJSON_GetArrayItem(at(cJSON_GetArrayItem(elements, 2), "process_data"), 1);
    cr_expect_eq(at(rate, "ddi")->valueint, 7);
    cr_expect(cJSON_IsTrue(at(rate, "default_set")));
    cr_expect(cJSON_IsFalse(at(rate, "settable")));
    cr_expect_eq(cJSON_GetArraySize(at(rate, "triggers")), 2);
    cr_expect_eq(at(rate, "per_raw")->valuedouble, 0.01);
    cr_expect(cJSON_IsNull(at(cJSON_GetArrayItem(elements, 0), "parent")));
    cr_expect(cJSON_IsNull(at(cJSON_GetArrayItem(elements, 2), "working_width_m")));
    cJSON_Delete(root);
    outcome_free(o);
    bytes_free(&b);
}

Test(reporting_devices, in_json_without_its_description)
{
    struct outcome *o = told(NULL);
    cJSON *root = report_of(o);
    const cJSON *device = cJSON_GetArrayItem(at(root, "devices"), 0);

    cr_expect(cJSON_IsNull(at(device, "designator")));
    cr_expect(cJSON_IsFalse(at(device, "complete")));
    cr_expect(cJSON_IsString(at(device, "problem")));
    cr_expect_eq(cJSON_GetArraySize(at(device, "elements")), 0);
    cJSON_Delete(root);
    outcome_free(o);
}
