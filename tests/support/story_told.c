/* story_told.c - see story_told.h. */
#include "support/story_told.h"

#include <string.h>

#include "drawbar/can_id.h"
#include "support/story_long.h"

static void send(struct story *s, double at, uint32_t id, const uint8_t *data, size_t length)
{
    struct dbr_frame frame = {.at_ns = (int64_t)(at * 1e9),
                              .id = id,
                              .flags = DBR_FRAME_EXTENDED,
                              .length = (uint8_t)length};

    memcpy(frame.data, data, length);
    story_raw(s, &frame);
}

void story_text_to(struct story *s, double at, uint8_t from, uint8_t to, uint32_t pgn,
                   const char *text)
{
    story_long(s, at, &(struct long_message){.from = from,
                                             .to = to,
                                             .pgn = pgn,
                                             .data = (const uint8_t *)text,
                                             .length = strlen(text)});
}

void story_text(struct story *s, double at, uint8_t from, uint32_t pgn, const char *text)
{
    if (strlen(text) > 8)
        story_text_to(s, at, from, DBR_ADDRESS_GLOBAL, pgn, text);
    else
        send(s, at, story_id(6, pgn, DBR_ADDRESS_GLOBAL, from), (const uint8_t *)text,
             strlen(text));
}

void story_fast(struct story *s, double at, uint8_t from, uint32_t pgn, const uint8_t *data,
                size_t length)
{
    uint8_t frame[8] = {0, (uint8_t)length};
    uint32_t id = story_id(6, pgn, DBR_ADDRESS_GLOBAL, from);
    size_t used = length < 6 ? length : 6;

    memcpy(frame + 2, data, used);
    send(s, at, id, frame, 8);
    for (uint8_t number = 1; used < length; number++) {
        size_t count = length - used < 7 ? length - used : 7;
        memset(frame, 0xFF, sizeof frame);
        frame[0] = number;
        memcpy(frame + 1, data + used, count);
        send(s, at + 0.001 * number, id, frame, 8);
        used += count;
    }
}
