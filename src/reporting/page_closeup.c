/*
 * page_closeup.c - what was said around the moments of a finding: messages as a table
 * under it, and the values as they came as data for the curves (page.h).
 *
 * A page stays small: so many rows of a moment are shown, and values until their text
 * would exceed CURVES_BYTES. What is left out is said.
 */
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/closeup.h"
#include "drawbar/ddi.h"
#include "reporting/html_text.h"
#include "reporting/json.h"
#include "reporting/page.h"
#include "reporting/series_code.h"

#define CURVES_BYTES 49152u  /* of all moments; those of root causes come first */
#define POINT_BYTES 40u      /* a point in text: two numbers and their blanks */
#define MM_PER_M 1000.0
#define MG_PER_KG 1e6

/* A value in the reader's units where they differ, else as the definition has it. */
static void write_value(const struct page *p, double number, const char *unit)
{
    if (strcmp(unit, "m/s") == 0)
        page_speed(p, number);
    else if (strcmp(unit, "mm/s") == 0)
        page_speed(p, number / MM_PER_M);
    else if (strcmp(unit, "mg/m2") == 0)
        page_mass_rate(p, number / MG_PER_KG);
    else
        html_format(p->out, "%.6g%s%s", number, *unit ? " " : "", unit);
}

static const char *state_text(const struct dbr_signal *signal, uint64_t raw)
{
    for (size_t i = 0; i < signal->state_count; i++)
        if ((uint64_t)signal->states[i].raw == raw)
            return signal->states[i].text;
    return NULL;
}

static void write_signal(const struct page *p, const struct dbr_closeup_signal *s)
{
    static const char *const words[] = {
        [DBR_VALUE_VALID] = "", [DBR_VALUE_NOT_AVAILABLE] = "not available",
        [DBR_VALUE_ERROR] = "error", [DBR_VALUE_OUT_OF_RANGE] = "out of range",
        [DBR_VALUE_ABSENT] = "absent"};
    const char *state = state_text(s->signal, s->value.raw);

    html_text(p->out, s->signal->name);
    fputc(' ', p->out);
    if (state)
        html_text(p->out, state);
    else if (s->value.status != DBR_VALUE_VALID)
        fputs(words[s->value.status], p->out);
    else
        write_value(p, s->value.number, s->signal->unit ? s->signal->unit : "");
}

static void write_process(const struct page *p, const struct dbr_process_data *data)
{
    const struct dbr_ddi *ddi = dbr_ddi_find(data->ddi);

    if (ddi)
        html_text(p->out, ddi->name);
    else
        fprintf(p->out, "DDI %u", data->ddi);
    fprintf(p->out, ", element %u: ", data->element);
    if (ddi)
        write_value(p, data->value * ddi->resolution, ddi->unit);
    else
        fprintf(p->out, "%" PRId32, data->value);
}

/* What it says: process data, the signals that matter, or how it failed. */
static void write_content(const struct page *p, const struct dbr_closeup_message *m)
{
    if (m->message && m->message->name && !m->is_process) {
        html_text(p->out, m->message->name);
        fputs(m->signal_count > 0 ? ": " : "", p->out);
    } else if (m->kind == DBR_SEEN_FRAME) {
        fputs(m->frame_flags & DBR_FRAME_ERROR ? "error frame" : "frame of another kind", p->out);
    } else if (!m->is_process) {
        fprintf(p->out, "group %" PRIu32 ", not decoded", m->id.pgn);
    }
    if (m->kind == DBR_SEEN_FAILED)
        html_format(p->out, " failed: %s", dbr_transfer_end_words(m->failed));
    if (m->is_process)
        write_process(p, &m->process);
    for (size_t i = 0; !m->is_process && i < m->signal_count; i++) {
        fputs(i > 0 ? ", " : "", p->out);
        write_signal(p, &m->signals[i]);
    }
}

/* End tags of rows and cells may be left away (HTML 13.1.2.4), and there are many. */
static void write_row(const struct page *p, const struct dbr_closeup_message *m)
{
    fprintf(p->out, "<tr%s><td>%.3f s<td>", m->about ? " class=about" : "", (double)m->at_ns / 1e9);
    if (m->kind == DBR_SEEN_FRAME)
        html_text(p->out, p->r->info->interfaces[m->interface]);
    else
        page_ecu(p, m->interface, m->id.source);
    fputs("<td>", p->out);
    write_content(p, m);
    if (m->count > 1)
        fprintf(p->out, "<td>%" PRIu64 " times, %.3f s to %.3f s", m->count,
                (double)m->first_ns / 1e9, (double)m->last_ns / 1e9);
    else
        fputs("<td>once", p->out);
    fputc('\n', p->out);
}

/* Rows of a moment: a screen for the first few, the causes; then fewer, some 60 kB in all. */
static size_t rows_shown(size_t moment)
{
    return moment < 4 ? 24 : moment < 12 ? 12 : 6;
}

static int64_t distance(const struct dbr_closeup *c, size_t message)
{
    return llabs(c->messages[message].at_ns - c->window.moment_ns);
}

/* Whether it is among those shown: what is about the finding first, then what is nearest. */
static bool is_shown(const struct dbr_closeup *c, size_t message, size_t most)
{
    size_t before = 0;

    for (size_t i = 0; i < c->message_count; i++) {
        bool mine = c->messages[message].about, other = c->messages[i].about;
        if (i == message || (mine && !other))
            continue;
        before += (other && !mine) || distance(c, i) < distance(c, message) ||
                  (distance(c, i) == distance(c, message) && i < message);
    }
    return before < most;
}

