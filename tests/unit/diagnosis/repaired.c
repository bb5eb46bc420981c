/*
 * repaired.c - before against after: a finding is gone only where the recording after could have
 * shown it, and what it lacks is said.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/repair.h"

#define GROUP 65301

static const char zeros[] = "0000000000000000";

/* A bus on which 128 works, with what each story adds. */
static struct story *bus_of(double to)
{
    struct story *s = story_new();

    story_background(s, 0, to);
    story_claim(s, 0.2, 128, NAME_SPREADER);
    story_beat(s, story_id(6, GROUP, 255, 128), 0.1, 0.5, to, zeros);
    return s;
}

static struct outcome *quiet(double to)
{
    return story_tell(bus_of(to));
}

static struct outcome *silent_spreader(void)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    story_claim(s, 0.2, 128, NAME_SPREADER);
    story_beat(s, story_id(6, GROUP, 255, 128), 0.1, 0.5, 30, zeros);
    return story_tell(s);
}

Test(diagnosis_repaired, what_a_recording_after_has_to_be_like)
{
    repair_expect("it goes on", silent_spreader(), quiet(60), "ecu-silent", DBR_CHANGE_GONE, NULL);
    repair_expect("again", silent_spreader(), silent_spreader(), "ecu-silent", DBR_CHANGE_STILL,
                  NULL);
    repair_expect("19 s", silent_spreader(), quiet(19), "ecu-silent", DBR_CHANGE_CANNOT_TELL,
                  "too short");
    repair_expect("no stamps", silent_spreader(), story_tell_untimed(bus_of(60)), "ecu-silent",
                  DBR_CHANGE_CANNOT_TELL, "no time stamps");
    struct story *other = story_new();
    story_background(other, 0, 60);
    repair_expect("another machine", silent_spreader(), story_tell(other), "ecu-silent",
                  DBR_CHANGE_CANNOT_TELL, "the ECU is not in");
    repair_expect("the other way round", quiet(60), silent_spreader(), "ecu-silent",
                  DBR_CHANGE_NEW, NULL);
}

/* One ECU: by its NAME wherever it is, by its task where it was; without NAMEs by its address. */
Test(diagnosis_repaired, which_ecu_is_which)
{
    static const struct {
        const char *what;
        uint8_t address;
        uint64_t name; /* 0: it never claims */
        enum dbr_change change;
    } rows[] = {
        {"the same", 128, NAME_SPREADER, DBR_CHANGE_GONE},
        {"it has moved", 129, NAME_SPREADER, DBR_CHANGE_GONE},
        {"a new one in its place", 128, NAME_SPREADER + 5, DBR_CHANGE_GONE},
        {"another one of its kind elsewhere", 129, NAME_SPREADER + 5, DBR_CHANGE_CANNOT_TELL},
        {"something else at its address", 128, NAME_WEIGHER, DBR_CHANGE_CANNOT_TELL},
        {"who it is nobody said", 128, 0, DBR_CHANGE_GONE},
        {"nobody said, and at another address", 129, 0, DBR_CHANGE_CANNOT_TELL},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        if (rows[i].name)
            story_claim(s, 0.2, rows[i].address, rows[i].name);
        story_beat(s, story_id(6, GROUP, 255, rows[i].address), 0.1, 0.5, 60, zeros);
        repair_expect(rows[i].what, silent_spreader(), story_tell(s), "ecu-silent",
                      rows[i].change, NULL);
    }
}

/* 140, 141, ... of which so many are there, and fall silent at 30 s from the one on to the other. */
static struct outcome *section(uint8_t there_to, uint8_t silent_from, uint8_t silent_to)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    story_beat(s, story_id(6, GROUP, 255, 30), 0.1, 0, 60, zeros);
    for (uint8_t a = 140; a < there_to; a++)
        story_beat(s, story_id(6, GROUP, 255, a), 0.1, 0.5,
                   a >= silent_from && a < silent_to ? 30 : 60, zeros);
    return story_tell(s);
}

