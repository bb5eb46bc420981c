/* The table of readers, and what holds for every form of recording, whatever is done to it. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "reading/source.h"
#include "support/capture.h"
#include "support/readout.h"

static void add_log(struct bytes *file)
{
    for (unsigned i = 0; i < 30; i++)
        bytes_text(file, "(1717000000.%06u) can%u 18FEF100#%08X%s\n", i * 100, i % 3, i * 77777u,
                   i % 5 ? "" : " T");
    bytes_text(file, "(1717000001.0) can0 123##1112233\n(1717000001.1) can0 123#R4\n");
}

static void add_console(struct bytes *file)
{
    bytes_text(file, "# a comment\n");
    for (unsigned i = 0; i < 30; i++)
        bytes_text(file, " (%03u.%06u)  can0  RX - -  18FEF1%02X   [4]  %02X 22 33 44   '....'\n",
                   i / 10, i % 10 * 1000, i, i);
    bytes_text(file, "  can0  20000088   [8]  00 00 02 00 00 00 00 00   ERRORFRAME\n\tbus-error\n");
}

static void add_pcap(struct bytes *file)
{
    struct wire w = {.link = LINK_COOKED_V2, .protocol = PROTOCOL_CAN, .length = 8, .data_bytes = 8};

    pcap_start(file, MAGIC_NANOSECONDS, LINK_COOKED_V2);
    for (unsigned i = 0; i < 20; i++) {
        w.id = ID_EXTENDED | (0x18FEF100u + i);
        w.host_interface = i % 3;
        w.sent = i % 4 == 0;
        pcap_packet(file, 1717000000 + i, i, &w);
    }
}

static void add_pcapng(struct bytes *file)
{
    struct wire w = {.link = LINK_CAN, .length = 8, .data_bytes = 8};

    pcapng_section(file);
    pcapng_named(file, LINK_CAN, "can0");
    pcapng_named(file, LINK_CAN, "can1");
    for (unsigned i = 0; i < 20; i++) {
        w.id = ID_EXTENDED | (0x18FEF100u + i);
        pcapng_packet(file, i % 2, UINT64_C(1717000000000000) + i * 1000, &w, NULL);
    }
    pcapng_obsolete(file, 0, UINT64_C(1717000000000000), &w);
    pcapng_simple(file, &w);
}

static const struct {
    const char *format;
    void (*add)(struct bytes *file);
} samples[] = {
    {"candump-log", add_log},
    {"candump-console", add_console},
    {"pcap", add_pcap},
    {"pcapng", add_pcapng},
};

#define SAMPLES (sizeof samples / sizeof samples[0])

Test(reading_readers, each_form_is_known_by_exactly_one_reader)
{
    for (size_t i = 0; i < SAMPLES; i++)
        for (int big_endian = 0; big_endian < 2; big_endian++) {
            struct bytes file = {.big_endian = big_endian};
            size_t known = 0;
            samples[i].add(&file);
            for (size_t k = 0; k < reader_count; k++)
                known += readers[k]->probe(file.data, file.length);
            cr_expect_eq(known, 1, "%s", samples[i].format);
            struct readout *r = readout_bytes(&file);
            cr_expect_eq(r->result, 0);
            cr_expect_str_eq(r->file->format, samples[i].format);
            readout_free(r);
            bytes_free(&file);
        }
}

Test(reading_readers, no_probe_takes_too_little)
{
    for (size_t k = 0; k < reader_count; k++)
        for (size_t length = 0; length < 4; length++)
            if (readers[k] != &text_reader)
                cr_expect_not(readers[k]->probe((const uint8_t *)"\x0A\x0D\x0D", length));
}

/* A reader is asked for few frames or many; what it counts and gives must not depend on it. */
Test(reading_readers, how_many_frames_are_asked_for_does_not_matter)
{
    static const size_t capacities[] = {1, 2, 3, 7, 64};
    static struct interface_table interfaces;
    static struct dbr_batch batch;

    for (size_t i = 0; i < SAMPLES; i++) {
        struct bytes file = {0};
        samples[i].add(&file);
        char path[] = "/tmp/drawbar reading XXXXXX";
        int fd = mkstemp(path);
        cr_assert_eq(write(fd, file.data, file.length), (ssize_t)file.length);
        close(fd);
        uint64_t ids = 0;
        for (size_t k = 0; k < sizeof capacities / sizeof capacities[0]; k++) {
            struct source source;
            struct dbr_error error;
            uint64_t frames = 0, sum = 0;
            interfaces.count = 0;
            batch.capacity = capacities[k];
            cr_assert_eq(source_open(&source, path, &interfaces, NULL, &error), 0, "%s", error.text);
            while (source_next(&source, &batch) > 0) {
                cr_assert_leq(batch.count, batch.capacity);
                frames += batch.count;
                for (size_t f = 0; f < batch.count; f++)
                    sum = sum * 31 + batch.frames[f].id + batch.frames[f].data[0] +
                          batch.frames[f].interface + batch.frames[f].flags;
            }
            cr_expect_eq(source.info.frames, frames);
            cr_expect_eq(source.info.frames + source.info.rejected, source.info.records);
            cr_expect(k == 0 || sum == ids, "%s by %zu", samples[i].format, capacities[k]);
            ids = sum;
            source_close(&source);
        }
        unlink(path);
        bytes_free(&file);
    }
}

