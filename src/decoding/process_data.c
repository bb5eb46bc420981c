/* process_data.c - see drawbar/process_data.h. */
#include "drawbar/process_data.h"

#include "reading/cursor.h"

static bool carries_value(enum dbr_process_command command)
{
    switch (command) {
    case DBR_PROCESS_REQUEST_VALUE:
    case DBR_PROCESS_VALUE:
    case DBR_PROCESS_TIME_INTERVAL:
    case DBR_PROCESS_DISTANCE_INTERVAL:
    case DBR_PROCESS_MINIMUM:
    case DBR_PROCESS_MAXIMUM:
    case DBR_PROCESS_CHANGE:
    case DBR_PROCESS_PEER_CONTROL:
    case DBR_PROCESS_SET_AND_ACKNOWLEDGE:
    case DBR_PROCESS_ACKNOWLEDGE:
        return true;
    case DBR_PROCESS_TECHNICAL:
    case DBR_PROCESS_DEVICE_DESCRIPTOR:
    case DBR_PROCESS_CONTROLLER_STATUS:
    case DBR_PROCESS_CLIENT_TASK:
        break;
    }
    return false;
}

bool dbr_process_data_read(struct dbr_process_data *out, const uint8_t *data, size_t length)
{
    struct cursor c = cursor_over(data, length, false);
    uint8_t first = cursor_u8(&c);
    uint8_t element_high = cursor_u8(&c);
    uint16_t ddi = cursor_u16(&c);
    uint32_t value = cursor_u32(&c);
    enum dbr_process_command command = (enum dbr_process_command)(first & 0x0Fu);

    if (c.failed || !carries_value(command))
        return false;
    *out = (struct dbr_process_data){
        .command = command,
        .element = (uint16_t)(first >> 4 | element_high << 4),
        .ddi = ddi,
        .value = (int32_t)value,
    };
    return true;
}
