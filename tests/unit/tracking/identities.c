/* Who is who: what ECUs tell about themselves, in every carrier, and to whom it belongs. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/device.h"
#include "support/pool.h"
#include "support/story_long.h"
#include "support/story_told.h"
#include "tracking/identities.h"

#define ECU 64965u
#define COMPONENT 65259u
#define SOFTWARE 65242u
#define S INT64_C(1000000000)

static const struct dbr_identity *identity_at(const struct outcome *o, uint8_t address)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(o->history, 0, address);
    cr_assert_not_null(ecu, "nobody at %u", address);
    return ecu->identity;
}

static const char *text_at(const struct outcome *o, uint8_t address, enum dbr_told_group group,
                           size_t field)
{
    const char *text = dbr_identity_text(identity_at(o, address), group, field);
    return text ? text : "none";
}

static void expect_label(const struct outcome *o, uint8_t address, const char *expected)
{
    char label[DBR_LABEL_MAX];

    dbr_ecu_label(label, sizeof label, dbr_history_ecu(o->history, 0, address));
    cr_expect_str_eq(label, expected);
}

/* A spreader that claims 128 at 1 s; others keep the bus alive to 20 s. */
static struct story *spreader_story(void)
{
    struct story *s = story_new();

    story_background(s, 0, 20);
    story_claim(s, 1, 128, NAME_SPREADER);
    return s;
}

Test(tracking_identities, every_carrier_tells)
{
    static const char component[] = "M*Granule spreader*S1*3*";
    uint8_t information[134];
    struct story *s = spreader_story();

    memset(information, 0xFF, sizeof information);
    memcpy(information + 4, "Heading", 7);
    story_text(s, 2, 128, COMPONENT, component);
    story_text(s, 3, 128, SOFTWARE, "\x01" "2.1*"); /* fits one frame */
    story_text_to(s, 4, 128, 240, ECU, "P7*S1*left*meter**H2*");
    story_fast(s, 5, 128, 126996, information, sizeof information);
    struct outcome *o = story_tell(s);
    cr_expect_str_eq(text_at(o, 128, DBR_TOLD_COMPONENT, DBR_COMPONENT_MODEL), "Granule spreader");
    cr_expect_str_eq(text_at(o, 128, DBR_TOLD_COMPONENT, DBR_COMPONENT_UNIT), "3");
    cr_expect_str_eq(text_at(o, 128, DBR_TOLD_SOFTWARE, 0), "2.1");
    cr_expect_str_eq(text_at(o, 128, DBR_TOLD_ECU, DBR_ECU_HARDWARE), "H2");
    cr_expect_str_eq(text_at(o, 128, DBR_TOLD_ECU, DBR_ECU_MAKER), "none");
    cr_expect_str_eq(text_at(o, 128, DBR_TOLD_INFORMATION, DBR_INFORMATION_MODEL), "Heading");
    const struct dbr_told *told = identity_at(o, 128)->told[DBR_TOLD_COMPONENT];
    cr_expect(told->first_ns > 2 * S && told->first_ns < 3 * S);
    cr_expect_eq(told->changed_ns, -1);
    outcome_free(o);
}

/* Only the extended protocol carries so much. */
Test(tracking_identities, a_text_of_64_kib_is_cut)
{
    uint8_t *text = malloc(65536);
    struct story *s = spreader_story();

    memset(text, 'x', 65536);
    memcpy(text, "P7*", 3);
    story_long(s, 2, &(struct long_message){
                         .from = 128, .to = 240, .pgn = ECU, .data = text, .length = 65536});
    free(text);
    struct outcome *o = story_tell(s);
    cr_expect_str_eq(text_at(o, 128, DBR_TOLD_ECU, DBR_ECU_PART_NUMBER), "P7");
    cr_expect_eq(strlen(text_at(o, 128, DBR_TOLD_ECU, DBR_ECU_SERIAL)), DBR_TOLD_TEXT_MAX - 1);
    cr_expect(identity_at(o, 128)->told[DBR_TOLD_ECU]->cut);
    outcome_free(o);
}

