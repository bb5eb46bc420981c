/*
 * Every resolution of time stamps that an interface description can tell, 256 of them.
 * Source: draft-ietf-opsawg-pcapng, section 4.2, option if_tsresol: the seven low bits are the
 * negative power of ten of a unit, or of two where the highest bit is set. What must come out is
 * worked here in 128 bits, which hold every product; the reader has 64.
 */
#include <criterion/criterion.h>

#include "support/capture.h"
#include "support/readout.h"

#define OFFSET_S INT64_C(1600000000)
#define STAMPS 12u

__extension__ typedef unsigned __int128 wide;

/* Units of a second; 0 where a stamp of 64 bits does not reach a second. */
static wide units(unsigned resolution)
{
    wide result = 1;

    for (unsigned i = 0; i < (resolution & 0x7F) && result >> 64 == 0; i++)
        result *= resolution & 0x80 ? 2 : 10;
    return result >> 64 == 0 ? result : 0;
}

/* Fractions that round badly, the ends of a second, and the most that 64 bits hold. */
static size_t stamps(unsigned resolution, uint64_t out[STAMPS])
{
    const wide second = units(resolution);
    const wide wanted[STAMPS] = {0,
                                 1,
                                 second / 3,
                                 second / 1000000000,
                                 second / 1000000000 * 7 + 6,
                                 second - 1,
                                 second,
                                 second + second / 7,
                                 2 * second - 1,
                                 3 * second + second * 999999999 / 1000000000,
                                 1000000000 * second + second / 2,
                                 UINT64_MAX};
    size_t count = 0;

    for (size_t i = 0; i < STAMPS; i++)
        if (wanted[i] >> 64 == 0)
            out[count++] = (uint64_t)wanted[i];
    return count;
}

static struct readout *read_one(unsigned resolution, uint64_t stamp, bool big_endian)
{
    struct bytes file = {.big_endian = big_endian}, options = {.big_endian = big_endian};
    struct bytes offset = {.big_endian = big_endian};
    const uint8_t byte = (uint8_t)resolution;

    bytes_integer(&offset, (uint64_t)OFFSET_S, 8);
    pcapng_option(&options, 9, &byte, 1);
    pcapng_option(&options, 14, offset.data, 8);
    pcapng_option(&options, 0, NULL, 0);
    pcapng_section(&file);
    pcapng_interface(&file, LINK_CAN, &options);
    pcapng_packet(&file, 0, stamp, &pcapng_wire, NULL);
    struct readout *r = readout_bytes(&file);
    bytes_free(&file);
    bytes_free(&options);
    bytes_free(&offset);
    return r;
}

/* The last second of 2262 that 64 bits of nanoseconds hold only in part is beyond. */
static void expect_stamp(unsigned resolution, uint64_t stamp, bool big_endian)
{
    const wide second = units(resolution);
    struct readout *r = read_one(resolution, stamp, big_endian);

    if (second == 0)
        readout_expect_rejected(r, DBR_REJECTION_STAMP_UNIT, 1, 1);
    else if (stamp / second + (wide)OFFSET_S >= INT64_MAX / 1000000000)
        readout_expect_rejected(r, DBR_REJECTION_STAMP_RANGE, 1, 1);
    else {
        wide ns = (wide)OFFSET_S * 1000000000 + (wide)stamp * 1000000000 / second;
        cr_expect_eq(r->info->start_ns, (int64_t)ns, "resolution %u, stamp %llu: %lld, not %lld",
                     resolution, (unsigned long long)stamp, (long long)r->info->start_ns,
                     (long long)ns);
    }
    readout_free(r);
}

static void expect_resolutions(unsigned first, unsigned last)
{
    uint64_t values[STAMPS];

    for (unsigned resolution = first; resolution <= last; resolution++) {
        size_t count = stamps(resolution, values);
        for (size_t i = 0; i < count; i++)
            expect_stamp(resolution, values[i], i % 2 != 0);
    }
}

Test(reading_pcapng_resolution, powers_of_ten) { expect_resolutions(0, 19); }
Test(reading_pcapng_resolution, powers_of_ten_beyond_a_second) { expect_resolutions(20, 127); }
Test(reading_pcapng_resolution, powers_of_two) { expect_resolutions(128, 191); }
Test(reading_pcapng_resolution, powers_of_two_beyond_a_second) { expect_resolutions(192, 255); }

/* What is refused counts with the place of the first, and the others are read. */
Test(reading_pcapng_resolution, an_interface_with_another_unit_goes_on)
{
    struct bytes file = {0}, options = {0};
    const uint8_t unit = 20;

    pcapng_section(&file);
    pcapng_named(&file, LINK_CAN, "can0");
    pcapng_option(&options, 9, &unit, 1);
    pcapng_interface(&file, LINK_CAN, &options);
    pcapng_packet(&file, 0, microseconds(1000000000), &pcapng_wire, NULL);
    pcapng_packet(&file, 1, 5, &pcapng_wire, NULL);
    pcapng_packet(&file, 1, 6, &pcapng_wire, NULL);
    pcapng_packet(&file, 0, microseconds(1000000001), &pcapng_wire, NULL);
    struct readout *r = readout_bytes(&file);
    cr_expect_eq(r->count, 2);
    readout_expect_rejected(r, DBR_REJECTION_STAMP_UNIT, 2, 2);
    readout_free(r);
    bytes_free(&file);
    bytes_free(&options);
}
