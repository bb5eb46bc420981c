/*
 * repaired_asked.c - before against after: was the same question asked again, and for as long as
 * an answer takes?
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/repair.h"

static const char zeros[] = "0000000000000000";

/* Tractor and satellites on a field, the wheel at a scale, for a while. */
static struct outcome *scaled(double wheel, double to)
{
    struct story *s = story_new();

    story_background(s, 0, to);
    story_wheel(s, 240, drive_field, wheel, 1, to);
    story_ground(s, 241, drive_field, 1.0, 1, to);
    story_gnss(s, 28, drive_field, 1.0, 1, to);
    return story_tell(s);
}

/* The drive begins at 5 s: by 23 s it has moved for 17 s, by 30 s for 24 s. */
Test(diagnosis_repaired, a_scale_needs_twenty_seconds_of_motion)
{
    repair_expect("as wrong, and too short to tell", scaled(0.78, 90), scaled(0.78, 23),
                  "speed-disagrees", DBR_CHANGE_CANNOT_TELL, "20 s");
    repair_expect("as wrong", scaled(0.78, 90), scaled(0.78, 30), "speed-disagrees",
                  DBR_CHANGE_STILL, NULL);
    repair_expect("set right", scaled(0.78, 90), scaled(1.0, 30), "speed-disagrees",
                  DBR_CHANGE_GONE, NULL);
}

/* 3 m/s by a wheel whose counter stands (65096), from a time on. */
static struct outcome *counter(double from, double to)
{
    struct story *s = story_new();

    story_background(s, 0, to);
    story_beat(s, story_id(3, 65096, 255, 240), 0.1, 0.5, from, "0000000000000000");
    story_beat(s, story_id(3, 65096, 255, 240), 0.1, from, to, "B80B00000000FFFD");
    return story_tell(s);
}

Test(diagnosis_repaired, a_distance_needs_fifty_metres)
{
    repair_expect("stands as before, over 30 m", counter(1, 60), counter(14, 24),
                  "distance-disagrees", DBR_CHANGE_CANNOT_TELL, "50 m");
    repair_expect("stands as before, over 60 m", counter(1, 60), counter(4, 24),
                  "distance-disagrees", DBR_CHANGE_STILL, NULL);
    repair_expect("it counts, over 60 m", counter(1, 60), scaled(1.0, 30), "distance-disagrees",
                  DBR_CHANGE_GONE, NULL);
}

/* 3 m/s by wheel and ground, which goes the other way or as the wheel, or tells no direction. */
static struct outcome *directions(const char *wheel, double to)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    story_beat(s, story_id(3, 65097, 255, 240), 0.1, 1, 60, "B80B00000000FFFD");
    story_beat(s, story_id(3, 65096, 255, 240), 0.1, 1, to, wheel);
    return story_tell(s);
}

Test(diagnosis_repaired, a_direction_needs_another_one)
{
    static const char forward[] = "B80B00000000FFFD", reverse[] = "B80B00000000FFFC",
                      untold[] = "B80B00000000FFFF";

    repair_expect("both", directions(reverse, 60), directions(forward, 60), "direction-disagrees",
                  DBR_CHANGE_GONE, NULL);
    repair_expect("both, for a moment", directions(reverse, 60), directions(forward, 2),
                  "direction-disagrees", DBR_CHANGE_CANNOT_TELL, "direction");
    repair_expect("one alone", directions(reverse, 60), directions(untold, 60),
                  "direction-disagrees", DBR_CHANGE_CANNOT_TELL, "direction");
}

