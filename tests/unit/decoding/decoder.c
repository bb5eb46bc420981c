/* Frames into messages: NAMEs, definitions, transfers, and what is no message. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "drawbar/decoder.h"
#include "support/printed.h"
#include "support/story.h"

static const char definitions_text[] =
    "{\"schema\":\"drawbar-messages/1\",\"subject\":\"x\",\"source\":\"made up\",\"messages\":["
    "{\"pgn\":65301,\"name\":\"Bins\",\"when\":{\"manufacturer_code\":2047},\"signals\":[]},"
    "{\"pgn\":65302,\"name\":\"Twin\",\"when\":{\"manufacturer_code\":2047,\"identity\":2},"
    "\"signals\":[]},"
    "{\"pgn\":130900,\"name\":\"Fast\",\"length\":10,\"packing\":\"fast\",\"signals\":[]}]}";

/* NAMEs of manufacturer code 2047 with an identity. */
#define NAME_OF(identity) (UINT64_C(2047) << 21 | (identity))

/* What was told, one letter a call: M message, m without definition, f fragment, x failed, o other. */
struct told {
    char letters[64];
    struct dbr_seen last;
    uint8_t data[64];
};

static void note(void *context, const struct dbr_seen *seen)
{
    struct told *told = context;
    static const char letters[] = {'M', 'f', 'x', 'o'};
    size_t used = strlen(told->letters);

    cr_assert_lt(used, sizeof told->letters - 1);
    told->letters[used] = letters[seen->kind];
    if (seen->kind == DBR_SEEN_MESSAGE && !seen->message)
        told->letters[used] = 'm';
    told->last = *seen;
    if (seen->data && seen->length <= sizeof told->data)
        memcpy(told->data, seen->data, seen->length);
}

static struct told told;
static struct dbr_definitions *definitions;
static struct dbr_decoder *decoder;

static void set_up(void)
{
    struct dbr_error error = {0};

    told = (struct told){0};
    definitions = dbr_definitions_new(&error);
    cr_assert_eq(dbr_definitions_load_text(definitions, "t", definitions_text,
                                           strlen(definitions_text), &error),
                 0, "%s", error.text);
    decoder = dbr_decoder_new(definitions, note, &told, &error);
    cr_assert(decoder);
}

static void tear_down(void)
{
    dbr_decoder_free(decoder);
    dbr_definitions_free(definitions);
}

TestSuite(decoding_decoder, .init = set_up, .fini = tear_down);

static void send_on(uint8_t interface, double at, uint32_t id, const char *hex)
{
    struct dbr_frame frame = printed_frame(at, id, hex);

    frame.interface = interface;
    dbr_decoder_frame(decoder, &frame);
}

static void send(double at, uint32_t pgn, uint8_t to, uint8_t from, const char *hex)
{
    send_on(0, at, story_id(6, pgn, to, from), hex);
}

static void claim(uint8_t interface, double at, uint8_t address, uint64_t name)
{
    char hex[17];

    for (unsigned i = 0; i < 8; i++)
        snprintf(hex + 2 * i, 3, "%02X", (unsigned)(name >> 8 * i & 0xFF));
    send_on(interface, at, story_id(6, DBR_PGN_ADDRESS_CLAIMED, 255, address), hex);
}

Test(decoding_decoder, a_frame_is_a_message_with_its_definition_and_addresses)
{
    send_on(0, 1.0, story_id(3, DBR_PGN_PROCESS_DATA, 247, 128), "13008D0100000000");
    cr_expect_eq(told.last.id.source, 128);
    cr_expect_eq(told.last.id.destination, 247);
    cr_expect_eq(told.last.id.priority, 3);
    send(2.0, 65096, 255, 240, "E8030000000000FD");
    cr_assert(told.last.message);
    cr_expect_str_eq(told.last.message->name, "Wheel-based speed and distance");
    cr_expect_eq(told.last.at_ns, INT64_C(2000000000));
    cr_expect(told.last.id.broadcast);
    /* The same group at another priority is the same message; the priority is its own. */
    send_on(0, 3.0, story_id(7, 65096, 255, 240), "E8030000000000FD");
    cr_expect_eq(told.last.id.priority, 7);
}

Test(decoding_decoder, a_definition_that_waits_for_a_name_holds_from_its_claim_on)
{
    uint8_t interface, address;

    send(0.1, 65301, 255, 131, "00");
    cr_expect_str_eq(told.letters, "m");
    cr_assert_str_eq(dbr_decoder_waiting(decoder, 0, &interface, &address)->name, "Bins");
    cr_expect_eq(address, 131);
    claim(0, 0.2, 131, NAME_OF(1));
    send(0.3, 65301, 255, 131, "00");
    cr_expect_str_eq(told.letters, "mMM");
    cr_expect_null(dbr_decoder_waiting(decoder, 0, &interface, &address));
}

Test(decoding_decoder, the_last_name_that_claimed_an_address_counts)
{
    claim(0, 0.1, 131, NAME_OF(1));
    send(0.2, 65302, 255, 131, "00");
    claim(0, 0.3, 131, NAME_OF(2));
    send(0.4, 65302, 255, 131, "00");
    claim(0, 0.5, 131, NAME_OF(3));
    send(0.6, 65302, 255, 131, "00");
    cr_expect_str_eq(told.letters, "MmMMMm");
}

