/*
 * page.h - the parts of the report as one page of HTML.
 *
 * The page is page/page.html with its slots filled: {{name}} is replaced by what the
 * function of that name in a table of slots writes (page.c, page_compare.c). Styles
 * and scripts are files in page/, built in by page/embed.cmake, which also computes
 * the hashes by which the page's own policy admits them and nothing else.
 */
#ifndef DRAWBAR_REPORTING_PAGE_H
#define DRAWBAR_REPORTING_PAGE_H

#include <stdbool.h>
#include <stdio.h>

#include "drawbar/reporting.h"

/* One recording on its way to a page. */
struct page {
    FILE *out;
    const struct dbr_report *r;
    const struct dbr_diagnosis *texts[2]; /* by enum dbr_units: the same findings in both */
    struct dbr_diagnosis *again;          /* the one made for the other units; owned */
    size_t *root_of;                      /* roots.h; owned */
    const char *prefix; /* of the ids, where a page holds two recordings; else "" */
    int64_t from_ns, span_ns; /* what the picture shows: the whole recording, or more */
    int64_t motion_ns;        /* first motion, by which two are aligned; -1: nothing to mark */
    size_t drawn;             /* moments whose values stand as they came */
    bool ran_out, *out_of_memory; /* a part could not be made: the one points to the other */
};

/* The two texts of the units, of which the page shows one; once where they are the same. */
void page_both(const struct page *p, const char *metric, const char *us);
void page_speed(const struct page *p, double mps);
void page_mass_rate(const struct page *p, double kg_m2);

/* "13.4 s" and beside it the time of day, where the recorder had a clock. */
void page_time(const struct page *p, int64_t ns);
/* When a finding was: "from 13.4 s (16:26:53) to the end"; nothing where it has no time. */
void page_when(const struct page *p, const struct dbr_finding *f);
/* The time of day as the recorder's clock had it, with the day where there are several. */
const char *page_clock(char *out, size_t size, const struct dbr_recording_info *info,
                       int64_t at_ns);

/* What to call the ECU at an address; escaped. */
void page_ecu(const struct page *p, uint8_t interface, uint8_t address);

/* A heading of severity: a mark and a word, never colour alone. */
void page_severity(const struct page *p, enum dbr_severity severity);

/*
 * A table: a caption, the heads of its columns, ended by NULL. Rows and cells follow;
 * on a narrow screen each cell stands under its head.
 */
struct page_table {
    const struct page *p;
    const char *const *heads;
    size_t column; /* of the next cell */
};

struct page_table page_table_open(const struct page *p, const char *caption,
                                  const char *const *heads);
void page_row_open(struct page_table *t, const char *class);
void page_cell_open(struct page_table *t); /* closes the one before */
void page_row_close(struct page_table *t);
void page_table_close(struct page_table *t);
void page_cell_text(struct page_table *t, const char *format, ...)
    __attribute__((format(printf, 2, 3))); /* a cell of text, escaped */
void page_cell_time(struct page_table *t, int64_t ns, bool known);

/* Parts of the page, each in a file of its own. */
void page_causes(const struct page *p);   /* page_findings.c: root causes in full */
void page_closeups(const struct page *p, size_t finding); /* page_closeup.c: messages around it */
/* Moments whose values stand as they came; false: out of memory. */
bool page_closeups_drawn(const struct dbr_report *r, size_t *drawn);
void page_open(const struct page *p);     /* what the recording cannot tell */
void page_findings(const struct page *p); /* all else that was found */
void page_picture(const struct page *p);  /* page_svg.c: the timeline without scripts */
void page_chains(const struct page *p);   /* page_tables.c: links and meters */
void page_ecus(const struct page *p);
void page_sources(const struct page *p);
void page_codes(const struct page *p);    /* page_codes.c: trouble codes */
void page_messages(const struct page *p); /* page_messages.c: by cadence */
void page_recording(const struct page *p); /* page_recording.c: files, flaws, buses */

/* The report and its series as data for the scripts. -1 where memory is out. */
int page_data(const struct page *p);

/* From when to when the timeline goes, and the first motion where it is marked; in seconds. */
void page_aligned(const struct page *p);

/* What the patterns of the lanes mean, where there are lanes. */
void page_key(const struct page *p);

/* The name of the recording's file without its folders, and how many more there are. */
void page_title(const struct page *p);

/* A piece of the page that was built in (page/embed.cmake). */
struct page_asset {
    const char *name;
    const char *text;
    size_t length;
    const char *hash; /* "sha256-..." as a policy wants it */
};

extern const struct page_asset page_assets[];
extern const size_t page_asset_count;

/* The piece of a name that is built in. */
const struct page_asset *page_asset(const char *name);

/* Fills the slots of a template: style, script, policy and version, which every page has, by
 * itself, the others by `fill`, which returns -1 where it fails. */
typedef int page_fill(void *context, const char *slot, size_t length);
int page_template(FILE *out, const char *name, page_fill *fill, void *context,
                  struct dbr_error *error);

/* The other unit's texts and the roots; page_release frees them. */
int page_prepare(struct page *p, FILE *out, const struct dbr_report *r, struct dbr_error *error);
/* -1 where a part is missing for want of memory; once all is written. */
int page_whole(const struct page *p, struct dbr_error *error);
void page_release(struct page *p);

#endif