/* Drops the frame at `at` from a broadcast of 24 bytes: a transfer that is not whole tells nothing. */
Test(tracking_identities, a_broken_transfer_tells_nothing)
{
    struct story *s = spreader_story();

    story_frame(s, 2, story_id(7, 60416, 255, 128), "20180004FFEBFE00"); /* 24 bytes announced */
    story_frame(s, 2.05, story_id(7, 60160, 255, 128), "014D2A4772616E75");
    story_frame(s, 2.15, story_id(7, 60160, 255, 128), "0365722A532A332A");
    struct outcome *o = story_tell(s);
    cr_expect_null(identity_at(o, 128));
    expect_label(o, 128, "rate control (128)");
    outcome_free(o);
}

Test(tracking_identities, other_groups_and_empty_answers_tell_nothing)
{
    struct story *s = spreader_story();

    story_text(s, 2, 128, 65258, "M*Granule spreader*S1*3*");
    story_text(s, 3, 128, COMPONENT, "****");
    story_frame(s, 4, story_id(6, COMPONENT, 255, 128), "FFFFFFFFFFFFFFFF");
    struct outcome *o = story_tell(s);
    cr_expect_null(identity_at(o, 128));
    outcome_free(o);
}

/* What an empty answer does not tell stays told. */
Test(tracking_identities, an_empty_answer_takes_nothing_back)
{
    struct story *s = spreader_story();

    story_text(s, 2, 128, COMPONENT, "M*Spreader*S1*3*");
    story_text(s, 4, 128, COMPONENT, "****");
    struct outcome *o = story_tell(s);
    expect_label(o, 128, "rate control \"Spreader\" (128)");
    cr_expect_eq(identity_at(o, 128)->told[DBR_TOLD_COMPONENT]->changed_ns, -1);
    outcome_free(o);
}

Test(tracking_identities, a_change_is_noticed_and_a_repetition_is_none)
{
    struct story *s = spreader_story();

    story_text(s, 2, 128, COMPONENT, "M*Spreader*S1*3*");
    story_text(s, 4, 128, COMPONENT, "M*Spreader*S1*3*");
    story_text(s, 6, 128, ECU, "P7*S1*left*meter**H2*");
    story_text(s, 8, 128, COMPONENT, "M*Spreader*S2*3*");
    story_text(s, 9, 128, COMPONENT, "M*Spreader*S2*3*");
    struct outcome *o = story_tell(s);
    const struct dbr_told *told = identity_at(o, 128)->told[DBR_TOLD_COMPONENT];
    cr_expect_str_eq(told->texts[DBR_COMPONENT_SERIAL], "S2");
    cr_expect(told->first_ns > 2 * S && told->first_ns < 3 * S);
    cr_expect(told->changed_ns > 8 * S && told->changed_ns < 9 * S);
    cr_expect_eq(identity_at(o, 128)->told[DBR_TOLD_ECU]->changed_ns, -1);
    outcome_free(o);
}

Test(tracking_identities, it_goes_with_the_name_to_another_address)
{
    struct story *s = spreader_story();

    story_text(s, 2, 128, COMPONENT, "M*Spreader*S1*3*");
    story_claim(s, 5, 130, NAME_SPREADER);
    story_text(s, 6, 130, SOFTWARE, "\x01" "2.1*");
    struct outcome *o = story_tell(s);
    expect_label(o, 130, "rate control \"Spreader\" (130)");
    cr_expect_str_eq(text_at(o, 130, DBR_TOLD_SOFTWARE, 0), "2.1");
    cr_expect_eq(identity_at(o, 128), identity_at(o, 130)); /* it was the same ECU there */
    outcome_free(o);
}

/* Another ECU that takes the address tells for itself, or has told nothing. */
Test(tracking_identities, a_successor_does_not_inherit)
{
    struct story *s = spreader_story();

    story_text(s, 2, 128, COMPONENT, "M*Spreader*S1*3*");
    story_claim(s, 5, 130, NAME_SPREADER);
    story_claim(s, 8, 128, NAME_WEIGHER);
    struct outcome *o = story_tell(s);
    cr_expect_null(identity_at(o, 128));
    expect_label(o, 130, "rate control \"Spreader\" (130)");
    outcome_free(o);
}

