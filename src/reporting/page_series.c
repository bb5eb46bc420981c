/* page_series.c - see page_series.h. */
#include "reporting/page_series.h"

#include "diagnosis/units.h"
#include "reporting/html_text.h"

static void ecu_label(const struct page *p, uint8_t interface, uint8_t address, char *out,
                      size_t size)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(p->r->history, interface, address);

    snprintf(out, size, "address %u", address);
    if (ecu)
        dbr_ecu_label(out, size, ecu);
}

void page_series_name(const struct page *p, const struct dbr_series *series, char *out,
                      size_t size)
{
    const struct dbr_history *h = p->r->history;
    const char *what = "";
    char label[DBR_LABEL_MAX] = "";

    switch (series->quantity) {
    case DBR_QUANTITY_SPEED:
        what = dbr_speed_kind_name(h->sources[series->of].kind);
        ecu_label(p, h->sources[series->of].interface, h->sources[series->of].address, label,
                  sizeof label);
        break;
    case DBR_QUANTITY_RATE_SETPOINT:
    case DBR_QUANTITY_RATE_ACTUAL:
        what = series->quantity == DBR_QUANTITY_RATE_ACTUAL ? "actual" : "set-point";
        ecu_label(p, h->implements[series->of].interface, h->implements[series->of].address, label,
                  sizeof label);
        break;
    case DBR_QUANTITY_LOAD:
    case DBR_QUANTITY_ERRORS:
        snprintf(label, sizeof label, "%s", p->r->info->interfaces[series->of]);
        break;
    case DBR_QUANTITIES:
        break;
    }
    snprintf(out, size, "%s%s%s", what, *what && *label ? ", " : "", label);
}

static const char *figure(char *out, enum dbr_units units, const struct dbr_series *series,
                          double value)
{
    switch (series->quantity) {
    case DBR_QUANTITY_SPEED:
        return units_speed(out, units, value);
    case DBR_QUANTITY_RATE_SETPOINT:
    case DBR_QUANTITY_RATE_ACTUAL:
        if (series->by_mass)
            return units_mass_rate(out, units, value);
        snprintf(out, UNITS_TEXT_MAX, "%g, unit not told", value);
        break;
    case DBR_QUANTITY_LOAD:
        snprintf(out, UNITS_TEXT_MAX, "%g %%", value);
        break;
    case DBR_QUANTITY_ERRORS:
        snprintf(out, UNITS_TEXT_MAX, "%g", value);
        break;
    case DBR_QUANTITIES:
        break;
    }
    return out;
}

void page_quantity(const struct page *p, FILE *out, const struct dbr_series *series, double value,
                   const char *element)
{
    static const char *const classes[] = {[DBR_UNITS_METRIC] = "metric", [DBR_UNITS_US] = "us"};
    char text[UNITS_TEXT_MAX] = "";

    (void)p;
    for (int units = 0; units < 2; units++) {
        fprintf(out, "<%s class=\"%s\">", element, classes[units]);
        html_text(out, figure(text, (enum dbr_units)units, series, value));
        fprintf(out, "</%s>", element);
    }
}

/* Units are proportional to SI: the figure of 1 is the factor, to the digits that are printed. */
static double factor(const struct page *p, const struct dbr_series *series)
{
    char text[UNITS_TEXT_MAX] = "";
    double thousand = 1000, shown = 0;

    figure(text, p->r->units, series, thousand);
    return sscanf(text, "%lf", &shown) == 1 && shown > 0 ? shown / thousand : 1;
}

double page_round_top(const struct page *p, const struct dbr_series *series, double value,
                      double (*round_up)(double))
{
    double by = factor(p, series);
    return round_up(value * by) / by;
}
