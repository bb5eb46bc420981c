/*
 * html_text.h - texts from a recording made harmless inside HTML, SVG and data blocks.
 *
 * Names in a recording are written by whoever made it. All text that is not part of
 * our own template goes through one of these; none of them passes markup.
 */
#ifndef DRAWBAR_REPORTING_HTML_TEXT_H
#define DRAWBAR_REPORTING_HTML_TEXT_H

#include <stdio.h>

/*
 * Text between tags or inside a quoted attribute: cleaned (clean.h), then & < > " '
 * as character references (HTML 13.1.2.3 and 13.1.4).
 */
void html_text(FILE *out, const char *text);

/* The same of a printf format. What exceeds 1 kB is cut at a whole character. */
void html_format(FILE *out, const char *format, ...) __attribute__((format(printf, 2, 3)));

/*
 * JSON inside <script type="application/json">: < > & become \u003c and so on, so that
 * no text in it can end the block. They stand in strings only, where that is the same.
 */
void html_json(FILE *out, const char *json);

#endif