static const char bins[] =
    "{ \"schema\": \"drawbar-messages/1\", \"subject\": \"bins\", \"source\": \"invented\","
    "  \"messages\": ["
    "  { \"pgn\": 65310, \"name\": \"Asked\", \"length\": 8, \"signals\": ["
    "  {\"name\": \"Rate asked for\", \"byte\": 1, \"bits\": 16, \"scale\": 0.1,"
    "   \"unit\": \"kg/ha\", \"role\": \"rate.setpoint\"},"
    "  {\"name\": \"Lowered\", \"byte\": 3, \"bit\": 1, \"bits\": 2, \"role\": \"work.lowered\","
    "   \"states\": {\"0\": \"no\", \"1\": \"yes\", \"2\": \"error\", \"3\": \"not available\"}}],"
    "  \"examples\": [ {\"data\": \"080701FFFFFFFFFF\", \"source\": \"worked by hand\","
    "  \"expect\": {\"Rate asked for\": 180, \"Lowered\": \"yes\"}} ] },"
    "  { \"pgn\": 65311, \"name\": \"Told\", \"length\": 8, \"signals\": ["
    "  {\"name\": \"Rate\", \"byte\": 1, \"bits\": 16, \"scale\": 0.1, \"unit\": \"kg/ha\","
    "   \"role\": \"rate.actual\"}],"
    "  \"examples\": [ {\"data\": \"0807FFFFFFFFFFFF\", \"source\": \"worked by hand\","
    "  \"expect\": {\"Rate\": 180}} ] } ] }";

/* Asked for 180 kg/ha while it drives, lowered; tells its rate from a time on, or never. */
static struct outcome *rate(const char *told, double asked_from, double told_from)
{
    struct story *s = story_new();

    story_define(s, bins);
    story_background(s, 0, 60);
    story_claim(s, 0.5, 128, NAME_SPREADER);
    story_wheel(s, 240, drive_field, 1.0, 0, 60);
    story_ground(s, 241, drive_field, 1.0, 0, 60);
    story_beat(s, story_id(6, 65310, 255, 128), 0.1, asked_from, 60, "080701FFFFFFFFFF");
    if (told)
        story_beat(s, story_id(6, 65311, 255, 128), 0.1, told_from, 60, told);
    return story_tell(s);
}

Test(diagnosis_repaired, a_rate_is_back_where_it_is_told)
{
    static const char none[] = "0000FFFFFFFFFFFF", some[] = "0807FFFFFFFFFFFF";

    repair_expect("told", rate(none, 1, 1), rate(some, 1, 1), "rate-missing", DBR_CHANGE_GONE,
                  NULL);
    repair_expect("zero as before", rate(none, 1, 1), rate(none, 1, 1), "rate-missing",
                  DBR_CHANGE_STILL, NULL);
    repair_expect("not told", rate(none, 1, 1), rate(NULL, 1, 1), "rate-missing",
                  DBR_CHANGE_CANNOT_TELL, "does not show that it puts out");
    repair_expect("zero for the last 4 s", rate(none, 1, 1), rate(none, 1, 56), "rate-missing",
                  DBR_CHANGE_CANNOT_TELL, "does not show that it puts out");
    repair_expect("above zero for the last 4 s", rate(none, 1, 1), rate(some, 1, 56),
                  "rate-missing", DBR_CHANGE_CANNOT_TELL, "does not show that it puts out");
    repair_expect("not asked for", rate(none, 1, 1), rate(some, 58, 1), "rate-missing",
                  DBR_CHANGE_CANNOT_TELL, "never worked");
}

/* Two units: at 131 from the start and from 30 s on, where they are there; 131 speaks anyway. */
static struct outcome *units(uint64_t first, uint8_t second_at, uint64_t second)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    story_beat(s, story_id(6, 65301, 255, 131), 0.1, 0.5, 60, zeros);
    if (first)
        story_claim(s, 0.2, 131, first);
    if (second)
        story_claim(s, 30, second_at, second);
    if (second && second_at != 131)
        story_beat(s, story_id(6, 65301, 255, second_at), 0.1, 30.5, 60, zeros);
    if (second && second_at == 131)
        story_claim(s, 30.1, 254, first);
    return story_tell(s);
}

