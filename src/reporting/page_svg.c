/* page_svg.c - see page_svg.h: the frame of the picture, its axis, the findings on it. */
#include "reporting/page_svg.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "reporting/aside.h"
#include "reporting/html_text.h"
#include "text/clean.h"

#define FINDINGS_DRAWN 24u
#define TICKS_MOST 8
#define TICK_HALF 24.0 /* half the width of a time of day */
#define LABEL_MAX (DBR_LABEL_MAX + 32u) /* an ECU's, and what of it is drawn */
#define LABEL_LETTERS 33
#define PIECE_LEAST 2.5   /* a short event stays visible */
#define LETTER_WIDTH 7.5  /* of 13 units high type, on average */

double picture_x(const struct picture *s, int64_t ns)
{
    double share = s->span_ns > 0 ? (double)(ns - s->from_ns) / (double)s->span_ns : 0;

    share = share < 0 ? 0 : share > 1 ? 1 : share;
    return PICTURE_GUTTER + share * (PICTURE_RIGHT - PICTURE_GUTTER);
}

void picture_heading(struct picture *s, const char *text)
{
    s->y += 10;
    fprintf(s->out, "<text class=\"head\" x=\"0\" y=\"%.1f\">", s->y + 16);
    html_text(s->out, text);
    fputs("</text>\n", s->out);
    s->y += 26;
}

void picture_label(const struct picture *s, double height, const char *text)
{
    char clean[LABEL_MAX * CLEAN_GROWTH];
    size_t end = 0, letters = 0;

    clean_text(clean, sizeof clean, text);
    while (clean[end] && letters < LABEL_LETTERS) {
        end += utf8_length(clean + end);
        letters++;
    }
    fprintf(s->out, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">", PICTURE_GUTTER - 10,
            s->y + height / 2 + 4.5);
    if (clean[end]) {
        fputs("<title>", s->out);
        html_text(s->out, clean);
        fputs("</title>", s->out);
        clean[end] = '\0';
        html_text(s->out, clean);
        fputs("&#8230;</text>\n", s->out);
        return;
    }
    html_text(s->out, clean);
    fputs("</text>\n", s->out);
}

/* ECUs that send lie thin, so that what is out of order stands out. */
static double inset(const char *class)
{
    return strcmp(class, "present") == 0 ? 8 : 4;
}

void picture_piece(const struct picture *s, int64_t from_ns, int64_t to_ns, const char *class,
                   const char *const *words)
{
    double from = picture_x(s, from_ns), to = picture_x(s, to_ns), edge = inset(class);
    double width = to - from < PIECE_LEAST ? PIECE_LEAST : to - from;

    fprintf(s->out, "<rect class=\"%s\" x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\"/>\n",
            class, from, s->y + edge, width, LANE_HEIGHT - 2 * edge);
    for (; words && *words; words++) {
        if (width < (double)strlen(*words) * LETTER_WIDTH + 8)
            continue;
        fprintf(s->out, "<text class=\"in-%s\" x=\"%.1f\" y=\"%.1f\">", class, from + 4,
                s->y + LANE_HEIGHT / 2 + 4.5);
        html_text(s->out, *words);
        fputs("</text>\n", s->out);
        return;
    }
}

/* Seconds between ticks: a round number that gives at most TICKS_MOST of them. */
static double tick_step(double seconds)
{
    static const double steps[] = {0.1, 0.2, 0.5, 1,   2,   5,   10,   15,   30,   60,    120,
                                   300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400};
    size_t i = 0;

    while (i + 1 < sizeof steps / sizeof steps[0] && seconds / steps[i] > TICKS_MOST)
        i++;
    double step = steps[i];
    while (seconds / step > TICKS_MOST)
        step *= 2;
    return step;
}

