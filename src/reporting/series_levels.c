/* series_levels.c - how wide and how fine the series of a page are, so that it stays small. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "reporting/series_code.h"

#define S_NS 1e9

/* What a reader of a plot can make out: speeds are read in tenths of a km/h, rates in percent. */
#define SPEED_STEP 0.01
#define RATE_PARTS 1000.0
#define LOAD_STEP 0.5
#define SPEED_COARSER 2.0 /* where space is short; noise of sensors is above these */
#define RATE_COARSER 5.0

static double step_of(const struct dbr_series *s)
{
    double step = 1;

    if (s->quantity == DBR_QUANTITY_SPEED)
        step = SPEED_STEP;
    else if (s->quantity == DBR_QUANTITY_LOAD)
        step = LOAD_STEP;
    else if (s->quantity != DBR_QUANTITY_ERRORS && s->max > 0)
        step = s->max / RATE_PARTS;
    return step > s->step ? step : s->step;
}

static struct series_level level_of(const struct dbr_series *s, size_t span, bool exact)
{
    bool is_rate = s->quantity == DBR_QUANTITY_RATE_SETPOINT ||
                   s->quantity == DBR_QUANTITY_RATE_ACTUAL;
    double coarser = exact                                ? 1
                     : s->quantity == DBR_QUANTITY_SPEED ? SPEED_COARSER
                     : is_rate                            ? RATE_COARSER
                                                          : 1;
    return (struct series_level){span, step_of(s) * coarser, exact};
}

static void free_texts(char **texts, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        free(texts[i]);
        texts[i] = NULL;
    }
}

/* Packs all series; returns their length, or SIZE_MAX where memory is short. */
static size_t pack_all(const struct dbr_series_set *set, size_t span, bool exact, char **texts)
{
    size_t length = 0;

    for (size_t i = 0; i < set->count; i++) {
        struct series_level level = level_of(&set->items[i], span, exact);
        texts[i] = series_pack(&set->items[i], &level);
        if (!texts[i])
            return SIZE_MAX;
        length += strlen(texts[i]);
    }
    return length;
}

/* base64 is clean as it is, and long. */
static void add_level(cJSON *item, const char *key, const struct dbr_series_set *set,
                      const struct dbr_series *s, const struct series_level *level,
                      const char *text)
{
    cJSON *object = json_add_object(item, key);

    json_add_number(object, "width_s", (double)level->span * (double)set->bucket_ns / S_NS, 4);
    json_add_number(object, "step", level->step, 12);
    json_add_count(object, "count", series_level_count(s, level));
    if (!text || !cJSON_AddStringToObject(object, "data", text))
        item->type = cJSON_Invalid;
}

static void add_overview(cJSON *item, const struct dbr_series_set *set, const struct dbr_series *s,
                         size_t detail_span)
{
    size_t span = (set->bucket_count + DBR_PAGE_OVERVIEW_BUCKETS - 1) / DBR_PAGE_OVERVIEW_BUCKETS;
    struct series_level level = level_of(s, span, true);

    if (span <= detail_span) {
        json_add_null(item, "overview");
        return;
    }
    char *text = series_pack(s, &level);
    add_level(item, "overview", set, s, &level, text);
    free(text);
}

static void add_item(cJSON *list, const struct dbr_series_set *set, const struct dbr_series *s,
                     const struct series_level *detail, const char *text)
{
    cJSON *item = json_add_item(list);

    if (!item)
        return;
    json_add_text(item, "quantity", dbr_quantity_name(s->quantity));
    json_add_count(item, "of", s->of);
    json_add_bool(item, "by_mass", s->by_mass);
    json_add_number(item, "hold_s", (double)s->hold_ns / S_NS, 3);
    json_add_number(item, "min", s->min, 12);
    json_add_number(item, "max", s->max, 12);
    add_overview(item, set, s, detail->span);
    add_level(item, "detail", set, s, detail, text);
}

/*
 * The finest detail that fits: all buckets as they are; then coarser; then wider. A day of a
 * machine with eight sources fits with one second (sh tests/series/run BUILD --sizes).
 */
static size_t pack_to_fit(const struct dbr_series_set *set, bool *exact, char **texts)
{
    size_t span = 1;

    for (*exact = true; pack_all(set, span, *exact, texts) > DBR_PAGE_SERIES_BYTES;) {
        bool failed = texts[set->count - 1] == NULL;
        if (failed || span > set->bucket_count)
            break;
        free_texts(texts, set->count);
        span *= *exact ? 1 : 2;
        *exact = false;
    }
    return span;
}

void json_add_series(cJSON *root, const struct dbr_report *r)
{
    const struct dbr_series_set *set = &r->history->series;
    cJSON *object = json_add_object(root, "series");
    char **texts = calloc(set->count > 0 ? set->count : 1, sizeof *texts);
    bool exact = true;

    json_add_time(object, "duration_s", r->history->end_ns, r->history->timed);
    json_add_count(object, "dropped", set->dropped);
    cJSON *list = json_add_list(object, "items");
    if (!texts && root)
        root->type = cJSON_Invalid;
    size_t span = texts && set->count > 0 ? pack_to_fit(set, &exact, texts) : 1;
    for (size_t i = 0; texts && i < set->count; i++) {
        struct series_level level = level_of(&set->items[i], span, exact);
        add_item(list, set, &set->items[i], &level, texts[i]);
    }
    if (texts)
        free_texts(texts, set->count);
    free(texts);
}