static void write_closeup(const struct page *p, const struct dbr_closeup *c, size_t most)
{
    uint64_t told = 0;

    if (c->message_count == 0)
        return;
    fprintf(p->out, "<details class=\"closeup\"><summary>Messages around its %s, %.1f s</summary>\n"
            "<table class=\"close\"><thead><tr><th scope=\"col\">time<th scope=\"col\">from"
            "<th scope=\"col\">says<th scope=\"col\">how often</thead><tbody>\n",
            c->window.at_end ? "end" : "start", (double)c->window.moment_ns / 1e9);
    for (size_t i = 0; i < c->message_count; i++) {
        if (!is_shown(c, i, most))
            continue;
        write_row(p, &c->messages[i]);
        told += c->messages[i].count;
    }
    fputs("</tbody></table>\n", p->out);
    if (c->seen > told)
        fprintf(p->out, "<p>%" PRIu64 " further messages of these %.0f seconds are not shown.</p>\n",
                c->seen - told, (double)(c->window.end_ns - c->window.start_ns) / 1e9);
    fputs("</details>\n", p->out);
}

void page_closeups(const struct page *p, size_t finding)
{
    for (size_t i = 0; p->r->closeups && i < dbr_closeups_count(p->r->closeups); i++) {
        const struct dbr_closeup *c = dbr_closeups_at(p->r->closeups, i);
        if (c->window.finding == finding)
            write_closeup(p, c, rows_shown(i));
    }
}

/* Points as text: milliseconds since the one before, and how far the value has moved since the last
 * one, in whole mm/s; "x" where there is none. The caller frees it. */
static char *points_text(const struct dbr_closeup_curve *curve)
{
    char *text = malloc(curve->count * POINT_BYTES + 1), *at = text;
    int64_t before_ms = 0, before = 0;

    if (!text)
        return NULL;
    *text = '\0';
    for (size_t i = 0; i < curve->count; i++) {
        int64_t ms = curve->points[i].at_ns / 1000000;
        double value = curve->points[i].value * MM_PER_M;
        size_t room = POINT_BYTES * (curve->count - i);
        bool usable = !isnan(value) && fabs(value) <= 1e9;
        if (!usable)
            at += snprintf(at, room, "%" PRId64 " x ", ms - before_ms);
        else
            at += snprintf(at, room, "%" PRId64 " %lld ", ms - before_ms, llround(value) - before);
        before = usable ? llround(value) : before;
        before_ms = ms;
    }
    return text;
}

/* Speeds alone: a rate has several elements, of which the page draws the mean. */
static bool is_drawn(const struct dbr_closeup_curve *curve)
{
    return curve->quantity == DBR_QUANTITY_SPEED && curve->source >= 0;
}

/* The caller frees it; NULL: no memory. */
static char *curve_text(const struct dbr_closeup_curve *curve)
{
    char *text = points_text(curve);
    char *packed = text ? series_pack_text(text) : NULL;
    free(text);
    return packed;
}

static bool add_curves_bytes(const struct dbr_closeup *c, size_t *bytes)
{
    for (size_t i = 0; i < c->curve_count; i++) {
        char *points = is_drawn(&c->curves[i]) ? curve_text(&c->curves[i]) : NULL;
        if (!points && is_drawn(&c->curves[i]))
            return false;
        *bytes += points ? strlen(points) : 0;
        free(points);
    }
    return true;
}

bool page_closeups_drawn(const struct dbr_report *r, size_t *drawn)
{
    size_t bytes = 0, count = r->closeups ? dbr_closeups_count(r->closeups) : 0;

    for (*drawn = 0; *drawn < count; ++*drawn) {
        if (!add_curves_bytes(dbr_closeups_at(r->closeups, *drawn), &bytes))
            return false;
        if (bytes > CURVES_BYTES)
            break;
    }
    /* The first is drawn, however heavy. */
    if (*drawn == 0 && count > 0)
        *drawn = 1;
    return true;
}

static void add_curve(cJSON *list, const struct dbr_closeup_curve *curve)
{
    if (!is_drawn(curve))
        return;
    cJSON *item = json_add_item(list);
    char *points = curve_text(curve);
    if (!points && item)
        item->type = cJSON_Invalid; /* no memory: it is not to be printed */
    json_add_text(item, "quantity", dbr_quantity_name(curve->quantity));
    json_add_count(item, "of", (uint64_t)curve->source);
    json_add_text(item, "points", points);
    free(points);
}

void json_add_closeups(cJSON *root, const struct dbr_report *r, size_t drawn)
{
    cJSON *list = json_add_list(root, "closeups");

    for (size_t i = 0; i < drawn; i++) {
        const struct dbr_closeup *c = dbr_closeups_at(r->closeups, i);
        cJSON *item = json_add_item(list);
        json_add_count(item, "finding", c->window.finding);
        json_add_time(item, "start", c->window.start_ns, true);
        json_add_time(item, "end", c->window.end_ns, true);
        cJSON *curves = json_add_list(item, "curves");
        for (size_t k = 0; k < c->curve_count; k++)
            add_curve(curves, &c->curves[k]);
    }
}
