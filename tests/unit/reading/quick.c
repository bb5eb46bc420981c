/* What is read quickly is what is read plainly: on usual lines, and on lines with damage. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "reading/candump.h"
#include "reading/candump_quick.h"

#define LINE_ROOM 80
#define NAME "can0"

static uint32_t next_random(uint32_t *seed)
{
    *seed = *seed * 1664525u + 1013904223u; /* Numerical Recipes, 2nd edition, 7.1 */
    return *seed >> 8;
}

static size_t usual_line(char line[LINE_ROOM], uint32_t *seed)
{
    unsigned bytes = next_random(seed) % 9;
    int length = snprintf(line, LINE_ROOM, "(%010u.%06u) " NAME " %08X#", next_random(seed) * 100,
                          next_random(seed) % 1000000, next_random(seed) << 5 & 0x1FFFFFFFu);

    for (unsigned i = 0; i < bytes; i++)
        length += snprintf(line + length, (size_t)(LINE_ROOM - length),
                           next_random(seed) % 8 ? "%02X" : "%02x", next_random(seed) & 0xFFu);
    return (size_t)length;
}

/* True where it was read quickly. Then the plain reader must have read the same. */
static bool agrees(const char *line, size_t length)
{
    struct dbr_frame quick;
    struct candump_line plain;

    candump_line_read(&plain, line, length);
    if (!candump_quick_read(&quick, line, length, NAME, strlen(NAME)))
        return false;
    cr_assert_eq(plain.kind, LINE_FRAME, "%.*s", (int)length, line);
    cr_assert_eq(plain.form, FORM_LOG, "%.*s", (int)length, line);
    cr_assert_eq(plain.stamp, STAMP_SECONDS, "%.*s", (int)length, line);
    cr_assert_eq(plain.interface_length, strlen(NAME));
    cr_assert_arr_eq(plain.interface, NAME, strlen(NAME));
    cr_assert_eq(plain.frame.at_ns, quick.at_ns, "%.*s", (int)length, line);
    cr_assert_eq(plain.frame.id, quick.id, "%.*s", (int)length, line);
    cr_assert_eq(plain.frame.length, quick.length, "%.*s", (int)length, line);
    cr_assert_eq(plain.frame.flags, quick.flags, "%.*s", (int)length, line);
    cr_assert_eq(plain.frame.raw_dlc, quick.raw_dlc, "%.*s", (int)length, line);
    cr_assert_arr_eq(plain.frame.data, quick.data, sizeof quick.data, "%.*s", (int)length, line);
    return true;
}

Test(reading_quick, usual_lines_are_read_quickly_and_right)
{
    uint32_t seed = 1;
    char line[LINE_ROOM];

    for (int i = 0; i < 20000; i++) {
        size_t length = usual_line(line, &seed);
        cr_assert(agrees(line, length), "%s", line);
    }
}

/* One character changed, put in, or taken out: no difference slips through. */
Test(reading_quick, damaged_lines_are_never_read_otherwise)
{
    static const char likely[] = "0123456789abcdefABCDEFgG#()._ RTrt\t\r`\x80\xFF";
    uint32_t seed = 2;
    char line[LINE_ROOM];
    size_t quick = 0;

    for (int i = 0; i < 300000; i++) {
        size_t length = usual_line(line, &seed);
        size_t at = next_random(&seed) % length;
        char c = likely[next_random(&seed) % (sizeof likely - 1)];
        switch (next_random(&seed) % 3) {
        case 0:
            line[at] = c;
            break;
        case 1:
            memmove(line + at + 1, line + at, length - at);
            line[at] = c;
            length++;
            break;
        default:
            memmove(line + at, line + at + 1, length - at - 1);
            length--;
        }
        quick += agrees(line, length);
    }
    cr_expect_gt(quick, 1000, "hardly any was read quickly: %zu", quick);
}

Test(reading_quick, what_is_not_usual_is_left_to_the_plain_reader)
{
    static const char *const lines[] = {
        "(1717000000.123456) can1 18FEF100#00",      "(1717000000.123456) can0 123#00",
        "(1717000000.123456) can0 38FEF100#00",      "(1717000000.123456) can0 20000088#00",
        "(1717000000.123456) can0 18FEF100#R",       "(1717000000.123456) can0 18FEF100##000",
        "(1717000000.123456) can0 18FEF100#00 T",    "(1717000000.123456789) can0 18FEF100#00",
        "(171700000.123456) can0 18FEF100#00",       "(9999999999.123456) can0 18FEF100#00",
        "(1717000000.123456) can0 18FEF100#0",       "(1717000000.123456) can0 18FEF100#00\r",
        "(1717000000.123456) can0 18FEF100#112233445566778899",
        "(1717000000.123456) can0  18FEF100#00",     "",
        "(1717000000.123456) can0 18FEF100#11.22",   " (1717000000.123456) can0 18FEF100#00",
    };

    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
        cr_expect_not(agrees(lines[i], strlen(lines[i])), "%s", lines[i]);
}
