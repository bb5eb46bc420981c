/* The data dictionary's table: order, lookup, and the arithmetic of raw values. */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/ddi.h"

Test(decoding_ddi, rows_stand_in_order_and_are_whole)
{
    cr_assert_geq(dbr_ddi_count(), 150);
    for (size_t i = 0; i < dbr_ddi_count(); i++) {
        const struct dbr_ddi *d = dbr_ddi_at(i);
        if (i > 0)
            cr_expect_gt(d->number, dbr_ddi_at(i - 1)->number, "%u", d->number);
        cr_expect_gt(strlen(d->name), 0, "%u", d->number);
        cr_expect_not_null(d->unit);
        cr_expect_gt(d->resolution, 0, "%u", d->number);
        cr_expect_str_eq(d->source, "ISO 11783-11");
        cr_expect_eq(dbr_ddi_find(d->number), d, "%u is not found", d->number);
    }
}

Test(decoding_ddi, two_ddis_of_one_unit_do_not_share_a_name)
{
    for (size_t i = 0; i < dbr_ddi_count(); i++)
        for (size_t k = 0; k < i; k++)
            cr_expect(strcmp(dbr_ddi_at(i)->name, dbr_ddi_at(k)->name) != 0 ||
                          strcmp(dbr_ddi_at(i)->unit, dbr_ddi_at(k)->unit) != 0,
                      "%u and %u", dbr_ddi_at(k)->number, dbr_ddi_at(i)->number);
}

Test(decoding_ddi, what_the_table_does_not_hold_is_unknown)
{
    cr_expect_null(dbr_ddi_find(152));
    cr_expect_null(dbr_ddi_find(57344));
    cr_expect_null(dbr_ddi_find(65535));
    cr_expect_not(dbr_ddi_is_proprietary(57343));
    cr_expect(dbr_ddi_is_proprietary(57344));
    cr_expect(dbr_ddi_is_proprietary(65534));
    cr_expect_not(dbr_ddi_is_proprietary(65535));
}

/* 200 L/ha, 180 kg/ha, 85 grains to the square metre, worked from the units by hand. */
Test(decoding_ddi, raw_values_in_units_of_the_trade)
{
    double litres_per_hectare = 2000000 * dbr_ddi_find(1)->resolution * 0.01;
    double kilograms_per_hectare = 18000 * dbr_ddi_find(6)->resolution * 0.01;
    double grains = 85000 * dbr_ddi_find(11)->resolution;

    cr_expect_float_eq(litres_per_hectare, 200, 1e-9);
    cr_expect_float_eq(kilograms_per_hectare, 180, 1e-9);
    cr_expect_float_eq(grains, 85, 1e-9);
    cr_expect_str_eq(dbr_ddi_find(2)->unit, "mm3/m2");
    cr_expect_str_eq(dbr_ddi_find(7)->unit, "mg/m2");
    cr_expect_str_eq(dbr_ddi_find(12)->unit, "1/m2");
}
