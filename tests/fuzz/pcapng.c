/*
 * pcapng.c - next-generation capture files: any bytes, and blocks whose contents are changed.
 *
 * The walker stops at the first block whose two lengths differ. Changes of bytes alone would
 * rarely come further, so most change one block and put its lengths right again. One input
 * in 16 is read again behind so large a block of an unknown kind that the end of the reader's
 * window falls into it: that must change nothing.
 */
#include <string.h>

#include "fuzz/readings.h"
#include "fuzz/target.h"

#define LENGTHS 12u     /* a block's type and both lengths */
#define SECTION_MIN 28u /* a section header */

static uint32_t get_u32(const uint8_t *bytes, bool big_endian)
{
    uint32_t value;

    memcpy(&value, bytes, sizeof value);
    return big_endian ? __builtin_bswap32(value) : value;
}

static void put_u32(uint8_t *bytes, uint32_t value, bool big_endian)
{
    value = big_endian ? __builtin_bswap32(value) : value;
    memcpy(bytes, &value, sizeof value);
}

/* The length of the block at `at`; 0 where there is none. */
static size_t block_at(const uint8_t *data, size_t size, size_t at, bool big_endian)
{
    if (size - at < LENGTHS)
        return 0;
    size_t length = get_u32(data + at + 4, big_endian);
    return length >= LENGTHS && length % 4 == 0 && length <= size - at ? length : 0;
}

#define PCAPNG_SIZE_MAX 4096u
#define BLOCK_SECTION 0x0A0D0D0Au
#define BLOCK_UNKNOWN 0x80000BADu /* of local use, says the specification */

/* Behind the first block, which says the byte order, stands one of `padding` bytes. */
static size_t put_padding(uint8_t *out, const uint8_t *data, size_t size, size_t first,
                          size_t padding)
{
    bool big_endian = data[8] == 0x1A;

    memcpy(out, data, first);
    memset(out + first, 0, padding);
    put_u32(out + first, BLOCK_UNKNOWN, big_endian);
    put_u32(out + first + 4, (uint32_t)padding, big_endian);
    put_u32(out + first + padding - 4, (uint32_t)padding, big_endian);
    memcpy(out + first + padding, data + first, size - first);
    return size + padding;
}

static void place_must_not_matter(const uint8_t *data, size_t size)
{
    static uint8_t padded[DBR_STREAM_WINDOW + 2 * PCAPNG_SIZE_MAX];
    static struct memory_file plain_file, padded_file;
    static struct reading plain, moved;
    size_t first = block_at(data, size, 0, data[8] == 0x1A);
    size_t padding = (DBR_STREAM_WINDOW - size / 2) / 4 * 4;

    if (first < SECTION_MIN || get_u32(data, false) != BLOCK_SECTION)
        return;
    memory_file_put(&plain_file, data, size);
    memory_file_put(&padded_file, padded, put_padding(padded, data, size, first, padding));
    reading_take(&plain, &plain_file, DBR_BATCH_FRAMES);
    reading_take(&moved, &padded_file, DBR_BATCH_FRAMES);
    MUST_NOT(account_difference(&plain.account, &moved.account));
    reading_end(&plain);
    reading_end(&moved);
}

static void pcapng_run(const uint8_t *data, size_t size)
{
    readings_must_agree(data, size, 1 + size % 7);
    if (size % 16 == 0 && size > SECTION_MIN && size <= PCAPNG_SIZE_MAX)
        place_must_not_matter(data, size);
}

/* Another body for the block at `at`, of whole words; everything behind it moves. */
static size_t change_block(uint8_t *data, size_t size, size_t room, size_t at, bool big_endian,
                           bytes_mutator *bytes)
{
    static uint8_t body[4096 + 4];
    size_t old = block_at(data, size, at, big_endian), length = old - LENGTHS;

    if (length > sizeof body - 4)
        return bytes(data, size, room);
    memcpy(body, data + at + 8, length);
    size_t spare = room - size < sizeof body - 4 - length ? room - size : sizeof body - 4 - length;
    length = bytes(body, length, length + spare / 4 * 4);
    while (length % 4 != 0)
        body[length++] = 0;
    size_t new = length + LENGTHS;
    if (size - old + new > room)
        return size;
    memmove(data + at + new, data + at + old, size - at - old);
    memcpy(data + at + 8, body, length);
    put_u32(data + at + 4, (uint32_t)new, big_endian);
    put_u32(data + at + new - 4, (uint32_t)new, big_endian);
    return size - old + new;
}

/* The same block once more, behind itself. */
static size_t repeat_block(uint8_t *data, size_t size, size_t room, size_t at, size_t length)
{
    if (length > room - size)
        return size;
    memmove(data + at + length, data + at, size - at);
    return size + length;
}

static size_t pcapng_mutate(uint8_t *data, size_t size, size_t room, unsigned seed,
                            bytes_mutator *bytes)
{
    bool big_endian = size >= LENGTHS && data[8] == 0x1A;
    size_t at = 0, length, wanted = seed / 8 % 64;

    while ((length = block_at(data, size, at, big_endian)) > 0 && wanted-- > 0 &&
           block_at(data, size, at + length, big_endian) > 0)
        at += length;
    if (length == 0)
        return bytes(data, size, room);
    if (seed % 8 == 0)
        return repeat_block(data, size, room, at, length);
    return change_block(data, size, room, at, big_endian, bytes);
}

const struct fuzz_target pcapng_target = {
    .name = "pcapng", .size_max = PCAPNG_SIZE_MAX, .run = pcapng_run, .mutate = pcapng_mutate};
