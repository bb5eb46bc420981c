/* trouble_code.c - see drawbar/trouble_code.h. */
#include "drawbar/trouble_code.h"

#include <string.h>

#define LAMP_BYTES 2u
#define CODE_BYTES 4u

static void read_lamps(struct dbr_lamps *lamps, const uint8_t data[LAMP_BYTES])
{
    for (unsigned i = 0; i < DBR_LAMPS; i++) {
        lamps->state[i] = (enum dbr_lamp_state)(data[0] >> (2 * i) & 3u);
        lamps->flash[i] = (enum dbr_lamp_flash)(data[1] >> (2 * i) & 3u);
    }
}

static bool all_are(const uint8_t *data, size_t length, uint8_t value)
{
    for (size_t i = 0; i < length; i++)
        if (data[i] != value)
            return false;
    return true;
}

bool dbr_trouble_list_open(struct dbr_trouble_list *list, const uint8_t *data, size_t length)
{
    if (length < LAMP_BYTES + CODE_BYTES)
        return false;
    size_t tail = (length - LAMP_BYTES) % CODE_BYTES;
    const uint8_t *end = data + length - tail;
    bool padding = all_are(end, tail, 0xFF) || all_are(end, tail, 0);

    *list = (struct dbr_trouble_list){
        .at = data + LAMP_BYTES, .end = end, .ragged = padding ? 0 : tail};
    read_lamps(&list->lamps, data);
    for (const uint8_t *at = list->at; at < end; at += CODE_BYTES)
        list->told_none = list->told_none || all_are(at, 3, 0);
    return true;
}

static struct dbr_trouble_code read_code(const uint8_t at[CODE_BYTES])
{
    struct dbr_trouble_code code = {
        .spn = at[0] | (uint32_t)at[1] << 8 | (uint32_t)(at[2] >> 5) << 16,
        .fmi = at[2] & 0x1Fu,
        .older_layout = at[3] >> 7,
        .count = at[3] & 0x7Fu,
    };

    memcpy(code.raw, at, CODE_BYTES);
    return code;
}

bool dbr_trouble_list_next(struct dbr_trouble_list *list, struct dbr_trouble_code *code)
{
    while (list->at < list->end) {
        const uint8_t *at = list->at;
        list->at += CODE_BYTES;
        if (all_are(at, 3, 0) || all_are(at, CODE_BYTES, 0xFF))
            continue;
        *code = read_code(at);
        return true;
    }
    return false;
}

/*
 * DM13, SAE J1939-73 5.7.13, from memory: two bits for each network in bytes 1 to 3 (0 stop,
 * 1 start, 3 no action), of which bits 8-7 of byte 1 are the one that carries the message and
 * bits 2-1 the first J1939 network; the signal to hold in bits 8-5 of byte 4 (0 all, 1 those that
 * were changed, 15 none).
 */
#define HOLD_LAST 1u

enum dbr_broadcast_order dbr_broadcast_order_read(const uint8_t *data, size_t length)
{
    if (length < 1)
        return DBR_BROADCAST_NOTHING;
    unsigned carrying = data[0] >> 6, first = data[0] & 3u;
    if (carrying == 0 || first == 0)
        return DBR_BROADCAST_STOP;
    if (carrying == 1 || first == 1)
        return DBR_BROADCAST_START;
    if (length >= 4 && data[3] >> 4 <= HOLD_LAST)
        return DBR_BROADCAST_HOLD;
    return DBR_BROADCAST_NOTHING;
}

/* DM22, SAE J1939-73 5.7.22: byte 1 control; byte 2 reason; bytes 6-8 the code (from memory). */
#define CLEAR_BYTES 8u
#define CLEAR_ACTIVE 0x10u
enum { CLEAR_REQUEST = 1, CLEAR_DONE = 2, CLEAR_REFUSED = 3 };

bool dbr_code_clear_read(struct dbr_code_clear *clear, const uint8_t *data, size_t length)
{
    unsigned kind = length < CLEAR_BYTES ? 0 : data[0] & 0x0Fu;

    if (kind < CLEAR_REQUEST || kind > CLEAR_REFUSED || (data[0] & 0xF0u & ~CLEAR_ACTIVE))
        return false;
    uint8_t code[CODE_BYTES] = {data[5], data[6], data[7], DBR_OCCURRENCES_UNKNOWN};
    *clear = (struct dbr_code_clear){.active = data[0] & CLEAR_ACTIVE,
                                     .request = kind == CLEAR_REQUEST,
                                     .done = kind == CLEAR_DONE,
                                     .reason = data[1],
                                     .code = read_code(code)};
    return true;
}
