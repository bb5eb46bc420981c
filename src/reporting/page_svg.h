/*
 * page_svg.h - the timeline as a still picture: for paper, and for readers without scripts.
 *
 * Rows stand one below the other on one time axis. All lengths are in units of the
 * picture, PICTURE_WIDTH of which make its width, whatever it is shown at.
 */
#ifndef DRAWBAR_REPORTING_PAGE_SVG_H
#define DRAWBAR_REPORTING_PAGE_SVG_H

#include "reporting/page.h"

#define PICTURE_WIDTH 1000.0
#define PICTURE_GUTTER 244.0 /* for the names of rows: 33 letters */
#define PICTURE_RIGHT 990.0
#define LANE_HEIGHT 24.0

struct picture {
    const struct page *p;
    FILE *out;
    double y;        /* where the next row begins */
    int64_t from_ns; /* at the left end; before the first frame where two are aligned */
    int64_t span_ns; /* from the left end to the right */
};

double picture_x(const struct picture *s, int64_t ns);

/* A heading over rows that belong together. */
void picture_heading(struct picture *s, const char *text);

/* The name of a row at its left, cut to what fits; all of it as its title. */
void picture_label(const struct picture *s, double height, const char *text);

/*
 * A piece of a lane: its class says its pattern. In it stands the first of `words`, a
 * list that ends with NULL, for which there is room.
 */
void picture_piece(const struct picture *s, int64_t from_ns, int64_t to_ns, const char *class,
                   const char *const *words);

void picture_lanes(struct picture *s);  /* page_svg_lanes.c: the chains, the ECUs */
void picture_curves(struct picture *s); /* page_svg_curves.c: speeds and rates */
void picture_load(struct picture *s);   /* load and error frames */

#endif