/* A section is the same one where it has an ECU in common, and gone where all its ECUs go on. */
Test(diagnosis_repaired, a_section_is_known_by_its_ecus)
{
    static const struct {
        const char *what;
        uint8_t there_to, silent_from, silent_to;
        enum dbr_change change;
    } rows[] = {
        {"all go on", 144, 0, 0, DBR_CHANGE_GONE},
        {"again", 144, 140, 142, DBR_CHANGE_STILL},
        {"again, with a third", 144, 140, 143, DBR_CHANGE_STILL},
        {"others do now", 144, 142, 144, DBR_CHANGE_GONE},
        {"one of them is not there", 141, 0, 0, DBR_CHANGE_CANNOT_TELL},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        repair_expect(rows[i].what, section(144, 140, 142),
                      section(rows[i].there_to, rows[i].silent_from, rows[i].silent_to),
                      "harness-section-silent", rows[i].change, NULL);
}

/* From 12 s on some that never claim: told one by one, or together. */
static struct outcome *unclaimed(uint8_t count)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    for (uint8_t a = 150; a < 150 + count; a++)
        story_beat(s, story_id(6, GROUP, 255, a), 0.1, 12, 60, zeros);
    return story_tell(s);
}

Test(diagnosis_repaired, one_of_many_is_still_there)
{
    repair_expect("one, then six", unclaimed(1), unclaimed(6), "address-unclaimed",
                  DBR_CHANGE_STILL, NULL);
    repair_expect("six, then one", unclaimed(6), unclaimed(1), "address-unclaimed",
                  DBR_CHANGE_STILL, NULL);
}

static struct outcome *errors(int count)
{
    struct story *s = bus_of(60);

    for (int k = 0; k < count; k++)
        story_error(s, 10.0 + 0.02 * k, 0x88, "0000040000000000");
    return story_tell(s);
}

Test(diagnosis_repaired, bursts_are_gone_only_where_error_frames_would_show)
{
    repair_expect("still", errors(20), errors(20), "bus-error-burst", DBR_CHANGE_STILL, NULL);
    repair_expect("a single one", errors(20), errors(1), "bus-error-burst", DBR_CHANGE_GONE,
                  NULL);
    repair_expect("none", errors(20), errors(0), "bus-error-burst", DBR_CHANGE_CANNOT_TELL,
                  "no error frames");
}

/* Load and flaws of the recording show in every recording. */
Test(diagnosis_repaired, a_few_seconds_show_the_load)
{
    struct story *s = bus_of(5);
    struct story *pauses = story_new();

    for (double t = 0; t < 5; t += 146.0 / 250000.0 / 0.8) /* 80 %, frames of 146 bits */
        story_frame(s, t, 0x18FEF100, "FFFFFFFFFFFFFFFF");
    repair_expect("load", story_tell(s), quiet(5), "bus-load-high", DBR_CHANGE_GONE, NULL);
    story_background(pauses, 0, 30);
    story_background(pauses, 33, 60);
    repair_expect("gap", story_tell(pauses), quiet(5), "recording-gap", DBR_CHANGE_GONE, NULL);
}

/* Battery potential in bytes 5-6 of 65271, 0.05 V: 10.0 V, 14.2 V, or nothing is told. */
static struct outcome *supply(const char *hex)
{
    struct story *s = bus_of(60);

    if (hex)
        story_beat(s, story_id(6, 65271, 255, 128), 0.5, 1, 60, hex);
    return story_tell(s);
}

Test(diagnosis_repaired, a_supply_that_nobody_tells_is_not_proven_sound)
{
    static const char low[] = "FFFFFFFFC800FFFF", sound[] = "FFFFFFFF1C01FFFF";

    repair_expect("low", supply(low), supply(low), "supply-low", DBR_CHANGE_STILL, NULL);
    repair_expect("sound", supply(low), supply(sound), "supply-low", DBR_CHANGE_GONE, NULL);
    repair_expect("untold", supply(low), supply(NULL), "supply-low", DBR_CHANGE_CANNOT_TELL,
                  "this message was not sent");
}

/* Four of twenty messages are left out. */
static bool fill_lossy(double t, uint8_t data[8], void *context)
{
    (void)context;
    memset(data, 0, 8);
    return (unsigned)(t * 10) % 20 >= 4;
}

static struct outcome *gaps(uint8_t sound, uint8_t lossy)
{
    struct story *s = bus_of(60);

    story_beat(s, story_id(6, 65300, 255, 140), 0.1, 0, 60, zeros);
    if (sound)
        story_beat(s, story_id(6, 65302, 255, sound), 0.1, 0, 60, zeros);
    if (lossy)
        story_every(s, story_id(6, 65302, 255, lossy), 0.1, 0, 60, fill_lossy, NULL);
    return story_tell(s);
}

