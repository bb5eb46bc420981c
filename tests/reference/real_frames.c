/*
 * Real recordings by others, frame by frame: what reading alone must give. What
 * the diagnosis makes of them is in recordings.c.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/readout.h"
#include "support/real.h"

#define SENSORS "aldas__go-nmea-client/"

static const char *const all[] = {
    "AbbadKamel__Lightweight_Maritime_CAN_IDS/boat_first_40000_frames.log.gz",
    "SystemsCyber__CyberTruckResources/candump.log",
    "SystemsCyber__CyberTruckResources/candump_on_a_truck.log",
    "SystemsCyber__CyberTruckResources/candump-2021-10-14_234124.log.gz",
    "SystemsCyber__CyberTruckResources/candump-RTSResourceExhaustion.log.gz",
    "SystemsCyber__J1939_Attack_Datasets/normal.log.gz",
    "SystemsCyber__J1939_Attack_Datasets/memory_leak_attack.log",
    "SystemsCyber__J1939_Attack_Datasets/Connection_Exhaustion_attack.txt.gz",
    "TractorHacking__CAN-data/highRPM1.log.gz",
    "TractorHacking__CAN-data/transmision123inGear20Seconds.log.gz",
    "TractorHacking__CAN-data/noStartInGear3.log",
    "TractorHacking__CAN-data/ignitionOffTurnLights.log",
    "TractorHacking__CAN-data/LeftSensorUnplugged-CheckEngine-2of3.log",
    "TractorHacking__CAN-data/RunningControl.log",
    SENSORS "candump-2021-05-12_091355.log",
    SENSORS "candump_2021-05-25-1635_5s.log",
    SENSORS "fast_packet_pgn129029.txt",
    "linux-can__mailing-list/2021-05-04_unplugged_acking_node.txt",
    "secdev__scapy/canfd.pcap",
    "secdev__scapy/canopen_linktype227.pcap",
};

static struct readout *read_real(const char *name)
{
    struct bytes content = real_content(name);
    struct readout *r = readout_bytes(&content);

    bytes_free(&content);
    cr_assert_eq(r->result, 0, "%s: %s", name, r->error.text);
    return r;
}

/* None of them is damaged; readout reads each in batches of every size and compares. */
Test(reference_real_frames, any_size_of_batch_gives_the_same_and_nothing_is_rejected)
{
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        struct readout *r = read_real(all[i]);
        cr_expect_eq(r->file->rejected, 0, "%s", all[i]);
        cr_expect_not(r->file->truncated, "%s: %s", all[i], r->file->truncated_why);
        cr_expect_eq(r->info->steps_back.count, 0, "%s", all[i]);
        readout_free(r);
    }
}

/* Its sensors rest: in all five forms, and within each, one identifier means one content. */
Test(reference_real_frames, five_forms_of_one_bus_agree_on_every_frame)
{
    static const char *const names[] = {
        SENSORS "candump_L.log",   SENSORS "candump_t-a.log",   SENSORS "candump_t-z.log",
        SENSORS "candump_t-d.log", SENSORS "candump_default.log"};
    struct readout *first = read_real(names[0]);

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct readout *r = read_real(names[i]);
        cr_assert_str_eq(r->info->interfaces[0], "can0");
        cr_assert_eq(r->info->interface_count, 1);
        for (size_t k = 0; k < r->count; k++) {
            const struct dbr_frame *f = &r->frames[k];
            size_t found = 0;
            cr_assert_eq(f->flags, DBR_FRAME_EXTENDED);
            for (size_t n = 0; n < first->count; n++)
                if (first->frames[n].id == f->id) {
                    cr_assert_eq(f->length, first->frames[n].length);
                    cr_assert_arr_eq(f->data, first->frames[n].data, 8, "%s: %X", names[i], f->id);
                    found++;
                }
            cr_assert_gt(found, 0, "%s: %X", names[i], f->id);
        }
        readout_free(r);
    }
    readout_free(first);
}

/* The sums of the stamps as they stand in the file. */
Test(reference_real_frames, stamps_that_are_differences_are_summed)
{
    static const int64_t at_us[] = {0, 9871, 259997, 279873, 1009999, 1019874};
    struct readout *r = read_real(SENSORS "candump_t-d.log");

    cr_assert_eq(r->count, sizeof at_us / sizeof at_us[0]);
    for (size_t i = 0; i < r->count; i++)
        cr_assert_eq(r->frames[i].at_ns, at_us[i] * 1000);
    readout_free(r);
}