/* The recording begins amid work: the claim comes later, when somebody asks. */
Test(tracking_identities, told_before_the_claim_was_seen)
{
    struct story *s = story_new();

    story_background(s, 0, 20);
    story_beat(s, story_id(6, 65271, 255, 128), 0.5, 0.1, 20, "FFFFFFFF18010000");
    story_text(s, 1, 128, COMPONENT, "M*Spreader*S1*3*");
    story_text(s, 3, 128, SOFTWARE, "\x01" "2.0*");
    story_request(s, 5, 240, 255);
    story_claim(s, 5.1, 128, NAME_SPREADER);
    story_text(s, 8, 128, SOFTWARE, "\x01" "2.1*");
    struct outcome *o = story_tell(s);
    expect_label(o, 128, "rate control \"Spreader\" (128)");
    const struct dbr_told *software = identity_at(o, 128)->told[DBR_TOLD_SOFTWARE];
    cr_expect_str_eq(software->texts[0], "2.1");
    cr_expect_eq(software->first_ns, 3 * S);
    cr_expect_eq(software->changed_ns, 8 * S);
    outcome_free(o);
}

Test(tracking_identities, told_by_one_that_never_claims)
{
    struct story *s = story_new();

    story_background(s, 0, 20);
    story_text(s, 1, 131, COMPONENT, "M*Spreader*S1*3*");
    story_text(s, 3, 0, COMPONENT, "M*D44*S1*3*");
    struct outcome *o = story_tell(s);
    expect_label(o, 131, "\"Spreader\" (131)");
    expect_label(o, 0, "engine? \"D44\" (0)");
    outcome_free(o);
}

/* Who used the address before the claim was another ECU: it fights for the address. */
Test(tracking_identities, told_before_a_newcomers_claim_is_not_the_newcomers)
{
    struct story *s = story_new();

    story_background(s, 0, 20);
    story_beat(s, story_id(6, 65271, 255, 131), 0.1, 0.1, 9.95, "FFFFFFFF18010000");
    story_text(s, 1, 131, COMPONENT, "M*Weigher*S1*3*");
    story_claim(s, 10, 131, NAME_NEWCOMER);
    story_beat(s, story_id(6, 65226, 255, 131), 1.0, 11, 20, "00FF00000000FFFF");
    struct outcome *o = story_tell(s);
    cr_assert(outcome_has(o, "address-conflict", 131), "%s", outcome_codes(o));
    cr_expect_null(identity_at(o, 131));
    outcome_free(o);
}

/* Two go on under one address: nobody knows who told what. */
Test(tracking_identities, nothing_is_said_of_a_shared_address)
{
    struct story *s = story_new();

    story_background(s, 0, 30);
    story_claim(s, 0.5, 131, NAME_WEIGHER);
    story_beat(s, story_id(6, 65271, 255, 131), 0.1, 1, 30, "FFFFFFFF18010000");
    story_text(s, 2, 131, COMPONENT, "M*Weigher*S1*3*");
    story_claim(s, 10, 131, NAME_NEWCOMER);
    story_beat(s, story_id(6, 65096, 255, 131), 0.1, 10.3, 30, "0000000000000000");
    story_text(s, 12, 131, COMPONENT, "M*Other*S1*3*");
    struct outcome *o = story_tell(s);
    cr_assert(outcome_has(o, "address-shared", 131), "%s", outcome_codes(o));
    cr_expect_null(identity_at(o, 131));
    outcome_free(o);
}

