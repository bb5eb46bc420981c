/*
 * Trouble codes against what others published: worked vectors and real recordings.
 *
 * Vectors: published worked vectors of SAE J1939-73 5.7.1 (DM1). Recordings: what their origin
 * pages state; each name below is that of the collection that a recording was published in.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "support/real.h"
#include "support/whole.h"

Test(reference_trouble_codes, published_worked_vectors)
{
    static const struct {
        uint8_t data[6];
        uint32_t spn;
        uint8_t fmi, count;
        enum dbr_lamp_state amber, red, malfunction;
    } rows[] = {
        {{0x57, 0xFF, 0x9F, 0x00, 0x03, 0x01}, 159, 3, 1, DBR_LAMP_ON, DBR_LAMP_ON, DBR_LAMP_ON},
        {{0x57, 0xFF, 0xFB, 0x06, 0x0B, 0x32}, 1787, 11, 50, DBR_LAMP_ON, DBR_LAMP_ON, DBR_LAMP_ON},
        {{0x40, 0xFF, 0x7F, 0x02, 0x02, 0x00}, 639, 2, 0, DBR_LAMP_OFF, DBR_LAMP_OFF, DBR_LAMP_ON},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_trouble_list list;
        struct dbr_trouble_code code;
        cr_assert(dbr_trouble_list_open(&list, rows[i].data, sizeof rows[i].data));
        cr_assert(dbr_trouble_list_next(&list, &code));
        cr_expect_eq(code.spn, rows[i].spn, "%u", code.spn);
        cr_expect_eq(code.fmi, rows[i].fmi);
        cr_expect_eq(code.count, rows[i].count);
        cr_expect_not(code.older_layout);
        cr_expect_eq(list.lamps.state[DBR_LAMP_AMBER], rows[i].amber);
        cr_expect_eq(list.lamps.state[DBR_LAMP_RED], rows[i].red);
        cr_expect_eq(list.lamps.state[DBR_LAMP_MALFUNCTION], rows[i].malfunction);
        cr_expect_not(dbr_trouble_list_next(&list, &code));
    }
}

/* SAE J1939-73 appendix A and 5.7.13: the groups, and an ECU's address as a number. */
Test(reference_trouble_codes, numbers_of_the_standard)
{
    cr_expect_eq(DBR_PGN_DM1, 0xFECA);
    cr_expect_eq(DBR_PGN_DM2, 0xFECB);
    cr_expect_eq(DBR_PGN_DM3, 0xFECC);
    cr_expect_eq(DBR_PGN_DM11, 0xFED3);
    cr_expect_eq(DBR_PGN_DM13, 0xDF00);
    cr_expect_eq(DBR_PGN_DM22, 0xC300);
    cr_expect_eq(2240 - DBR_SPN_ADDRESS_FIRST, 240, "the tractor ECU");
    cr_expect_eq(2247 - DBR_SPN_ADDRESS_FIRST, 247, "the task controller");
    cr_expect_eq(2038 - DBR_SPN_ADDRESS_FIRST, 38, "the virtual terminal");
}

static const struct dbr_trouble *trouble_of(const struct whole *w, uint8_t address, uint32_t spn,
                                            uint8_t fmi)
{
    for (size_t i = 0; i < w->history->troubles.count; i++) {
        const struct dbr_trouble *t = &w->history->troubles.items[i];
        if (t->address == address && t->code.spn == spn && t->code.fmi == fmi && !t->previously)
            return t;
    }
    return NULL;
}

static const struct dbr_finding *finding_of(const struct whole *w, const struct dbr_trouble *t)
{
    for (size_t i = 0; i < w->diagnosis->finding_count; i++)
        if (t && w->diagnosis->findings[i].trouble == t)
            return &w->diagnosis->findings[i];
    return NULL;
}

