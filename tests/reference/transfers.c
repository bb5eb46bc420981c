/*
 * Transfers in real recordings by others: what their origin pages state must come out, and
 * what the findings say of it. Without the recordings these tests are skipped, and say so.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/real.h"
#include "support/whole.h"

#define ATTACKS "SystemsCyber__J1939_Attack_Datasets/"
#define TRUCKS "SystemsCyber__CyberTruckResources/"
#define TRACTOR "TractorHacking__CAN-data/"
#define BOAT "AbbadKamel__Lightweight_Maritime_CAN_IDS/boat_first_40000_frames.log.gz"
#define MOORED "aldas__go-nmea-client/"

static const struct dbr_transfer_flow *flow(const struct whole *w, uint8_t source, uint32_t pgn,
                                            enum dbr_carrier carrier)
{
    const struct dbr_transfers *all = &w->history->transfers;

    for (size_t i = 0; i < all->flow_count; i++)
        if (all->flows[i].source == source && all->flows[i].pgn == pgn &&
            all->flows[i].carrier == carrier)
            return &all->flows[i];
    return NULL;
}

static uint64_t complete(const struct whole *w, uint8_t source, uint32_t pgn,
                         enum dbr_carrier carrier)
{
    const struct dbr_transfer_flow *f = flow(w, source, pgn, carrier);
    return f ? f->complete : 0;
}

static const struct dbr_finding *find(const struct whole *w, int address, int32_t pgn)
{
    for (size_t i = 0; i < w->diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &w->diagnosis->findings[i];
        if (strcmp(f->code, "transfer-failed") == 0 && f->address == address && f->pgn == pgn)
            return f;
    }
    return NULL;
}

static size_t findings_of(const struct whole *w)
{
    size_t count = 0;

    for (size_t i = 0; i < w->diagnosis->finding_count; i++)
        count += strcmp(w->diagnosis->findings[i].code, "transfer-failed") == 0;
    return count;
}

static void expect_line(const struct dbr_finding *f, const char *words)
{
    bool said = strstr(f->title, words) != NULL;

    for (size_t i = 0; i < f->evidence.count; i++)
        said |= strstr(f->evidence.items[i], words) != NULL;
    cr_expect(said, "nowhere in '%s': %s", f->title, words);
}

static double seconds(int64_t ns)
{
    return (double)ns / 1e9;
}

/* What passed, with its size: the layer alone, without the rest of the program. */
struct passed {
    uint8_t source;
    uint32_t pgn, size;
    unsigned count;
};

static struct passed passed[32];
static size_t passed_count;
static uint8_t kept[256];

static void collect(void *context, const struct dbr_transfer *t)
{
    size_t i = 0;

    (void)context;
    if (t->end != DBR_TRANSFER_COMPLETE)
        return;
    while (i < passed_count && (passed[i].source != t->source || passed[i].pgn != t->pgn ||
                                passed[i].size != t->size))
        i++;
    cr_assert_lt(i, sizeof passed / sizeof passed[0]);
    if (i == passed_count)
        passed[passed_count++] = (struct passed){t->source, t->pgn, t->size, 0};
    passed[i].count++;
    if (t->size <= sizeof kept)
        memcpy(kept, t->data, t->size);
}

static void read_transfers(const char *name, uint32_t fast)
{
    static struct dbr_batch batch;
    struct dbr_transport *t = dbr_transport_new(collect, NULL, NULL);
    struct dbr_recording *recording;
    char path[1024];

    real_path(path, sizeof path, name);
    cr_assert_eq(dbr_recording_open(&recording, (const char *[]){path}, 1, NULL, NULL), 0);
    passed_count = 0;
    batch.capacity = DBR_BATCH_FRAMES;
    while (dbr_recording_next(recording, &batch, NULL) > 0)
        for (size_t i = 0; i < batch.count; i++)
            dbr_transport_frame(t, &batch.frames[i], (batch.frames[i].id >> 8 & 0x3FFFF) == fast);
    dbr_recording_close(recording);
    dbr_transport_finish(t, 0);
    dbr_transport_free(t);
}

static unsigned sizes(uint8_t source, uint32_t pgn, uint32_t size)
{
    for (size_t i = 0; i < passed_count; i++)
        if (passed[i].source == source && passed[i].pgn == pgn && passed[i].size == size)
            return passed[i].count;
    return 0;
}

Test(reference_transfers, sizes_are_as_stated)
{
    read_transfers(ATTACKS "normal.log.gz", 0);
    cr_expect_eq(passed_count, 4);
    cr_expect_eq(sizes(0, 65226, 14), 30);
    cr_expect_eq(sizes(0, 65251, 34), 6);
    cr_expect_eq(sizes(41, 65249, 19), 6);
    cr_expect_eq(sizes(49, 65226, 10), 2);
    read_transfers(TRUCKS "candump-2021-10-14_234124.log.gz", 0);
    cr_expect_eq(sizes(0, 65226, 82), 25);
    read_transfers(TRACTOR "highRPM1.log.gz", 0);
    cr_expect_eq(sizes(0, 65251, 34), 8, "six broadcasts and two connections");
}

