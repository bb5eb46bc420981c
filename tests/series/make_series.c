/*
 * make_series.c - histories with made-up series, as the page gets them: a line of JSON each,
 * with what the page must read out of them. check.js compares.
 *
 *     make_series            several, short and long, with every state
 *     make_series --day      one of 24 h with eight speeds and rates, for its size alone
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "reporting/series_code.h"
#include "tracking/series.h"
#include "tracking/spells.h"

static struct series_pool pool;
static struct dbr_history history;
static struct dbr_speed_source sources[DBR_SPEED_SOURCES_MAX];
static struct dbr_implement implement;
static struct dbr_bus bus;

static double unit(void)
{
    static uint64_t state = 0x9E3779B97F4A7C15u;

    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return (double)(state >> 11) / 9007199254740992.0;
}

/* About normal, sigma 1. */
static double noise(void)
{
    double sum = -6;

    for (int i = 0; i < 12; i++)
        sum += unit();
    return sum;
}

/*
 * Passes of some minutes at speeds that wander a little, a turn between them, a stop now and
 * then; at every tenth of a second. A day without a break: more than any machine drives.
 */
struct driver {
    double wanted, speed, drift;
    int left; /* tenths of a second until the next manoeuvre */
    int manoeuvre;
};

static double drive(struct driver *d)
{
    if (d->left-- <= 0) {
        d->manoeuvre++;
        bool turn = d->manoeuvre % 2 == 1, stop = d->manoeuvre % 16 == 15;
        d->wanted = stop ? 0 : turn ? 1.5 : 2.0 + 2.0 * unit();
        d->left = turn ? 150 : 1200 + (int)(1800 * unit());
    }
    double step = d->wanted - d->speed;
    d->speed += step > 0.08 ? 0.08 : step < -0.12 ? -0.12 : step;
    d->drift = 0.98 * d->drift + 0.01 * noise();
    return d->speed > 0.3 ? d->speed + d->drift : d->speed;
}

/* As the messages resolve it. */
static double resolved(double value, double step)
{
    return value > 0 ? round(value / step) * step : 0;
}

/* Sensors: scale, noise in m/s, resolution of their messages. */
static const double sensors[6][3] = {
    {1.05, 0.012, 0.001}, {1.0, 0.04, 0.001},   {1.05, 0.012, 0.001},
    {1.05, 0.02, 1 / 256.0 / 3.6}, {1.0, 0.02, 0.01}, {1.0, 0.025, 0.001}};

static void make_day(double hours)
{
    struct driver d = {.left = 100};

    for (int64_t i = 0; i < (int64_t)(hours * 36000); i++) {
        int64_t at = i * NS_PER_S / 10;
        double v = drive(&d);
        for (int s = 0; s < 6; s++) {
            double own = v * sensors[s][0] + (v > 0.05 ? sensors[s][1] * noise() : 0);
            series_value(&pool.speeds[s], at, resolved(own, sensors[s][2]));
        }
        series_value(&pool.loads[0], at, 31 + 0.8 * noise());
        if (i % 5 == 0 && d.manoeuvre % 2 == 0) {
            series_value(&pool.setpoints[0], at, 0.018);
            series_value(&pool.actuals[0], at, resolved(0.018 + 0.0004 * noise(), 1e-6));
        }
    }
    history.source_count = 6;
}

/* All states, jumps too large for one code, and pauses. */
static void make_odd(size_t count, double distance_s, double largest)
{
    int64_t at = 0;

    for (size_t i = 0; i < count; i++) {
        at += (int64_t)(distance_s * (0.5 + unit()) * NS_PER_S) + (i % 97 == 0 ? 20 * NS_PER_S : 0);
        double which = unit();
        if (which < 0.03)
            series_none(&pool.speeds[0], at, DBR_VALUE_ERROR);
        else if (which < 0.1)
            series_none(&pool.speeds[0], at, DBR_VALUE_NOT_AVAILABLE);
        else
            series_value(&pool.speeds[0], at, which < 0.2 ? 0 : largest * unit());
        if (which > 0.9)
            series_value(&pool.errors[0], at, 1);
    }
    history.source_count = 1;
}

static void print_expected(const struct dbr_series *s, size_t span)
{
    printf("[");
    for (size_t k = 0; k * span < s->bucket_count; k++) {
        struct dbr_bucket b = dbr_series_span(s, k * span, span);
        if (b.state == DBR_BUCKET_VALUE)
            printf("%s[3,%.9g,%.9g,%.9g]", k ? "," : "", b.min, b.mean, b.max);
        else
            printf("%s[%d]", k ? "," : "", (int)b.state);
    }
    printf("]");
}

/* What a level must hold, by its width. */
static void print_level(const struct dbr_series *series, const cJSON *level)
{
    const cJSON *width = cJSON_GetObjectItem(level, "width_s");

    if (width)
        print_expected(series, (size_t)lround(strtod(width->valuestring, NULL) * 1e9 /
                                              (double)history.series.bucket_ns));
    else
        printf("null");
}

/* {"name", "exact": whether details are short enough to be exact, "report": {"series"},
 * "expect": [the buckets of each level of each item]} */
static void print_case(const char *name, bool exact, bool expect)
{
    struct dbr_report report = {.history = &history};
    cJSON *root = cJSON_CreateObject();

    json_add_series(root, &report);
    char *text = cJSON_PrintUnformatted(root);
    printf("{\"name\":\"%s\",\"exact\":%s,\"report\":%s,\"expect\":[", name,
           exact ? "true" : "false", text);
    for (size_t i = 0; expect && i < history.series.count; i++) {
        const cJSON *items = cJSON_GetObjectItem(cJSON_GetObjectItem(root, "series"), "items");
        const cJSON *item = cJSON_GetArrayItem(items, (int)i);
        printf("%s{\"overview\":", i ? "," : "");
        print_level(&history.series.items[i], cJSON_GetObjectItem(item, "overview"));
        printf(",\"detail\":");
        print_level(&history.series.items[i], cJSON_GetObjectItem(item, "detail"));
        printf("}");
    }
    printf("]}\n");
    free(text);
    cJSON_Delete(root);
}

static void begin(void)
{
    series_init(&pool);
    for (size_t i = 0; i < DBR_SPEED_SOURCES_MAX; i++)
        sources[i].period_s = 0.1;
}

static void end(const char *name, bool exact, bool expect)
{
    history.timed = true;
    history.sources = sources;
    history.implements = &implement;
    history.buses = &bus;
    history.implement_count = history.bus_count = 1;
    if (!series_finish(&pool, &history))
        exit(2);
    print_case(name, exact, expect);
    series_release(&pool);
}

int main(int argc, char **argv)
{
    if (argc > 1 && strcmp(argv[1], "--day") == 0) {
        begin();
        make_day(argc > 2 ? strtod(argv[2], NULL) : 24);
        end("day", false, false);
        return 0;
    }
    begin();
    end("nothing at all", true, true);
    begin();
    make_odd(3, 0.1, 3);
    end("three values", true, true);
    begin();
    make_odd(3000, 0.1, 6);
    end("minutes", true, true);
    begin();
    make_odd(20000, 0.1, 60);
    end("large jumps", true, true);
    begin();
    make_odd(20000, 30, 6);
    end("sparse days", true, true);
    begin();
    make_day(6);
    end("six hours of work", false, true);
    return 0;
}
