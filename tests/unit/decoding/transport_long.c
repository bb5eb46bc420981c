/*
 * Extended connections (ISO 11783-3 5.12) and fast packets (NMEA 2000), as sequences. The
 * script is explained in support/transfer_talk.h.
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/transfer_talk.h"

Test(decoding_transport, extended_connections)
{
    static const struct talk_sequence rows[] = {
        {"whole, in two bunches", "0 XRTS 1>2 20\n1 XCTS 2>1 2 1\n2 XDPO 1>2 2 0\n3 XDT 1>2 1 0\n"
         "4 XDT 1>2 2 0\n5 XCTS 2>1 1 3\n6 XDPO 1>2 1 2\n7 XDT 1>2 1 2\n8 XACK 2>1 20",
         "complete 1>2 20B 3/3 ack"},
        {"beside one of the transport protocol", "0 XRTS 1>2 9\n0 RTS 1>2 9\n1 XCTS 2>1 2 1\n"
         "1 CTS 2>1 2 1\n2 XDPO 1>2 2 0\n3 XDT 1>2 1 0\n3 DT 1>2 1\n4 XDT 1>2 2 0\n4 DT 1>2 2\n"
         "5 XACK 2>1 9\n5 ACK 2>1 9", "complete 1>2 9B 2/2 ack; complete 1>2 9B 2/2 ack"},
        {"asks again for one", "0 XRTS 1>2 20\n1 XCTS 2>1 3 1\n2 XDPO 1>2 3 0\n3 XDT 1>2 1 0\n"
         "5 XDT 1>2 3 0\n6 XCTS 2>1 1 2\n7 XDPO 1>2 1 1\n8 XDT 1>2 1 1\n9 XACK 2>1 20",
         "complete 1>2 20B 3/3 ack"},
        {"no offset: nothing counts", "0 XRTS 1>2 9\n1 XCTS 2>1 2 1\n3 XDT 1>2 1 0\n"
         "4 XDT 1>2 2 0\n5 XACK 2>1 9", "unrecorded 1>2 9B 0/2 ack ungranted 2 lacks 1"},
        {"an offset that was not granted", "0 XRTS 1>2 20\n1 XCTS 2>1 2 1\n2 XDPO 1>2 2 1\n"
         "3 XDT 1>2 1 1\n4 XABORT 2>1 12",
         "aborted 1>2 20B 0/3 ungranted 1 lacks 1 reason 12 by receiver | stray data 0, control 1"},
        {"an offset for more than was granted opens no more than that",
         "0 XRTS 1>2 20\n1 XCTS 2>1 1 1\n2 XDPO 1>2 3 0\n3 XDT 1>2 1 0\n4 XDT 1>2 2 0\n"
         "5 XABORT 2>1 11", "aborted 1>2 20B 1/3 ungranted 1 lacks 2 reason 11 by receiver"},
        {"one grant serves one offset", "0 XRTS 1>2 20\n1 XCTS 2>1 2 1\n2 XDPO 1>2 2 0\n"
         "3 XDPO 1>2 2 0\n4 XDT 1>2 1 0",
         "unfinished 1>2 20B 1/3 lacks 2 | stray data 0, control 1"},
        {"a hold", "0 XRTS 1>2 9\n1 XCTS 2>1 0 1\n1000 XCTS 2>1 2 1\n1001 XDPO 1>2 2 0\n"
         "1002 XDT 1>2 1 0\n1003 XDT 1>2 2 0\n1004 XACK 2>1 9", "complete 1>2 9B 2/2 ack"},
        {"granted beyond the last", "0 XRTS 1>2 9\n1 XCTS 2>1 2 3\n2 XABORT 1>2 15",
         "aborted 1>2 9B 0/2 lacks 1 reason 15 by originator breach 2"},
        {"larger than the protocol allows", "0 XRTS 1>2 117440506\n1 XCTS 2>1 1 1\n"
         "2 XABORT 2>1 2", "aborted 1>2 117440506B 0/0 reason 2 by receiver breach 1"},
        {"to all there is none", "0 XRTS 1>255 2000", " | stray data 0, control 1"},
        {"an offset nobody knows of", "0 XDPO 1>2 3 0\n1 XDT 1>2 1 0",
         " | stray data 1, control 1"},
    };
    TALK_EXPECT(rows);
}

Test(decoding_transport, fast_packets)
{
    static const struct talk_sequence rows[] = {
        {"whole", "0 FP 3>255 20 0 1\n1 FP 3>255 20 1 1\n2 FP 3>255 20 2 1",
         "complete 3>255 20B 3/3"},
        {"one frame is enough for six bytes", "0 FP 3>255 6 0 1", "complete 3>255 6B 1/1"},
        {"two sequence counters at once", "0 FP 3>255 13 0 1\n1 FP 3>255 9 0 2\n2 FP 3>255 0 1 2\n"
         "3 FP 3>255 0 1 1", "complete 3>255 9B 2/2; complete 3>255 13B 2/2"},
        {"two senders", "0 FP 3>255 13 0 1\n1 FP 4>255 9 0 1\n2 FP 4>255 0 1 1\n3 FP 3>255 0 1 1",
         "complete 4>255 9B 2/2; complete 3>255 13B 2/2"},
        {"out of order", "0 FP 3>255 20 0 1\n1 FP 3>255 0 2 1\n2 FP 3>255 0 1 1",
         "complete 3>255 20B 3/3"},
        {"the same counter begins again", "0 FP 3>255 20 0 1\n1 FP 3>255 0 1 1\n2 FP 3>255 13 0 1\n"
         "3 FP 3>255 0 1 1", "replaced 3>255 20B 2/3 lacks 3; complete 3>255 13B 2/2"},
        {"begun again with another content", "0 OFP 3>255 13 0 1\n2 FP 3>255 13 0 1\n"
         "3 FP 3>255 0 1 1", "replaced 3>255 13B 1/2 lacks 2; complete 3>255 13B 2/2"},
        {"recorded twice", "0 FP 3>255 13 0 1\n0 FP 3>255 13 0 1\n1 FP 3>255 0 1 1\n"
         "1 FP 3>255 0 1 1", "complete 3>255 13B 2/2 repeated 1 | stray data 1, control 0"},
        {"a frame is missing", "0 FP 3>255 20 0 1\n2 FP 3>255 0 2 1\n700 BUS 9>255\n760 BUS 9>255",
         "timed-out 3>255 20B 2/3 lacks 2 T1 at 752"},
        {"the first is missing", "1 FP 3>255 0 1 1\n2 FP 3>255 0 2 1",
         " | stray data 2, control 0"},
        {"a frame beyond the last", "0 FP 3>255 13 0 1\n1 FP 3>255 0 2 1\n2 FP 3>255 0 1 1",
         "complete 3>255 13B 2/2 | stray data 1, control 0"},
        {"nothing in it", "0 FP 3>255 0 0 1", "broken 3>255 0B 0/1 lacks 1 breach 1"},
        {"larger than 32 frames hold", "0 FP 3>255 224 0 1",
         "broken 3>255 224B 0/33 lacks 1 breach 1"},
        {"a frame with other content", "0 FP 3>255 20 0 1\n1 FP 3>255 0 1 1\n2 OFP 3>255 0 1 1",
         "broken 3>255 20B 2/3 repeated 1 lacks 3 breach 3"},
    };
    TALK_EXPECT(rows);
}

/* Scripts that are too long to write down. */
static char *script;
static size_t script_size;
static FILE *script_file;

