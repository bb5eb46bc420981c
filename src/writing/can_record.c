/* can_record.c - a frame as captures hold it. Layout: link type registry, linux/can.h. */
#include <string.h>

#include "writing/writer.h"

#define ID_FLAG_EXTENDED 0x80000000u /* linux/can.h */
#define ID_FLAG_REMOTE 0x40000000u
#define ID_FLAG_ERROR 0x20000000u

#define FD_FLAG_BRS 0x01u /* linux/can.h: flags of struct canfd_frame */
#define FD_FLAG_ESI 0x02u
#define FD_FLAG_FD 0x04u

static uint32_t id_word(const struct dbr_frame *frame)
{
    if (frame->flags & DBR_FRAME_ERROR)
        return frame->id | ID_FLAG_ERROR;
    return frame->id | (frame->flags & DBR_FRAME_EXTENDED ? ID_FLAG_EXTENDED : 0) |
           (frame->flags & DBR_FRAME_REMOTE ? ID_FLAG_REMOTE : 0);
}

static uint8_t fd_flags(const struct dbr_frame *frame)
{
    if (!(frame->flags & DBR_FRAME_FD))
        return 0;
    return (uint8_t)(FD_FLAG_FD | (frame->flags & DBR_FRAME_BRS ? FD_FLAG_BRS : 0) |
                     (frame->flags & DBR_FRAME_ESI ? FD_FLAG_ESI : 0));
}

size_t can_record(uint8_t out[CAN_RECORD_MAX], const struct dbr_frame *frame, bool id_big_endian)
{
    uint32_t word = id_word(frame);
    size_t data_length = frame->flags & DBR_FRAME_REMOTE ? 0 : frame->length;

    for (unsigned i = 0; i < 4; i++)
        out[i] = (uint8_t)(word >> 8 * (id_big_endian ? 3 - i : i));
    out[4] = frame->length;
    out[5] = fd_flags(frame);
    out[6] = 0;
    out[7] = frame->raw_dlc;
    memcpy(out + CAN_RECORD_HEADER, frame->data, data_length);
    return CAN_RECORD_HEADER + data_length;
}