Test(diagnosis_repaired, a_beat_is_sound_where_its_message_comes)
{
    repair_expect("sound", gaps(0, 140), gaps(140, 0), "message-gaps", DBR_CHANGE_GONE, NULL);
    repair_expect("as before", gaps(0, 140), gaps(0, 140), "message-gaps", DBR_CHANGE_STILL, NULL);
    repair_expect("not sent", gaps(0, 140), gaps(0, 0), "message-gaps", DBR_CHANGE_CANNOT_TELL,
                  "this message was not sent");
    repair_expect("by another", gaps(0, 140), gaps(141, 0), "message-gaps",
                  DBR_CHANGE_CANNOT_TELL, "this message was not sent");
}

/* A speed at its source, and of the same kind from another ECU. */
static struct outcome *wheel(uint8_t address, double scale, profile *drive)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_ground(s, 241, drive, 1.0, 1, 90);
    story_gnss(s, 28, drive, 1.0, 1, 90);
    if (address)
        story_wheel(s, address, drive, scale, 1, 90);
    story_beat(s, story_id(6, GROUP, 255, 240), 0.1, 0.5, 90, zeros);
    return story_tell(s);
}

Test(diagnosis_repaired, a_dead_speed_is_gone_where_it_moves)
{
    static const struct {
        const char *what;
        uint8_t address;
        double scale;
        profile *drive;
        enum dbr_change change;
        const char *why;
    } rows[] = {
        {"it moves", 240, 1.0, drive_field, DBR_CHANGE_GONE, NULL},
        {"it does not", 240, 0.0, drive_field, DBR_CHANGE_STILL, NULL},
        {"it stands", 240, 1.0, drive_stand, DBR_CHANGE_CANNOT_TELL, "never drove"},
        {"only another one moves", 242, 1.0, drive_field, DBR_CHANGE_CANNOT_TELL,
         "never reports motion"},
        {"it is not sent", 0, 1.0, drive_field, DBR_CHANGE_CANNOT_TELL, "never reports motion"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        repair_expect(rows[i].what, wheel(240, 0.0, drive_field),
                      wheel(rows[i].address, rows[i].scale, rows[i].drive), "speed-stuck-zero",
                      rows[i].change, rows[i].why);
}

/* The finding is about no source: any that moves will do. */
Test(diagnosis_repaired, a_machine_without_any_speed)
{
    struct story *driven = bus_of(90);

    story_wheel(driven, 240, drive_field, 1.0, 1, 90);
    repair_expect("one moves", quiet(90), story_tell(driven), "speed-missing", DBR_CHANGE_GONE,
                  NULL);
    struct story *stands = bus_of(90);
    story_wheel(stands, 240, drive_stand, 1.0, 1, 90);
    repair_expect("one stands", quiet(90), story_tell(stands), "speed-missing",
                  DBR_CHANGE_CANNOT_TELL,
                  "never drove");
}

/* 3 m/s by wheel and ground (65096, 65097), the counter of one standing or the wheel reversed. */
static struct outcome *constant(bool reverse)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    story_beat(s, story_id(3, 65097, 255, 240), 0.1, 1, 60, "B80B00000000FFFD");
    story_beat(s, story_id(3, 65096, 255, 240), 0.1, 1, 60,
               reverse ? "B80B00000000FFFC" : "B80B00000000FFFD");
    return story_tell(s);
}

Test(diagnosis_repaired, directions_and_distances_are_compared_while_it_moves)
{
    repair_expect("as one", constant(true), constant(false), "direction-disagrees",
                  DBR_CHANGE_GONE, NULL);
    repair_expect("never drove", constant(true), wheel(240, 1.0, drive_stand),
                  "direction-disagrees", DBR_CHANGE_CANNOT_TELL, "never drove");
    repair_expect("it counts", constant(false), wheel(240, 1.0, drive_field),
                  "distance-disagrees", DBR_CHANGE_GONE, NULL);
    repair_expect("it does not speak", constant(false), wheel(0, 1.0, drive_field),
                  "distance-disagrees", DBR_CHANGE_CANNOT_TELL, "never reports motion");
    repair_expect("it stands still", constant(false), constant(true), "distance-disagrees",
                  DBR_CHANGE_STILL, NULL);
}

Test(diagnosis_repaired, each_change_has_a_word)
{
    cr_expect_str_eq(dbr_change_name(DBR_CHANGE_GONE), "gone");
    cr_expect_str_eq(dbr_change_name(DBR_CHANGE_CANNOT_TELL), "cannot_tell");
    cr_expect_str_eq(dbr_change_name((enum dbr_change)9), "unknown");
}
