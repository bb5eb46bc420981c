/* Buckets of values over time: against a plain list of all values, and at their ceilings. */
#include "tracking/series.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>

#include "support/story.h"
#include "tracking/spells.h"

#define DAY_NS (86400 * NS_PER_S)

/* The plain second implementation: everything that was said, in a list. */
struct said {
    int64_t at_ns;
    double value; /* NAN: none */
    enum dbr_value_status status;
};

struct list {
    size_t count;
    struct said items[40000];
};

static struct series_pool pool;
static struct list list;
static struct dbr_speed_source source;
static struct dbr_history history;

static void begin(void)
{
    series_init(&pool);
    list.count = 0;
}

static const struct dbr_series *finish(void)
{
    source.period_s = 0.1;
    history = (struct dbr_history){.timed = true, .source_count = 1, .sources = &source};
    cr_assert(series_finish(&pool, &history));
    return history.series.count > 0 ? &history.series.items[0] : NULL;
}

static void say(int64_t at_ns, double value)
{
    list.items[list.count++] = (struct said){at_ns, value, DBR_VALUE_VALID};
    series_value(&pool.speeds[0], at_ns, value);
}

static void say_none(int64_t at_ns, enum dbr_value_status status)
{
    list.items[list.count++] = (struct said){at_ns, (double)NAN, status};
    series_none(&pool.speeds[0], at_ns, status);
}

static struct dbr_bucket plain_bucket(size_t index, int64_t width_ns)
{
    struct dbr_bucket b = {.min = (double)INFINITY, .max = (double)-INFINITY};
    double sum = 0;

    for (size_t i = 0; i < list.count; i++) {
        const struct said *s = &list.items[i];
        enum dbr_bucket_state state = s->status == DBR_VALUE_VALID   ? DBR_BUCKET_VALUE
                                      : s->status == DBR_VALUE_ERROR ? DBR_BUCKET_ERROR
                                                                     : DBR_BUCKET_NOT_AVAILABLE;
        if ((size_t)((s->at_ns > 0 ? s->at_ns : 0) / width_ns) != index)
            continue;
        b.state = state > b.state ? state : b.state;
        if (state != DBR_BUCKET_VALUE)
            continue;
        b.count++;
        sum += s->value;
        b.min = fmin(b.min, s->value);
        b.max = fmax(b.max, s->value);
    }
    b.mean = sum / b.count;
    return b;
}

/* Rounding to a step costs half of one; a step that doubled has cost some of the former ones. */
static void assert_bucket(const struct dbr_bucket *b, const struct dbr_bucket *plain, double step)
{
    cr_assert_eq(b->state, plain->state);
    cr_assert_eq(b->count, plain->count);
    if (plain->state != DBR_BUCKET_VALUE) {
        cr_assert(isnan(b->min) && isnan(b->mean) && isnan(b->max));
        return;
    }
    cr_assert_float_eq(b->min, plain->min, 1.01 * step);
    cr_assert_float_eq(b->mean, plain->mean, 1.01 * step);
    cr_assert_float_eq(b->max, plain->max, 1.01 * step);
}

static void assert_like_list(const struct dbr_series *series)
{
    int64_t width = history.series.bucket_ns;

    for (size_t i = 0; i < list.count; i++) {
        size_t index = (size_t)((list.items[i].at_ns > 0 ? list.items[i].at_ns : 0) / width);
        for (size_t k = index > 0 ? index - 1 : 0; k <= index + 1; k += 1 + (i % 7 > 0)) {
            struct dbr_bucket b = dbr_series_bucket(series, k), plain = plain_bucket(k, width);
            assert_bucket(&b, &plain, series->step);
        }
    }
}

static double random_unit(void)
{
    static uint64_t state = 0x9E3779B97F4A7C15u;

    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return (double)(state >> 11) / 9007199254740992.0;
}

/* Random distances, values, states, pauses and backward steps. */
static void say_at_random(size_t count, double mean_distance_s, double largest)
{
    int64_t at = 0;

    for (size_t i = 0; i < count; i++) {
        at += (int64_t)(random_unit() * 2 * mean_distance_s * NS_PER_S);
        at -= i % 50 == 0 && at > NS_PER_S ? NS_PER_S : 0;
        if (random_unit() < 0.1)
            say_none(at, random_unit() < 0.3 ? DBR_VALUE_ERROR : DBR_VALUE_NOT_AVAILABLE);
        else
            say(at, random_unit() * largest);
    }
}

