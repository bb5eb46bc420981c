/*
 * name_words.c - functions, device classes and usual addresses in words.
 *
 * Source: ISO 11783-1 annex and SAE J1939 appendix B (codes of functions, classes
 * and preferred addresses), in our own words. Addresses below 128 are from
 * memory: a hint for ECUs whose NAME was not seen, no more.
 */
#include "drawbar/name.h"

#define ANY (-1)
#define SHARING (-2) /* a class of industry group 2 that shares one list of functions */

struct function_words {
    int industry_group, device_class; /* ANY: codes below 128 mean the same everywhere */
    uint8_t function;
    const char *words;
};

/* Rows of one class come before those of the shared list, which they override. */
static const struct function_words functions[] = {
    {ANY, ANY, 0, "engine"},
    {ANY, ANY, 3, "transmission"},
    {ANY, ANY, 5, "shift control"},
    {ANY, ANY, 6, "rear PTO"},
    {ANY, ANY, 7, "steering axle"},
    {ANY, ANY, 9, "brakes"},
    {ANY, ANY, 14, "cruise control"},
    {ANY, ANY, 16, "steering control"},
    {ANY, ANY, 19, "instrument cluster"},
    {ANY, ANY, 20, "trip recorder"},
    {ANY, ANY, 23, "navigation"},
    {ANY, ANY, 24, "vehicle security"},
    {ANY, ANY, 25, "network interconnect unit"},
    {ANY, ANY, 26, "body control"},
    {ANY, ANY, 27, "front PTO"},
    {ANY, ANY, 28, "off-vehicle gateway"},
    {ANY, ANY, 29, "virtual terminal"},
    {ANY, ANY, 30, "management computer"},
    {ANY, ANY, 34, "hydraulic pump control"},
    {ANY, ANY, 37, "cab controller"},
    {ANY, ANY, 38, "tire pressure control"},
    {ANY, ANY, 41, "lighting controls"},
    {ANY, ANY, 45, "stability control"},
    {ANY, ANY, 60, "cab display"},
    {ANY, ANY, 61, "file server or printer"},
    {ANY, ANY, 62, "on-board diagnostic unit"},
    {ANY, ANY, 66, "input/output controller"},
    {ANY, ANY, 67, "electrical system controller"},
    {ANY, ANY, 82, "file server"},
    {ANY, ANY, 83, "printer"},
    {0, 0, 129, "off-board service tool"},
    {0, 0, 130, "on-board data logger"},
    {0, 0, 134, "ground speed sensor"},
    {0, 0, 145, "inertial sensor"},
    {0, 0, 149, "bin scale"},
    {2, 0, 128, "display"},
    {2, 0, 129, "operator controls"},
    {2, 0, 130, "task controller"},
    {2, 0, 133, "foreign object detection"},
    {2, 0, 134, "tractor ECU"},
    {2, 0, 135, "sequence control master"},
    {2, 0, 136, "product dosing"},
    {2, 0, 137, "product treatment"},
    {2, 0, 139, "data logger"},
    {2, 0, 140, "decision support"},
    {2, 0, 141, "lighting controller"},
    {2, 0, 142, "TIM server"},
    {2, 1, 129, "auxiliary valve control"},
    {2, 1, 130, "rear hitch"},
    {2, 1, 131, "front hitch"},
    {2, 1, 132, "machine control"},
    {2, 1, 134, "centre hitch"},
    {2, 4, 137, "down pressure control"},
    {2, 5, 130, "product pressure control"},
    {2, 7, 128, "tailings monitor"},
    {2, 7, 129, "header control"},
    {2, 7, 130, "product loss monitor"},
    {2, 7, 131, "product moisture sensor"},
    {2, 7, 132, "machine control"},
    {2, 7, 133, "product flow control"},
    {2, 7, 134, "product level"},
    {2, 7, 135, "header height control"},
    {2, 9, 128, "twine or wrapper control"},
    {2, 9, 129, "packaging control"},
    {2, 9, 131, "product moisture sensor"},
    {2, 9, 132, "machine control"},
    {2, 9, 133, "product flow control"},
    {2, 9, 135, "height control"},
    {2, 11, 132, "machine control"},
    {2, 11, 136, "unload control"},
    {2, 17, 128, "guidance feeler"},
    {2, 17, 129, "camera"},
    {2, 17, 130, "crop sensor"},
    {2, 17, 131, "material sensor"},
    {2, 17, 132, "inertial sensor"},
    {2, 17, 135, "product mass sensor"},
    {2, 17, 136, "vibration sensor"},
    {2, 17, 137, "weather station"},
    {2, 17, 138, "soil sensor"},
    {2, SHARING, 128, "rate control"},
    {2, SHARING, 129, "section control"},
    {2, SHARING, 131, "position control"},
    {2, SHARING, 132, "machine control"},
    {2, SHARING, 133, "product flow control"},
    {2, SHARING, 134, "product level"},
    {2, SHARING, 135, "depth or height control"},
    {2, SHARING, 136, "frame control"},
};

