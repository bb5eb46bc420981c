/* Close-ups: which moments, and what is kept of them. */
#include "drawbar/closeup.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "support/story.h"

#define S INT64_C(1000000000)

/* Frames of a story, made twice: once for the history, once for the second pass. */
static struct dbr_frame frames[60000];
static size_t frame_count;
static struct outcome *outcome;
static struct dbr_closeups *closeups;

static void add(double at, uint32_t id, uint8_t flags, const uint8_t *data, uint8_t length)
{
    struct dbr_frame *f = &frames[frame_count++];

    *f = (struct dbr_frame){.at_ns = (int64_t)llround(at * 1e9), .id = id, .flags = flags,
                            .length = length};
    memcpy(f->data, data, length);
}

static void add_speed(double at, uint8_t address, uint32_t pgn, unsigned mm_s)
{
    uint8_t data[8] = {mm_s & 0xFF, (uint8_t)(mm_s >> 8), 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFD};

    add(at, story_id(3, pgn, 255, address), DBR_FRAME_EXTENDED, data, 8);
}

static void add_process(double at, uint8_t from, uint8_t to, uint16_t ddi, uint32_t value)
{
    uint8_t data[8] = {0x23, 0, (uint8_t)ddi, (uint8_t)(ddi >> 8), (uint8_t)value,
                       (uint8_t)(value >> 8), (uint8_t)(value >> 16), (uint8_t)(value >> 24)};

    add(at, story_id(3, DBR_PGN_PROCESS_DATA, to, from), DBR_FRAME_EXTENDED, data, 8);
}

/* Ninety seconds at 3 m/s; the wheel of 240 reads zero from 40 s on; a few other ECUs. */
static void tell_drive(void)
{
    frame_count = 0;
    for (int i = 0; i < 900; i++) {
        double at = i * 0.1;
        add_speed(at, 240, 65096, at < 40 ? 3000 : 0);
        add_speed(at + 0.01, 240, 65097, 3000);
        add_process(at + 0.02, 128, 247, 397, 3000);
        if (i % 10 == 0) {
            add_process(at + 0.03, 247, 128, 6, 20000);
            add_process(at + 0.04, 128, 247, 7, at < 40 ? 20000 : 0);
        }
        add(at + 0.05, story_id(6, 65301, 255, 99), DBR_FRAME_EXTENDED, (uint8_t[8]){0}, 8);
    }
}

static int by_time(const void *x, const void *y)
{
    const struct dbr_frame *a = x, *b = y;
    return (a->at_ns > b->at_ns) - (a->at_ns < b->at_ns);
}

static void track(void)
{
    qsort(frames, frame_count, sizeof frames[0], by_time);
    struct dbr_tracking_options options = {.bitrate = 250000};

    outcome = calloc(1, sizeof *outcome);
    outcome->info = (struct dbr_recording_info){
        .time_base = DBR_TIME_EPOCH, .interface_count = 1, .interfaces = {"can0"}};
    outcome->definitions = dbr_definitions_new(NULL);
    outcome->tracking = dbr_tracking_new(outcome->definitions, &options, NULL);
    dbr_tracking_frames(outcome->tracking, frames, frame_count);
    outcome->history = dbr_tracking_finish(outcome->tracking, &outcome->info, NULL);
}

static const struct dbr_closeup *look(const struct dbr_closeup_window *windows, size_t count,
                                      size_t batch)
{
    closeups = dbr_closeups_new(outcome->definitions, outcome->history, windows, count, NULL);
    for (size_t i = 0; i < frame_count; i += batch)
        dbr_closeups_frames(closeups, frames + i,
                            frame_count - i < batch ? frame_count - i : batch);
    cr_assert_eq(dbr_closeups_finish(closeups, NULL), 0);
    return dbr_closeups_at(closeups, 0);
}

static void end(void)
{
    dbr_closeups_free(closeups);
    outcome_free(outcome);
}

static struct dbr_closeup_window at_40(int address, int32_t pgn)
{
    return (struct dbr_closeup_window){.moment_ns = 40 * S, .start_ns = 30 * S, .end_ns = 50 * S,
                                       .interface = 0, .address = address, .pgn = pgn};
}

static const struct dbr_closeup_message *find(const struct dbr_closeup *c, uint8_t source,
                                              uint32_t pgn, size_t nth)
{
    for (size_t i = 0; i < c->message_count; i++)
        if (c->messages[i].id.source == source && c->messages[i].id.pgn == pgn && nth-- == 0)
            return &c->messages[i];
    return NULL;
}

