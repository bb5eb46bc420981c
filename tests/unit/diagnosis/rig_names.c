/* rig_names.c - ECUs that a rig knows by NAME, where the recording does not hold every claim. */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/can_id.h"
#include "support/repair.h"
#include "support/rigged.h"

/* The spreader and its weigher; the engine, which keeps the bus alive, is known by its address. */
static struct dbr_rig *spreader(const char *more)
{
    static const char frame[] =
        "{\"schema\": \"drawbar-rig/1\", \"name\": \"spreader\", \"sections\": ["
        " {\"name\": \"tractor\", \"ecus\": [{\"label\": \"engine\", \"address\": 0}]},"
        " {\"name\": \"frame\", \"ecus\": ["
        "  {\"label\": \"belt controller\", \"name\": \"A00A8000FFE00002\"%s},"
        "  {\"label\": \"weigher\", \"manufacturer_code\": 2047, \"function\": 130%s}]}]}";
    struct dbr_error error = {0};
    char path[RIG_PATH_MAX], text[1024];

    snprintf(text, sizeof text, frame, more, more[0] ? ", \"address\": 130" : "");
    struct dbr_rig *rig = rig_of_text(text, path, &error);
    cr_assert_not_null(rig, "%s", error.text);
    return rig;
}

/* Who sends: an address, and the NAME that it claims at 0.2 s; 0: its claim is not heard. */
struct sender {
    uint8_t address;
    uint64_t name;
};

static struct outcome *drive(struct dbr_rig *rig, const struct sender *senders, bool asked)
{
    struct story *s = story_new();

    story_rig(s, rig);
    story_background(s, 0, 60);
    for (const struct sender *one = senders; one->address; one++) {
        story_beat(s, story_id(6, 65301, 255, one->address), 0.1, 0, 60, "0000000000000000");
        if (one->name)
            story_claim(s, 0.2, one->address, one->name);
    }
    if (asked)
        story_request(s, 10, 0, DBR_ADDRESS_GLOBAL);
    return story_tell(s);
}

static size_t count_missing(const struct outcome *o)
{
    size_t count = 0;

    for (size_t i = 0; i < o->diagnosis->finding_count; i++)
        count += strcmp(o->diagnosis->findings[i].code, "ecu-missing") == 0;
    return count;
}

static const char *line_of_rig(const struct dbr_lines *lines)
{
    for (size_t i = 0; i < lines->count; i++)
        if (strstr(lines->items[i], "by NAME alone"))
            return lines->items[i];
    return "";
}

/* Missing is only what cannot be one of those whose claims are not in the recording. */
Test(diagnosis_rig_names, who_may_be_there_without_a_claim)
{
    static const struct {
        const char *what, *more; /* of each ECU of the frame, in the rig */
        struct sender senders[4];
        bool asked;
        size_t missing;
        const char *words; /* "": nothing is left open */
    } rows[] = {
        {"both joined on the way", "", {{128, 0}, {130, 0}}, false, 0,
         "belt controller, weigher by NAME alone, and the claims of 2 ECUs that send"},
        {"one sender for two", "", {{128, 0}}, false, 0, "only that not all of them are"},
        {"one is known", "", {{128, 0}, {130, NAME_WEIGHER}}, false, 0,
         "knows belt controller by NAME alone, and the claims of 1 ECU that sends"},
        {"all senders are known", "", {{129, NAME_TRACTOR}, {130, NAME_WEIGHER}}, false, 1, ""},
        {"both are known", "", {{140, NAME_SPREADER}, {130, NAME_WEIGHER}}, false, 0, ""},
        {"nobody but whom the rig knows by address", "", {{0, 0}}, false, 2, ""},
        {"it has no claim to tell", "", {{128, 0}}, true, 2, ""},
        {"at their addresses", ", \"address\": 128", {{128, 0}, {130, 0}}, false, 0, ""},
        {"one elsewhere", ", \"address\": 128", {{129, 0}, {130, 0}}, false, 1, ""},
        {"another at its address", ", \"address\": 128", {{128, NAME_TRACTOR}, {130, 0}}, false, 1,
         ""},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_rig *rig = spreader(rows[i].more);
        struct outcome *o = drive(rig, rows[i].senders, rows[i].asked);
        const char *line = line_of_rig(&o->diagnosis->cannot_tell);
        cr_expect_eq(count_missing(o), rows[i].missing, "%s: %s", rows[i].what, outcome_codes(o));
        cr_expect_eq(line[0] != '\0', rows[i].words[0] != '\0', "%s: %s", rows[i].what, line);
        cr_expect(strstr(line, rows[i].words), "%s: %s", rows[i].what, line);
        outcome_free(o);
        dbr_rig_free(rig);
    }
}

/* Before, the belt controller was missing: whether it is back only claims can tell. */
Test(diagnosis_rig_names, a_missing_ecu_is_back_where_its_claim_is)
{
    static const struct sender without[] = {{130, NAME_WEIGHER}, {0, 0}};
    static const struct {
        const char *what;
        struct sender senders[4];
        enum dbr_change change;
    } rows[] = {
        {"back", {{128, NAME_SPREADER}, {130, NAME_WEIGHER}}, DBR_CHANGE_GONE},
        {"as before", {{130, NAME_WEIGHER}}, DBR_CHANGE_STILL},
        {"joined on the way", {{128, 0}, {130, 0}}, DBR_CHANGE_CANNOT_TELL},
        {"it is back, the other is unknown", {{128, NAME_SPREADER}, {130, 0}}, DBR_CHANGE_GONE},
        {"now the other is missing", {{128, NAME_SPREADER}}, DBR_CHANGE_GONE},
    };
    struct dbr_rig *rig = spreader("");

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        repair_expect(rows[i].what, drive(rig, without, false), drive(rig, rows[i].senders, false),
                      "ecu-missing", rows[i].change, NULL);
    dbr_rig_free(rig);
}
