/* Exact frame lengths: stuffing and CRC-15 (ISO 11898-1). */
#include <criterion/criterion.h>
#include <string.h>

#include "support/plain_bits.h"
#include "reading/frame_bits.h"

static struct bit_tables tables;

static void init(void)
{
    bit_tables_init(&tables);
}

TestSuite(reading_frame_bits, .init = init);

static struct dbr_frame frame_of(uint32_t id, uint8_t flags, uint8_t length, const char *data)
{
    struct dbr_frame frame = {.id = id, .flags = flags, .length = length};
    memcpy(frame.data, data, length);
    return frame;
}

Test(reading_frame_bits, lengths_worked_out_by_hand_agree)
{
    /* Computed from the frame format of ISO 11898-1 apart from this program. */
    static const struct {
        uint32_t id;
        uint8_t length;
        char data[8];
        uint16_t crc;
        unsigned bits;
    } rows[] = {
        {0x0CFE48F0, 8, "\xB8\x0B\0\0\0\0\xFF\xFF", 0x3352, 143},
        {0x18FEF100, 8, "\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF", 0x177A, 146},
        {0x18FEF100, 8, "\0\0\0\0\0\0\0\0", 0x71B0, 147},
        {0x18EAFFFE, 3, "\0\xEE\0", 0x29D5, 98},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct dbr_frame f =
            frame_of(rows[i].id, DBR_FRAME_EXTENDED, rows[i].length, rows[i].data);
        cr_assert_eq(frame_crc15(&tables, &f), rows[i].crc, "row %zu: CRC %04X", i, frame_crc15(&tables, &f));
        cr_assert_eq(frame_bits(&tables, &f), rows[i].bits, "row %zu: %u bits", i, frame_bits(&tables, &f));
    }
}

Test(reading_frame_bits, every_length_lies_between_the_limits_of_stuffing)
{
    /* 67 + 8n bits without stuffing; at most one more for every 4 of 53 + 8n (ISO 11898-1). */
    unsigned state = 1;

    for (unsigned n = 0; n <= 8; n++)
        for (unsigned round = 0; round < 200; round++) {
            struct dbr_frame f = {.flags = DBR_FRAME_EXTENDED, .length = (uint8_t)n};
            state = state * 1664525u + 1013904223u;
            f.id = state >> 3;
            for (unsigned i = 0; i < n; i++) {
                state = state * 1664525u + 1013904223u;
                f.data[i] = (uint8_t)(state >> 24);
            }
            unsigned bits = frame_bits(&tables, &f);
            cr_assert(bits >= 67 + 8 * n && bits <= 67 + 8 * n + (53 + 8 * n) / 4,
                      "%u bytes, %u bits", n, bits);
        }
}

Test(reading_frame_bits, a_remote_frame_has_no_data_and_an_error_frame_no_length)
{
    struct dbr_frame remote = frame_of(0x123, DBR_FRAME_REMOTE, 8, "\0\0\0\0\0\0\0\0");
    struct dbr_frame error = frame_of(0x40, DBR_FRAME_ERROR, 8, "\0\0\0\0\0\0\0\0");

    cr_assert(frame_bits(&tables, &remote) >= 47 && frame_bits(&tables, &remote) <= 47 + 33 / 4);
    cr_assert_eq(frame_bits(&tables, &error), 0);
}

Test(reading_frame_bits, the_tables_agree_with_the_plain_way)
{
    unsigned state = 7;

    for (unsigned round = 0; round < 100000; round++) {
        struct dbr_frame f = {0};
        state = state * 1664525u + 1013904223u;
        f.flags = (uint8_t)(state >> 28 & (DBR_FRAME_EXTENDED | DBR_FRAME_REMOTE));
        f.length = (uint8_t)((state >> 20) % 9);
        f.raw_dlc = f.length == 8 && (state >> 12 & 7) == 0 ? (uint8_t)(9 + (state >> 8) % 7) : 0;
        state = state * 1664525u + 1013904223u;
        f.id = state >> (f.flags & DBR_FRAME_EXTENDED ? 3 : 21);
        for (unsigned i = 0; i < f.length && !(f.flags & DBR_FRAME_REMOTE); i++) {
            state = state * 1664525u + 1013904223u;
            /* runs of equal bits are what stuffing is about: many bytes of one kind */
            f.data[i] = (state >> 16 & 3) == 0 ? 0 : (state >> 16 & 3) == 1 ? 0xFF
                                                                           : (uint8_t)(state >> 24);
        }
        cr_assert_eq(frame_crc15(&tables, &f), plain_crc15(&f), "round %u", round);
        cr_assert_eq(frame_bits(&tables, &f), plain_bits(&f), "round %u", round);
    }
}

/* A few identifiers again and again, some of which share a place in the memory of headers. */
Test(reading_frame_bits, a_header_seen_before_counts_as_it_did)
{
    static const uint32_t ids[] = {0x18FEF100, 0x0CFE48F0, 0x18FEF100 ^ 0x0101, 0, 0x1FFFFFFF};
    unsigned state = 11;

    for (unsigned round = 0; round < 20000; round++) {
        struct dbr_frame f = {.flags = DBR_FRAME_EXTENDED, .length = 8};
        state = state * 1664525u + 1013904223u;
        f.id = ids[(state >> 24) % 5];
        for (unsigned i = 0; i < 8; i++) {
            state = state * 1664525u + 1013904223u;
            f.data[i] = (state >> 16 & 1) == 0 ? 0 : (uint8_t)(state >> 24);
        }
        cr_assert_eq(frame_bits(&tables, &f), plain_bits(&f), "round %u", round);
    }
}