/* The scale above the rows, and its lines down to `bottom`. */
static void write_axis(FILE *out, const struct picture *s, double bottom)
{
    double from = (double)s->from_ns / 1e9, to = from + (double)s->span_ns / 1e9;
    double step = tick_step(to - from), first = from > 0 ? ceil(from / step) : 0;
    char clock[32];

    for (double i = first; i * step <= to; i++) {
        int64_t at = (int64_t)(i * step * 1e9);
        double x = picture_x(s, at);
        fprintf(out, "<path class=\"grid\" d=\"M%.1f 38V%.1f\"/>\n", x, bottom);
        x = x > PICTURE_RIGHT - TICK_HALF ? PICTURE_RIGHT - TICK_HALF : x;
        fprintf(out, "<text class=\"tick\" x=\"%.1f\" y=\"14\">%g s</text>\n", x, i * step);
        if (*page_clock(clock, sizeof clock, s->p->r->info, at))
            fprintf(out, "<text class=\"tick faint\" x=\"%.1f\" y=\"31\">%s</text>\n", x, clock);
    }
}

/* "speed-stuck-zero" as words. */
static void code_words(char *out, size_t size, const struct dbr_finding *f, size_t number)
{
    snprintf(out, size, "%s %zu", f->code, number);
    for (char *c = out; *c; c++)
        if (*c == '-')
            *c = ' ';
}

static void write_finding(struct picture *s, size_t index)
{
    const struct dbr_finding *f = &s->p->r->diagnosis->findings[index];
    const char *severity = dbr_severity_name(f->severity);
    const char *const words[] = {severity, NULL};
    char label[LABEL_MAX];

    code_words(label, sizeof label, f, index + 1);
    fprintf(s->out, "<g><title>%s ", severity);
    html_text(s->out, f->title);
    fputs("</title>\n", s->out);
    picture_label(s, LANE_HEIGHT, label);
    picture_piece(s, f->start_ns, f->open ? s->p->r->history->end_ns : f->end_ns, severity, words);
    fputs("</g>\n", s->out);
    s->y += LANE_HEIGHT;
}

static void write_findings(struct picture *s)
{
    const struct dbr_diagnosis *d = s->p->r->diagnosis;
    size_t drawn = 0, timed = 0;
    char more[LABEL_MAX];

    for (size_t i = 0; i < d->finding_count; i++)
        timed += d->findings[i].timed;
    if (timed == 0)
        return;
    picture_heading(s, "Findings");
    for (size_t i = 0; i < d->finding_count && drawn < FINDINGS_DRAWN; i++) {
        if (!d->findings[i].timed)
            continue;
        write_finding(s, i);
        drawn++;
    }
    if (timed <= drawn)
        return;
    snprintf(more, sizeof more, "and %zu more in the list", timed - drawn);
    picture_label(s, LANE_HEIGHT, more);
    s->y += LANE_HEIGHT;
}

/* Where the machine first moves: two recordings are set side by side by it. */
static void write_motion(const struct picture *s)
{
    double x = picture_x(s, s->p->motion_ns);

    fprintf(s->p->out, "<path class=\"motion\" d=\"M%.1f 38V%.1f\"/>\n"
            "<text class=\"faint\" x=\"%.1f\" y=\"48\">first motion</text>\n", x, s->y, x + 4);
}

/* The rows are written aside: how high they are must stand before them. */
void page_picture(const struct page *p)
{
    struct aside rows;
    struct picture s = {.p = p, .y = 44, .from_ns = p->from_ns, .span_ns = p->span_ns};

    if (!p->r->history->timed || s.span_ns <= 0)
        return;
    if (!aside_open(&rows)) {
        *p->out_of_memory = true;
        return;
    }
    s.out = rows.out;
    write_findings(&s);
    picture_curves(&s);
    picture_lanes(&s);
    picture_load(&s);
    if (!aside_close(&rows))
        *p->out_of_memory = true;
    fprintf(p->out, "<div class=\"picture\" role=\"region\" tabindex=\"0\" "
            "aria-label=\"Timeline as a picture\">"
            "<svg viewBox=\"0 0 %.0f %.1f\" role=\"img\" aria-label=\"What happened over time: "
            "findings, speeds, rates, chain, ECUs and bus on one time axis. The tables below say "
            "the same.\">\n", PICTURE_WIDTH, s.y + 8);
    write_axis(p->out, &s, s.y);
    if (p->motion_ns >= 0)
        write_motion(&s);
    if (rows.text)
        fputs(rows.text, p->out);
    fputs("</svg></div>\n", p->out);
    aside_release(&rows);
}
