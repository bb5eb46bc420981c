/*
 * devices_odd.c - descriptions that are strange, refused or of nobody, as text and as JSON. What a
 * sound one looks like is in devices.c.
 */
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

/* The implement at 128 sends these objects to a controller at 247. */
static void send_objects(struct story *s, double at, const struct bytes *objects)
{
    struct bytes message = {0};

    bytes_integer(&message, 0x61, 1);
    bytes_add(&message, objects->data, objects->length);
    story_long(s, at,
               &(struct long_message){.from = 128,
                                      .to = 247,
                                      .pgn = PROCESS_DATA,
                                      .data = message.data,
                                      .length = message.length});
    bytes_free(&message);
}

typedef int writer(FILE *out, const struct dbr_report *report, struct dbr_error *error);

static char *written(const struct outcome *o, writer *write)
{
    struct dbr_report report = {.info = &o->info,
                                .history = o->history,
                                .diagnosis = o->diagnosis,
                                .bitrate = 250000,
                                .width = 80};
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(write(out, &report, NULL), 0);
    fclose(out);
    return kept(text);
}

static const cJSON *at(const cJSON *object, const char *key)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, key);
    cr_assert_not_null(item, "%s", key);
    return item;
}

static cJSON *first_device(const struct outcome *o)
{
    char *text = written(o, dbr_report_json);
    cJSON *root = cJSON_Parse(text);
    cJSON *device = cJSON_DetachItemFromArray(
        cJSON_GetObjectItemCaseSensitive(root, "devices"), 0);

    cr_assert_not_null(device);
    cJSON_Delete(root);
    free(text);
    return device;
}

static void add_device(struct bytes *b)
{
    pool_device(
        b, &(struct pool_device){"Odd", "1", "2", NAME_SPREADER, "1234567", "7654321", NULL});
}

/* Numbers and types in no dictionary, nothing named, no unit: what is known is shown as it is. */
Test(reporting_devices_odd, objects_of_few_words)
{
    static const uint16_t all[] = {10, 11, 12, 30};
    struct bytes b = {0};
    struct story *s = story_new();

    add_device(&b);
    pool_element(&b, 1, 77, "", 0, 0, all, 4);
    pool_data(&b, 10, 30000, 0, 0, "", DBR_OBJECT_NONE);
    pool_property(&b, 11, 30001, -7, "", DBR_OBJECT_NONE);
    pool_data(&b, 12, 60000, 0, 0, "", 99);
    pool_presentation(&b, 30, 0, 1.0f, 0, "");
    pool_element(&b, 2, 2, "Under data", 1, 10, NULL, 0);
    pool_element(&b, 3, 2, "Under nothing", 1, 500, NULL, 0);
    story_background(s, 0, 20);
    send_objects(s, 8, &b);
    struct outcome *o = story_tell(s);
    char *text = written(o, dbr_report_devices);

    cr_expect_str_eq(
        text, "\n\"Odd\" at address 128\n"
              "  software \"1\", serial number \"2\"\n"
              "  structure label 1234567, localization label 7654321\n"
              "  NAME A00A8000FFE00002\n"
              "  element 0, type 77 \"\"\n"
              "      ! byte 35 (DET, object 1): it refers to an object that is neither process\n"
              "        data nor a property: 30\n"
              "      DDI 30000 (unknown)\n"
              "      DDI 30001 (unknown) = -7\n"
              "      DDI 60000 (the maker's own)\n"
              "        ! byte 82 (DPD, object 12): its presentation is not there: 99\n"
              "  under no element that is there:\n"
              "    element 1, function \"Under data\"\n"
              "        ! byte 109 (DET, object 2): its parent is neither a device nor an\n"
              "          element: 10\n"
              "    element 1, function \"Under nothing\"\n"
              "        ! byte 132 (DET, object 3): its parent is not there: 500\n"
              "        ! byte 132 (DET, object 3): another element has its number\n");
    free(text);
    cJSON *device = first_device(o);
    const cJSON *element = cJSON_GetArrayItem(at(device, "elements"), 0);
    cr_expect_str_eq(at(element, "type")->valuestring, "type 77");
    cr_expect_eq(cJSON_GetArraySize(at(element, "process_data")), 2);
    cr_expect_eq(cJSON_GetArraySize(at(element, "properties")), 1);
    const cJSON *property = cJSON_GetArrayItem(at(element, "properties"), 0);
    cr_expect(cJSON_IsNull(at(property, "ddi_name")));
    cr_expect(cJSON_IsNull(at(property, "unit")));
    cr_expect_eq(at(property, "raw")->valueint, -7);
    cr_expect(cJSON_IsNull(at(cJSON_GetArrayItem(at(device, "elements"), 1), "parent")));
    cJSON_Delete(device);
    outcome_free(o);
    bytes_free(&b);
}