static void begin(void)
{
    script_file = open_memstream(&script, &script_size);
}

static void expect_script(const char *outcome)
{
    fclose(script_file);
    cr_expect_str_eq(talk_outcome(script), outcome, "%s", talk_outcome(script));
    free(script);
}

Test(decoding_transport, the_largest_of_each_carrier)
{
    begin();
    fprintf(script_file, "0 BAM 1>255 1785");
    for (int i = 1; i <= 255; i++)
        fprintf(script_file, "\n%d DT 1>255 %d", i * 50, i);
    expect_script("complete 1>255 1785B 255/255");
    begin();
    fprintf(script_file, "0 FP 3>255 223 0 7");
    for (int i = 1; i < 32; i++)
        fprintf(script_file, "\n%d FP 3>255 0 %d 7", i, i);
    expect_script("complete 3>255 223B 32/32");
}

/* A connection in bunches of 255 packets, of which some are not recorded. */
static void long_transfer(uint32_t bytes, uint32_t leave_out_from, uint32_t leave_out_to)
{
    uint32_t packets = (bytes + 6) / 7;
    double ms = 0;

    fprintf(script_file, "0 XRTS 1>2 %u", bytes);
    for (uint32_t done = 0; done < packets; done += 255) {
        uint32_t count = packets - done < 255 ? packets - done : 255;
        fprintf(script_file, "\n%f XCTS 2>1 %u %u\n%f XDPO 1>2 %u %u", ms, count, done + 1, ms,
                count, done);
        for (uint32_t i = 1; i <= count; i++, ms += 0.5)
            if (done + i < leave_out_from || done + i > leave_out_to)
                fprintf(script_file, "\n%f XDT 1>2 %u %u", ms, i, done);
    }
    fprintf(script_file, "\n%f XACK 2>1 %u", ms, bytes);
}