Test(closeup, the_moment_divides_a_stream_into_two_runs)
{
    struct dbr_closeup_window w = at_40(240, 65096);

    tell_drive();
    track();
    const struct dbr_closeup *c = look(&w, 1, frame_count);
    const struct dbr_closeup_message *before = find(c, 240, 65096, 0);
    const struct dbr_closeup_message *after = find(c, 240, 65096, 1);
    cr_assert(before && after && !find(c, 240, 65096, 2));
    cr_assert(before->about && after->about && before->message);
    cr_assert_eq(before->count, 100);
    cr_assert_eq(before->at_ns, 39900000000); /* the last before */
    cr_assert_eq(before->first_ns, 30 * S);
    cr_assert_eq(after->at_ns, 40 * S);       /* the first after */
    cr_assert_eq(after->count, 101);
    cr_assert_eq(before->signals[0].signal->role, DBR_ROLE_SPEED_WHEEL);
    cr_assert_float_eq(before->signals[0].value.number, 3.0, 1e-9);
    cr_assert_eq(after->signals[0].value.number, 0.0);
    end();
}

Test(closeup, what_is_not_about_the_finding_is_marked)
{
    struct dbr_closeup_window w = at_40(128, 51968);

    tell_drive();
    track();
    const struct dbr_closeup *c = look(&w, 1, frame_count);
    cr_assert(find(c, 128, 51968, 0)->about);
    cr_assert(find(c, 247, 51968, 0)->about); /* it is spoken to */
    cr_assert(!find(c, 99, 65301, 0)->about);
    cr_assert(find(c, 128, 51968, 0)->is_process);
    uint64_t kept = 0;
    for (size_t i = 0; i < c->message_count; i++) {
        kept += c->messages[i].count;
        cr_assert(i == 0 || c->messages[i - 1].at_ns <= c->messages[i].at_ns);
    }
    cr_assert_eq(c->seen, kept + c->left_out);
    cr_assert_eq(c->left_out, 0);
    end();
}

Test(closeup, curves_are_as_they_came)
{
    struct dbr_closeup_window w = at_40(240, 65096);
    unsigned speeds = 0, setpoints = 0, actuals = 0;

    tell_drive();
    track();
    const struct dbr_closeup *c = look(&w, 1, frame_count);
    for (size_t i = 0; i < c->curve_count; i++) {
        const struct dbr_closeup_curve *curve = &c->curves[i];
        if (curve->quantity == DBR_QUANTITY_SPEED) {
            const struct dbr_speed_source *source = &outcome->history->sources[curve->source];
            speeds++;
            cr_assert_eq(curve->count, source->pgn == 65096 ? 201 : 200);
            for (size_t k = 0; k < curve->count; k++) {
                bool zero = source->pgn == 65096 && curve->points[k].at_ns >= 40 * S;
                cr_assert_float_eq(curve->points[k].value, zero ? 0.0 : 3.0, 1e-9);
            }
        } else {
            setpoints += curve->quantity == DBR_QUANTITY_RATE_SETPOINT;
            actuals += curve->quantity == DBR_QUANTITY_RATE_ACTUAL;
            cr_assert(curve->by_mass && curve->element == 2 && curve->address == 128);
            cr_assert_float_eq(curve->points[0].value, 0.02, 1e-9);
            cr_assert_eq(curve->count, 20);
        }
    }
    cr_assert(speeds == 3 && setpoints == 1 && actuals == 1);
    end();
}

Test(closeup, values_without_a_number_keep_their_status)
{
    struct dbr_closeup_window w = at_40(240, 65097);

    tell_drive();
    add_speed(45.005, 240, 65097, 0xFFFF);
    track();
    const struct dbr_closeup *c = look(&w, 1, frame_count);
    unsigned none = 0;
    for (size_t i = 0; i < c->curve_count; i++)
        for (size_t k = 0; k < c->curves[i].count; k++) {
            const struct dbr_closeup_point *point = &c->curves[i].points[k];
            none += point->status == DBR_VALUE_NOT_AVAILABLE;
            cr_assert_eq(isnan(point->value) != 0, point->status != DBR_VALUE_VALID);
        }
    cr_assert_eq(none, 1);
    /* another status is another run, and so is the value after it */
    cr_assert_eq(find(c, 240, 65097, 2)->at_ns, 45005000000);
    cr_assert_eq(find(c, 240, 65097, 2)->count, 1);
    cr_assert_not_null(find(c, 240, 65097, 3));
    end();
}

Test(closeup, error_frames_are_evidence_for_the_bus)
{
    struct dbr_closeup_window w = at_40(-1, -1);

    tell_drive();
    for (int i = 0; i < 5; i++)
        add(39.001 + i * 0.01, 0x8, DBR_FRAME_ERROR, (uint8_t[8]){0, 0, 8}, 8);
    track();
    const struct dbr_closeup *c = look(&w, 1, frame_count);
    unsigned about = 0;
    for (size_t i = 0; i < c->message_count; i++) {
        const struct dbr_closeup_message *m = &c->messages[i];
        about += m->about;
        if (!m->about)
            continue;
        cr_assert(m->kind == DBR_SEEN_FRAME && m->frame_id == 0x8 && m->count == 5);
        cr_assert(m->frame_flags & DBR_FRAME_ERROR);
    }
    cr_assert_eq(about, 1);
    end();
}

