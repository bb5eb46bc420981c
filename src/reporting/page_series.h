/* page_series.h - what a series is called and in which unit it is shown (page.h). */
#ifndef DRAWBAR_REPORTING_PAGE_SERIES_H
#define DRAWBAR_REPORTING_PAGE_SERIES_H

#include "drawbar/series.h"
#include "reporting/page.h"

/* "wheel, tractor ECU (240)", "set-point, rate control (128)", "can0". Not escaped. */
void page_series_name(const struct page *p, const struct dbr_series *series, char *out,
                      size_t size);

/* A value of the series with its unit, in both; `element` is "span" or, in SVG, "tspan". */
void page_quantity(const struct page *p, FILE *out, const struct dbr_series *series, double value,
                   const char *element);

/* A value at or above `value` that is a round number in the units shown at first. */
double page_round_top(const struct page *p, const struct dbr_series *series, double value,
                      double (*round_up)(double));

#endif