static bool told_no_fault(const struct whole *w, uint8_t address)
{
    for (size_t i = 0; i < w->history->troubles.sender_count; i++)
        if (w->history->troubles.senders[i].address == address)
            return w->history->troubles.senders[i].told_none &&
                   !w->history->troubles.senders[i].told_codes;
    return false;
}

Test(reference_trouble_codes, a_sensor_that_was_unplugged)
{
    struct whole *w = whole_read_data("TractorHacking__CAN-data/LeftSensorUnplugged-CheckEngine-2of3.log");
    const struct dbr_trouble *t = trouble_of(w, 0, 100, 4);
    const struct dbr_finding *f = finding_of(w, t);

    cr_assert_not_null(t);
    cr_assert_eq(w->history->troubles.count, 1);
    cr_expect_eq(t->reports, 5, "frames of 6 bytes are read");
    cr_expect_eq(t->lamps.state[DBR_LAMP_AMBER], DBR_LAMP_ON);
    cr_expect_eq(t->lamps.state[DBR_LAMP_RED], DBR_LAMP_OFF);
    /* "once a second": five lists from 0.742 s to 4.742 s */
    cr_expect_float_eq((double)(t->last_ns - t->first_ns) / 1e9, 4.0, 0.01);
    cr_expect(t->from_start);
    cr_expect_eq(t->end, DBR_TROUBLE_STAYS);
    cr_assert_not_null(f);
    cr_expect_eq(f->severity, DBR_WARNING);
    cr_expect(f->open);
    whole_free(w);
}

Test(reference_trouble_codes, the_same_tractor_without_the_fault_claims_nothing)
{
    struct whole *w = whole_read_data("TractorHacking__CAN-data/RunningControl.log");

    cr_expect_eq(w->history->troubles.count, 0);
    cr_expect_eq(w->history->troubles.sender_count, 0, "no DM1 at all: nobody told of no fault");
    whole_free(w);
}

Test(reference_trouble_codes, a_makers_own_number_while_it_would_not_start)
{
    struct whole *w = whole_read_data("TractorHacking__CAN-data/noStartInGear3.log");
    const struct dbr_trouble *t = trouble_of(w, 3, 524020, 31);

    cr_assert_not_null(t);
    cr_assert_eq(w->history->troubles.count, 1);
    cr_expect_eq(t->reports, 4);
    cr_expect_float_eq((double)t->first_ns / 1e9, 0.726, 0.0005);
    cr_expect_float_eq((double)t->last_ns / 1e9, 3.607, 0.0005);
    cr_expect_null(t->spn_words);
    cr_expect_not_null(finding_of(w, t));
    cr_expect(told_no_fault(w, 6));
    cr_expect(told_no_fault(w, 71));
    cr_expect(told_no_fault(w, 23));
    whole_free(w);
}

Test(reference_trouble_codes, a_truck_with_a_low_battery_code)
{
    struct whole *w = whole_read_data("SystemsCyber__CyberTruckResources/candump_on_a_truck.log");

    cr_expect_not_null(finding_of(w, trouble_of(w, 49, 168, 17)));
    cr_expect_eq(w->history->troubles.count, 1);
    cr_expect(told_no_fault(w, 11));
    whole_free(w);
}

Test(reference_trouble_codes, a_lamp_byte_of_3_and_no_fault)
{
    struct whole *w = whole_read_data("SystemsCyber__CyberTruckResources/candump.log");

    cr_expect_eq(w->history->troubles.count, 0);
    cr_assert_eq(w->history->troubles.sender_count, 1);
    cr_expect(told_no_fault(w, 61));
    cr_expect_eq(w->history->troubles.senders[0].lamps.state[DBR_LAMP_PROTECT],
                 DBR_LAMP_NOT_AVAILABLE);
    cr_expect_eq(w->history->troubles.senders[0].lamps.state[DBR_LAMP_AMBER], DBR_LAMP_OFF);
    whole_free(w);
}

