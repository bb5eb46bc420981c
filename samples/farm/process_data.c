/* process_data.c - see process_data.h. */
#include "farm/process_data.h"

#include <string.h>

#define VALUE_PRIORITY 3u /* values, set-points and status; the rest has 5; common practice */
#define OTHER_PRIORITY 5u

static unsigned priority_of(unsigned command)
{
    bool urgent = command == FARM_COMMAND_VALUE || command >= FARM_COMMAND_STATUS;

    return urgent ? VALUE_PRIORITY : OTHER_PRIORITY;
}

struct farm_process_data farm_process_data_read(const uint8_t data[8])
{
    return (struct farm_process_data){.command = data[0] & 0x0Fu,
                                      .element = (uint16_t)(data[0] >> 4 | data[1] << 4),
                                      .ddi = (uint16_t)farm_get16(data + 2),
                                      .value = (int32_t)farm_get32(data + 4)};
}

void farm_process_data_write(uint8_t data[8], const struct farm_process_data *p)
{
    data[0] = (uint8_t)(p->command | (p->element & 0x0Fu) << 4);
    data[1] = (uint8_t)(p->element >> 4);
    farm_put16(data + 2, p->ddi);
    farm_put32(data + 4, (uint32_t)p->value);
}

void farm_process_data_send(struct farm_sim *sim, struct farm_ecu *ecu, unsigned destination,
                            const struct farm_process_data *p, int64_t delay_us)
{
    uint8_t data[8];

    farm_process_data_write(data, p);
    farm_ecu_send(sim, ecu, priority_of(p->command), FARM_PGN_PROCESS_DATA, destination, data,
                  delay_us);
}

void farm_process_bytes_send(struct farm_sim *sim, struct farm_ecu *ecu, unsigned destination,
                             const uint8_t *bytes, size_t count, int64_t delay_us)
{
    uint8_t data[8];

    memset(data, 0xFF, sizeof data);
    memcpy(data, bytes, count);
    farm_ecu_send(sim, ecu, priority_of(bytes[0] & 0x0Fu), FARM_PGN_PROCESS_DATA, destination, data,
                  delay_us);
}

bool farm_is_process_data(const struct farm_ecu *ecu, const struct farm_frame *frame)
{
    uint8_t destination = farm_id_destination(frame->id);

    return farm_id_group(frame->id) == FARM_PGN_PROCESS_DATA && frame->length == 8 &&
           (destination == ecu->design->address || destination == FARM_GLOBAL);
}