Test(reading_readers, every_rejection_has_words_of_its_own)
{
    for (int a = 0; a < DBR_REJECTION_COUNT; a++) {
        const char *words = dbr_rejection_words((enum dbr_rejection)a);
        cr_expect_gt(strlen(words), 5);
        for (int b = 0; b < a; b++)
            cr_expect_str_neq(words, dbr_rejection_words((enum dbr_rejection)b));
    }
    cr_expect_str_eq(dbr_rejection_words(DBR_REJECTION_COUNT), "unknown");
}

/* A small generator of our own, so that every run spoils the same bytes (xorshift, 32 bits). */
static uint32_t next_random(uint32_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state;
}

/* Changes, cuts out or doubles a few bytes. */
static void spoil(struct bytes *file, uint32_t *state)
{
    static const uint8_t favourites[] = {0, 0xFF, '\n', ' ', '#', '(', '[', '.', 'R', 0x1F};

    for (uint32_t changes = 1 + next_random(state) % 6; changes > 0 && file->length > 8; changes--) {
        size_t at = next_random(state) % file->length, run = next_random(state) % 9;
        if (run > file->length - at)
            run = file->length - at;
        switch (next_random(state) % 4) {
        case 0:
            file->data[at] ^= (uint8_t)(1u << next_random(state) % 8);
            break;
        case 1:
            file->data[at] = favourites[next_random(state) % sizeof favourites];
            break;
        case 2:
            memmove(file->data + at, file->data + at + run, file->length - at - run);
            file->length -= run;
            break;
        default:
            memmove(file->data + at, file->data, run);
            break;
        }
    }
}

/*
 * What readout asserts of every recording must hold of damaged ones above all:
 * every record is a frame or rejected, time runs forward, no frame exceeds its
 * kind, batches and compression change nothing. The sanitizers watch.
 */
Test(reading_readers, damage_of_any_kind_keeps_the_account)
{
    uint32_t state = 2463534242u;
    uint64_t rejected = 0;

    for (size_t i = 0; i < SAMPLES; i++)
        for (int round = 0; round < 300; round++) {
            struct bytes file = {.big_endian = round % 2};
            samples[i].add(&file);
            spoil(&file, &state);
            struct readout *r = readout_bytes(&file);
            rejected += r->info ? r->file->rejected : 0;
            readout_free(r);
            bytes_free(&file);
        }
    cr_assert_gt(rejected, 0);
}
