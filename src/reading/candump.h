/*
 * candump.h - one line of candump-style text: what it is, and the frame in it.
 *
 * Log form:      (1717000000.123456) can0 18FEF100#FF00... [R|T]
 * Console form:  (stamp) can0  RX - -  18FEF100  [8]  FF 00 ... 'text'
 * Both without knowledge of other lines; what needs memory (delta stamps,
 * explanation lines) is the business of the text reader.
 */
#ifndef DRAWBAR_READING_CANDUMP_H
#define DRAWBAR_READING_CANDUMP_H

#include <stddef.h>

#include "drawbar/reading.h"

enum line_kind {
    LINE_FRAME,
    LINE_BLANK,    /* nothing, or a comment */
    LINE_INDENTED, /* no frame, and indented like the explanation of an error frame */
    LINE_REJECTED
};

enum line_form { FORM_LOG, FORM_CONSOLE };

enum line_stamp { STAMP_NONE, STAMP_SECONDS, STAMP_DATE };

struct candump_line {
    enum line_kind kind;
    enum dbr_rejection why; /* for LINE_REJECTED */
    enum line_form form;
    enum line_stamp stamp;
    const char *interface; /* points into the line */
    size_t interface_length;
    struct dbr_frame frame; /* at_ns is the stamp as written, 0 without; interface unset */
};

/* Reads one line (no line feed at its end; a carriage return is ignored). */
void candump_line_read(struct candump_line *out, const char *line, size_t length);

#endif