/* The frames as the file has them, put side by side by hand. */
Test(reference_transfers, one_fast_packet_of_43_bytes)
{
    static const uint8_t data[43] = {
        0x00, 0x47, 0x49, 0xA0, 0x08, 0xAA, 0x11, 0x00, 0x2F, 0x81, 0xA9, 0x78, 0x41, 0x14, 0x08,
        0x60, 0x81, 0x59, 0x54, 0xAF, 0x9C, 0x1B, 0x03, 0xC0, 0x75, 0x79, 0x00, 0x00, 0x00, 0x00,
        0x00, 0x12, 0xFC, 0x00, 0xC8, 0x00, 0x2C, 0x01, 0xAC, 0x08, 0x00, 0x00, 0x00};

    read_transfers(MOORED "fast_packet_pgn129029.txt", 129029);
    cr_assert_eq(sizes(127, 129029, 43), 1);
    cr_expect_arr_eq(kept, data, sizeof data);
}

Test(reference_transfers, a_normal_drive_passes_all)
{
    struct whole *w = whole_read_data(ATTACKS "normal.log.gz");
    const struct dbr_transfers *all = &w->history->transfers;

    cr_expect_eq(all->complete, 44);
    cr_expect_eq(complete(w, 0, 65226, DBR_CARRIER_BROADCAST), 30);
    cr_expect_eq(complete(w, 0, 65251, DBR_CARRIER_BROADCAST), 6);
    cr_expect_eq(complete(w, 41, 65249, DBR_CARRIER_BROADCAST), 6);
    cr_expect_eq(complete(w, 49, 65226, DBR_CARRIER_BROADCAST), 2);
    cr_expect_eq(all->failed + all->unrecorded + all->unfinished, 0);
    cr_expect_eq(all->counts.stray_data + all->counts.stray_control, 0);
    cr_expect_eq(findings_of(w), 0);
    whole_free(w);
}

Test(reference_transfers, an_engine_on_a_bench_ends_amid_one)
{
    struct whole *w = whole_read_data(TRUCKS "candump-2021-10-14_234124.log.gz");
    const struct dbr_transfers *all = &w->history->transfers;

    cr_expect_eq(complete(w, 0, 65226, DBR_CARRIER_BROADCAST), 25);
    cr_expect_eq(complete(w, 0, 65251, DBR_CARRIER_BROADCAST), 6);
    cr_expect_eq(complete(w, 15, 65249, DBR_CARRIER_BROADCAST), 6);
    cr_expect_eq(all->unfinished, 1);
    cr_expect_eq(all->failed, 0);
    cr_expect_eq(all->counts.stray_data, 9, "it begins amid one, with packets 4 to 12");
    cr_expect_eq(findings_of(w), 0);
    whole_free(w);
}

Test(reference_transfers, a_tractor_asks_and_gets_an_answer)
{
    struct whole *w = whole_read_data(TRACTOR "highRPM1.log.gz");
    const struct dbr_transfers *all = &w->history->transfers;

    cr_expect_eq(complete(w, 0, 65251, DBR_CARRIER_CONNECTION), 2);
    cr_expect_eq(flow(w, 0, 65251, DBR_CARRIER_CONNECTION)->destination, 6);
    cr_expect_eq(complete(w, 0, 65251, DBR_CARRIER_BROADCAST), 6);
    cr_expect_eq(all->unacknowledged + all->failed, 0);
    cr_expect_eq(findings_of(w), 0);
    whole_free(w);
}

/* The addresses that were made up for the requests are one finding, and follow from them. */
static void expect_unclaimed_because_of(const struct whole *w, const struct dbr_finding *refusal)
{
    size_t count = 0;

    for (size_t i = 0; i < w->diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &w->diagnosis->findings[i];
        if (strcmp(f->code, "address-unclaimed") != 0)
            continue;
        count++;
        cr_expect_eq(f->count, f->address_count);
        cr_expect_gt(f->address_count, 60);
        cr_assert_eq(f->cause_count, 1);
        cr_expect_eq(&w->diagnosis->findings[f->causes[0]], refusal);
    }
    cr_expect_eq(count, 1);
}