Test(reference_trouble_codes, one_code_that_stays_for_two_minutes_is_one_finding)
{
    struct whole *w = whole_read_data("SystemsCyber__CyberTruckResources/candump-RTSResourceExhaustion.log.gz");
    const struct dbr_trouble *t = trouble_of(w, 0, 102, 3);
    size_t findings = 0;

    cr_assert_not_null(t);
    cr_assert_eq(w->history->troubles.count, 1);
    cr_expect_eq(t->lamps.state[DBR_LAMP_MALFUNCTION], DBR_LAMP_ON, "lamp byte 40");
    cr_expect_eq(t->lamps.state[DBR_LAMP_AMBER], DBR_LAMP_OFF);
    cr_expect_gt(t->reports, 120);
    for (size_t i = 0; i < w->diagnosis->finding_count; i++)
        findings += strcmp(w->diagnosis->findings[i].code, "fault-code-active") == 0;
    cr_expect_eq(findings, 1);
    whole_free(w);
}

Test(reference_trouble_codes, lists_of_20_codes_in_several_frames)
{
    struct whole *w = whole_read_data("SystemsCyber__CyberTruckResources/candump-2021-10-14_234124.log.gz");
    const struct dbr_troubles *all = &w->history->troubles;

    cr_assert_eq(all->count, 20, "82 bytes: (82 - 2) / 4");
    for (size_t i = 0; i < all->count; i++) {
        cr_expect_eq(all->items[i].reports, 25, "25 complete lists");
        cr_expect_eq(all->items[i].address, 0);
        cr_expect_eq(all->items[i].end, DBR_TROUBLE_STAYS);
        cr_expect_not(all->items[i].alone);
    }
    cr_expect_eq(all->sender_count, 1);
    whole_free(w);
}

/* 30 lists of 14 bytes by address 0, 2 of 10 bytes among single frames by 49; 3 without fault. */
Test(reference_trouble_codes, single_frames_and_several_of_one_sender_are_one_story)
{
    struct whole *w = whole_read_data("SystemsCyber__J1939_Attack_Datasets/normal.log.gz");
    const struct dbr_troubles *all = &w->history->troubles;
    size_t of[2] = {0, 0};

    for (size_t i = 0; i < all->count; i++) {
        const struct dbr_trouble *t = &all->items[i];
        of[t->address == 49]++;
        cr_expect_eq(t->reports, t->address == 49 ? 2 : 30);
        cr_expect_eq(t->from_start, t->address == 0);
        cr_expect_eq(t->end, t->address == 49 ? DBR_TROUBLE_GONE : DBR_TROUBLE_STAYS);
        cr_expect_eq(t->returns, t->address == 49 ? 1 : 0);
    }
    cr_expect_eq(of[0], 3);
    cr_expect_eq(of[1], 2);
    cr_expect(told_no_fault(w, 3));
    whole_free(w);
}

Test(reference_trouble_codes, any_size_of_batch_gives_the_same_codes)
{
    static const size_t sizes[] = {1, 7, 100};
    char path[1024];

    real_path(path, sizeof path, "SystemsCyber__J1939_Attack_Datasets/normal.log.gz");
    struct whole *all = whole_read((const char *[]){path}, 1);
    for (size_t k = 0; k < sizeof sizes / sizeof sizes[0]; k++) {
        struct whole *w = whole_read_in((const char *[]){path}, 1, sizes[k]);
        cr_assert_eq(w->history->troubles.count, all->history->troubles.count);
        for (size_t i = 0; i < w->history->troubles.count; i++) {
            const struct dbr_trouble *a = &all->history->troubles.items[i];
            const struct dbr_trouble *b = &w->history->troubles.items[i];
            cr_expect_eq(a->code.spn, b->code.spn);
            cr_expect_eq(a->reports, b->reports);
            cr_expect_eq(a->last_ns, b->last_ns);
            cr_expect_eq(a->gone_ns, b->gone_ns);
        }
        whole_free(w);
    }
    whole_free(all);
}
