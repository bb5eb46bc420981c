/* Device descriptions cut anywhere, and changed at random: what is whole is kept, nothing breaks. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/device.h"
#include "support/pool.h"

static const struct dbr_pool_layout untold = {.version = DBR_VERSION_UNKNOWN};

/* Where each object of the spreader begins, and where the last one ends. */
static size_t object_starts(const struct dbr_device *whole, size_t *starts)
{
    for (size_t i = 0; i < whole->object_count; i++)
        starts[i] = whole->objects[i].offset;
    starts[whole->object_count] = whole->length;
    return whole->object_count;
}

Test(decoding_device_damaged, cut_anywhere_it_keeps_what_is_whole_and_says_where_it_broke)
{
    for (unsigned layout = 0; layout < 2; layout++) {
        struct bytes b = {0};
        size_t starts[POOL_SPREADER_OBJECTS + 1];
        pool_spreader(&b, layout ? "x" : NULL);
        struct dbr_device *whole = dbr_device_parse(b.data, b.length, &untold);
        size_t count = object_starts(whole, starts), kept = 0;
        for (size_t length = 0; length < b.length; length++) {
            /* A copy of its own, so that a sanitizer sees what reads beyond. */
            uint8_t *copy = malloc(length + 1);
            memcpy(copy, b.data, length);
            struct dbr_device *d = dbr_device_parse(copy, length, &untold);
            while (kept < count && starts[kept + 1] <= length)
                kept++;
            bool short_label = layout == 1 && length + 2 == starts[1];
            cr_assert_eq(d->object_count, kept + short_label, "cut at %zu", length);
            cr_expect_eq(d->complete, (starts[kept] == length && kept > 0) || short_label);
            if (!short_label && length > starts[kept]) {
                bool told = false;
                for (size_t i = 0; i < d->problem_count; i++)
                    told = told || (d->problems[i].kind == DBR_POOL_CUT &&
                                    d->problems[i].offset == starts[kept]);
                cr_expect(told, "cut at %zu", length);
            }
            dbr_device_free(d);
            free(copy);
        }
        dbr_device_free(whole);
        bytes_free(&b);
    }
}

static uint32_t next_random(uint32_t *state)
{
    *state ^= *state << 13; /* Marsaglia 2003 */
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state;
}

/* Whatever the bytes are, what is kept makes sense. */
static void expect_sane(const struct dbr_device *d)
{
    cr_assert_leq(d->read, d->length);
    cr_assert_leq(d->object_count, DBR_POOL_OBJECTS_MAX);
    cr_assert(d->complete == (d->described && d->read == d->length));
    cr_assert(d->read == d->length || d->problem_count > 0);
    for (size_t i = 0; i < d->object_count; i++) {
        const struct dbr_device_object *o = &d->objects[i];
        cr_assert_eq(dbr_device_object(d, o->id), o, "ids are unique");
        if (o->kind == DBR_OBJECT_ELEMENT)
            dbr_device_width_m(d, o);
        if (o->kind == DBR_OBJECT_PROPERTY)
            dbr_device_present(d, o, o->value);
    }
}

Test(decoding_device_damaged, random_changes_to_a_description_do_no_harm)
{
    struct bytes b = {0};
    uint32_t seed = 20240529;
    pool_spreader(&b, "");

    for (unsigned run = 0; run < 20000; run++) {
        size_t length = 1 + next_random(&seed) % b.length;
        uint8_t *copy = malloc(length);
        memcpy(copy, b.data, length);
        for (unsigned k = next_random(&seed) % 8; k > 0; k--)
            copy[next_random(&seed) % length] = (uint8_t)next_random(&seed);
        struct dbr_device *d = dbr_device_parse(copy, length, &untold);
        expect_sane(d);
        dbr_device_free(d);
        free(copy);
    }
    bytes_free(&b);
}
