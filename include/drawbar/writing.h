/*
 * writing.h - frames back into a recording: candump-style text, pcap, pcapng, each also gzip'd.
 *
 * What was read and is written again is the same frame: identifier, data, flags,
 * interface, direction, and its time to the nanosecond. Where a form cannot hold
 * one of these, opening or writing fails and says which; nothing is lost silently.
 *
 *     dbr_writer_open(&writer, file, &options, &error);
 *     for (...)
 *         dbr_writer_frame(writer, &frame, &error);
 *     dbr_writer_close(writer, &error);
 */
#ifndef DRAWBAR_WRITING_H
#define DRAWBAR_WRITING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "drawbar/api.h"
#include "drawbar/error.h"
#include "drawbar/frame.h"
#include "drawbar/reading.h"

DBR_API_BEGIN

enum dbr_form {
    DBR_FORM_TEXT,  /* log form; the console form, which needs no stamps, where there are none */
    DBR_FORM_PCAP,  /* one interface, whose name is not kept; direction by cooked packets */
    DBR_FORM_PCAPNG /* nanoseconds, named interfaces, direction */
};

struct dbr_writing_options {
    enum dbr_form form;
    bool compress;       /* gzip */
    enum dbr_time_base time_base;
    int64_t start_ns;    /* added to the times of frames: the stamp of the first frame that was read */
    bool directions;     /* pcap: some frame was sent by the recorder; others need no cooked packets */
    size_t interface_count;
    const char *const *interfaces; /* by the index of frames; borrowed until the writer is closed */
};

struct dbr_writer;

/*
 * Begins a recording on `file`, which stays the caller's and must be closed only after the
 * writer. -1: pcap for several interfaces, pcap or pcapng without time stamps
 * (DBR_ERROR_USAGE), out of memory, write error.
 */
int dbr_writer_open(struct dbr_writer **writer, FILE *file,
                    const struct dbr_writing_options *options, struct dbr_error *error);

/* Writes a frame. -1: write error, or a time that the form cannot hold (pcap: after 2106). */
int dbr_writer_frame(struct dbr_writer *writer, const struct dbr_frame *frame,
                     struct dbr_error *error);

/* Ends the recording and frees the writer, also where it fails. */
int dbr_writer_close(struct dbr_writer *writer, struct dbr_error *error);

/*
 * The form that a file name's ending asks for: .log, .txt, .candump (text), .pcap, .pcapng, each
 * with .gz behind it or not. False where it is none of them.
 */
bool dbr_form_of_name(const char *name, enum dbr_form *form, bool *compress);

DBR_API_END

#endif