Test(series, like_a_plain_list)
{
    static const double distances_s[] = {0.01, 0.1, 3.0, 60.0, 9000.0};
    static const double largest[] = {9.0, 60.0, 2500.0};

    for (size_t d = 0; d < 5; d++) {
        for (size_t l = 0; l < 3; l++) {
            begin();
            say_at_random(2500, distances_s[d], largest[l]);
            assert_like_list(finish());
            series_release(&pool);
        }
    }
}

Test(series, spans_are_like_wider_buckets)
{
    begin();
    say_at_random(3000, 0.05, 9.0);
    const struct dbr_series *series = finish();
    for (size_t k = 0; k * 16 < series->bucket_count; k++) {
        struct dbr_bucket span = dbr_series_span(series, k * 16, 16);
        struct dbr_bucket plain = plain_bucket(k, 16 * DBR_SERIES_BUCKET_NS);
        assert_bucket(&span, &plain, series->step);
    }
    struct dbr_bucket beyond = dbr_series_bucket(series, series->bucket_count);
    cr_assert_eq(beyond.state, DBR_BUCKET_EMPTY);
    series_release(&pool);
}

Test(series, millimetres_are_kept_as_they_came)
{
    begin();
    say(0, 3.217);
    struct dbr_bucket b = dbr_series_bucket(finish(), 0);
    cr_assert_float_eq(b.mean, 3.217, 1e-9);
    series_release(&pool);
}

Test(series, what_a_bucket_shows)
{
    begin();
    series_none(&pool.speeds[0], 0, DBR_VALUE_NOT_AVAILABLE);
    series_none(&pool.speeds[0], NS_PER_S, DBR_VALUE_ERROR);
    series_none(&pool.speeds[0], NS_PER_S + 1, DBR_VALUE_OUT_OF_RANGE);
    series_value(&pool.speeds[0], 2 * NS_PER_S, 0.0);
    series_none(&pool.speeds[0], 2 * NS_PER_S + 1, DBR_VALUE_ERROR);
    const struct dbr_series *series = finish();
    cr_assert_eq(dbr_series_bucket(series, 0).state, DBR_BUCKET_NOT_AVAILABLE);
    cr_assert_eq(dbr_series_bucket(series, 8).state, DBR_BUCKET_EMPTY);
    cr_assert_eq(dbr_series_bucket(series, 16).state, DBR_BUCKET_ERROR);
    cr_assert_eq(dbr_series_bucket(series, 32).state, DBR_BUCKET_VALUE);
    cr_assert_eq(dbr_series_bucket(series, 32).mean, 0.0);
    series_release(&pool);
}

/* Eighteen series over a day fit at a second; more share the memory in wider buckets. */
static void run_for_a_day(size_t series_count)
{
    series_init(&pool);
    for (int64_t at = 0; at < DAY_NS; at += NS_PER_S)
        for (size_t i = 0; i < series_count; i++)
            series_value(&pool.speeds[i], at, 2.0 + (double)i);
}

Test(series, a_day_keeps_its_seconds)
{
    run_for_a_day(18);
    cr_assert_eq(pool.bucket_ns, 16 * DBR_SERIES_BUCKET_NS);
    cr_assert_leq(pool.chunk_count * sizeof(struct series_chunk), 16u << 20);
    cr_assert_eq(pool.dropped, 0);
    cr_assert_eq(pool.speeds[17].bucket_count, 86400);
    series_release(&pool);
}

Test(series, many_series_share_the_memory)
{
    run_for_a_day(DBR_SPEED_SOURCES_MAX);
    cr_assert_eq(pool.bucket_ns, 32 * DBR_SERIES_BUCKET_NS);
    cr_assert_leq(pool.chunk_count, DBR_SERIES_CHUNKS_MAX);
    cr_assert_eq(pool.dropped, 0);
    struct dbr_bucket b;
    finish();
    for (size_t k = 0; k < 43200; k += 999) {
        b = dbr_series_bucket(&history.series.items[0], k);
        cr_assert(b.state == DBR_BUCKET_VALUE && b.count == 2 && b.mean == 2.0);
    }
    series_release(&pool);
}

Test(series, a_year_fits)
{
    begin();
    for (int64_t hour = 0; hour < 365 * 24; hour++)
        for (int i = 0; i < 4; i++)
            say(hour * 3600 * NS_PER_S + i * NS_PER_S, (double)(hour % 24));
    const struct dbr_series *series = finish();
    cr_assert_leq(series->bucket_count, DBR_SERIES_BUCKETS_MAX);
    assert_like_list(series);
    series_release(&pool);
}

