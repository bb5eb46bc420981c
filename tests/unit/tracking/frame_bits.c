/* Exact frame lengths: stuffing and CRC-15 (ISO 11898-1). */
#include <criterion/criterion.h>
#include <string.h>

#include "tracking/frame_bits.h"

static struct dbr_frame frame_of(uint32_t id, uint8_t flags, uint8_t length, const char *data)
{
    struct dbr_frame frame = {.id = id, .flags = flags, .length = length};
    memcpy(frame.data, data, length);
    return frame;
}

Test(tracking_frame_bits, lengths_worked_out_by_hand_agree)
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
        cr_assert_eq(frame_crc15(&f), rows[i].crc, "row %zu: CRC %04X", i, frame_crc15(&f));
        cr_assert_eq(frame_bits(&f), rows[i].bits, "row %zu: %u bits", i, frame_bits(&f));
    }
}

Test(tracking_frame_bits, every_length_lies_between_the_limits_of_stuffing)
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
            unsigned bits = frame_bits(&f);
            cr_assert(bits >= 67 + 8 * n && bits <= 67 + 8 * n + (53 + 8 * n) / 4,
                      "%u bytes, %u bits", n, bits);
        }
}

Test(tracking_frame_bits, a_remote_frame_has_no_data_and_an_error_frame_no_length)
{
    struct dbr_frame remote = frame_of(0x123, DBR_FRAME_REMOTE, 8, "\0\0\0\0\0\0\0\0");
    struct dbr_frame error = frame_of(0x40, DBR_FRAME_ERROR, 8, "\0\0\0\0\0\0\0\0");

    cr_assert(frame_bits(&remote) >= 47 && frame_bits(&remote) <= 47 + 33 / 4);
    cr_assert_eq(frame_bits(&error), 0);
}
