/*
 * candump_quick.h - the commonest line of all, read without looking for what it might be.
 *
 * "(1717000000.123456) can0 18FEF100#FF00FF00FF00FF00": ten digits, six decimals, the
 * interface of the line before, eight digits of identifier, up to eight bytes. Whatever
 * differs in any way is left to candump_line_read, which tells the same of these lines.
 */
#ifndef DRAWBAR_READING_CANDUMP_QUICK_H
#define DRAWBAR_READING_CANDUMP_QUICK_H

#include <stdbool.h>
#include <stddef.h>

#include "drawbar/frame.h"

/* True where the line is such a one; then `frame` is filled but for its interface. */
bool candump_quick_read(struct dbr_frame *frame, const char *line, size_t length,
                        const char *interface, size_t interface_length);

#endif