Test(decoding_decoder, a_name_holds_on_its_own_interface_and_never_for_254)
{
    claim(1, 0.1, 131, NAME_OF(1));
    send(0.2, 65301, 255, 131, "00");
    claim(0, 0.3, DBR_ADDRESS_NULL, NAME_OF(1));
    send(0.4, 65301, 255, DBR_ADDRESS_NULL, "00");
    send_on(1, 0.5, story_id(6, 65301, 255, 131), "00");
    cr_expect_str_eq(told.letters, "MmMmM");
}

Test(decoding_decoder, a_broadcast_of_several_frames_is_one_message_after_its_fragments)
{
    send(1.00, DBR_PGN_TRANSPORT_CONTROL, 255, 131, "20090002FF15FF00");
    send(1.06, DBR_PGN_TRANSPORT_DATA, 255, 131, "0101020304050607");
    send(1.12, DBR_PGN_TRANSPORT_DATA, 255, 131, "020809FFFFFFFFFF");
    cr_expect_str_eq(told.letters, "fffm");
    cr_expect_eq(told.last.id.pgn, 65301);
    cr_expect_eq(told.last.length, 9);
    cr_expect_eq(told.data[8], 9);
    cr_expect_null(told.last.frame);
    /* Its sender's NAME decides here as well. */
    claim(0, 1.2, 131, NAME_OF(1));
    send(2.00, DBR_PGN_TRANSPORT_CONTROL, 255, 131, "20090002FF15FF00");
    send(2.06, DBR_PGN_TRANSPORT_DATA, 255, 131, "0101020304050607");
    send(2.12, DBR_PGN_TRANSPORT_DATA, 255, 131, "020809FFFFFFFFFF");
    cr_expect_str_eq(told.letters, "fffmMfffM");
}

Test(decoding_decoder, a_fast_packet_is_known_by_its_definition)
{
    send(1.00, 130900, 255, 28, "400A010203040506");
    send(1.01, 130900, 255, 28, "410708090AFFFFFF");
    cr_expect_str_eq(told.letters, "ffM");
    cr_expect_eq(told.last.length, 10);
    cr_expect_eq(told.data[9], 10);
}

Test(decoding_decoder, a_transfer_that_fails_is_told_and_counted)
{
    send(1.00, DBR_PGN_TRANSPORT_CONTROL, 255, 131, "20090002FF15FF00");
    send(1.06, DBR_PGN_TRANSPORT_DATA, 255, 131, "0101020304050607");
    send(1.50, 65096, 255, 240, "E8030000000000FD"); /* the bus goes on: this is no pause */
    send(2.00, 65096, 255, 240, "E8030000000000FD");
    cr_expect_str_eq(told.letters, "ffMxM");
    cr_expect_eq(dbr_decoder_counts(decoder)->failed_transfers, 1);
}

Test(decoding_decoder, what_the_end_of_the_recording_cuts_off_did_not_fail)
{
    send(1.00, DBR_PGN_TRANSPORT_CONTROL, 255, 131, "20090002FF15FF00");
    dbr_decoder_finish(decoder, INT64_C(1100000000));
    cr_expect_str_eq(told.letters, "fx");
    cr_expect_null(told.last.data);
    cr_expect_eq(dbr_decoder_counts(decoder)->failed_transfers, 0);
    cr_expect_eq(dbr_decoder_counts(decoder)->unseen_transfers, 1);
}

Test(decoding_decoder, frames_that_are_no_messages_and_copies)
{
    static const uint8_t flags[] = {DBR_FRAME_ERROR, 0, DBR_FRAME_EXTENDED | DBR_FRAME_REMOTE,
                                    DBR_FRAME_EXTENDED | DBR_FRAME_FD};
    struct dbr_frame frame = printed_frame(1.0, 0x123, "00");

    for (size_t i = 0; i < sizeof flags; i++) {
        frame.flags = flags[i];
        dbr_decoder_frame(decoder, &frame);
    }
    cr_expect_str_eq(told.letters, "oooo");
    frame.flags = DBR_FRAME_EXTENDED | DBR_FRAME_COPY;
    dbr_decoder_frame(decoder, &frame);
    cr_expect_str_eq(told.letters, "oooo");
    cr_expect_eq(dbr_decoder_counts(decoder)->copies, 1);
}

static void count_decoded(void *context, const struct dbr_seen *seen)
{
    *(size_t *)context += seen->message && strcmp(seen->message->name, "Bins") == 0;
}

/* More senders and groups than the table holds: looked up each time, and still right. */
Test(decoding_decoder, beyond_the_table_messages_are_decoded_all_the_same)
{
    size_t decoded = 0;
    struct dbr_decoder *d = dbr_decoder_new(definitions, count_decoded, &decoded, NULL);

    for (unsigned i = 0; i < DBR_STREAMS_MAX + 256; i++) {
        struct dbr_frame frame =
            printed_frame(0.0, story_id(6, (i / 200) << 8, (uint8_t)(i % 200), 131), "00");
        dbr_decoder_frame(d, &frame);
    }
    for (unsigned address = 0; address < 200; address++) {
        struct dbr_frame claimed = printed_frame(
            0.0, story_id(6, DBR_PGN_ADDRESS_CLAIMED, 255, (uint8_t)address), "0000E0FF00000000");
        struct dbr_frame frame = printed_frame(0.0, story_id(6, 65301, 255, (uint8_t)address), "00");
        dbr_decoder_frame(d, &claimed);
        dbr_decoder_frame(d, &frame);
    }
    cr_expect_eq(decoded, 200);
    dbr_decoder_free(d);
}