Test(series, a_mean_survives_more_values_than_it_can_count)
{
    begin();
    for (int64_t i = 0; i < 300000; i++)
        series_value(&pool.speeds[0], i, i % 2 ? 2.0 : 4.0);
    struct dbr_bucket b = dbr_series_bucket(finish(), 0);
    cr_assert_float_eq(b.mean, 3.0, 0.001);
    cr_assert(b.min == 2.0 && b.max == 4.0);
    series_release(&pool);
}

Test(series, events_are_counted_to_the_last)
{
    series_init(&pool);
    for (int64_t i = 0; i < 200000; i++)
        series_value(&pool.errors[0], i * NS_PER_S / 10000, 1);
    history = (struct dbr_history){.timed = true, .bus_count = 1};
    cr_assert(series_finish(&pool, &history));
    struct dbr_bucket b = dbr_series_span(&history.series.items[0], 0, 400);
    cr_assert_eq(b.count, 200000);
    b = dbr_series_bucket(&history.series.items[0], 3);
    cr_assert_eq(b.count, 625);
    series_release(&pool);
}

Test(series, nothing_that_is_no_number)
{
    begin();
    series_value(&pool.speeds[0], 0, (double)NAN);
    series_value(&pool.speeds[0], 0, (double)INFINITY);
    cr_assert_null(finish());
    cr_assert_eq(history.series.dropped, 2);
    series_release(&pool);
}

Test(series, other_units_are_forgotten)
{
    begin();
    say(0, 1.0);
    series_forget(&pool.speeds[0]);
    cr_assert_eq(pool.chunk_count, 0);
    say(NS_PER_S, 2.0);
    const struct dbr_series *series = finish();
    cr_assert_eq(dbr_series_bucket(series, 0).state, DBR_BUCKET_EMPTY);
    cr_assert_eq(dbr_series_bucket(series, 16).mean, 2.0);
    series_release(&pool);
}

/* From here on: what tracking puts in. */

Test(series, a_field_is_drawn)
{
    struct outcome *o = story_tell(story_field(1.0));
    const struct dbr_series_set *set = &o->history->series;

    cr_assert_eq(set->bucket_ns, DBR_SERIES_BUCKET_NS);
    for (size_t i = 0; i < o->history->source_count; i++) {
        const struct dbr_series *s = dbr_series_find(set, DBR_QUANTITY_SPEED, i);
        cr_assert(s && s->max > 2.0 && s->min == 0.0);
        cr_assert_float_eq(s->max, o->history->sources[i].max_mps, 0.0006);
    }
    const struct dbr_series *load = dbr_series_find(set, DBR_QUANTITY_LOAD, 0);
    cr_assert(load);
    cr_assert_float_eq(load->max, o->history->buses[0].load_peak_percent, 0.006);
    cr_assert_null(dbr_series_find(set, DBR_QUANTITY_ERRORS, 0));
    outcome_free(o);
}

Test(series, rates_go_by_mass)
{
    struct story *s = story_field(1.0);

    /* status of a controller; 20 g/m2 asked of an element (DDI 6), 10 g/m2 told (DDI 7) */
    story_beat(s, story_id(3, 51968, 255, 247), 2.0, 2, 90, "FEFFFFFF00FFFFFF");
    story_beat(s, story_id(3, 51968, 128, 247), 1.0, 10, 60, "23000600204E0000");
    story_beat(s, story_id(3, 51968, 247, 128), 1.0, 10, 40, "2300070010270000");
    struct outcome *o = story_tell(s);
    const struct dbr_series *asked =
        dbr_series_find(&o->history->series, DBR_QUANTITY_RATE_SETPOINT, 0);
    const struct dbr_series *told =
        dbr_series_find(&o->history->series, DBR_QUANTITY_RATE_ACTUAL, 0);
    cr_assert(asked && told && asked->by_mass && told->by_mass);
    cr_assert_float_eq(asked->max, 0.020, 1e-9);
    cr_assert_float_eq(told->max, 0.010, 1e-9);
    outcome_free(o);
}

Test(series, error_frames_are_drawn)
{
    struct story *s = story_field(1.0);

    for (int i = 0; i < 5; i++)
        story_error(s, 30.0 + i * 0.001, 0x8, "0000080000000000");
    struct outcome *o = story_tell(s);
    const struct dbr_series *errors =
        dbr_series_find(&o->history->series, DBR_QUANTITY_ERRORS, 0);
    cr_assert(errors);
    cr_assert_eq(dbr_series_bucket(errors, 480).count, 5);
    outcome_free(o);
}

Test(series, none_without_time)
{
    struct outcome *o = story_tell_untimed(story_field(1.0));

    cr_assert_eq(o->history->series.count, 0);
    outcome_free(o);
}