static void assert_same_message(const struct dbr_closeup_message *a,
                                const struct dbr_closeup_message *b)
{
    cr_assert(a->kind == b->kind && a->about == b->about && a->count == b->count);
    cr_assert(a->first_ns == b->first_ns && a->last_ns == b->last_ns && a->at_ns == b->at_ns);
    cr_assert(a->id.pgn == b->id.pgn && a->id.source == b->id.source);
    cr_assert(a->id.destination == b->id.destination && a->length == b->length);
    cr_assert_eq(memcmp(a->data, b->data, sizeof a->data), 0);
    cr_assert(a->message == b->message && a->is_process == b->is_process);
    cr_assert_eq(a->signal_count, b->signal_count);
}

static void assert_same_messages(const struct dbr_closeup *a, const struct dbr_closeup *b)
{
    cr_assert(a->seen == b->seen && a->left_out == b->left_out);
    cr_assert_eq(a->message_count, b->message_count);
    for (size_t i = 0; i < a->message_count; i++)
        assert_same_message(&a->messages[i], &b->messages[i]);
    cr_assert_eq(a->curve_count, b->curve_count);
    for (size_t i = 0; i < a->curve_count; i++)
        cr_assert_eq(a->curves[i].count, b->curves[i].count);
}

Test(closeup, any_batch_size_gives_the_same)
{
    struct dbr_closeup_window w[2] = {at_40(240, 65096), at_40(128, -1)};

    w[1].start_ns = 35 * S;
    tell_drive();
    track();
    look(w, 2, 1);
    struct dbr_closeups *one = closeups;
    look(w, 2, 512);
    assert_same_messages(dbr_closeups_at(one, 0), dbr_closeups_at(closeups, 0));
    assert_same_messages(dbr_closeups_at(one, 1), dbr_closeups_at(closeups, 1));
    dbr_closeups_free(one);
    end();
}

/* Far more streams than are followed, before the finding's own first message comes. */
Test(closeup, a_flood_is_bounded_counted_and_leaves_room)
{
    struct dbr_closeup_window w = at_40(250, 65300);

    frame_count = 0;
    for (int i = 0; i < 40000; i++)
        add(25 + i * 0.0007, story_id(6, 65301 + (uint32_t)i % 200, 255, (uint8_t)(i % 239)),
            DBR_FRAME_EXTENDED, (uint8_t[8]){(uint8_t)i}, 8);
    add(49.5, story_id(6, 65300, 255, 250), DBR_FRAME_EXTENDED, (uint8_t[8]){0}, 8);
    track();
    const struct dbr_closeup *c = look(&w, 1, frame_count);
    uint64_t kept = 0;
    for (size_t i = 0; i < c->message_count; i++)
        kept += c->messages[i].count;
    cr_assert_eq(c->message_count, DBR_CLOSEUP_MESSAGES_MAX);
    cr_assert(find(c, 250, 65300, 0) && find(c, 250, 65300, 0)->about);
    cr_assert_gt(c->left_out, 0);
    cr_assert_eq(c->seen, kept + c->left_out);
    end();
}

/* A finding of `code` with a time. */
static struct dbr_finding finding(enum dbr_severity severity, int64_t start, int64_t finish)
{
    return (struct dbr_finding){.code = "speed-lost", .severity = severity, .interface = 0,
                                .address = 128, .pgn = -1, .timed = true, .start_ns = start * S,
                                .end_ns = finish * S, .open = finish == 0};
}

Test(closeup, roots_come_first_then_their_ends_then_the_others)
{
    const struct dbr_finding findings[] = {
        finding(DBR_FAULT, 100, 300), finding(DBR_FAULT, 50, 60), finding(DBR_WARNING, 20, 0),
        finding(DBR_NOTE, 10, 20)};
    const size_t roots[] = {1, 0};
    struct dbr_diagnosis d = {.finding_count = 4, .findings = findings,
                              .verdict = {.root_cause_count = 2, .root_causes = roots}};
    struct dbr_closeup_window w[DBR_CLOSEUPS_MAX];

    cr_assert_eq(dbr_closeup_windows(&d, w, DBR_CLOSEUPS_MAX), 4);
    cr_assert(w[0].finding == 1 && w[0].start_ns == 40 * S && w[0].end_ns == 70 * S);
    cr_assert(w[1].finding == 0 && w[1].start_ns == 90 * S && w[1].end_ns == 110 * S);
    cr_assert(w[2].finding == 0 && w[2].at_end && w[2].moment_ns == 300 * S);
    cr_assert(w[3].finding == 2 && !w[3].at_end);
    cr_assert_eq(dbr_closeup_windows(&d, w, 1), 1);
}