/* Tillage, planting, fertilizing, spraying, root harvesting. Other classes have lists of their own,
 * or none that we know: then the code alone is shown. */
static bool shares_functions(unsigned device_class)
{
    return (device_class >= 2 && device_class <= 6) || device_class == 8;
}

static bool fits_class(int wanted, unsigned device_class)
{
    if (wanted == SHARING)
        return shares_functions(device_class);
    return wanted == ANY || (unsigned)wanted == device_class;
}

const char *dbr_name_function_words(const struct dbr_name_fields *name)
{
    for (size_t i = 0; i < sizeof functions / sizeof functions[0]; i++) {
        const struct function_words *row = &functions[i];
        if (row->function == name->function &&
            (row->industry_group == ANY || row->industry_group == name->industry_group) &&
            fits_class(row->device_class, name->device_class))
            return row->words;
    }
    return NULL;
}

const char *dbr_name_group_words(const struct dbr_name_fields *name)
{
    static const char *const groups[] = {"all industries", "on-highway",
                                         "agriculture and forestry", "construction", "marine",
                                         "industrial"};

    return name->industry_group < sizeof groups / sizeof groups[0] ? groups[name->industry_group]
                                                                   : NULL;
}

const char *dbr_name_class_words(const struct dbr_name_fields *name)
{
    static const char *const classes[] = {
        "not specific",     "tractor",        "tillage",          "secondary tillage",
        "planters, seeders", "fertilizers",   "sprayers",         "harvesters",
        "root harvesters",  "forage",         "irrigation",       "transport, trailer",
        "farm-yard work",   "powered auxiliary devices", "special crops", "earth works",
        "skidder",          "sensor systems", NULL,               "timber harvesters",
        "forwarders",       "timber loaders", "timber processing", "mulchers",
        "utility vehicles", "slurry and manure applicators", "feeders and mixers", "weeders",
        "turf and lawn mowers", "material handling"};

    if (name->industry_group != DBR_INDUSTRY_GROUP_AGRICULTURE ||
        name->device_class >= sizeof classes / sizeof classes[0])
        return NULL;
    return classes[name->device_class];
}

const char *dbr_address_words(uint8_t address)
{
    static const struct {
        uint8_t address;
        const char *words;
    } usual[] = {
        {0, "engine"},          {1, "second engine"},      {3, "transmission"},
        {5, "shift console"},   {11, "brakes"},            {19, "steering controller"},
        {23, "instrument cluster"}, {28, "navigation"},    {33, "body controller"},
        {38, "virtual terminal"}, {39, "management computer"}, {49, "cab controller"},
        {236, "data logger"},   {237, "TIM server"},       {238, "sequence controller"},
        {239, "position control"}, {240, "tractor ECU"},   {241, "tailings monitor"},
        {242, "header control"}, {243, "product loss monitor"}, {244, "moisture sensor"},
        {245, "display"},       {246, "operator controls"}, {247, "task controller"},
        {248, "file server"},   {249, "service tool"},     {250, "second service tool"},
    };

    for (size_t i = 0; i < sizeof usual / sizeof usual[0]; i++)
        if (usual[i].address == address)
            return usual[i].words;
    return NULL;
}
