/*
 * NAMEs. Fields: ISO 11783-5 4.3, SAE J1939-81 4.1.1. The two vectors are those
 * that an open test suite of J1939 publishes for them. Codes of industry groups,
 * device classes and functions: ISO 11783-1 annex, SAE J1939 appendix B.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/name.h"

static void check_common(const struct dbr_name_fields *f)
{
    cr_expect_eq(f->manufacturer_code, 0x122);
    cr_expect_eq(f->ecu_instance, 1);
    cr_expect_eq(f->function_instance, 2);
    cr_expect_eq(f->function, 5);
    cr_expect_eq(f->device_class, 6);
    cr_expect_eq(f->device_class_instance, 5);
    cr_expect_eq(f->industry_group, 0);
    cr_expect(f->self_configurable);
}

Test(reference_names, published_vectors)
{
    const uint8_t first[8] = {0x09, 0x03, 0x4B, 0x24, 0x11, 0x05, 0x0C, 0x85};
    const uint8_t second[8] = {0x19, 0xA4, 0x49, 0x24, 0x11, 0x05, 0x0C, 0x85};
    struct dbr_name_fields f = dbr_name_split(dbr_name_from_bytes(first));

    cr_expect_eq(f.identity, 0xB0309);
    check_common(&f);
    f = dbr_name_split(dbr_name_from_bytes(second));
    cr_expect_eq(f.identity, 0x9A419);
    check_common(&f);
}

Test(reference_names, least_significant_byte_first)
{
    const uint8_t bytes[8] = {1, 2, 3, 4, 5, 6, 7, 8};

    cr_expect_eq(dbr_name_from_bytes(bytes), 0x0807060504030201);
}

/* Widths: 21, 11, 3, 5, 8, 1 reserved, 7, 4, 3, 1. */
Test(reference_names, each_field_has_its_width)
{
    struct dbr_name_fields f = dbr_name_split(UINT64_MAX);

    cr_expect_eq(f.identity, 0x1FFFFF);
    cr_expect_eq(f.manufacturer_code, 2047);
    cr_expect_eq(f.ecu_instance, 7);
    cr_expect_eq(f.function_instance, 31);
    cr_expect_eq(f.function, 255);
    cr_expect_eq(f.device_class, 127);
    cr_expect_eq(f.device_class_instance, 15);
    cr_expect_eq(f.industry_group, 7);
    cr_expect(f.self_configurable);
    f = dbr_name_split(UINT64_C(1) << 48); /* the reserved bit belongs to nobody */
    cr_expect_eq(f.function, 0);
    cr_expect_eq(f.device_class, 0);
}

static const char *or_none(const char *words)
{
    return words ? words : "none";
}

Test(reference_names, industry_groups)
{
    static const char *const words[8] = {"all industries", "on-highway",
                                         "agriculture and forestry", "construction", "marine",
                                         "industrial", "none", "none"};

    for (uint8_t group = 0; group < 8; group++) {
        struct dbr_name_fields name = {.industry_group = group};
        cr_expect_str_eq(or_none(dbr_name_group_words(&name)), words[group], "%u", group);
    }
}

/* A word that must occur for each class that the standard defines in group 2; the rest has none. */
Test(reference_names, device_classes_of_agriculture)
{
    static const char *const words[128] = {
        "not specific", "tractor", "tillage", "secondary tillage", "plant", "fertilizer", "spray",
        "harvest", "root", "forage", "irrigation", "trailer", "farm", "auxiliary", "special",
        "earth", "skidder", "sensor", NULL, "timber harvester", "forwarder", "timber loader",
        "timber processing", "mulcher", "utility", "manure", "feeder", "weeder", "mower",
        "material"};

    for (uint8_t class = 0; class < 128; class++) {
        struct dbr_name_fields name = {.industry_group = 2, .device_class = class};
        const char *found = or_none(dbr_name_class_words(&name));
        cr_expect(strstr(found, words[class] ? words[class] : "none"), "%u: %s", class, found);
    }
}