/* First data bytes 60 to 66: sequence number 3 in the upper three bits, then frames 0 to 6. */
Test(reference_real_frames, one_fast_packet_in_seven_frames)
{
    struct readout *r = read_real(SENSORS "fast_packet_pgn129029.txt");

    cr_assert_eq(r->count, 7);
    for (size_t i = 0; i < r->count; i++) {
        cr_assert_eq(r->frames[i].id, r->frames[0].id);
        cr_assert_eq(r->frames[i].data[0], 0x60 + i);
    }
    cr_assert_eq(r->frames[0].data[1], 43, "bytes of the whole packet");
    readout_free(r);
}

Test(reference_real_frames, data_and_error_frames_of_the_mail)
{
    struct readout *r = read_real("linux-can__mailing-list/2021-05-04_unplugged_acking_node.txt");
    unsigned data = 0, last_data = 0, form = 0, unspecified = 0;

    cr_assert_eq(r->count, 17);
    cr_assert_eq(r->file->records, 17, "the kernel's explanations are no records");
    /* date -u -d '2021-05-04 09:05:00' +%s gives 1620119100. */
    cr_assert_eq(r->info->start_ns, INT64_C(1620119100594321000));
    for (size_t i = 0; i < r->count; i++) {
        const struct dbr_frame *f = &r->frames[i];
        cr_assert_eq(f->length, 8);
        if (f->flags == DBR_FRAME_ERROR) {
            cr_assert_eq(f->id, 0x88, "protocol violation, bus error");
            form += f->data[2] == 0x02;
            unspecified += f->data[2] == 0;
            continue;
        }
        cr_assert_eq(f->flags, 0);
        cr_assert_eq(f->id, 0x222);
        data++;
        last_data += f->data[0] == 0x4D;
    }
    cr_assert_eq(data, 10);
    cr_assert_eq(last_data, 7);
    cr_assert_eq(form, 6);
    cr_assert_eq(unspecified, 1);
    readout_free(r);
}

Test(reference_real_frames, fd_frames_in_a_cooked_capture_and_their_sent_copies)
{
    struct readout *r = read_real("secdev__scapy/canfd.pcap");
    size_t sent = 0;

    cr_assert_eq(r->count, 4);
    cr_assert_eq(r->info->copies, 2);
    for (size_t i = 0; i < r->count; i++) {
        cr_assert_eq(r->frames[i].id, 0x123);
        cr_assert_eq(r->frames[i].length, 12);
        cr_assert(r->frames[i].flags & DBR_FRAME_FD);
        cr_assert_not(r->frames[i].flags & DBR_FRAME_EXTENDED);
        sent += (r->frames[i].flags & DBR_FRAME_SENT) != 0;
    }
    cr_assert_eq(sent, 2);
    readout_free(r);
}

Test(reference_real_frames, link_type_227)
{
    static const uint32_t ids[] = {0x000, 0x5C2, 0x642, 0x721, 0x733, 0x742, 0x763, 0x7E4, 0x7E5};
    struct readout *r = read_real("secdev__scapy/canopen_linktype227.pcap");
    size_t seen[sizeof ids / sizeof ids[0]] = {0}, total = 0;

    cr_assert_eq(r->count, 34);
    cr_assert_float_eq((double)r->info->last_ns / 1e9, 341.818, 0.0005);
    for (size_t i = 0; i < r->count; i++) {
        const struct dbr_frame *f = &r->frames[i];
        cr_assert_eq(f->flags, 0, "11 bits, classical data");
        cr_assert(f->length == 1 || f->length == 2 || f->length == 8, "%u bytes", f->length);
        for (size_t k = 0; k < sizeof ids / sizeof ids[0]; k++)
            seen[k] += f->id == ids[k];
    }
    for (size_t k = 0; k < sizeof ids / sizeof ids[0]; k++) {
        cr_assert_gt(seen[k], 0, "%X", ids[k]);
        total += seen[k];
    }
    cr_assert_eq(total, 34, "no other identifier");
    readout_free(r);
}
