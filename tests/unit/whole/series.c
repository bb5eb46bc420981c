/* The series of a demo recording, whatever the size of the batches. */
#include <criterion/criterion.h>
#include <string.h>

#include "support/whole.h"

static const char *const path[] = {SOURCE_DIRECTORY "/samples/recorder-bus-off.log"};

static void assert_same(const struct dbr_series *a, const struct dbr_series *b)
{
    cr_assert(a->quantity == b->quantity && a->of == b->of && a->by_mass == b->by_mass);
    cr_assert_eq(a->hold_ns, b->hold_ns);
    cr_assert_eq(a->bucket_count, b->bucket_count);
    for (size_t k = 0; k < a->bucket_count; k++) {
        struct dbr_bucket x = dbr_series_bucket(a, k), y = dbr_series_bucket(b, k);
        cr_assert(x.state == y.state && x.count == y.count);
        cr_assert_eq(memcmp(&x.min, &y.min, sizeof x.min), 0);
        cr_assert_eq(memcmp(&x.mean, &y.mean, sizeof x.mean), 0);
        cr_assert_eq(memcmp(&x.max, &y.max, sizeof x.max), 0);
    }
}

Test(series_whole, any_batch_size_gives_the_same)
{
    struct whole *one = whole_read_in(path, 1, 1), *many = whole_read(path, 1);

    cr_assert_gt(one->history->series.count, 8);
    cr_assert_eq(one->history->series.count, many->history->series.count);
    for (size_t i = 0; i < one->history->series.count; i++)
        assert_same(&one->history->series.items[i], &many->history->series.items[i]);
    whole_free(one);
    whole_free(many);
}

Test(series_whole, error_frames_add_up)
{
    struct whole *w = whole_read(path, 1);
    const struct dbr_series *errors =
        dbr_series_find(&w->history->series, DBR_QUANTITY_ERRORS, 0);

    cr_assert(errors);
    cr_assert_eq(dbr_series_span(errors, 0, errors->bucket_count).count,
                 w->history->buses[0].error_frames);
    whole_free(w);
}