/* 24 characters at most, cut at a whole one, and without quotes of its own. */
Test(tracking_identities, a_label_stays_short)
{
    static const struct {
        const char *message, *label;
    } rows[] = {
        {"M*Granule spreader 24m xyz*", "rate control \"Granule spreader 24m xyz\" (128)"},
        {"M*Granule spreader 24m xyza*", "rate control \"Granule spreader 24m xy\xE2\x80\xA6\" (128)"},
        {"M*\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC"
         "\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC"
         "\xC3\xBC\xC3\xBC\xC3\xBC*",
         "rate control \"\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC"
         "\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC"
         "\xC3\xBC\xC3\xBC\xC3\xBC\xE2\x80\xA6\" (128)"},
        {"M*the \"big\" one*", "rate control \"the 'big' one\" (128)"},
        {"M*\033[31mred*", "rate control \"\xEF\xBF\xBD[31mred\" (128)"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = spreader_story();
        story_text(s, 2, 128, COMPONENT, rows[i].message);
        struct outcome *o = story_tell(s);
        expect_label(o, 128, rows[i].label);
        outcome_free(o);
    }
}

/* Findings call an ECU by the same label. */
Test(tracking_identities, findings_use_the_label)
{
    struct story *s = spreader_story();

    story_wheel(s, 240, drive_field, 1.0, 0, 90);
    story_ground(s, 240, drive_field, 1.0, 0, 90);
    story_gnss(s, 28, drive_field, 1.0, 0, 90);
    story_axle(s, 128, drive_stand, 1.0, 0, 90);
    story_text(s, 2, 128, COMPONENT, "M*Spreader*S1*3*");
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "speed-stuck-zero", 128);
    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_expect(strstr(f->title, "rate control \"Spreader\" (128)"), "%s", f->title);
    outcome_free(o);
}

/* Its device description names it, before what else it told. ISO 11783-10. */
Test(tracking_identities, a_description_names_it)
{
    struct bytes message = {0};
    struct story *s = spreader_story();

    story_text(s, 2, 128, COMPONENT, "M*Spreader*S1*3*");
    story_beat(s, story_id(3, 51968, 255, 247), 2.0, 0.6, 20, "FEFFFFFF0000FFFF");
    bytes_integer(&message, 0x61, 1); /* transfers its description */
    pool_spreader(&message, NULL);
    story_long(s, 3, &(struct long_message){.from = 128,
                                            .to = 247,
                                            .pgn = 51968,
                                            .data = message.data,
                                            .length = message.length});
    bytes_free(&message);
    struct outcome *o = story_tell(s);
    cr_assert_eq(o->history->device_count, 1);
    cr_assert_not_null(o->history->devices[0].description);
    cr_expect_str_eq(identity_at(o, 128)->designator,
                     o->history->devices[0].description->designator);
    cr_expect_str_eq(dbr_identity_name(identity_at(o, 128)), identity_at(o, 128)->designator);
    cr_expect_str_eq(text_at(o, 128, DBR_TOLD_COMPONENT, DBR_COMPONENT_MODEL), "Spreader");
    outcome_free(o);
}

static struct ecu *made_ecu(uint8_t address, uint64_t name)
{
    struct ecu *ecu = calloc(1, sizeof *ecu);

    ecu->seen = (struct dbr_ecu){.address = address, .name_count = 1, .names = {name}};
    return ecu;
}

/* The name in a device description goes before what else it told. */
Test(tracking_identities, a_designator_names_it)
{
    static struct identities ids;
    static struct ecus ecus;
    static struct dbr_history history;
    char label[DBR_LABEL_MAX];

    ecus.items[ecus.count++] = made_ecu(128, NAME_SPREADER);
    identities_designate(&ids, ecus.items[0], "Old");
    identities_designate(&ids, ecus.items[0], "D\xC3\xBCnger\033");
    identities_designate(&ids, ecus.items[0], "");
    identities_finish(&ids, &ecus, &history);
    dbr_ecu_label(label, sizeof label, &ecus.items[0]->seen);
    cr_expect_str_eq(label, "rate control \"D\xC3\xBCnger\xEF\xBF\xBD\" (128)");
    identities_release(&ids);
    free(ecus.items[0]);
}

/* One more than there is room for: counted, and the others keep theirs. */
Test(tracking_identities, the_ceiling_is_counted)
{
    static struct identities ids;
    const unsigned most = DBR_IDENTITIES_MAX;

    for (unsigned i = 0; i <= most; i++) {
        struct ecu *ecu = made_ecu(128, NAME_SPREADER + i);
        identities_designate(&ids, ecu, "A");
        free(ecu);
    }
    cr_expect_eq(ids.count, most);
    cr_expect_eq(ids.beyond, 1);
    identities_release(&ids);
}
