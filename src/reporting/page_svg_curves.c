/*
 * page_svg_curves.c - speeds, rates, load and error frames as curves of the picture
 * (page_svg.h). A curve has a colour, a dash and a letter: any one of them tells it.
 */
#include <math.h>
#include <string.h>

#include "diagnosis/units.h"
#include "reporting/html_text.h"
#include "reporting/page_series.h"
#include "reporting/page_svg.h"

#define COLUMNS 385u /* two units of the picture each */
#define CURVES_MAX 8u
#define NAME_HEIGHT 20.0
#define PANEL_LEAST 120.0

/* A frame for curves of one quantity. */
struct panel {
    struct picture *s;
    double height, top; /* of the values: what the upper edge means */
    size_t count;
    const struct dbr_series *series[CURVES_MAX];
};

static const char *const dashes[CURVES_MAX] = {"none", "9 4", "2 3", "12 3 2 3",
                                               "5 2", "1 2", "16 4", "7 2 1 2 1 2"};

static double panel_y(const struct panel *f, double value)
{
    double share = f->top > 0 ? value / f->top : 0;

    share = share < 0 ? 0 : share > 1 ? 1 : share;
    return f->s->y + f->height - 4 - share * (f->height - 22);
}

/* A round number at or above `value`: 1, 2 or 5 times a power of ten. */
static double round_up(double value)
{
    double power = pow(10, floor(log10(value)));
    static const double steps[] = {1, 1.5, 2, 3, 4, 5, 6, 8, 10};

    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++)
        if (steps[i] * power >= value * 0.9999)
            return steps[i] * power;
    return 10 * power;
}

static void write_scale(const struct panel *f)
{
    FILE *out = f->s->out;

    fprintf(out, "<path class=\"grid\" d=\"M%.1f %.1fH%.1fM%.1f %.1fH%.1f\"/>\n", PICTURE_GUTTER,
            panel_y(f, f->top), PICTURE_RIGHT, PICTURE_GUTTER, panel_y(f, 0), PICTURE_RIGHT);
    fprintf(out, "<text class=\"faint\" x=\"%.1f\" y=\"%.1f\">", PICTURE_GUTTER + 4,
            panel_y(f, f->top) - 4);
    page_quantity(f->s->p, out, f->series[0], f->top, "tspan");
    fputs("</text>\n", out);
}

/* Whether a line between two values tells the truth: what lay between was only quiet. */
static bool joined(const struct dbr_series *series, double quiet_ns)
{
    return series->hold_ns > 0 && quiet_ns <= (double)series->hold_ns;
}

static void write_line(const struct panel *f, size_t index, int64_t bucket_ns)
{
    const struct dbr_series *series = f->series[index];
    double quiet = (double)INFINITY;
    double per = (double)f->s->p->r->history->end_ns / (double)bucket_ns / COLUMNS;
    size_t columns = per < 1 ? (size_t)(per * COLUMNS) + 1 : COLUMNS;

    per = per < 1 ? 1 : per;
    fprintf(f->s->out, "<path class=\"line c%zu\" stroke-dasharray=\"%s\" d=\"", index,
            dashes[index]);
    for (size_t i = 0; i < columns; i++) {
        size_t first = (size_t)((double)i * per), next = (size_t)((double)(i + 1) * per);
        struct dbr_bucket b = dbr_series_span(series, first, next > first ? next - first : 1);
        if (b.state != DBR_BUCKET_VALUE) {
            quiet = b.state == DBR_BUCKET_EMPTY ? quiet + per * (double)bucket_ns : (double)INFINITY;
            continue;
        }
        int64_t at = (int64_t)(((double)(first + next) / 2) * (double)bucket_ns);
        double x = picture_x(f->s, at);
        fprintf(f->s->out, "%c%.1f %.1f", joined(series, quiet) ? 'L' : 'M', x,
                panel_y(f, b.mean));
        if (panel_y(f, b.min) - panel_y(f, b.max) > 1.5)
            fprintf(f->s->out, "M%.1f %.1fV%.1fM%.1f %.1f", x, panel_y(f, b.min),
                    panel_y(f, b.max), x, panel_y(f, b.mean));
        else if (!joined(series, quiet))
            fputs("h0.8", f->s->out); /* a value that stands alone shows as a dot */
        quiet = 0;
    }
    fputs("\"/>\n", f->s->out);
}