/* Problems that are about no object of the tree stand behind it; beyond what is kept they count. */
Test(reporting_devices_odd, more_mistakes_than_are_kept)
{
    struct bytes b = {0};
    struct story *s = story_new();

    add_device(&b);
    add_device(&b);
    pool_element(&b, 1, 1, "Whole", 0, 0, NULL, 0);
    pool_element(&b, 1, 1, "Twin", 1, 0, NULL, 0);
    for (uint16_t i = 2; i < DBR_POOL_PROBLEMS_MAX + 10; i++)
        pool_element(&b, i, 2, "Lost", i, 500, NULL, 0);
    story_background(s, 0, 20);
    send_objects(s, 8, &b);
    struct outcome *o = story_tell(s);
    char *text = written(o, dbr_report_devices);
    cJSON *device = first_device(o);

    cr_expect_not_null(strstr(text, "  ! byte 35 (DVC, object 0): another object has its id"), "%s",
                       text);
    cr_expect_not_null(strstr(text, "(DET, object 1): another object has its id"));
    cr_expect_not_null(strstr(text, "  ! and 10 more\n"), "%s", text);
    cr_expect_eq(cJSON_GetArraySize(at(device, "problems")), DBR_POOL_PROBLEMS_MAX);
    cr_expect_eq(at(device, "problems_folded")->valueint, 10);
    cJSON_Delete(device);
    free(text);
    outcome_free(o);
    bytes_free(&b);
}

static void say(struct story *s, double at, uint8_t to, uint8_t from, const char *data)
{
    story_frame(s, at, story_id(5, PROCESS_DATA, to, from), data);
}

/* ISO 11783-10 annex B: refused for object 12 of parent 3, then again and again for no memory. */
Test(reporting_devices_odd, a_controller_that_refuses_again_and_again)
{
    struct bytes b = {0};
    struct story *s = story_new();

    story_background(s, 0, 30);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    pool_spreader(&b, NULL);
    send_objects(s, 8, &b);
    for (unsigned i = 0; i < DBR_DEVICE_REFUSALS_MAX + 2; i++) {
        say(s, 12 + i, 247, 128, "81FFFFFFFFFFFFFF");
        say(s, 12.2 + i, 128, 247, i == 0 ? "910103000C0002FF" : "9102FFFFFFFF00FF");
    }
    struct outcome *o = story_tell(s);
    char *text = written(o, dbr_report_devices);
    cJSON *device = first_device(o);
    const cJSON *refused = at(device, "refused");

    cr_expect_not_null(strstr(text, "  ! at 12.2 s the controller did not activate it: errors in"),
                       "%s", text);
    cr_expect_not_null(strstr(text, "  ! at 13.2 s the controller did not activate it: out of"));
    cr_expect_not_null(strstr(text, "  ! and 2 more refusals\n"));
    cr_expect_eq(cJSON_GetArraySize(refused), DBR_DEVICE_REFUSALS_MAX);
    cr_expect_eq(at(device, "refused_folded")->valueint, 2);
    cr_expect_eq(at(cJSON_GetArrayItem(refused, 0), "object")->valueint, 12);
    cr_expect_eq(at(cJSON_GetArrayItem(refused, 0), "parent")->valueint, 3);
    cr_expect(cJSON_IsNull(at(cJSON_GetArrayItem(refused, 1), "object")));
    cr_expect(cJSON_IsNull(at(cJSON_GetArrayItem(refused, 1), "parent")));
    cJSON_Delete(device);
    free(text);
    outcome_free(o);
    bytes_free(&b);
}

/* Nobody claimed the address, and there are two buses: it is told on which it speaks. */
Test(reporting_devices_odd, an_implement_without_a_name_on_one_of_two_buses)
{
    struct story *s = story_new();

    story_background(s, 0, 20);
    story_on(s, 1);
    say(s, 12, 247, 128, "81FFFFFFFFFFFFFF");
    struct outcome *o = story_tell(s);
    char *text = written(o, dbr_report_devices);
    cJSON *device = first_device(o);

    cr_expect_not_null(strstr(text, "Implement at address 128 on "), "%s", text);
    cr_expect_null(strstr(text, "NAME"));
    cr_expect(cJSON_IsNull(at(device, "name")));
    cJSON_Delete(device);
    free(text);
    outcome_free(o);
}

/* Half of a description: no device object was in it, so the tree has no top. */
Test(reporting_devices_odd, objects_without_a_device)
{
    struct bytes b = {0};
    struct story *s = story_new();

    pool_element(&b, 2, 2, "Boom", 1, 500, NULL, 0);
    story_background(s, 0, 20);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    send_objects(s, 8, &b);
    struct outcome *o = story_tell(s);
    char *text = written(o, dbr_report_devices);
    cJSON *device = first_device(o);

    cr_expect_not_null(strstr(text, "Implement at address 128"), "%s", text);
    cr_expect_not_null(strstr(text, "function \"Boom\""));
    cr_expect_not_null(strstr(text, "there is no device object (DVC)"));
    cr_expect(cJSON_IsNull(at(device, "designator")));
    cr_expect_str_eq(at(device, "name")->valuestring, "A00A8000FFE00002");
    cJSON_Delete(device);
    free(text);
    outcome_free(o);
    bytes_free(&b);
}