Test(decoding_transport, an_object_pool)
{
    begin();
    long_transfer(70000, 0, 0);
    expect_script("complete 1>2 70000B 10000/10000 ack");
    begin();
    long_transfer(70000, 300, 300);
    expect_script("unrecorded 1>2 70000B 9999/10000 ack lacks 300");
    /* a hole that is wider than what is followed packet by packet */
    begin();
    long_transfer(70000, 300, 1400);
    expect_script("unrecorded 1>2 70000B 8899/10000 ack lacks 300");
}

static uint32_t ended_count, without_data;

static void count_ended(void *context, const struct dbr_transfer *t)
{
    (void)context;
    ended_count++;
    without_data += t->end == DBR_TRANSFER_COMPLETE && !t->data;
}

static void send(struct dbr_transport *t, uint32_t pgn, uint8_t source, uint8_t destination,
                 const char *hex)
{
    uint8_t data[8];

    for (int i = 0; i < 8; i++) {
        unsigned byte;
        sscanf(hex + 2 * i, "%2x", &byte);
        data[i] = (uint8_t)byte;
    }
    struct dbr_frame frame = talk_frame(1, pgn, source, destination, data);
    dbr_transport_frame(t, &frame, false);
}

Test(decoding_transport, sessions_beyond_the_ceiling_are_counted)
{
    struct dbr_transport *t = dbr_transport_new(count_ended, NULL, NULL);

    ended_count = 0;
    for (unsigned i = 0; i < 1200; i++)
        send(t, 60416, (uint8_t)(i % 250), (uint8_t)(i / 250), "10090002FFE3FE00");
    cr_assert_eq(dbr_transport_counts(t)->refused, 1200 - 1024);
    /* room again once one has ended */
    send(t, 60416, 0, 0, "FF03FFFFFFE3FE00");
    cr_assert_eq(ended_count, 1);
    send(t, 60416, 250, 0, "10090002FFE3FE00");
    cr_assert_eq(dbr_transport_counts(t)->refused, 1200 - 1024);
    dbr_transport_finish(t, 2);
    cr_assert_eq(ended_count, 1025);
    dbr_transport_free(t);
}

