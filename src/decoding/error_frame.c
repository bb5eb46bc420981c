/* error_frame.c - see drawbar/error_frame.h. All codes: linux/can/error.h. */
#include "drawbar/error_frame.h"

/* What the bytes of an error frame hold. */
enum {
    BYTE_CONTROLLER = 1,
    BYTE_PROTOCOL = 2,
    BYTE_PLACE = 3,
    BYTE_TRANSCEIVER = 4,
    BYTE_TRANSMIT_ERRORS = 6,
    BYTE_RECEIVE_ERRORS = 7
};

#define CONTROLLER_OVERFLOW 0x03u
#define CONTROLLER_WARNING 0x0Cu
#define CONTROLLER_PASSIVE 0x30u
#define CONTROLLER_ACTIVE 0x40u

#define PROTOCOL_ON_TRANSMISSION 0x80u
#define PROTOCOL_KINDS 7u /* bits 0..6 of byte 2, in the order of enum dbr_error_kind */

static enum dbr_controller_state read_state(const struct dbr_error_report *report, uint8_t status)
{
    if (report->classes & DBR_ERROR_CLASS_BUS_OFF)
        return DBR_CONTROLLER_OFF;
    if (!(report->classes & DBR_ERROR_CLASS_CONTROLLER))
        return DBR_CONTROLLER_UNSAID;
    if (status & CONTROLLER_PASSIVE)
        return DBR_CONTROLLER_PASSIVE;
    if (status & CONTROLLER_WARNING)
        return DBR_CONTROLLER_WARNING;
    return status & CONTROLLER_ACTIVE ? DBR_CONTROLLER_ACTIVE : DBR_CONTROLLER_UNSAID;
}

static uint32_t read_kinds(const struct dbr_error_report *report, uint8_t type)
{
    uint32_t kinds = 0;

    if (report->classes & DBR_ERROR_CLASS_PROTOCOL) {
        kinds = type & ((1u << PROTOCOL_KINDS) - 1);
        if (kinds == 0)
            kinds = 1u << DBR_ERROR_KIND_UNSPECIFIED;
        if (report->place == DBR_ERROR_PLACE_ACK || report->place == DBR_ERROR_PLACE_ACK_DELIMITER)
            kinds |= 1u << DBR_ERROR_KIND_ACK;
    }
    if (report->classes & DBR_ERROR_CLASS_NO_ACK)
        kinds |= 1u << DBR_ERROR_KIND_ACK;
    return kinds;
}

/* Older drivers fill the counters without the class bit (from memory). */
static void read_counters(struct dbr_error_report *report, const uint8_t *data)
{
    report->transmit_errors = data[BYTE_TRANSMIT_ERRORS];
    report->receive_errors = data[BYTE_RECEIVE_ERRORS];
    report->counters_present = (report->classes & DBR_ERROR_CLASS_COUNTERS) != 0 ||
                               report->transmit_errors != 0 || report->receive_errors != 0;
}

struct dbr_error_report dbr_error_frame_read(const struct dbr_frame *frame)
{
    const uint8_t *data = frame->data; /* eight bytes at least, zero beyond the frame's length */
    struct dbr_error_report report = {.classes = frame->id & DBR_EXTENDED_ID_MAX};
    uint8_t status = data[BYTE_CONTROLLER];

    report.state = read_state(&report, status);
    report.overflow =
        (report.classes & DBR_ERROR_CLASS_CONTROLLER) && (status & CONTROLLER_OVERFLOW) != 0;
    if (report.classes & DBR_ERROR_CLASS_PROTOCOL) {
        report.place = data[BYTE_PLACE];
        report.on_transmission = (data[BYTE_PROTOCOL] & PROTOCOL_ON_TRANSMISSION) != 0;
    }
    report.kinds = read_kinds(&report, data[BYTE_PROTOCOL]);
    if (report.classes & DBR_ERROR_CLASS_TRANSCEIVER)
        report.transceiver = data[BYTE_TRANSCEIVER];
    read_counters(&report, data);
    return report;
}

const char *dbr_error_kind_words(enum dbr_error_kind kind)
{
    static const char *const words[] = {
        "bit error",           "frame format error", "bit stuffing error",
        "cannot send dominant bits", "cannot send recessive bits", "overload",
        "announcement of an error", "not specified", "no acknowledgement"};
    _Static_assert(sizeof words / sizeof words[0] == DBR_ERROR_KIND_COUNT, "words for each kind");
    return (unsigned)kind < DBR_ERROR_KIND_COUNT ? words[kind] : "unknown";
}

struct code_words {
    uint8_t code;
    const char *words;
};

static const char *find_words(const struct code_words *table, size_t count, uint8_t code)
{
    for (size_t i = 0; i < count; i++)
        if (table[i].code == code)
            return table[i].words;
    return NULL;
}

const char *dbr_error_place_words(uint8_t place)
{
    static const struct code_words places[] = {
        {0x02, "identifier, bits 28-21"}, {0x03, "start of frame"},
        {0x04, "substitute RTR bit"},     {0x05, "identifier extension bit"},
        {0x06, "identifier, bits 20-18"}, {0x07, "identifier, bits 17-13"},
        {0x08, "CRC sequence"},           {0x09, "reserved bit 0"},
        {0x0A, "data"},                   {0x0B, "data length code"},
        {0x0C, "remote request bit"},     {0x0D, "reserved bit 1"},
        {0x0E, "identifier, bits 4-0"},   {0x0F, "identifier, bits 12-5"},
        {0x12, "intermission"},           {0x18, "CRC delimiter"},
        {0x19, "ACK slot"},               {0x1A, "end of frame"},
        {0x1B, "ACK delimiter"}};
    return find_words(places, sizeof places / sizeof places[0], place);
}

const char *dbr_error_transceiver_words(uint8_t code)
{
    static const struct code_words wires[] = {
        {0x04, "CAN_H: no wire"},           {0x05, "CAN_H: short to battery"},
        {0x06, "CAN_H: short to supply"},   {0x07, "CAN_H: short to ground"},
        {0x40, "CAN_L: no wire"},           {0x50, "CAN_L: short to battery"},
        {0x60, "CAN_L: short to supply"},   {0x70, "CAN_L: short to ground"},
        {0x44, "CAN_H and CAN_L: no wire"}, {0x55, "CAN_H and CAN_L: short to battery"},
        {0x66, "CAN_H and CAN_L: short to supply"}, {0x77, "CAN_H and CAN_L: short to ground"},
        {0x80, "CAN_L: short to CAN_H"}};
    return find_words(wires, sizeof wires / sizeof wires[0], code);
}
