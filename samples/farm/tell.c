/* tell.c - see tell.h. */
#include "farm/tell.h"

#include <string.h>

#include "farm/maths.h"
#include "farm/simulation.h"

#define PGN_CONTROL  60416u
#define PGN_DATA     60160u
#define BAM          32u
#define PRIORITY     7u
#define PACKET_BYTES 7u
#define SPACING_US   60000 /* J1939-21: 50 to 200 ms between the packets of a broadcast */
#define ANSWER_US    4000
#define ANSWER_LATER_US 30000 /* up to so much more, so that not all answer at once */
#define TOLD_BYTES   96u

static void broadcast(struct farm_sim *sim, struct farm_ecu *ecu, uint32_t pgn,
                      const uint8_t *bytes, size_t length, int64_t delay_us)
{
    size_t packets = (length + PACKET_BYTES - 1) / PACKET_BYTES;
    uint8_t control[8] = {BAM,  0, 0, (uint8_t)packets, 0xFF, (uint8_t)pgn, (uint8_t)(pgn >> 8),
                          (uint8_t)(pgn >> 16)};

    farm_put16(control + 1, (uint32_t)length);
    farm_ecu_send(sim, ecu, PRIORITY, PGN_CONTROL, FARM_GLOBAL, control, delay_us);
    for (size_t i = 0; i < packets; i++) {
        size_t at = i * PACKET_BYTES, left = length - at;
        uint8_t data[8];
        memset(data, 0xFF, sizeof data);
        data[0] = (uint8_t)(i + 1);
        memcpy(data + 1, bytes + at, left < PACKET_BYTES ? left : PACKET_BYTES);
        farm_ecu_send(sim, ecu, PRIORITY, PGN_DATA, FARM_GLOBAL, data,
                      delay_us + (int64_t)(i + 1) * SPACING_US);
    }
}

static void tell(struct farm_sim *sim, struct farm_ecu *ecu, uint32_t pgn, const uint8_t *bytes,
                 size_t length)
{
    int64_t delay_us = ANSWER_US + farm_random_below(&ecu->random, ANSWER_LATER_US);
    uint8_t data[8];

    if (length > sizeof data) {
        broadcast(sim, ecu, pgn, bytes, length, delay_us);
        return;
    }
    memset(data, 0xFF, sizeof data);
    memcpy(data, bytes, length);
    farm_ecu_send(sim, ecu, 6, pgn, FARM_GLOBAL, data, delay_us);
}

/* SPN 965, the count of fields, stands before them. */
static void tell_software(struct farm_sim *sim, struct farm_ecu *ecu, const char *software)
{
    uint8_t bytes[TOLD_BYTES] = {0};
    size_t length = strlen(software);

    for (const char *c = software; *c; c++)
        bytes[0] = (uint8_t)(bytes[0] + (*c == '*'));
    memcpy(bytes + 1, software, length);
    tell(sim, ecu, FARM_PGN_SOFTWARE, bytes, length + 1);
}

void farm_tell_hear(struct farm_sim *sim, struct farm_ecu *ecu, const struct farm_frame *frame)
{
    const struct farm_told *told = &ecu->design->told;

    if (told->software && farm_is_request(ecu, frame, FARM_PGN_SOFTWARE))
        tell_software(sim, ecu, told->software);
    if (told->identification && farm_is_request(ecu, frame, FARM_PGN_IDENTIFICATION))
        tell(sim, ecu, FARM_PGN_IDENTIFICATION, (const uint8_t *)told->identification,
             strlen(told->identification));
}