Test(reference_transfers, one_ecu_refuses_105_made_up_senders)
{
    struct whole *w = whole_read_data(TRUCKS "candump-RTSResourceExhaustion.log.gz");
    const struct dbr_transfers *all = &w->history->transfers;
    uint64_t refused = 0;

    for (size_t i = 0; i < all->failure_count; i++) {
        const struct dbr_failed_transfers *f = &all->failures[i];
        cr_expect_eq(f->first.end, DBR_TRANSFER_ABORTED);
        cr_expect(f->first.by_receiver);
        cr_expect_eq(f->reason, 0xFE);
        cr_expect_eq(f->first.size, 1785);
        double took = seconds(f->first.end_ns - f->first.start_ns);
        cr_expect(took > 0.00055 && took < 0.01365, "%f", took);
        refused += f->count;
    }
    cr_assert_eq(refused, 105);
    cr_expect_eq(complete(w, 0, 65251, DBR_CARRIER_BROADCAST), 25, "it goes on with its own");
    cr_assert_eq(findings_of(w), 1, "not one each");
    const struct dbr_finding *f = find(w, 0, -1);
    cr_assert_not_null(f);
    cr_expect_eq(f->count, 105);
    cr_expect_float_eq(seconds(f->start_ns), 8.059, 0.001);
    expect_line(f, "refused 105 requests from 105 addresses");
    expect_line(f, "address 1 with 1785 bytes of group 65025");
    expect_line(f, "abort reason 254, which no standard defines");
    expect_line(f, "105 of these addresses were never heard before that");
    expect_unclaimed_because_of(w, f);
    whole_free(w);
}

Test(reference_transfers, a_forged_grant_never_gives_a_payload)
{
    struct whole *w = whole_read_data(ATTACKS "memory_leak_attack.log");
    const struct dbr_finding *f = find(w, 0, 65251);

    cr_expect_eq(complete(w, 0, 65251, DBR_CARRIER_CONNECTION), 0);
    cr_assert_not_null(f);
    cr_expect_eq(findings_of(w), 1);
    cr_expect_float_eq(seconds(f->start_ns), 4.437, 0.001);
    cr_expect_float_eq(seconds(f->end_ns), 9.529, 0.001);
    expect_line(f, "28 bytes in 4 packets, of which 0 came");
    expect_line(f, "granted 255 packets from number 6 on of a message that has 4");
    expect_line(f, "255 data packets came that were not granted");
    expect_line(f, "abort reason 255");
    whole_free(w);
}

Test(reference_transfers, an_asker_that_never_answers)
{
    struct whole *w = whole_read_data(ATTACKS "Connection_Exhaustion_attack.txt.gz");
    const struct dbr_transfers *all = &w->history->transfers;
    uint64_t aborts = 0;

    /* Seven aborts of 65259: six of requests in the recording, one of a request before it. */
    for (size_t i = 0; i < all->failure_count; i++)
        if (all->failures[i].first.pgn == 65259 && all->failures[i].reason == 3)
            aborts += all->failures[i].count;
    cr_expect_eq(aborts, 6);
    cr_assert_eq(all->stray_count, 2);
    for (size_t i = 0; i < all->stray_count; i++) {
        const struct dbr_stray_flow *s = &all->strays[i];
        cr_expect_eq(s->count, s->first.control == 255 ? 1 : 15);
        cr_expect_eq(s->first.pgn, s->first.control == 255 ? 65259 : 65226);
        cr_expect_eq(s->first.source, s->first.control == 255 ? 0 : 249);
    }
    const struct dbr_finding *f = find(w, 0, 65259);
    cr_assert_not_null(f);
    cr_expect_eq(f->count, 6);
    expect_line(f, "abort reason 3: a timeout ran out");
    expect_line(f, "15 times from 10.1 s on");
    f = find(w, 249, 65226);
    cr_assert_not_null(f);
    cr_expect_eq(f->count, 15);
    cr_expect_float_eq(seconds(f->start_ns), 10.086, 0.001);
    expect_line(f, "each time for 2 packets from number 1 on");
    cr_expect_eq(findings_of(w), 3, "and one of 65226, which the ECU did begin in the end");
    whole_free(w);
}

Test(reference_transfers, fast_packets_of_a_boat)
{
    read_transfers(BOAT, 129029);
    cr_expect_eq(sizes(3, 129029, 43), 78);
    read_transfers(BOAT, 129540);
    unsigned whole = 0;
    for (size_t i = 0; i < passed_count; i++)
        whole += passed[i].count;
    cr_expect_eq(78 + whole, 155);
}

/* The same by the definitions in force, and nothing else on that boat fails. */
Test(reference_transfers, fast_packets_by_their_definitions)
{
    struct whole *w = whole_read_data(BOAT);

    cr_expect_eq(complete(w, 3, 129029, DBR_CARRIER_FAST), 78);
    cr_expect_eq(complete(w, 3, 129540, DBR_CARRIER_FAST), 77);
    cr_expect_eq(w->history->transfers.failed, 0);
    cr_expect_eq(w->history->transfers.counts.stray_data, 0);
    cr_expect_eq(findings_of(w), 0);
    whole_free(w);
    w = whole_read_data(MOORED "candump-2021-05-12_091355.log");
    cr_expect_eq(complete(w, 127, 129029, DBR_CARRIER_FAST), 4);
    cr_expect_eq(findings_of(w), 0);
    whole_free(w);
}