/* Class -1: means the same whatever the group and class. */
static const struct {
    int group, device_class, function;
    const char *word; /* must occur */
} functions[] = {
    {-1, -1, 0, "engine"}, {-1, -1, 3, "transmission"}, {-1, -1, 5, "shift"},
    {-1, -1, 6, "rear PTO"}, {-1, -1, 7, "steering axle"}, {-1, -1, 9, "brakes"},
    {-1, -1, 14, "cruise"}, {-1, -1, 16, "steering control"}, {-1, -1, 19, "cluster"},
    {-1, -1, 20, "trip"}, {-1, -1, 23, "navigation"}, {-1, -1, 24, "security"},
    {-1, -1, 25, "interconnect"}, {-1, -1, 26, "body"}, {-1, -1, 27, "front PTO"},
    {-1, -1, 28, "gateway"}, {-1, -1, 29, "virtual terminal"}, {-1, -1, 30, "management"},
    {-1, -1, 34, "hydraulic"}, {-1, -1, 37, "cab controller"}, {-1, -1, 38, "tire"},
    {-1, -1, 41, "lighting"}, {-1, -1, 45, "stability"}, {-1, -1, 60, "cab display"},
    {-1, -1, 61, "file server or printer"}, {-1, -1, 62, "diagnostic"}, {-1, -1, 66, "output"},
    {-1, -1, 67, "electrical"}, {-1, -1, 82, "file server"}, {-1, -1, 83, "printer"},
    {0, 0, 129, "off-board"}, {0, 0, 130, "data logger"}, {0, 0, 134, "speed sensor"},
    {0, 0, 145, "inertial"}, {0, 0, 149, "bin scale"},
    {2, 0, 128, "display"}, {2, 0, 129, "operator"}, {2, 0, 130, "task controller"},
    {2, 0, 133, "foreign object"}, {2, 0, 134, "tractor ECU"}, {2, 0, 135, "sequence"},
    {2, 0, 136, "dosing"}, {2, 0, 137, "treatment"}, {2, 0, 139, "data logger"},
    {2, 0, 140, "decision"}, {2, 0, 141, "lighting"}, {2, 0, 142, "TIM"},
    {2, 1, 129, "valve"}, {2, 1, 130, "rear hitch"}, {2, 1, 131, "front hitch"},
    {2, 1, 132, "machine"}, {2, 1, 134, "centre hitch"},
    {2, 4, 137, "down pressure"}, {2, 5, 130, "pressure"},
    {2, 7, 128, "tailings"}, {2, 7, 129, "header"}, {2, 7, 130, "loss"}, {2, 7, 131, "moisture"},
    {2, 7, 132, "machine"}, {2, 7, 133, "flow"}, {2, 7, 134, "level"}, {2, 7, 135, "header height"},
    {2, 9, 128, "twine"}, {2, 9, 129, "packaging"}, {2, 9, 131, "moisture"},
    {2, 9, 132, "machine"}, {2, 9, 133, "flow"}, {2, 9, 135, "height"},
    {2, 11, 132, "machine"}, {2, 11, 136, "unload"},
    {2, 17, 128, "feeler"}, {2, 17, 129, "camera"}, {2, 17, 130, "crop"}, {2, 17, 131, "material"},
    {2, 17, 132, "inertial"}, {2, 17, 135, "mass"}, {2, 17, 136, "vibration"},
    {2, 17, 137, "weather"}, {2, 17, 138, "soil"},
};

static const char *words_of(int group, int device_class, int function)
{
    struct dbr_name_fields name = {.industry_group = (uint8_t)group,
                                   .device_class = (uint8_t)device_class,
                                   .function = (uint8_t)function};
    return or_none(dbr_name_function_words(&name));
}

Test(reference_names, functions)
{
    for (size_t i = 0; i < sizeof functions / sizeof functions[0]; i++) {
        bool anywhere = functions[i].group < 0;
        const char *found = words_of(anywhere ? 5 : functions[i].group,
                                     anywhere ? 77 : functions[i].device_class,
                                     functions[i].function);
        cr_expect(strstr(found, functions[i].word), "%d, %d, %d: %s", functions[i].group,
                  functions[i].device_class, functions[i].function, found);
    }
}

/* The functions that tillage, planting, fertilizing, spraying and root harvesting share. */
Test(reference_names, functions_that_implements_share)
{
    static const int classes[] = {2, 3, 4, 5, 6, 8};
    static const struct {
        int function;
        const char *word;
    } shared[] = {{128, "rate"}, {129, "section"}, {131, "position"}, {132, "machine"},
                  {133, "flow"}, {134, "level"},   {135, "height"},   {136, "frame"}};

    for (size_t c = 0; c < sizeof classes / sizeof classes[0]; c++)
        for (size_t i = 0; i < sizeof shared / sizeof shared[0]; i++) {
            const char *found = words_of(2, classes[c], shared[i].function);
            cr_expect(strstr(found, shared[i].word), "%d, %d: %s", classes[c],
                      shared[i].function, found);
        }
}

/* No function has words that these tables do not know: 30 below 128, those of one class each, and
 * 8 that 6 classes share. */
Test(reference_names, no_function_beyond)
{
    size_t from_128 = 0, below_128 = 0;

    for (int group = 0; group < 8; group++)
        for (int device_class = 0; device_class < 128; device_class++)
            for (int function = 128; function < 256; function++)
                from_128 += strcmp(words_of(group, device_class, function), "none") != 0;
    for (int function = 0; function < 128; function++)
        below_128 += strcmp(words_of(2, 5, function), "none") != 0;
    cr_expect_eq(below_128, 30, "%zu", below_128);
    cr_expect_eq(from_128, sizeof functions / sizeof functions[0] - 30 + 6 * 8, "%zu", from_128);
}
