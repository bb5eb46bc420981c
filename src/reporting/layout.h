/*
 * layout.h - lines of text on a terminal: wrapped, indented, coloured where wanted.
 */
#ifndef DRAWBAR_REPORTING_LAYOUT_H
#define DRAWBAR_REPORTING_LAYOUT_H

#include <stdbool.h>
#include <stdio.h>

enum ink { INK_PLAIN, INK_BOLD, INK_FAULT, INK_WARNING, INK_FAINT };

struct layout {
    FILE *out;
    unsigned width; /* columns */
    bool color;
};

/*
 * Writes a paragraph: `first` before its first line, as many blanks before the
 * others, broken between words. The text is cleaned.
 */
void layout_paragraph(const struct layout *l, enum ink ink, const char *first, const char *text);

/* A heading with a blank line before it. The text is cleaned. */
void layout_heading(const struct layout *l, const char *text);

/* A line, cut at nothing: for tables whose columns fit. The whole of it is cleaned. */
void layout_line(const struct layout *l, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

#endif
