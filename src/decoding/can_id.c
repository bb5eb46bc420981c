/* can_id.c - see drawbar/can_id.h. */
#include "drawbar/can_id.h"

#define PRIORITY_SHIFT 26u
#define PGN_SHIFT 8u

struct dbr_can_id dbr_can_id_split(uint32_t id)
{
    uint32_t pgn = id >> PGN_SHIFT & DBR_PGN_MAX;
    bool broadcast = dbr_pgn_is_broadcast(pgn);

    return (struct dbr_can_id){
        .priority = (uint8_t)(id >> PRIORITY_SHIFT & 7u),
        .pgn = broadcast ? pgn : pgn & ~0xFFu,
        .source = (uint8_t)id,
        .destination = broadcast ? DBR_ADDRESS_GLOBAL : (uint8_t)(id >> PGN_SHIFT),
        .broadcast = broadcast,
    };
}

uint32_t dbr_can_id_join(const struct dbr_can_id *parts)
{
    uint32_t id = (parts->priority & 7u) << PRIORITY_SHIFT |
                  (parts->pgn & DBR_PGN_MAX) << PGN_SHIFT | parts->source;

    return dbr_pgn_is_broadcast(parts->pgn) ? id : id | (uint32_t)parts->destination << PGN_SHIFT;
}

uint32_t dbr_pgn_read(const uint8_t bytes[3])
{
    return bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16;
}