/* Its letter, on the curve: each at another place, so that none hides another. */
static void write_letter(const struct panel *f, size_t index, int64_t bucket_ns)
{
    const struct dbr_series *series = f->series[index];
    size_t total = (size_t)(f->s->p->r->history->end_ns / bucket_ns) + 1;
    size_t at = (size_t)((double)total * (0.5 + (double)index) / (double)f->count);

    for (size_t tried = 0; tried < total; tried++, at = (at + 1) % total) {
        struct dbr_bucket b = dbr_series_bucket(series, at);
        if (b.state != DBR_BUCKET_VALUE)
            continue;
        double x = picture_x(f->s, (int64_t)at * bucket_ns), y = panel_y(f, b.mean);
        fprintf(f->s->out, "<circle class=\"badge c%zu\" cx=\"%.1f\" cy=\"%.1f\" r=\"8\"/>"
                "<text class=\"letter\" x=\"%.1f\" y=\"%.1f\">%c</text>\n", index, x, y, x, y + 4,
                (char)('A' + index));
        return;
    }
}

static void write_name(const struct panel *f, size_t index)
{
    char name[DBR_LABEL_MAX + 16], label[DBR_LABEL_MAX + 32];
    double y = f->s->y + NAME_HEIGHT * (double)index;
    struct picture row = *f->s;

    page_series_name(f->s->p, f->series[index], name, sizeof name);
    snprintf(label, sizeof label, "%c %s", (char)('A' + index), name);
    row.y = y;
    picture_label(&row, NAME_HEIGHT - 6, label);
    fprintf(f->s->out, "<path class=\"line c%zu\" stroke-dasharray=\"%s\" d=\"M%.1f %.1fH%.1f\"/>\n",
            index, dashes[index], 20.0, y + NAME_HEIGHT - 3, PICTURE_GUTTER - 10);
}

static void write_panel(struct picture *s, const char *heading, struct panel *f)
{
    const struct dbr_series_set *set = &s->p->r->history->series;
    double top = 0;

    if (f->count == 0)
        return;
    for (size_t i = 0; i < f->count; i++)
        top = f->series[i]->max > top ? f->series[i]->max : top;
    picture_heading(s, heading);
    f->s = s;
    f->top = page_round_top(s->p, f->series[0], top > 0 ? top : 1, round_up);
    f->height = NAME_HEIGHT * (double)f->count + 10;
    f->height = f->height < PANEL_LEAST ? PANEL_LEAST : f->height;
    write_scale(f);
    for (size_t i = 0; i < f->count; i++)
        write_line(f, i, set->bucket_ns);
    for (size_t i = 0; i < f->count; i++) {
        write_letter(f, i, set->bucket_ns);
        write_name(f, i);
    }
    s->y += f->height;
}

/* The series of up to two quantities that hold anything at all. */
static struct panel choose(const struct picture *s, enum dbr_quantity a, enum dbr_quantity b)
{
    const struct dbr_series_set *set = &s->p->r->history->series;
    struct panel f = {0};

    for (size_t i = 0; i < set->count && f.count < CURVES_MAX; i++)
        if ((set->items[i].quantity == a || set->items[i].quantity == b) &&
            !isnan(set->items[i].max))
            f.series[f.count++] = &set->items[i];
    return f;
}

void picture_curves(struct picture *s)
{
    struct panel speeds = choose(s, DBR_QUANTITY_SPEED, DBR_QUANTITY_SPEED);
    struct panel rates = choose(s, DBR_QUANTITY_RATE_SETPOINT, DBR_QUANTITY_RATE_ACTUAL);

    write_panel(s, "Speed by each source", &speeds);
    write_panel(s, "Rate, set-point and actual", &rates);
}

void picture_load(struct picture *s)
{
    struct panel load = choose(s, DBR_QUANTITY_LOAD, DBR_QUANTITY_LOAD);
    struct panel errors = choose(s, DBR_QUANTITY_ERRORS, DBR_QUANTITY_ERRORS);

    write_panel(s, "Bus load", &load);
    write_panel(s, "Error frames", &errors);
}