/* The function instance is bits 35..39 of a NAME (ISO 11783-5). */
Test(diagnosis_repaired, a_contest_is_over_where_its_loser_has_an_address)
{
    static const char *const codes[] = {"address-conflict", "address-cannot-claim"};
    static const struct {
        const char *what;
        uint64_t first, second;
        enum dbr_change change, loser;
    } rows[] = {
        {"nobody claims", 0, 0, DBR_CHANGE_CANNOT_TELL, DBR_CHANGE_CANNOT_TELL},
        {"both, at two addresses", NAME_WEIGHER, NAME_NEWCOMER, DBR_CHANGE_GONE, DBR_CHANGE_GONE},
        {"one is now the second of its kind", NAME_WEIGHER, NAME_NEWCOMER | UINT64_C(1) << 35,
         DBR_CHANGE_GONE, DBR_CHANGE_GONE},
        {"the newcomer was taken away", NAME_WEIGHER, 0, DBR_CHANGE_GONE, DBR_CHANGE_GONE},
        {"only the newcomer is there", NAME_NEWCOMER, 0, DBR_CHANGE_CANNOT_TELL,
         DBR_CHANGE_CANNOT_TELL},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (size_t k = 0; k < sizeof codes / sizeof codes[0]; k++)
            repair_expect(rows[i].what, units(NAME_WEIGHER, 131, NAME_NEWCOMER),
                          units(rows[i].first, 135, rows[i].second), codes[k],
                          k == 0 ? rows[i].change : rows[i].loser, NULL);
}

/* 131 speaks from 12 s on; does it claim its address before? */
static struct outcome *late_starter(double from, bool claims)
{
    struct story *s = story_new();

    story_background(s, 0, 60);
    story_beat(s, story_id(6, 65301, 255, 131), 0.1, from, 60, zeros);
    if (claims)
        story_claim(s, from - 0.1, 131, NAME_WEIGHER);
    return story_tell(s);
}

/* One that was there before the recording began may have claimed before it, too. */
Test(diagnosis_repaired, an_address_is_claimed_where_its_claim_is_seen)
{
    repair_expect("it claims", late_starter(12, false), late_starter(12, true),
                  "address-unclaimed", DBR_CHANGE_GONE, NULL);
    repair_expect("it is there from the start", late_starter(12, false), late_starter(0, false),
                  "address-unclaimed", DBR_CHANGE_CANNOT_TELL, "claim an address");
}

/* 128 loses power at some times, and claims anew when it has it again. */
static struct outcome *restarts(const double *at, size_t count, double to)
{
    struct story *s = story_new();

    story_background(s, 0, to);
    story_claim(s, 0.2, 128, NAME_SPREADER);
    story_beat(s, story_id(6, 65301, 255, 128), 0.1, 0.5, to, zeros);
    for (size_t i = 0; i < count; i++)
        story_claim(s, at[i], 128, NAME_SPREADER);
    return story_tell(s);
}

Test(diagnosis_repaired, what_comes_now_and_then_has_to_be_waited_for)
{
    static const double late[] = {34, 44, 54}, seldom[] = {10, 58};
    static const struct {
        const char *what;
        const double *at;
        size_t count;
        double after_s;
        enum dbr_change change;
    } rows[] = {
        {"first at 34 s, 30 s after", late, 3, 30, DBR_CHANGE_CANNOT_TELL},
        {"first at 34 s, 38 s after", late, 3, 38, DBR_CHANGE_GONE},
        {"48 s between, 45 s after", seldom, 2, 45, DBR_CHANGE_CANNOT_TELL},
        {"48 s between, 52 s after", seldom, 2, 52, DBR_CHANGE_GONE},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        repair_expect(rows[i].what, restarts(rows[i].at, rows[i].count, 80),
                      restarts(NULL, 0, rows[i].after_s), "ecu-restart", rows[i].change,
                      rows[i].change == DBR_CHANGE_GONE ? NULL : "shorter than it took");
}

/* 128 falls silent for 5 s, or tells 10.0 V for 3 s (65271, bytes 5-6, 0.05 V), at a time. */
static struct outcome *silence(double at, double to)
{
    struct story *s = story_new();

    story_background(s, 0, to);
    story_claim(s, 0.2, 128, NAME_SPREADER);
    story_beat(s, story_id(6, 65301, 255, 128), 0.1, 0.5, at, zeros);
    story_beat(s, story_id(6, 65301, 255, 128), 0.1, at + 5, to, zeros);
    return story_tell(s);
}

static struct outcome *dip(double at, double to)
{
    struct story *s = story_new();
    uint32_t id = story_id(6, 65271, 255, 128);

    story_background(s, 0, to);
    story_beat(s, id, 0.5, 1, at, "FFFFFFFF1C01FFFF");
    if (at < to)
        story_beat(s, id, 0.5, at, at + 3, "FFFFFFFFC800FFFF");
    story_beat(s, id, 0.5, at + 3, to, "FFFFFFFF1C01FFFF");
    return story_tell(s);
}

Test(diagnosis_repaired, so_have_a_silence_and_a_dip_of_the_supply)
{
    repair_expect("30 s", silence(40, 60), silence(30, 30), "ecu-silent", DBR_CHANGE_CANNOT_TELL,
                  "shorter than it took");
    repair_expect("45 s", silence(40, 60), silence(45, 45), "ecu-silent", DBR_CHANGE_GONE, NULL);
    repair_expect("30 s", dip(40, 60), dip(30, 30), "supply-low", DBR_CHANGE_CANNOT_TELL,
                  "shorter than it took");
    repair_expect("45 s", dip(40, 60), dip(45, 45), "supply-low", DBR_CHANGE_GONE, NULL);
}

static double drive_and_fail(double t)
{
    return t < 50 ? drive_field(t) : 0.0;
}

static double drive_and_freeze(double t)
{
    return drive_field(t < 7 ? t : 7);
}

static double drive_constant(double t)
{
    return t < 5 ? 0.0 : 2.8;
}

/* The tractor's wheel, beside ground and satellites. */
static struct outcome *wheel(profile *reads, profile *drive, double to)
{
    struct story *s = story_new();

    story_background(s, 0, to);
    story_wheel(s, 240, reads, 1.0, 1, to);
    story_ground(s, 241, drive, 1.0, 1, to);
    story_gnss(s, 28, drive, 1.0, 1, to);
    return story_tell(s);
}

Test(diagnosis_repaired, a_wheel_that_fails_late_has_to_hold_out)
{
    repair_expect("30 s", wheel(drive_and_fail, drive_field, 78),
                  wheel(drive_field, drive_field, 30),
                  "speed-stuck-zero", DBR_CHANGE_CANNOT_TELL, "shorter than it took");
    repair_expect("60 s", wheel(drive_and_fail, drive_field, 78),
                  wheel(drive_field, drive_field, 60),
                  "speed-stuck-zero", DBR_CHANGE_GONE, NULL);
    repair_expect("dead from the start", wheel(drive_stand, drive_field, 78),
                  wheel(drive_field, drive_field, 30), "speed-stuck-zero", DBR_CHANGE_GONE, NULL);
}

Test(diagnosis_repaired, a_frozen_speed_shows_where_the_speed_changes)
{
    repair_expect("all at one speed", wheel(drive_and_freeze, drive_field, 78),
                  wheel(drive_constant, drive_constant, 60), "speed-frozen",
                  DBR_CHANGE_CANNOT_TELL, "one value");
    repair_expect("it follows", wheel(drive_and_freeze, drive_field, 78),
                  wheel(drive_field, drive_field, 60), "speed-frozen", DBR_CHANGE_GONE, NULL);
}

static bool fill_lossy(double t, uint8_t data[8], void *context)
{
    (void)context;
    memset(data, 0, 8);
    return (unsigned)(t * 10) % 20 >= 4;
}

/* 65302 from 140 with a fifth of its messages left out, or every `period`. */
static struct outcome *beats(double period, double to)
{
    struct story *s = story_new();
    uint32_t id = story_id(6, 65302, 255, 140);

    story_background(s, 0, 60);
    story_beat(s, story_id(6, 65300, 255, 140), 0.1, 0, 60, zeros);
    if (period > 0)
        story_beat(s, id, period, 0, to, zeros);
    else
        story_every(s, id, 0.1, 0, to, fill_lossy, NULL);
    return story_tell(s);
}

Test(diagnosis_repaired, a_beat_needs_twenty_intervals)
{
    repair_expect("10 messages", beats(0, 60), beats(0.1, 1), "message-gaps",
                  DBR_CHANGE_CANNOT_TELL, "no beat");
    repair_expect("100 messages", beats(0, 60), beats(0.1, 10), "message-gaps", DBR_CHANGE_GONE,
                  NULL);
}
