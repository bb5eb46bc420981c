/* process_data.c - see drawbar/process_data.h. */
#include "drawbar/process_data.h"

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
    if (length < 8 || !carries_value((enum dbr_process_command)(data[0] & 0x0Fu)))
        return false;
    uint32_t value = (uint32_t)data[4] | (uint32_t)data[5] << 8 | (uint32_t)data[6] << 16 |
                     (uint32_t)data[7] << 24;
    *out = (struct dbr_process_data){
        .command = (enum dbr_process_command)(data[0] & 0x0Fu),
        .element = (uint16_t)(data[0] >> 4 | data[1] << 4),
        .ddi = (uint16_t)(data[2] | data[3] << 8),
        .value = (int32_t)value,
    };
    return true;
}