/* 20 MiB: beyond the ceiling of memory. It is followed to its end, and has no payload. */
Test(decoding_transport, a_message_beyond_the_ceiling_of_memory)
{
    struct dbr_transport *t = dbr_transport_new(count_ended, NULL, NULL);
    const uint32_t packets = 20u * 1024 * 1024 / 7, size = packets * 7;
    char hex[17];

    without_data = 0;
    snprintf(hex, sizeof hex, "14%02X%02X%02X0100E7FE", size & 0xFF, size >> 8 & 0xFF,
             size >> 16 & 0xFF);
    snprintf(hex, sizeof hex, "14%02X%02X%02X%02X00E700", size & 0xFF, size >> 8 & 0xFF,
             size >> 16 & 0xFF, size >> 24);
    send(t, 51200, 1, 2, hex);
    for (uint32_t done = 0; done < packets; done += 255) {
        uint32_t count = packets - done < 255 ? packets - done : 255;
        uint32_t next = done + 1;
        snprintf(hex, sizeof hex, "15%02X%02X%02X%02X00E700", count, next & 0xFF,
                 next >> 8 & 0xFF, next >> 16);
        send(t, 51200, 2, 1, hex);
        snprintf(hex, sizeof hex, "16%02X%02X%02X%02X00E700", count, done & 0xFF,
                 done >> 8 & 0xFF, done >> 16);
        send(t, 51200, 1, 2, hex);
        for (uint32_t i = 1; i <= count; i++) {
            const uint8_t data[8] = {(uint8_t)i};
            struct dbr_frame frame = talk_frame(1, 50944, 1, 2, data);
            dbr_transport_frame(t, &frame, false);
        }
    }
    snprintf(hex, sizeof hex, "17%02X%02X%02X%02X00E700", size & 0xFF, size >> 8 & 0xFF,
             size >> 16 & 0xFF, size >> 24);
    send(t, 51200, 2, 1, hex);
    cr_assert_eq(without_data, 1);
    cr_assert_eq(dbr_transport_counts(t)->without_data, 1);
    dbr_transport_free(t);
}

Test(decoding_transport, frames_of_other_kinds_are_none_of_its_business)
{
    struct dbr_transport *t = dbr_transport_new(count_ended, NULL, NULL);
    static const uint8_t others[] = {0, DBR_FRAME_EXTENDED | DBR_FRAME_REMOTE,
                                     DBR_FRAME_EXTENDED | DBR_FRAME_ERROR,
                                     DBR_FRAME_EXTENDED | DBR_FRAME_FD,
                                     DBR_FRAME_EXTENDED | DBR_FRAME_COPY};
    const uint8_t data[8] = {17, 2, 1, 0xFF, 0xFF, 0xE3, 0xFE, 0};
    struct dbr_frame frame = talk_frame(0, 60416, 1, 2, data);

    for (size_t i = 0; i < sizeof others; i++) {
        frame.flags = others[i];
        dbr_transport_frame(t, &frame, false);
    }
    cr_assert_eq(dbr_transport_counts(t)->stray_control, 0);
    frame.flags = DBR_FRAME_EXTENDED;
    frame.length = 7;
    dbr_transport_frame(t, &frame, false);
    cr_assert_eq(dbr_transport_counts(t)->stray_control, 1);
    dbr_transport_free(t);
}

Test(decoding_transport, reasons_in_words)
{
    cr_assert_str_eq(dbr_abort_reason_words(3, false), "a timeout ran out");
    cr_assert_str_eq(dbr_abort_reason_words(3, true), "a timeout ran out");
    cr_assert_str_neq(dbr_abort_reason_words(9, false), dbr_abort_reason_words(9, true));
    cr_assert_null(dbr_abort_reason_words(10, false));
    for (unsigned reason = 16; reason < 256; reason++)
        cr_assert_eq(dbr_abort_reason_words((uint8_t)reason, true) != NULL, reason == 250);
    cr_assert_null(dbr_abort_reason_words(0, true));
}
