/*
 * writer.h - what a form of recording supplies to be written.
 */
#ifndef DRAWBAR_WRITING_WRITER_H
#define DRAWBAR_WRITING_WRITER_H

#include "drawbar/writing.h"
#include "writing/sink.h"

struct dbr_writer {
    struct dbr_writing_options options;
    const struct form *form;
    struct sink sink;
};

struct form {
    /* Whether the form can hold such a recording; then writes what stands before the frames. */
    int (*begin)(struct dbr_writer *w, struct dbr_error *error);
    /* `stamp_ns`: since 1970, or since whatever moment a relative recording counts from. */
    int (*frame)(struct dbr_writer *w, const struct dbr_frame *frame, int64_t stamp_ns,
                 struct dbr_error *error);
};

extern const struct form form_text, form_pcap, form_pcapng;

/*
 * The SocketCAN record of a frame, as captures hold it (registry of link types, 227):
 * identifier word, length, flags, data. `id_big_endian`: as link type 227 wants it; cooked
 * packets hold the word in the order of the host, which is the file's, little-endian here.
 */
#define CAN_RECORD_HEADER 8u
#define CAN_RECORD_MAX (CAN_RECORD_HEADER + DBR_FD_DATA_MAX)

size_t can_record(uint8_t out[CAN_RECORD_MAX], const struct dbr_frame *frame, bool id_big_endian);

#endif
